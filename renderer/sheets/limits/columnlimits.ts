import { convert, convertible } from '../../../calc/quantity/convert.ts';
import { fullNumber } from '../../../calc/quantity/format.ts';
import { findUnit, isUnitId, type UnitId, unit } from '../../../calc/quantity/unit.ts';
import type { CellValue, Column, SheetId, SheetRow } from '../../../calc/sheet/column.ts';
import type { Marks } from '../celltext.ts';

/** Sheets whose figures can be watched. */
const WATCHED: ReadonlySet<SheetId> = new Set(['ledger', 'readings', 'rings', 'ground']);

/** Between which figures a column is as it should be, in the column's own unit. */
export interface ColumnLimits {
	/** Row of the sheet `limits`. */
	readonly row: number;
	readonly low: number | null;
	readonly high: number | null;
	readonly why: string;
	/** They were set in a unit that the column's figures cannot be told in: nothing is marked. */
	readonly misfit: string | null;
}

export type SheetLimits = ReadonlyMap<string, ColumnLimits>;

export const NO_LIMITS: SheetLimits = new Map();

/** Whether limits can be set for a column. */
export const takesLimits = (sheet: SheetId, column: Column): boolean =>
	WATCHED.has(sheet) && (column.type === 'number' || column.type === 'integer');

const figure = (row: SheetRow, id: string): number | null => {
	const value = row.cells[id];
	return typeof value === 'number' ? value : null;
};

const unitOf = (text: CellValue | undefined): UnitId =>
	(typeof text === 'string' ? findUnit(text)?.id : undefined) ?? '1';

const unitOfColumn = (column: Column): UnitId =>
	column.unit !== null && isUnitId(column.unit) ? column.unit : '1';

/** The limits of a sheet's columns by their ids. Those of columns that are not there are left out. */
export function limitsOf(
	sheet: SheetId,
	rows: Iterable<SheetRow>,
	find: (id: string) => Column | undefined,
): SheetLimits {
	const limits = new Map<string, ColumnLimits>();
	for (const row of rows) {
		if (row.cells.sheet !== sheet) continue;
		const column = find(String(row.cells.column_id));
		if (!column || !takesLimits(sheet, column)) continue;
		const set = unitOf(row.cells.unit);
		const here = unitOfColumn(column);
		const fits = convertible(set, here);
		const told = (id: string): number | null => {
			const value = figure(row, id);
			if (value === null || !fits) return null;
			return set === here ? value : convert(value, set, here);
		};
		limits.set(column.id, {
			row: row.id,
			low: told('low'),
			high: told('high'),
			why: typeof row.cells.why === 'string' ? row.cells.why : '',
			misfit: fits ? null : unit(set).label || 'plain numbers',
		});
	}
	return limits.size === 0 ? NO_LIMITS : limits;
}

/** On which side of its limits a figure lies; null within, on a limit, or where there is no figure. */
export function sideOf(
	value: CellValue | undefined,
	limits: ColumnLimits | undefined,
): 'below' | 'above' | null {
	if (typeof value !== 'number' || !limits) return null;
	if (limits.low !== null && value < limits.low) return 'below';
	if (limits.high !== null && value > limits.high) return 'above';
	return null;
}

/** What is to be said of a figure outside its limits. */
export function outsideWords(
	column: Column,
	value: CellValue | undefined,
	limits: ColumnLimits | undefined,
	marks: Marks,
): string | null {
	const side = sideOf(value, limits);
	if (!side || !limits) return null;
	const limit = side === 'below' ? limits.low : limits.high;
	if (limit === null) return null;
	const why = limits.why === '' ? '' : ` (${limits.why})`;
	return side === 'below'
		? `Below the low limit ${limitText(column, limit, marks)}${why}`
		: `Above the high limit ${limitText(column, limit, marks)}${why}`;
}

/** A limit with its digits and unit. A converted one is not shown with the rounding of the conversion. */
export function limitText(column: Column, limit: number, marks: Marks): string {
	const { label } = unit(unitOfColumn(column));
	const digits = fullNumber(Number(limit.toPrecision(12)), marks);
	return label === '' ? digits : `${digits}\u00a0${label}`;
}
