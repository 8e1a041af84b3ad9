import type { CellValue, EnteredSheetId } from '../../calc/sheet/column.ts';
import type { RowCells } from '../folder/content.ts';

/** One step of a gesture: a cell gets another value, or a row comes or goes. Times and units as in the columns. */
export type Change =
	| {
			readonly kind: 'cell';
			readonly sheet: EnteredSheetId;
			readonly row: number;
			readonly column: string;
			readonly before: CellValue;
			readonly after: CellValue;
	  }
	| {
			readonly kind: 'row';
			readonly sheet: EnteredSheetId;
			readonly row: number;
			/** null: the row was not there. */
			readonly before: RowCells | null;
			/** null: the row is gone. */
			readonly after: RowCells | null;
	  };

export type JournalKind = 'import' | 'create' | 'edit' | 'add' | 'delete' | 'undo' | 'redo';

/** One thing a person did: applied and journalled as a whole or not at all. */
export interface Gesture {
	readonly kind: JournalKind;
	readonly label: string;
	readonly why: string | null;
	readonly who: string;
	/** Unix seconds, UTC. */
	readonly at_s: number;
	readonly changes: readonly Change[];
}

/** The changes that take `changes` back, in the order they must be applied. */
export function reversed(changes: readonly Change[]): Change[] {
	return changes
		.map(
			(change): Change =>
				change.kind === 'cell'
					? { ...change, before: change.after, after: change.before }
					: { ...change, before: change.after, after: change.before },
		)
		.reverse();
}

/** Cells without the missing ones, by column id in order: two rows with the same values give the same text. */
export function canonicalCells(cells: Readonly<Record<string, CellValue>>): string {
	const kept: Record<string, CellValue> = {};
	for (const id of Object.keys(cells).sort()) {
		const value = cells[id];
		if (value !== null && value !== undefined) kept[id] = value;
	}
	return JSON.stringify(kept);
}

/** The same cells with missing ones left out. */
export function withoutMissing(cells: Readonly<Record<string, CellValue>>): RowCells {
	const kept: RowCells = {};
	for (const [id, value] of Object.entries(cells)) if (value !== null) kept[id] = value;
	return kept;
}
