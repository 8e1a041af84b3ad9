import { type Fault, stopFault } from '../fault/fault.ts';

/**
 * Times as Unix seconds (UTC, no leap seconds) and as ISO 8601 text with an offset. Civil dates are
 * counted here, in the proleptic Gregorian calendar: no local zone, no clock.
 */

const DAY_S = 86_400;
const MONTH_DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] as const;
const FARTHEST_OFFSET_MIN = 18 * 60;

const isLeap = (year: number): boolean => year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0);
const leapsBefore = (year: number): number => {
	const last = year - 1;
	return Math.floor(last / 4) - Math.floor(last / 100) + Math.floor(last / 400);
};
const LEAPS_BEFORE_1970 = leapsBefore(1970);
const daysBeforeYear = (year: number): number =>
	(year - 1970) * 365 + leapsBefore(year) - LEAPS_BEFORE_1970;
const daysInMonth = (year: number, month: number): number =>
	month === 2 && isLeap(year) ? 29 : (MONTH_DAYS[month - 1] ?? 0);

/**
 * Days from 1970-01-01 to a date of the Gregorian calendar; month and day count from 1. null if
 * there is no such date.
 *
 * @example
 * dayNumber(2000, 3, 1) // => 11017
 * dayNumber(2023, 2, 29) // => null
 */
export function dayNumber(year: number, month: number, day: number): number | null {
	if (![year, month, day].every(Number.isInteger) || month < 1 || month > 12) return null;
	if (day < 1 || day > daysInMonth(year, month)) return null;
	let days = daysBeforeYear(year);
	for (let m = 1; m < month; m++) days += daysInMonth(year, m);
	return days + day - 1;
}

interface Civil {
	readonly year: number;
	readonly month: number;
	readonly day: number;
}

function civilOf(days: number): Civil {
	let year = 1970 + Math.floor(days / 365.2425);
	while (daysBeforeYear(year) > days) year--;
	while (daysBeforeYear(year + 1) <= days) year++;
	let left = days - daysBeforeYear(year);
	let month = 1;
	while (left >= daysInMonth(year, month)) {
		left -= daysInMonth(year, month);
		month++;
	}
	return { year, month, day: left + 1 };
}

export type ParsedTime =
	/** `utcOffset_min` is the offset written in the text, null when none was. */
	| { readonly kind: 'time'; readonly time_s: number; readonly utcOffset_min: number | null }
	| { readonly kind: 'empty' }
	| { readonly kind: 'fault'; readonly fault: Fault };

export interface TypedTime {
	/** Offset that a time without one is taken in, minutes east of UTC. Absent: such a time is refused. */
	readonly utcOffset_min?: number | null;
	/** Any moment of the day (Unix s) that a bare clock time such as "14:30" belongs to; needs `utcOffset_min`. */
	readonly day_s?: number | null;
}

const DATED =
	/^(\d{4})-(\d{2})-(\d{2})[T ](\d{2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?\s?(Z|[+\-\u2212]\d{2}(?::?\d{2})?)?$/u;
const CLOCK = /^(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?$/u;

/**
 * Reads a time: ISO 8601 calendar date and time, T or space between, with `Z` or an offset. Without
 * an offset only where `utcOffset_min` says which one is meant; a bare clock time only where `day_s`
 * says which day. Dates such as 03/04/2026 are refused: they mean two days.
 *
 * @example
 * parseTime('2026-03-01T06:30:00+01:00') // => {"kind":"time","time_s":1772343000,"utcOffset_min":60}
 * parseTime('2026-03-01 06:30', { utcOffset_min: 60 }) // => {"kind":"time","time_s":1772343000,"utcOffset_min":null}
 * parseTime('6:45', { utcOffset_min: 60, day_s: 1772343000 }).time_s // => 1772343900
 * parseTime('2026-03-01T06:30:00').fault.code // => "time_without_offset"
 */
export function parseTime(text: string, typed: TypedTime = {}): ParsedTime {
	const trimmed = text.trim();
	if (trimmed === '') return { kind: 'empty' };
	const offsetKnown = typed.utcOffset_min ?? null;
	const day_s = typed.day_s ?? null;
	const expected =
		offsetKnown === null
			? 'date, time and offset such as 2026-03-01T06:30:00+01:00'
			: 'date and time such as 2026-03-01 06:30';
	const fault = (code: string, message: string): ParsedTime => ({
		kind: 'fault',
		fault: stopFault(code, message, { value: trimmed.slice(0, 40), expected }),
	});

	const clock = CLOCK.exec(trimmed);
	if (clock) {
		if (day_s === null || offsetKnown === null)
			return fault('time_without_date', 'The date is missing.');
		const seconds = secondsOfDay(clock[1], clock[2], clock[3], clock[4]);
		if (seconds === null) return fault('time_impossible', 'There is no such time of day.');
		const local = day_s + offsetKnown * 60;
		const midnight = Math.floor(local / DAY_S) * DAY_S;
		return { kind: 'time', time_s: midnight - offsetKnown * 60 + seconds, utcOffset_min: null };
	}

	const dated = DATED.exec(trimmed);
	if (!dated) return fault('time_text', 'This is not a date and time in the form year-month-day.');
	const [, year, month, day, hour, minute, second, part, zone] = dated;
	const days = dayNumber(Number(year), Number(month), Number(day));
	if (days === null) return fault('time_impossible', 'There is no such date.');
	const seconds = secondsOfDay(hour, minute, second, part);
	if (seconds === null) return fault('time_impossible', 'There is no such time of day.');
	const written = zone === undefined ? null : offsetOf(zone);
	if (zone !== undefined && written === null)
		return fault('time_impossible', 'There is no such offset from UTC.');
	const offset_min = written ?? offsetKnown;
	if (offset_min === null) return fault('time_without_offset', 'The offset from UTC is missing.');
	return {
		kind: 'time',
		time_s: days * DAY_S - offset_min * 60 + seconds,
		utcOffset_min: written,
	};
}

function secondsOfDay(
	hour: string | undefined,
	minute: string | undefined,
	second: string | undefined,
	part: string | undefined,
): number | null {
	const h = Number(hour);
	const m = Number(minute);
	const s = Number(second ?? 0);
	if (h > 23 || m > 59 || s > 59) return null;
	return h * 3600 + m * 60 + s + (part === undefined ? 0 : Number(`0.${part}`));
}

function offsetOf(zone: string): number | null {
	if (zone === 'Z') return 0;
	const digits = zone.slice(1).replace(':', '');
	const hours = Number(digits.slice(0, 2));
	const minutes = Number(digits.slice(2) || 0);
	const total = hours * 60 + minutes;
	if (minutes > 59 || total > FARTHEST_OFFSET_MIN) return null;
	if (total === 0) return 0;
	return zone.startsWith('+') ? total : -total;
}

interface Parts extends Civil {
	readonly hour: number;
	readonly minute: number;
	readonly second: number;
	readonly millisecond: number;
}

/** Rounded to the millisecond, the finest stamp a circuit's logger gives. */
function partsOf(time_s: number, utcOffset_min: number): Parts {
	if (!Number.isFinite(time_s)) throw new RangeError(`a shown time must be finite, got ${time_s}`);
	const whole_s = Math.floor(time_s);
	let millisecond = Math.round((time_s - whole_s) * 1000);
	let local = whole_s + utcOffset_min * 60;
	if (millisecond === 1000) {
		millisecond = 0;
		local += 1;
	}
	const days = Math.floor(local / DAY_S);
	const rest = local - days * DAY_S;
	return {
		...civilOf(days),
		hour: Math.floor(rest / 3600),
		minute: Math.floor((rest % 3600) / 60),
		second: rest % 60,
		millisecond,
	};
}

const two = (value: number): string => String(value).padStart(2, '0');
const datePart = (p: Parts): string =>
	`${String(p.year).padStart(4, '0')}-${two(p.month)}-${two(p.day)}`;
const millisPart = (p: Parts): string =>
	p.millisecond === 0 ? '' : `.${String(p.millisecond).padStart(3, '0').replace(/0+$/u, '')}`;

/**
 * A time as ISO 8601 with offset, to the second, or to the millisecond where there is one. For files.
 *
 * @example
 * isoTime(1772343000, 60) // => "2026-03-01T06:30:00+01:00"
 * isoTime(1772343000.25, 0) // => "2026-03-01T05:30:00.25Z"
 */
export function isoTime(time_s: number, utcOffset_min: number): string {
	const p = partsOf(time_s, utcOffset_min);
	const minutes = Math.abs(utcOffset_min);
	const zone =
		utcOffset_min === 0
			? 'Z'
			: `${utcOffset_min < 0 ? '-' : '+'}${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
	return `${datePart(p)}T${two(p.hour)}:${two(p.minute)}:${two(p.second)}${millisPart(p)}${zone}`;
}

/**
 * Time of day for the screen, seconds only where there are any.
 *
 * @example
 * clockTime(1772343000, 60) // => "06:30"
 * clockTime(1772343005, 60) // => "06:30:05"
 */
export function clockTime(time_s: number, utcOffset_min: number): string {
	const p = partsOf(time_s, utcOffset_min);
	const seconds = p.second === 0 && p.millisecond === 0 ? '' : `:${two(p.second)}${millisPart(p)}`;
	return `${two(p.hour)}:${two(p.minute)}${seconds}`;
}

/**
 * Date and time of day for the screen, in the drive's offset; `parseTime` with the same offset reads
 * it back.
 *
 * @example
 * dateTime(1772343000, 60) // => "2026-03-01 06:30"
 */
export function dateTime(time_s: number, utcOffset_min: number): string {
	return `${datePart(partsOf(time_s, utcOffset_min))} ${clockTime(time_s, utcOffset_min)}`;
}
