import Papa from 'papaparse';
import { type Fault, noteFault, stopFault } from '../../calc/fault/fault.ts';
import { SHEET_DELIMITERS } from '../contract/sheetexchange.ts';
import { guessDelimiter } from '../logger/layout/sample.ts';
import type { ReadSource, SourceLimits, SourceRow, SourceTable } from './sourcetable.ts';

/** Characters the delimiter is told from. */
const HEAD = 200_000;

type Delimiter = (typeof SHEET_DELIMITERS)[number];

/**
 * Cuts a CSV file into rows of texts: UTF-8 or UTF-16 by its mark, else UTF-8 if it is sound as such,
 * else the Windows code page (noted); commas, semicolons, tabs or bars; CR LF, LF or CR; quoted
 * fields with line ends in them. Every fault names the file and the line.
 */
export function readCsv(
	bytes: Uint8Array,
	file: string,
	asked: Delimiter | null,
	limits: SourceLimits,
): ReadSource {
	const decoded = decode(bytes);
	const refuse = (code: string, message: string, expected: string): ReadSource => ({
		kind: 'fault',
		fault: stopFault(code, message, { file, expected }),
	});
	if (decoded.text.includes('\u0000'))
		return refuse('file_binary', 'This is not a text file.', 'a CSV or XLSX file');
	if (decoded.text.trim() === '')
		return refuse('file_empty', 'The file is empty.', 'a row of headings and rows of values');
	const faults: Fault[] = [];
	if (decoded.encoding === 'windows-1252')
		faults.push(
			noteFault('encoding_windows', 'The text is not UTF-8; it is read as Windows-1252.', { file }),
		);
	const { text } = decoded;
	const head = text.slice(0, HEAD);
	const guessed = guessDelimiter(head);
	const delimiter: Delimiter = asked ?? SHEET_DELIMITERS.find((one) => one === guessed) ?? ',';
	const rows: SourceRow[] = [];
	let line = 1;
	let broken: Fault | null = null;
	Papa.parse<string[]>(text, {
		delimiter,
		newline: lineEndOf(head) as '\n',
		step: ({ data, errors }, parser) => {
			const at = line;
			line += 1 + data.reduce((ends, field) => ends + countLineEnds(field), 0);
			const quoting = errors.find((error) => error.type === 'Quotes');
			if (quoting !== undefined) {
				broken = stopFault(
					quoting.code === 'MissingQuotes' ? 'quote_open' : 'quote_misplaced',
					'From this row on the fields cannot be told apart: a quotation mark stands inside a field or is never closed.',
					{
						file,
						row: at,
						value: data.join(delimiter).slice(0, 80),
						expected: 'quotation marks around the whole field, doubled inside it',
					},
				);
				parser.abort();
				return;
			}
			if (data.every((field) => field.trim() === '')) return;
			if (data.length > limits.fields) {
				broken = stopFault('fields_too_many', `The row has ${data.length} fields.`, {
					file,
					row: at,
					expected: `at most ${limits.fields} fields`,
				});
				parser.abort();
				return;
			}
			rows.push({ line: at, fields: data });
			// One more than may be is kept, so that whoever looks sees that there are too many.
			if (rows.length > limits.rows + 1_001) parser.abort();
		},
	});
	if (broken !== null) return { kind: 'fault', fault: broken };
	const table: SourceTable = {
		form: 'csv',
		rows,
		worksheets: [],
		worksheet: null,
		delimiter,
		percentFields: new Set(),
		faults,
	};
	return { kind: 'table', table };
}

function decode(bytes: Uint8Array): { readonly text: string; readonly encoding: string } {
	if (bytes[0] === 0xff && bytes[1] === 0xfe)
		return { text: new TextDecoder('utf-16le').decode(bytes), encoding: 'utf-16le' };
	if (bytes[0] === 0xfe && bytes[1] === 0xff)
		return { text: new TextDecoder('utf-16be').decode(bytes), encoding: 'utf-16be' };
	try {
		return { text: new TextDecoder('utf-8', { fatal: true }).decode(bytes), encoding: 'utf-8' };
	} catch {
		return { text: new TextDecoder('windows-1252').decode(bytes), encoding: 'windows-1252' };
	}
}

/** The first line end that is not inside quotation marks. */
function lineEndOf(head: string): '\r\n' | '\n' | '\r' {
	const bare = head.replace(/"(?:[^"]|"")*"/gu, '');
	const found = /\r\n|\n|\r/u.exec(bare)?.[0];
	return found === '\r\n' || found === '\r' ? found : '\n';
}

const countLineEnds = (field: string): number => field.match(/\r\n|\n|\r/gu)?.length ?? 0;
