import type { SheetRow } from '../../calc/sheet/column.ts';

/**
 * Number of the ring a moment belongs to: the last one whose advance had begun by then. Readings
 * taken while the lining is built thus stand with the ring just cut. null before the first ring.
 */
export function ringAtTime(rings: Iterable<SheetRow>, time_s: number): number | null {
	let start_s = Number.NEGATIVE_INFINITY;
	let found: number | null = null;
	for (const { cells } of rings) {
		const { ring, advance_start } = cells;
		if (typeof ring !== 'number' || typeof advance_start !== 'number') continue;
		if (advance_start > time_s || advance_start < start_s) continue;
		start_s = advance_start;
		found = ring;
	}
	return found;
}
