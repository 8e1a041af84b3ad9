import { formatNumber } from '../../../calc/quantity/format.ts';
import { isoTime } from '../../../calc/quantity/time.ts';
import { findColumn } from '../../../calc/sheet/catalogue.ts';
import { showCell } from '../../../calc/sheet/cell.ts';
import type { SheetId } from '../../../calc/sheet/column.ts';
import {
	type ExportedSheetId,
	type ExportForm,
	type ImportedSheetId,
	SHEET_TITLES,
	type SheetInspection,
	type SheetReading,
} from '../../../electron/contract/sheetexchange.ts';
import { MARKS } from '../../look/marks.ts';

/** What the exchange of single sheets with files says in words. */

/** A sheet that can be written to a file; null for one that cannot. */
export function exportedSheet(sheet: SheetId): ExportedSheetId | null {
	return sheet in SHEET_TITLES ? (sheet as ExportedSheetId) : null;
}

/** A sheet that rows can be taken into; null for one that takes none. */
export function importedSheet(sheet: SheetId): ImportedSheetId | null {
	const known = exportedSheet(sheet);
	return known === 'ledger' ? null : known;
}

export const sheetTitle = (sheet: ExportedSheetId): string => SHEET_TITLES[sheet];

export interface FormWords {
	readonly name: string;
	readonly what: string;
}
export const FORM_WORDS: Readonly<Record<ExportForm, FormWords>> = {
	xlsx: {
		name: 'XLSX workbook',
		what: 'Real numbers and date-times, the headings frozen, flags as comments at their cells.',
	},
	csv: {
		name: 'CSV text',
		what: 'UTF-8, commas, dots as decimal marks, times with their offset. Texts that a spreadsheet would run are guarded.',
	},
	parquet: {
		name: 'Parquet table',
		what: 'Typed columns for databases and scripts, times in UTC.',
	},
};

export const DELIMITER_WORDS = {
	',': 'comma  ,',
	';': 'semicolon  ;',
	'\t': 'tab',
	'|': 'bar  |',
} as const satisfies Record<NonNullable<SheetReading['delimiter']>, string>;

export const DECIMAL_WORDS = { '.': 'dot  1.18', ',': 'comma  1,18' } as const;

export const DATE_WORDS = {
	iso: 'year first  2031-04-07',
	dmy: 'day first  07.04.2031',
	mdy: 'month first  04/07/2031',
} as const satisfies Record<NonNullable<SheetReading['dates']>, string>;

export const BY_WORDS: Readonly<Record<'id' | 'heading' | 'alias' | 'hand', string>> = {
	id: 'by its id',
	heading: 'by its heading',
	alias: 'by another name',
	hand: 'by hand',
};

const whole = (value: number): string => formatNumber(value, 0, MARKS);
export const rowsText = (value: number): string =>
	`${whole(value)} ${value === 1 ? 'row' : 'rows'}`;

/** Size of a file as a person says it. */
export function bytesText(bytes: number): string {
	if (bytes < 1e3) return `${bytes} B`;
	return bytes < 1e6
		? `${formatNumber(bytes / 1e3, 1, MARKS)} kB`
		: `${formatNumber(bytes / 1e6, 1, MARKS)} MB`;
}

/** `UTC+01:00` */
export function offsetText(utcOffset_min: number): string {
	return utcOffset_min === 0 ? 'UTC' : `UTC${isoTime(0, utcOffset_min).slice(-6)}`;
}

/** Offsets to choose from, the given one among them. */
export function offsetsWith(utcOffset_min: number): readonly number[] {
	const hours = Array.from({ length: 27 }, (_, at) => (at - 12) * 60);
	const halves = [-570, -210, 210, 270, 330, 345, 390, 525, 570, 630, 765];
	return [...new Set([...hours, ...halves, utcOffset_min])].sort((a, b) => a - b);
}

/** A value as it would stand in the sheet. */
export function readText(
	sheet: ImportedSheetId,
	columnId: string,
	value: SheetInspection['fields'][number]['read'][number],
	utcOffset_min: number,
): string {
	const column = findColumn(sheet, columnId);
	if (value === null || column === undefined) return '—';
	return showCell(column, value, { ...MARKS, utcOffset_min });
}

/** What becomes of the rows, as figures with their names. */
export function countsOf({
	rows,
	added,
	updated,
	same,
	skipped,
	faulty,
}: Pick<
	SheetInspection,
	'rows' | 'added' | 'updated' | 'same' | 'skipped' | 'faulty'
>): readonly (readonly [string, string])[] {
	return [
		['Rows in the file', whole(rows)],
		['New', whole(added)],
		['To be updated', whole(updated)],
		['There already, the same', whole(same)],
		['Skipped', whole(skipped)],
		['With faults', whole(faulty)],
	];
}
