import { dayNumber } from '../../../calc/quantity/time.ts';
import type { LoggerLayout } from '../../contract/loggerimport.ts';
import { LocalClock, type LocalReading } from './zone.ts';

type StampFormat = LoggerLayout['time']['format'];

const DAY_S = 86_400;
/** Day number of 1970-01-01 as spreadsheets count days. */
const EXCEL_EPOCH_DAY = 25_569;
/** Day numbers taken for one: 1973 to 2119. */
const EXCEL_FROM = 26_700;
const EXCEL_TO = 80_000;
const PLAIN_NUMBER = /^-?\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?$/u;
const CLOCK_PART = String.raw`(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,9}))?)?\s*([AaPp]\.?[Mm]\.?)?`;
const ZONE_PART = String.raw`\s*(Z|[+-]\d{2}:?\d{2}|[+-]\d{2})?`;
const YEAR_FIRST = new RegExp(
	String.raw`^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]\s*${CLOCK_PART}${ZONE_PART})?$`,
	'u',
);
const YEAR_LAST = new RegExp(
	String.raw`^(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})(?:[T ,]\s*${CLOCK_PART}${ZONE_PART})?$`,
	'u',
);

export interface Stamp {
	/** Seconds since 1970 on the clock the stamp was written by. */
	readonly local_s: number;
	/** Offset written in the stamp, s; null if none was. */
	readonly offset_s: number | null;
}

const toMillisecond = (seconds: number): number => Math.round(seconds * 1000) / 1000;

/** A stamp as written, to the millisecond; null if it is not of this format or there is no such time. */
export function readStamp(text: string, format: StampFormat): Stamp | null {
	switch (format) {
		case 'epoch_s':
		case 'epoch_ms':
		case 'excel': {
			if (!PLAIN_NUMBER.test(text)) return null;
			const value = Number(text.replace(',', '.'));
			if (format === 'epoch_s') return { local_s: toMillisecond(value), offset_s: null };
			if (format === 'epoch_ms') return { local_s: Math.round(value) / 1000, offset_s: null };
			if (value < EXCEL_FROM || value > EXCEL_TO) return null;
			return { local_s: toMillisecond((value - EXCEL_EPOCH_DAY) * DAY_S), offset_s: null };
		}
		case 'iso': {
			const parts = YEAR_FIRST.exec(text);
			return parts === null ? null : stampOf(parts[1], parts[2], parts[3], parts);
		}
		case 'dmy':
		case 'mdy': {
			const parts = YEAR_LAST.exec(text);
			if (parts === null) return null;
			const year = parts[3]?.length === 2 ? `20${parts[3]}` : parts[3];
			return format === 'dmy'
				? stampOf(year, parts[2], parts[1], parts)
				: stampOf(year, parts[1], parts[2], parts);
		}
	}
}

function stampOf(
	year: string | undefined,
	month: string | undefined,
	day: string | undefined,
	parts: RegExpExecArray,
): Stamp | null {
	const days = dayNumber(Number(year), Number(month), Number(day));
	if (days === null) return null;
	let hour = Number(parts[4] ?? 0);
	const minute = Number(parts[5] ?? 0);
	const second = Number(parts[6] ?? 0);
	const half = parts[8]?.[0]?.toLowerCase();
	if (half !== undefined) {
		if (hour < 1 || hour > 12) return null;
		hour = (hour % 12) + (half === 'p' ? 12 : 0);
	}
	if (hour > 23 || minute > 59 || second > 59) return null;
	const thousandths = parts[7] === undefined ? 0 : Math.round(Number(`0.${parts[7]}`) * 1000);
	const whole = days * DAY_S + hour * 3600 + minute * 60 + second;
	return {
		local_s: thousandths === 0 ? whole : (whole * 1000 + thousandths) / 1000,
		offset_s: offsetOf(parts[9]),
	};
}

function offsetOf(zone: string | undefined): number | null {
	if (zone === undefined) return null;
	if (zone === 'Z') return 0;
	const digits = zone.slice(1).replace(':', '');
	const size = Number(digits.slice(0, 2)) * 3600 + Number(digits.slice(2) || 0) * 60;
	return zone[0] === '-' ? -size : size;
}

/** Reads the stamps of one file in their order. */
export class StampReader {
	readonly #format: StampFormat;
	readonly #clock: LocalClock | null;
	#reading: LocalReading = 'once';
	/** Date part last read, and its midnight: the stamps of a day share it. */
	#prefix = '';
	#midnight_s = 0;

	constructor({ format, zone }: LoggerLayout['time']) {
		this.#format = format;
		this.#clock = zone === 'stamps' ? null : new LocalClock(zone);
	}

	/** How the local clock showed the latest stamp. */
	get reading(): LocalReading {
		return this.#reading;
	}

	/** Unix s to the millisecond; NaN if it cannot be read, has no offset where one is needed, or the clock skipped it. */
	read(text: string, after_s: number): number {
		this.#reading = 'once';
		const quick_s = this.#quick(text);
		const stamp = Number.isNaN(quick_s) ? readStamp(text, this.#format) : null;
		let local_s = quick_s;
		if (stamp !== null) {
			// An offset in the stamp is what the clock was at; the zone chosen is for those without one.
			if (stamp.offset_s !== null) return toMillisecond(stamp.local_s - stamp.offset_s);
			local_s = stamp.local_s;
			this.#learn(text, local_s);
		}
		if (Number.isNaN(local_s)) return Number.NaN;
		// Seconds since 1970 are in UTC, unless someone says that they count on a local clock.
		if (this.#clock === null) return this.#format.startsWith('epoch') ? local_s : Number.NaN;
		const time_s = this.#clock.toUtc(local_s, after_s);
		this.#reading = this.#clock.reading;
		return toMillisecond(time_s);
	}

	/** `DATE HH:MM:SS` of the date last read. */
	#quick(text: string): number {
		const at = this.#prefix.length;
		if (at === 0 || text.length !== at + 8 || !text.startsWith(this.#prefix)) return Number.NaN;
		const two = (from: number): number => {
			const tens = text.charCodeAt(from) - 48;
			const ones = text.charCodeAt(from + 1) - 48;
			return tens < 0 || tens > 9 || ones < 0 || ones > 9 ? Number.NaN : tens * 10 + ones;
		};
		if (text.charCodeAt(at + 2) !== 58 || text.charCodeAt(at + 5) !== 58) return Number.NaN;
		const hour = two(at);
		const minute = two(at + 3);
		const second = two(at + 6);
		if (!(hour < 24 && minute < 60 && second < 60)) return Number.NaN;
		return this.#midnight_s + hour * 3600 + minute * 60 + second;
	}

	#learn(text: string, local_s: number): void {
		const parts = /^(\S+[T ])\d{2}:\d{2}:\d{2}$/u.exec(text);
		const prefix = parts?.[1] ?? /^(\d{4}-\d{2}-\d{2}T)\d{2}:\d{2}:\d{2}$/u.exec(text)?.[1];
		if (prefix === undefined) return;
		this.#prefix = prefix;
		this.#midnight_s = Math.floor(local_s / DAY_S) * DAY_S;
	}
}
