import { describe, expect, test } from 'vitest';
import type { SignalFault } from '../../calc/circuit/faultrules.ts';
import { signalFaults } from '../../calc/circuit/signalfaults.ts';

/**
 * Local stamps around real changes of clocks, made with the time zone database that Node carries (IANA
 * tz). Central Europe 2026: directive 2000/84/EC, last Sundays of March and October at 01:00 UTC, so
 * 29 March and 25 October. The others are as the database has them.
 */

/** A wall clock's reading as if it were UTC, which is what a record without offsets is read as. */
function wallClock(zone: string): (time_s: number) => number {
	const format = new Intl.DateTimeFormat('en-GB', {
		timeZone: zone,
		hourCycle: 'h23',
		year: 'numeric',
		month: '2-digit',
		day: '2-digit',
		hour: '2-digit',
		minute: '2-digit',
		second: '2-digit',
	});
	return (time_s) => {
		const part = Object.fromEntries(
			format.formatToParts(time_s * 1000).map(({ type, value }) => [type, Number(value)]),
		);
		return (
			Date.UTC(part.year!, part.month! - 1, part.day, part.hour, part.minute, part.second) / 1000
		);
	};
}

function faultsAround(zone: string, change_utc: string, step_s: number): SignalFault[] {
	const change_s = Date.parse(change_utc) / 1000;
	const count = Math.round(8000 / step_s);
	const start_s = change_s - Math.floor(count / 2) * step_s;
	const clock = wallClock(zone);
	const noise = (i: number, size: number): number => size * (((i * 7919) % 101) / 101);
	const column = (mean: number, size: number) =>
		Float64Array.from({ length: count }, (_, i) => mean + noise(i, size));
	return signalFaults({
		count,
		time_s: Float64Array.from({ length: count }, (_, i) => clock(start_s + i * step_s)),
		mode: new Uint8Array(count),
		feedFlow_m3_s: column(0.3, 0.004),
		feedDensity_kg_m3: column(1080, 2),
		returnFlow_m3_s: column(0.32, 0.004),
		returnDensity_kg_m3: column(1150, 3),
		sideFlow_m3_s: null,
		chamberLevel_m: null,
		feedTotal_m3: null,
		returnTotal_m3: null,
	});
}

describe('changes of clocks', () => {
	for (const step_s of [1, 5, 60]) {
		test.each([
			['Europe/Berlin', '2026-03-29T01:00:00Z', '2026-03-29T02:00:00Z', 1],
			['Europe/London', '2026-03-29T01:00:00Z', '2026-03-29T01:00:00Z', 1],
			['America/New_York', '2026-03-08T07:00:00Z', '2026-03-08T02:00:00Z', 1],
			['Australia/Adelaide', '2026-10-03T16:30:00Z', '2026-10-04T02:00:00Z', 1],
		])(`%s in spring, a row every ${step_s} s`, (zone, change, wall, count) => {
			const last = Date.parse(wall) / 1000 - step_s;
			expect(faultsAround(zone, change, step_s)).toMatchObject([
				{
					kind: 'daylight_saving',
					from_s: last,
					to_s: last + step_s + 3600,
					count,
					rule: 'local stamps jump ahead by exactly one hour',
				},
			]);
		});

		test.each([
			['Europe/Berlin', '2026-10-25T01:00:00Z', '2026-10-25T02:00:00Z'],
			['America/New_York', '2026-11-01T06:00:00Z', '2026-11-01T01:00:00Z'],
		])(`%s in autumn, a row every ${step_s} s`, (zone, change, wall) => {
			const again = Date.parse(wall) / 1000;
			expect(faultsAround(zone, change, step_s)).toMatchObject([
				{
					kind: 'daylight_saving',
					from_s: again,
					to_s: again + 3600 - step_s,
					count: 3600 / step_s,
				},
			]);
		});
	}

	test('a zone that does not change its clocks has no fault on those days', () => {
		expect(faultsAround('Asia/Kolkata', '2026-03-29T01:00:00Z', 1)).toEqual([]);
		expect(faultsAround('UTC', '2026-10-25T01:00:00Z', 1)).toEqual([]);
	});

	test('the half hour of Lord Howe Island is told as a clock that was put back, not as an hour', () => {
		expect(faultsAround('Australia/Lord_Howe', '2026-04-04T15:00:00Z', 1)).toMatchObject([
			{ kind: 'clock_jump', rule: 'stamps step back: the clock was put back by 30 min' },
		]);
	});
});
