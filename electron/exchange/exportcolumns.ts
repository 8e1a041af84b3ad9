import { isoTime } from '../../calc/quantity/time.ts';
import { unit } from '../../calc/quantity/unit.ts';
import { columnsOf, findColumn, passingSize_mm } from '../../calc/sheet/catalogue.ts';
import type { Column, SheetRow } from '../../calc/sheet/column.ts';
import { type ExportedSheetId, SHEET_TITLES } from '../contract/sheetexchange.ts';

/** A sheet as it is written to a file: its columns in order and its rows in the order it is shown. */
export interface SheetTable {
	readonly sheet: ExportedSheetId;
	/** Name of the sheet in words. */
	readonly title: string;
	readonly columns: readonly Column[];
	readonly rows: readonly SheetRow[];
	readonly utcOffset_min: number;
}

/**
 * The columns that are required, worked out, or hold anything; sieves of the ground behind the
 * others, the finest first; the project's own columns last.
 */
export function sheetTable(
	sheet: ExportedSheetId,
	rows: readonly SheetRow[],
	utcOffset_min: number,
	own: readonly Column[] = [],
): SheetTable {
	const held = new Set<string>();
	for (const row of rows)
		for (const id in row.cells) if ((row.cells[id] ?? null) !== null) held.add(id);
	const columns = columnsOf(sheet).filter(
		(column) => column.required || column.kind === 'computed' || held.has(column.id),
	);
	const sieves = [...held]
		.filter((id) => sheet === 'ground' && passingSize_mm(id) !== null)
		.sort((a, b) => (passingSize_mm(a) ?? 0) - (passingSize_mm(b) ?? 0))
		.flatMap((id) => findColumn(sheet, id) ?? []);
	return {
		sheet,
		title: SHEET_TITLES[sheet],
		columns: [...columns, ...sieves, ...own],
		rows,
		utcOffset_min,
	};
}

/** `Return flow [m³/h]`: the heading on screen with its unit. */
export function headingWithUnit(column: Column): string {
	const label = column.unit === null ? '' : unit(column.unit).label;
	return label === '' ? column.heading : `${column.heading} [${label}]`;
}

/** `UTC+01:00`, as the headings of times without an offset of their own bear it. */
export function offsetName(utcOffset_min: number): string {
	return utcOffset_min === 0 ? 'UTC' : `UTC${isoTime(0, utcOffset_min).slice(-6)}`;
}
