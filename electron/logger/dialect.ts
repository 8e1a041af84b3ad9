import { type Fault, noteFault, stopFault } from '../../calc/fault/fault.ts';
import type { Column } from '../../calc/sheet/column.ts';
import { readHeadings } from '../folder/headings.ts';
import { NUMBER_COLUMNS } from './batch.ts';

/** How the fields of one logger file are to be read. */
export interface LoggerHeader {
	/** For each field of a row: the column it fills, or null for one that is passed over. */
	readonly fields: readonly (Column | null)[];
	readonly faults: readonly Fault[];
	/** The file is not in the plain dialect or lacks a column; it cannot be read. */
	readonly unusable: boolean;
}

const PLAIN =
	'the plain dialect: UTF-8, commas between fields, dots as decimal marks, no quotation marks, the headings of readings.csv';

/** Reads the header line of a logger file. */
export function readLoggerHeader(file: string, line: string): LoggerHeader {
	const refuse = (code: string, message: string): LoggerHeader => ({
		fields: [],
		faults: [stopFault(code, message, { file, row: 1, value: line.slice(0, 80), expected: PLAIN })],
		unusable: true,
	});
	if (line.trim() === '') return refuse('header_missing', 'The first line is blank.');
	if (line.includes('"')) return refuse('logger_quotes', 'The headings are in quotation marks.');
	if (!line.includes(',') && /[;\t|]/u.test(line))
		return refuse('separator', 'The fields are not separated by commas.');
	return readLoggerHeadings(file, line.split(','));
}

/** What the headings of a logger file stand for, whatever the file is written in. */
export function readLoggerHeadings(file: string, headings: readonly string[]): LoggerHeader {
	const read = readHeadings('readings', file, [...headings]);
	const kept = new Set<string>(['time', 'mode', ...NUMBER_COLUMNS]);
	const faults = [...read.faults];
	const fields = read.columns.map((column) => {
		if (column === null || kept.has(column.id)) return column;
		faults.push(
			noteFault(
				'logger_text',
				"Texts are not kept with a logger's series; they stay in the file.",
				{
					file,
					row: 1,
					column: column.id,
				},
			),
		);
		return null;
	});
	return { fields, faults, unusable: read.unusable };
}
