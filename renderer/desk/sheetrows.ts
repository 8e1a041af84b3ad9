import type { SheetId, SheetRow } from '../../calc/sheet/column.ts';
import type { ChangeSet } from '../../electron/contract/verbs.ts';

/** What a change set did to the rows a page holds of one sheet. */
export interface RowChange {
	readonly added: readonly SheetRow[];
	readonly updated: readonly SheetRow[];
	readonly removed: readonly SheetRow[];
}

type SheetPart = NonNullable<ChangeSet['sheets'][SheetId]>;

/** Stretch of time the held readings cover, Unix s; null bounds are open. */
export interface TimeSpan {
	readonly from_s: number | null;
	readonly to_s: number | null;
}

/**
 * Apply one sheet's part of a change set to the rows held, in place. Whole rows replace by id. A row
 * not held yet is taken in, unless only a span of time is held and its `time` lies outside it.
 */
export function applyRows(
	rows: Map<number, SheetRow>,
	part: SheetPart,
	span: TimeSpan | null,
): RowChange {
	const added: SheetRow[] = [];
	const updated: SheetRow[] = [];
	const removed: SheetRow[] = [];
	for (const id of part.removed) {
		const row = rows.get(id);
		if (!row) continue;
		rows.delete(id);
		removed.push(row);
	}
	for (const message of part.rows) {
		const row = message as SheetRow;
		const held = rows.has(row.id);
		if (!held && span && !inSpan(row, span)) continue;
		rows.set(row.id, row);
		(held ? updated : added).push(row);
	}
	return { added, updated, removed };
}

function inSpan(row: SheetRow, span: TimeSpan): boolean {
	const time_s = row.cells.time;
	if (typeof time_s !== 'number') return true;
	return (
		(span.from_s === null || time_s >= span.from_s) && (span.to_s === null || time_s <= span.to_s)
	);
}

/**
 * Ring range to show first of a drive's readings: everything up to `most` readings, else as many of
 * the last rings as hold about that many.
 */
export function firstSpan(
	document: { readings: number; rings: number; firstRing: number | null; lastRing: number | null },
	most: number,
): { readonly fromRing: number; readonly toRing: number } | null {
	const { readings, rings, firstRing, lastRing } = document;
	if (readings <= most || firstRing === null || lastRing === null || rings === 0) return null;
	const perRing = readings / rings;
	const shown = Math.max(1, Math.floor(most / perRing));
	return { fromRing: Math.max(firstRing, lastRing - shown + 1), toRing: lastRing };
}
