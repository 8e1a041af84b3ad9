/** Shifts of a working day by the clock of the drive. */

const DAY_MIN = 24 * 60;

/** Three shifts of eight hours: common practice, no source. Minutes after midnight. */
export const THREE_SHIFTS: readonly number[] = [6 * 60, 14 * 60, 22 * 60];

/** Most beginnings a day may have. */
const MOST_SHIFTS = 8;

export interface Shift {
	/** Unix seconds; the end is the beginning of the next shift. */
	readonly start_s: number;
	readonly end_s: number;
}

/**
 * The shift a moment falls into. A shift that runs over midnight belongs to the day it began on.
 *
 * @param starts_min beginnings in minutes after local midnight, ascending, at least one
 * @example
 * shiftOf(23 * 3600, [360, 840, 1320], 0) // => { "start_s": 79200, "end_s": 108000 }
 * shiftOf(86400 + 3600, [360, 840, 1320], 0) // => { "start_s": 79200, "end_s": 108000 }
 */
export function shiftOf(
	time_s: number,
	starts_min: readonly number[],
	utcOffset_min: number,
): Shift {
	const local_min = Math.floor(time_s / 60) + utcOffset_min;
	const day_min = Math.floor(local_min / DAY_MIN) * DAY_MIN;
	const first = starts_min[0] ?? 0;
	const last = starts_min.at(-1) ?? 0;
	let start = day_min + last - DAY_MIN;
	let end = day_min + first;
	for (const [index, begin] of starts_min.entries()) {
		if (day_min + begin > local_min) break;
		start = day_min + begin;
		end = day_min + (starts_min[index + 1] ?? first + DAY_MIN);
	}
	return { start_s: (start - utcOffset_min) * 60, end_s: (end - utcOffset_min) * 60 };
}

/**
 * Reads the beginnings of the shifts as typed, in any order; null where a part is no clock time,
 * where one stands twice, or where there are none or more than eight.
 *
 * @example
 * readShiftStarts('6:00, 14, 22:00') // => [360, 840, 1320]
 * readShiftStarts('7:30 19:30') // => [450, 1170]
 * readShiftStarts('25:00') // => null
 */
export function readShiftStarts(text: string): number[] | null {
	const parts = text.split(/[\s,;]+/).filter((part) => part !== '');
	const starts: number[] = [];
	for (const part of parts) {
		const match = /^(\d{1,2})(?::(\d{2}))?$/.exec(part);
		const hour = Number(match?.[1] ?? Number.NaN);
		const minute = Number(match?.[2] ?? 0);
		if (!(hour < 24 && minute < 60)) return null;
		starts.push(hour * 60 + minute);
	}
	if (starts.length === 0 || starts.length > MOST_SHIFTS) return null;
	if (new Set(starts).size !== starts.length) return null;
	return starts.sort((a, b) => a - b);
}

/**
 * Beginnings of the shifts as they are typed.
 *
 * @example
 * shiftStartsText([360, 840, 1320]) // => "06:00, 14:00, 22:00"
 */
export function shiftStartsText(starts_min: readonly number[]): string {
	const two = (value: number) => String(value).padStart(2, '0');
	return starts_min.map((at) => `${two(Math.floor(at / 60))}:${two(at % 60)}`).join(', ');
}
