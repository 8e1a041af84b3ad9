import type { Fault } from '../../calc/fault/fault.ts';
import type { CellValue } from '../../calc/sheet/column.ts';

/** Cells of one row by column id; an absent key is a missing value. Times are Unix seconds. */
export type RowCells = Record<string, CellValue>;

/** What a plain folder says of a drive, without anything about how it was read. */
export interface FolderRows {
	/** Columns of the drive sheet (`uncertainty.` keys flattened). */
	readonly drive: RowCells;
	readonly rings: readonly RowCells[];
	readonly ground: readonly RowCells[];
	readonly readings: readonly RowCells[];
	readonly meters: readonly RowCells[];
	readonly bypass_decisions: readonly RowCells[];
	readonly mode_overrides: readonly RowCells[];
	readonly formulas: readonly RowCells[];
	readonly limits: readonly RowCells[];
	/** Offset of the first time found, minutes east of UTC; shown and exported with it. */
	readonly utcOffset_min: number;
	/** drive.json says `"invented": true`. */
	readonly invented: boolean;
}

/** Everything a plain folder holds, parsed and checked; logger files stay on disk and are only named. */
export interface FolderContent extends FolderRows {
	/** Absolute paths of logger files, in order of name. */
	readonly loggerFiles: readonly string[];
	readonly faults: readonly Fault[];
	/** Faults found beyond those listed. */
	readonly moreFaults: number;
	/** True if any fault found, listed or not, stops a row or the folder. */
	readonly stopped: boolean;
	/** Rows left out of the lists above because of a stop fault. */
	readonly faultyRows: number;
	/** No choice of rows can mend it (no usable drive.json, no rings.csv, unreadable file). */
	readonly impossible: boolean;
}
