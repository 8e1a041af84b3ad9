import { dateTime } from '../../calc/quantity/time.ts';
import type { SheetRow } from '../../calc/sheet/column.ts';
import type { Marks } from './celltext.ts';

/** Longer pauses between the last two readings are a shift change or a stop, not a rhythm. */
const LONGEST_INTERVAL_s = 4 * 3600;

/** The last two readings by time, latest first. */
function lastTwo(rows: Iterable<SheetRow>): readonly [SheetRow | null, SheetRow | null] {
	let last: SheetRow | null = null;
	let before: SheetRow | null = null;
	for (const row of rows) {
		const time_s = row.cells.time;
		if (typeof time_s !== 'number') continue;
		if (!last || time_s > (last.cells.time as number)) {
			before = last;
			last = row;
		} else if (!before || time_s > (before.cells.time as number)) before = row;
	}
	return [last, before];
}

/**
 * What a new reading begins with: the last reading's mode, and its time plus the interval between
 * the last two when that is a rhythm. Nothing measured is ever filled in.
 */
export function newReading(rows: Iterable<SheetRow>, marks: Marks): Record<string, string> {
	const [last, before] = lastTwo(rows);
	if (!last) return {};
	const texts: Record<string, string> = {};
	const { time, mode, entered_by } = last.cells;
	if (typeof mode === 'string') texts.mode = mode;
	if (typeof entered_by === 'string') texts.entered_by = entered_by;
	const interval_s =
		typeof time === 'number' && before ? time - (before.cells.time as number) : Number.NaN;
	if (typeof time === 'number' && interval_s > 0 && interval_s <= LONGEST_INTERVAL_s)
		texts.time = dateTime(time + interval_s, marks.utcOffset_min);
	return texts;
}

/** Time of the last reading, the day a bare clock time belongs to; null without readings. */
export function lastReading_s(rows: Iterable<SheetRow>): number | null {
	const time_s = lastTwo(rows)[0]?.cells.time;
	return typeof time_s === 'number' ? time_s : null;
}

const largest = (rows: Iterable<SheetRow>, id: string): number | null => {
	let found: number | null = null;
	for (const { cells } of rows) {
		const value = cells[id];
		if (typeof value === 'number' && (found === null || value > found)) found = value;
	}
	return found;
};

/** A new ring carries the next number. */
export function newRing(rows: Iterable<SheetRow>): Record<string, string> {
	const last = largest(rows, 'ring');
	return last === null ? {} : { ring: String(last + 1) };
}

/** End of the last advance, the day a bare clock time belongs to; null without rings. */
export function lastAdvance_s(rows: Iterable<SheetRow>): number | null {
	return largest(rows, 'advance_end');
}

/** A new ground share begins after the last ring that has one. */
export function newGroundShare(rows: Iterable<SheetRow>): Record<string, string> {
	const last = largest(rows, 'to_ring');
	return last === null ? {} : { from_ring: String(last + 1) };
}

/** End of the last stretch set by hand, the day a bare clock time belongs to; null without any. */
export function lastSetMode_s(rows: Iterable<SheetRow>): number | null {
	return largest(rows, 'to_time');
}
