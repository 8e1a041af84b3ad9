import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { columnsOf, findColumn } from '../../../../calc/sheet/catalogue.ts';
import { readCell } from '../../../../calc/sheet/cell.ts';
import {
	copiedHeading,
	copiedText,
	isHeadingRow,
	pastedText,
} from '../../../../renderer/sheets/range/celltransfer.ts';
import { readTsv, writeTsv } from '../../../../renderer/sheets/range/tsv.ts';

const column = (id: string) => {
	const found = findColumn('readings', id);
	if (!found) throw new Error(`no column ${id}`);
	return found;
};

describe('a cell on the clipboard', () => {
	it.each(['.', ','] as const)(
		'comes back to the last bit with "%s" as decimal mark',
		(decimal) => {
			const marks = { decimal, utcOffset_min: 60 };
			const there = (id: string, value: number | string) => {
				const text = writeTsv([[copiedText(column(id), value, marks), 'end']]);
				const typed = pastedText(column(id), readTsv(text)[0]?.[0] ?? '', null, marks);
				expect(readCell(column(id), typed, marks)).toMatchObject({ kind: 'value', value });
			};
			fc.assert(
				fc.property(fc.double({ min: 1e-40, max: 5000, noNaN: true }), (value) => {
					// Written out without powers of ten; more than 80 characters the desk takes for no number.
					there('feed_flow_m3_h', value);
				}),
				{ seed: 20260405 },
			);
			fc.assert(
				fc.property(fc.integer({ min: 0, max: 4_000_000_000 }), (time_s) => there('time', time_s)),
				{ seed: 20260405 },
			);
			there('mode', 'back_flush');
			for (const note of ['=1+1', "'=1+1", '-', '@x', 'a "stop"\tvalve', 'two\nlines'])
				there('note', note);
		},
	);

	it('is no formula to the spreadsheet it is put into', () => {
		const marks = { decimal: '.', utcOffset_min: 0 } as const;
		for (const note of ['=1+1', '+1', '-1', '@x'])
			expect(copiedText(column('note'), note, marks)).toMatch(/^'/);
		expect(copiedText(column('feed_flow_m3_h'), -1.5, marks)).toBe('-1.5');
	});

	it('is nothing where there is no value, and a bare clock time belongs to the day that stood there', () => {
		const marks = { decimal: '.', utcOffset_min: 60 } as const;
		expect(copiedText(column('feed_flow_m3_h'), null, marks)).toBe('');
		expect(pastedText(column('time'), '6:45', 1_772_343_000, marks)).toBe('2026-03-01 06:45');
	});

	it('has a heading with its unit, by which the row of headings is known', () => {
		const columns = columnsOf('readings').slice(2, 5);
		expect(columns.map(copiedHeading)).toEqual([
			'Feed flow (m³/h)',
			'Feed density (t/m³)',
			'Return flow (m³/h)',
		]);
		expect(isHeadingRow(['Feed flow (m³/h)', 'feed_density_t_m3'], columns)).toBe(true);
		expect(isHeadingRow(['Feed flow (m³/h)', '1.08'], columns)).toBe(false);
		expect(isHeadingRow([], columns)).toBe(false);
	});
});
