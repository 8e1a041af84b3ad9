import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clockTime, dateTime, dayNumber, isoTime, parseTime } from '../../../calc/quantity/time.ts';

const offsets = fc.integer({ min: -12 * 60, max: 14 * 60 });
/** 1970 to 2199, whole seconds. */
const times = fc.integer({ min: 0, max: 7_258_118_399 });

test('days agree with the calendar of ECMAScript from year 1 to 9999', () => {
	fc.assert(
		fc.property(
			fc.integer({ min: 1, max: 9999 }),
			fc.integer({ min: 0, max: 13 }),
			fc.integer({ min: 0, max: 32 }),
			(year, month, day) => {
				const date = new Date(0);
				date.setUTCFullYear(year, month - 1, day);
				const exists = date.getUTCMonth() === month - 1 && date.getUTCDate() === day;
				expect(dayNumber(year, month, day)).toBe(exists ? date.getTime() / 86_400_000 : null);
			},
		),
		{ seed: 2140, numRuns: 5000 },
	);
});

test('Unix times agree with ECMAScript’s own ISO text', () => {
	fc.assert(
		fc.property(times, (time_s) => {
			const iso = new Date(time_s * 1000).toISOString();
			expect(isoTime(time_s, 0)).toBe(iso.replace('.000Z', 'Z'));
			expect(parseTime(iso)).toEqual({ kind: 'time', time_s, utcOffset_min: 0 });
		}),
		{ seed: 2141, numRuns: 3000 },
	);
});

test('written in any offset and read back it is the same time', () => {
	fc.assert(
		fc.property(times, offsets, fc.integer({ min: 0, max: 999 }), (whole_s, offset, ms) => {
			const time_s = whole_s + ms / 1000;
			const text = isoTime(time_s, offset);
			expect(Date.parse(text)).toBe(Math.round(time_s * 1000));
			const read = parseTime(text);
			if (read.kind !== 'time') throw new Error(text);
			expect(Math.abs(read.time_s - time_s)).toBeLessThan(1e-6);
			expect(read.utcOffset_min).toBe(offset);
			const shown = parseTime(dateTime(whole_s, offset), { utcOffset_min: offset });
			expect(shown).toEqual({ kind: 'time', time_s: whole_s, utcOffset_min: null });
			const clock = parseTime(clockTime(whole_s, offset), {
				utcOffset_min: offset,
				day_s: whole_s,
			});
			expect(clock).toEqual({ kind: 'time', time_s: whole_s, utcOffset_min: null });
		}),
		{ seed: 2142, numRuns: 2000 },
	);
});

describe('forms of ISO 8601', () => {
	const T = Date.UTC(2026, 2, 1, 5, 30) / 1000;
	test.each([
		['2026-03-01T06:30:00+01:00', 60],
		['2026-03-01T06:30+01:00', 60],
		['2026-03-01 06:30+0100', 60],
		['2026-03-01T06:30+01', 60],
		['2026-03-01T05:30Z', 0],
		['2026-03-01T05:30:00.000Z', 0],
		['2026-03-01T05:30:00-00:00', 0],
		['2026-03-01T00:00\u221205:30', -330],
		['2026-03-01 11:00 +05:30', 330],
	])('%s', (text, utcOffset_min) => {
		expect(parseTime(text)).toEqual({ kind: 'time', time_s: T, utcOffset_min });
	});

	test('an offset in the text beats the one of the drive', () => {
		expect(parseTime('2026-03-01T06:30+01:00', { utcOffset_min: -300 })).toMatchObject({
			time_s: T,
		});
		expect(parseTime('2026-03-01 06:30', { utcOffset_min: 60 })).toMatchObject({ time_s: T });
	});

	test('parts of a second', () => {
		expect(parseTime('2026-03-01T05:30:00,25Z')).toMatchObject({ time_s: T + 0.25 });
	});
});

test('a bare clock time belongs to the local day given', () => {
	const day_s = Date.UTC(2026, 2, 1, 23, 30) / 1000;
	// 23:30 UTC is already 2 March in an offset of one hour.
	expect(parseTime('0:10', { utcOffset_min: 60, day_s })).toMatchObject({
		time_s: Date.UTC(2026, 2, 1, 23, 10) / 1000,
	});
	expect(parseTime('0:10', { utcOffset_min: 60 })).toMatchObject({
		fault: { code: 'time_without_date' },
	});
	expect(parseTime('25:10', { utcOffset_min: 60, day_s })).toMatchObject({
		fault: { code: 'time_impossible' },
	});
});

test.each([
	['2026-03-01T06:30', 'time_without_offset'],
	['03/04/2026 06:30', 'time_text'],
	['2026-02-29T06:30Z', 'time_impossible'],
	['2026-03-01T06:30+19:00', 'time_impossible'],
	['2026-03-01T06:30+01:75', 'time_impossible'],
	['2026-03-01T06:30:60Z', 'time_impossible'],
	['1772343000', 'time_text'],
])('%s is refused', (text, code) => {
	expect(parseTime(text)).toMatchObject({ kind: 'fault', fault: { code } });
});

test('nothing typed is empty', () => {
	expect(parseTime(' ')).toEqual({ kind: 'empty' });
});

test('a time before 1970 and one that rounds up to the next second', () => {
	expect(isoTime(-1, 0)).toBe('1969-12-31T23:59:59Z');
	expect(isoTime(59.9996, 0)).toBe('1970-01-01T00:01:00Z');
	expect(() => isoTime(Number.NaN, 0)).toThrow(RangeError);
});
