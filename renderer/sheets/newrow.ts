import { dateTime } from '../../calc/quantity/time.ts';
import { columnsOf } from '../../calc/sheet/catalogue.ts';
import type { SheetId, SheetRow } from '../../calc/sheet/column.ts';
import { editText, type Marks } from './celltext.ts';

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

/** A new row with all that is entered in another one. What makes a row itself, such as its time, the person changes. */
export function rowLike(sheet: SheetId, row: SheetRow, marks: Marks): Record<string, string> {
	const texts: Record<string, string> = {};
	for (const column of columnsOf(sheet)) {
		const text = column.kind === 'entered' ? editText(column, row.cells[column.id], marks) : '';
		if (text !== '') texts[column.id] = text;
	}
	return texts;
}

/** A new row between two that are there: what follows from where it lies, and nothing measured. */
export function rowBetween(
	sheet: SheetId,
	row: SheetRow,
	before: SheetRow | null,
	marks: Marks,
): Record<string, string> {
	if (sheet === 'ground') {
		const from = before?.cells.to_ring;
		const to = row.cells.from_ring;
		if (typeof from !== 'number' || typeof to !== 'number' || to - from < 2) return {};
		return { from_ring: String(from + 1), to_ring: String(to - 1) };
	}
	if (sheet !== 'readings') return {};
	const { time: after_s } = row.cells;
	const { time: before_s, mode, entered_by } = before?.cells ?? {};
	const texts: Record<string, string> = {};
	if (typeof mode === 'string') texts.mode = mode;
	if (typeof entered_by === 'string') texts.entered_by = entered_by;
	if (typeof before_s === 'number' && typeof after_s === 'number' && after_s > before_s) {
		const middle_s = (before_s + after_s) / 2;
		// Readings stand at full minutes as long as there is one between.
		const minute_s = Math.round(middle_s / 60) * 60;
		const between = minute_s > before_s && minute_s < after_s;
		texts.time = dateTime(between ? minute_s : middle_s, marks.utcOffset_min);
	}
	return texts;
}
