import type { SheetRow } from '../../calc/sheet/column.ts';

/** The rings next to one in number, null at the ends of the drive. Rows may come in any order. */
export function neighbours(
	ledger: readonly SheetRow[],
	ring: number,
): { readonly before: number | null; readonly after: number | null } {
	let before: number | null = null;
	let after: number | null = null;
	for (const row of ledger) {
		const number = row.cells.ring;
		if (typeof number !== 'number') continue;
		if (number < ring && (before === null || number > before)) before = number;
		if (number > ring && (after === null || number < after)) after = number;
	}
	return { before, after };
}

/** Ledger row that bears a ring, null if there is none. */
export function rowOfRing(ledger: readonly SheetRow[], ring: number): number | null {
	return ledger.find((row) => row.cells.ring === ring)?.id ?? null;
}
