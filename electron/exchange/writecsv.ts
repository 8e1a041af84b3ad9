import Papa from 'papaparse';
import { isoTime } from '../../calc/quantity/time.ts';
import type { CellValue, Column } from '../../calc/sheet/column.ts';
import { guardText } from '../../calc/sheet/formulaguard.ts';
import { headingWithUnit, type SheetTable } from './exportcolumns.ts';

/** Tells spreadsheet programs that the text is UTF-8; without it they garble the ³ of m³. */
const BYTE_ORDER_MARK = '\ufeff';

/**
 * A sheet as CSV (RFC 4180): UTF-8 with a byte order mark, commas, dots as decimal marks, CR LF.
 * Headings as on screen with their unit in brackets, numbers with all their digits, times as
 * ISO 8601 with the drive's offset, nothing for a missing value. A text that a spreadsheet program
 * would run as a formula has an apostrophe in front, which our import takes off.
 */
export function csvOf({ columns, rows, utcOffset_min }: SheetTable): Uint8Array {
	const lines = rows.map((row) =>
		columns.map((column) => fieldText(column, row.cells[column.id] ?? null, utcOffset_min)),
	);
	const text = Papa.unparse([columns.map(headingWithUnit), ...lines], { newline: '\r\n' });
	return new TextEncoder().encode(`${BYTE_ORDER_MARK}${text}\r\n`);
}

function fieldText(column: Column, value: CellValue, utcOffset_min: number): string {
	if (value === null) return '';
	if (typeof value === 'string') return guardText(value);
	return column.type === 'time' ? isoTime(value, utcOffset_min) : String(value);
}
