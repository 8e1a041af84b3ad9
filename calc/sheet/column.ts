import type { UnitId } from '../quantity/unit.ts';

/** The shape of the column catalogue. One table (catalogue.ts) feeds grid, import, export, help and docs. */

export const SHEETS = [
	'drive',
	'rings',
	'ground',
	'readings',
	'meters',
	'bypass_decisions',
	'mode_overrides',
	'formulas',
	'limits',
	'ledger',
] as const;
export type SheetId = (typeof SHEETS)[number];
/** Sheets a person can enter rows in. */
export type EnteredSheetId = Exclude<SheetId, 'ledger'>;

export type CellType = 'number' | 'integer' | 'time' | 'choice' | 'text';

/** A cell as the document keeps it: a number in the column's own unit, text, or null for missing. Times are Unix seconds (number). */
export type CellValue = number | string | null;

export interface Column {
	/** Also the heading in the plain folder; the unit stands in it. */
	readonly id: string;
	readonly sheet: SheetId;
	/** Heading on screen, in the trade's words, without the unit. */
	readonly heading: string;
	/** Unit id of calc/quantity, or null for text, times and counts. */
	readonly unit: UnitId | null;
	readonly kind: 'entered' | 'computed';
	readonly type: CellType;
	readonly required: boolean;
	/** Decimals shown; the full value is kept. */
	readonly decimals: number;
	/** Values outside are refused. Bounds are inclusive unless `…Open` is set. */
	readonly min?: number;
	readonly max?: number;
	readonly minOpen?: boolean;
	/** Values outside are taken with a visible flag. */
	readonly plausibleMin?: number;
	readonly plausibleMax?: number;
	readonly choices?: readonly string[];
	/** What it is, for the person reading the heading. */
	readonly help: string;
	/** For computed columns: the formula in words and symbols. */
	readonly formula?: string;
	/** Publication, standard, "mass conservation" or "common practice, no source". */
	readonly source?: string;
}

/** One row of a sheet: stable id within the sheet and one value a column id. Absent key = missing. */
export interface SheetRow {
	readonly id: number;
	readonly cells: Readonly<Record<string, CellValue>>;
	/** Reasons of blank or flagged cells by column id. */
	readonly flags?: Readonly<Record<string, readonly string[]>>;
}
