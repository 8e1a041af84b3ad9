import fc from 'fast-check';
import Papa from 'papaparse';
import { describe, expect, it } from 'vitest';
import { readTsv, writeTsv } from '../../../../renderer/sheets/range/tsv.ts';

const cell = fc.oneof(
	fc.string({ unit: fc.constantFrom('a', '1', '"', '\t', '\n', ',', ' ', '.') }),
	fc.string({ unit: 'grapheme', maxLength: 6 }).map((text) => text.replaceAll('\r', '')),
);
const block = fc
	.tuple(fc.integer({ min: 1, max: 5 }), fc.integer({ min: 1, max: 6 }))
	.chain(([columns, rows]) =>
		fc.array(fc.array(cell, { minLength: columns, maxLength: columns }), {
			minLength: rows,
			maxLength: rows,
		}),
	);
const SEEDED = { seed: 20260401, numRuns: 400 };
/** A single empty cell is an empty text, which is no row at all. */
const isEmpty = (rows: string[][]) =>
	rows.length === 1 && rows[0]?.join('') === '' && rows[0].length === 1;

describe('blocks of cells as text', () => {
	it('come back as they were written', () => {
		fc.assert(
			fc.property(block, (rows) => {
				// A last row of one empty cell cannot be told from the line end before it.
				fc.pre(rows.at(-1)?.join('') !== '' || (rows[0]?.length ?? 0) > 1);
				expect(readTsv(writeTsv(rows))).toEqual(rows);
			}),
			SEEDED,
		);
	});

	it('are what an independent library reads, and are read as it writes them', () => {
		fc.assert(
			fc.property(block, (rows) => {
				fc.pre(!isEmpty(rows));
				fc.pre(rows.at(-1)?.join('') !== '' || (rows[0]?.length ?? 0) > 1);
				const theirs = Papa.parse<string[]>(writeTsv(rows), { delimiter: '\t', newline: '\n' });
				expect(theirs.data).toEqual(rows);
				for (const newline of ['\n', '\r\n']) {
					// The library leaves a cell bare that only begins or ends with a space; spreadsheets do so too.
					const text = Papa.unparse(rows, { delimiter: '\t', newline });
					expect(readTsv(text)).toEqual(rows);
					expect(readTsv(text + newline)).toEqual(rows);
				}
			}),
			SEEDED,
		);
	});

	// Source of the texts: from memory, as common spreadsheets put them on the clipboard.
	it.each([
		[
			'a trailing line end ends the last row',
			'1\t2\r\n3\t4\r\n',
			[
				['1', '2'],
				['3', '4'],
			],
		],
		['a line break within a cell', '"two\nlines"\tb\n', [['two\nlines', 'b']]],
		['doubled quotation marks', '"a ""stop"" valve"\t1', [['a "stop" valve', '1']]],
		['an inch mark within a text', '6" line\t12"', [['6" line', '12"']]],
		[
			'quotation marks that are part of the text',
			'"open" valve\t"half',
			[['"open" valve', '"half']],
		],
		['blank cells and blank rows', '\t\n\n1\t', [['', ''], [''], ['1', '']]],
		['old line ends', '1\r2\r', [['1'], ['2']]],
		['nothing', '', []],
	])('%s', (_, text, rows) => {
		expect(readTsv(text)).toEqual(rows);
	});

	it('are read in step with their length, however the quotation marks stand', () => {
		// Every cell opens a quotation that never ends; each is sought for a bounded stretch only.
		const rows = readTsv('"x\t'.repeat(20_000));
		expect(rows[0]).toHaveLength(20_001);
		expect(rows[0]?.[0]).toBe('"x');
	});
});
