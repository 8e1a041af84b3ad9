import { clockTime, dateTime } from '../../../calc/quantity/time.ts';
import type { SheetId, SheetRow } from '../../../calc/sheet/column.ts';
import { shiftOf } from '../../../calc/sheet/shift.ts';

export const GROUPINGS = ['shift', 'ring', 'stratum'] as const;
/** What rows can be grouped by. */
export type GroupBy = (typeof GROUPINGS)[number];

export const GROUP_WORDS: Readonly<Record<GroupBy, string>> = {
	shift: 'Shift',
	ring: 'Ring',
	stratum: 'Main stratum',
};

const OFFERED: Readonly<Partial<Record<SheetId, readonly GroupBy[]>>> = {
	readings: ['shift', 'ring', 'stratum'],
	ledger: ['shift', 'stratum'],
	rings: ['shift', 'stratum'],
	mode_overrides: ['shift', 'ring'],
};

/** What the rows of a sheet can be grouped by. */
export function groupingsOf(sheet: SheetId): readonly GroupBy[] {
	return OFFERED[sheet] ?? [];
}

/** Which group a row belongs to. Groups stand in the order of `order`, those of one key are one group. */
export interface GroupKey {
	readonly key: string;
	readonly order: number;
	readonly title: string;
}

const NOWHERE = Number.POSITIVE_INFINITY;

export interface Surroundings {
	readonly sheet: SheetId;
	readonly rings: Iterable<SheetRow>;
	readonly ground: Iterable<SheetRow>;
	/** Beginnings of the shifts, minutes after midnight. */
	readonly shifts_min: readonly number[];
	readonly utcOffset_min: number;
}

const TIME_OF: Readonly<Partial<Record<SheetId, string>>> = {
	readings: 'time',
	mode_overrides: 'from_time',
	rings: 'advance_start',
	ledger: 'advance_start',
};

/** The function that tells the group of a row of a sheet. */
export function groupKeys(by: GroupBy, around: Surroundings): (row: SheetRow) => GroupKey {
	const time = (row: SheetRow): number | null => {
		const value = row.cells[TIME_OF[around.sheet] ?? ''];
		return typeof value === 'number' ? value : null;
	};
	if (by === 'shift') return (row) => shiftKey(time(row), around);
	const ringOf = ringOfRow(around, time);
	if (by === 'ring') return (row) => ringKey(ringOf(row));
	const main = mainStratum(around.ground);
	return (row) => main(ringOf(row));
}

function shiftKey(time_s: number | null, { shifts_min, utcOffset_min }: Surroundings): GroupKey {
	if (time_s === null) return { key: 'none', order: NOWHERE, title: 'Without a time' };
	const { start_s, end_s } = shiftOf(time_s, shifts_min, utcOffset_min);
	const title = `${dateTime(start_s, utcOffset_min)}–${clockTime(end_s, utcOffset_min)}`;
	return { key: String(start_s), order: start_s, title };
}

function ringKey(ring: number | null): GroupKey {
	if (ring === null) return { key: 'none', order: NOWHERE, title: 'Before the first ring' };
	return { key: String(ring), order: ring, title: `Ring ${ring}` };
}

/** Ring of a row: its number where it bears one, else the last ring whose advance had begun by its time. */
function ringOfRow(
	{ sheet, rings }: Surroundings,
	time: (row: SheetRow) => number | null,
): (row: SheetRow) => number | null {
	if (sheet === 'rings' || sheet === 'ledger') {
		return ({ cells }) => (typeof cells.ring === 'number' ? cells.ring : null);
	}
	const begun: { readonly start_s: number; readonly ring: number }[] = [];
	for (const { cells } of rings) {
		if (typeof cells.ring !== 'number' || typeof cells.advance_start !== 'number') continue;
		begun.push({ start_s: cells.advance_start, ring: cells.ring });
	}
	begun.sort((a, b) => a.start_s - b.start_s);
	return (row) => {
		const at_s = time(row);
		if (at_s === null) return null;
		let low = 0;
		let high = begun.length;
		while (low < high) {
			const middle = (low + high) >> 1;
			if ((begun[middle]?.start_s ?? NOWHERE) <= at_s) low = middle + 1;
			else high = middle;
		}
		return begun[low - 1]?.ring ?? null;
	};
}

/** The stratum with the largest share of the face, ring by ring; groups in the order the drive meets them. */
function mainStratum(ground: Iterable<SheetRow>): (ring: number | null) => GroupKey {
	const shares: { from: number; to: number; stratum: string; share: number }[] = [];
	for (const { cells } of ground) {
		const { from_ring: from, to_ring: to, stratum, face_fraction: share } = cells;
		if (typeof from !== 'number' || typeof to !== 'number') continue;
		if (typeof stratum !== 'string' || typeof share !== 'number') continue;
		shares.push({ from, to, stratum, share });
	}
	shares.sort((a, b) => a.from - b.from || b.share - a.share);
	const order = new Map<string, number>();
	for (const { stratum } of shares) if (!order.has(stratum)) order.set(stratum, order.size);
	const unknown: GroupKey = { key: 'none', order: NOWHERE, title: 'Ground not entered' };
	const found = new Map<number, GroupKey>();
	return (ring) => {
		if (ring === null) return unknown;
		let key = found.get(ring);
		if (key === undefined) {
			let best: (typeof shares)[number] | null = null;
			for (const one of shares) {
				if (ring < one.from || ring > one.to) continue;
				if (best === null || one.share > best.share) best = one;
			}
			key = best
				? { key: `= ${best.stratum}`, order: order.get(best.stratum) ?? 0, title: best.stratum }
				: unknown;
			found.set(ring, key);
		}
		return key;
	};
}
