import { isUnitId } from '../../../calc/quantity/unit.ts';
import { findColumn } from '../../../calc/sheet/catalogue.ts';
import type { Column, SheetId, SheetRow } from '../../../calc/sheet/column.ts';

/** Sheets that take columns of one's own. */
export const OWN_COLUMN_SHEETS = ['ledger', 'readings'] as const;
export type OwnColumnSheet = (typeof OWN_COLUMN_SHEETS)[number];

export const takesOwnColumns = (sheet: SheetId): sheet is OwnColumnSheet =>
	(OWN_COLUMN_SHEETS as readonly SheetId[]).includes(sheet);

/** A column a person added with a formula. */
export interface OwnColumn {
	/** Row of the sheet `formulas`. */
	readonly row: number;
	readonly sheet: OwnColumnSheet;
	readonly id: string;
	readonly heading: string;
	/** Unit id; null for a plain number. */
	readonly unit: string | null;
	readonly decimals: number;
	readonly expression: string;
	readonly note: string;
}

/** Decimals where none are given, as the catalogue says. */
const DECIMALS = 2;

const text = (row: SheetRow, id: string): string => {
	const value = row.cells[id];
	return typeof value === 'string' ? value : '';
};

/** The own columns of one sheet, in the order they were made. */
export function ownColumnsOf(sheet: SheetId, rows: Iterable<SheetRow>): readonly OwnColumn[] {
	if (!takesOwnColumns(sheet)) return NONE;
	const own: OwnColumn[] = [];
	for (const row of rows) {
		if (row.cells.sheet !== sheet) continue;
		const { decimals } = row.cells;
		own.push({
			row: row.id,
			sheet,
			id: text(row, 'column_id'),
			heading: text(row, 'heading'),
			unit: text(row, 'unit') || null,
			decimals: typeof decimals === 'number' ? decimals : DECIMALS,
			expression: text(row, 'expression'),
			note: text(row, 'note'),
		});
	}
	return own.length === 0 ? NONE : own.sort((a, b) => a.row - b.row);
}

const NONE: readonly OwnColumn[] = [];

/** An own column as the grid, the cell line and the heading's card know columns. */
export function asColumn(own: OwnColumn): Column {
	return {
		id: own.id,
		sheet: own.sheet,
		heading: own.heading,
		unit: own.unit !== null && isUnitId(own.unit) ? own.unit : null,
		kind: 'computed',
		type: 'number',
		required: false,
		decimals: own.decimals,
		help: own.note || 'A column of this project, worked out in every row by its formula.',
		formula: own.expression,
		source: 'own column of this project',
	};
}

/** A column of a sheet by its id, be it of the catalogue or one's own. */
export function columnHere(
	sheet: SheetId,
	id: string,
	own: readonly OwnColumn[],
): Column | undefined {
	const known = findColumn(sheet, id);
	if (known) return known;
	const found = own.find((each) => each.id === id);
	return found && asColumn(found);
}

/** Asked of the window: open the own columns with the one whose name is the `detail`. */
export const OWN_COLUMNS_EVENT = 'own-columns';
