import { describe, expect, it } from 'vitest';
import type { CellValue, SheetRow } from '../../../calc/sheet/column.ts';
import {
	lastReading_s,
	lastSetMode_s,
	newGroundShare,
	newReading,
	newRing,
} from '../../../renderer/sheets/newrow.ts';
import { ringAtTime } from '../../../renderer/sheets/ringattime.ts';

const MARKS = { decimal: '.', utcOffset_min: 60 } as const;
const rows = (...cells: Record<string, CellValue>[]): SheetRow[] =>
	cells.map((each, index) => ({ id: index + 1, cells: each }));

describe('what a new reading begins with', () => {
	it('carries on the rhythm of the last two readings, whatever order the rows lie in', () => {
		const texts = newReading(
			rows(
				{ time: 1_772_343_000 + 1800, mode: 'bypass', feed_flow_m3_h: 900 },
				{ time: 1_772_343_000, mode: 'advance' },
				{ time: 1_772_343_000 + 900, mode: 'advance' },
			),
			MARKS,
		);
		expect(texts).toEqual({ mode: 'bypass', time: '2026-03-01 07:15' });
	});

	it('fills in no time after a long pause, after a single reading, or without any', () => {
		expect(
			newReading(rows({ time: 0, mode: 'stop' }, { time: 86_400, mode: 'advance' }), MARKS),
		).toEqual({ mode: 'advance' });
		expect(newReading(rows({ time: 0, mode: 'stop' }), MARKS)).toEqual({ mode: 'stop' });
		expect(newReading([], MARKS)).toEqual({});
	});

	it('never fills in anything measured', () => {
		const texts = newReading(
			rows(
				{ time: 0, mode: 'advance', feed_flow_m3_h: 1000, ph: 9 },
				{ time: 60, mode: 'advance', feed_flow_m3_h: 1000, ph: 9 },
			),
			MARKS,
		);
		expect(Object.keys(texts).sort()).toEqual(['mode', 'time']);
	});

	it('knows the day of the last reading', () => {
		expect(lastReading_s(rows({ time: 5 }, { time: 9 }, { time: null }))).toBe(9);
		expect(lastReading_s([])).toBeNull();
	});
});

describe('what a new ring and a new ground share begin with', () => {
	it('goes on after the last', () => {
		expect(newRing(rows({ ring: 41 }, { ring: 40 }))).toEqual({ ring: '42' });
		expect(newRing([])).toEqual({});
		expect(newGroundShare(rows({ from_ring: 1, to_ring: 60 }))).toEqual({ from_ring: '61' });
		expect(lastSetMode_s(rows({ from_time: 1, to_time: 90 }, { from_time: 2, to_time: 60 }))).toBe(
			90,
		);
		expect(lastSetMode_s([])).toBeNull();
	});
});

describe('the ring of a moment', () => {
	const rings = rows(
		{ ring: 2, advance_start: 200 },
		{ ring: 1, advance_start: 100 },
		{ ring: 3, advance_start: null },
	);
	it('is the last one whose advance had begun', () => {
		expect(ringAtTime(rings, 99)).toBeNull();
		expect(ringAtTime(rings, 100)).toBe(1);
		expect(ringAtTime(rings, 199)).toBe(1);
		expect(ringAtTime(rings, 5000)).toBe(2);
	});
});
