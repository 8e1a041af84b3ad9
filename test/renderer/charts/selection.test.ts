import { describe, expect, it } from 'vitest';
import { between, pieceAround, snapped } from '../../../renderer/charts/selection.ts';
import { setModesIn } from '../../../renderer/charts/setmodes.ts';
import { madeTimeline, START_S } from './madetimeline.ts';

const timeline = madeTimeline();

describe('a stretch in hand', () => {
	it('begins and ends with a stamp, or with a change of mode where one is near', () => {
		// One sample every five seconds; at 2 px a second a change of mode pulls from 3 s away.
		expect(snapped(timeline, START_S + 101.4, 2)).toBe(START_S + 100);
		expect(snapped(timeline, START_S + 103, 2)).toBe(START_S + 105);
		expect(snapped(timeline, START_S + 597.5, 2)).toBe(START_S + 600);
		// Nothing was recorded from 1500 to 1740: its edges are the nearest stamps.
		expect(snapped(timeline, START_S + 1600, 2)).toBe(START_S + 1500);
		expect(snapped({ time_s: [], modes: [] }, 12.5, 1)).toBe(12.5);
	});

	it('goes forwards and backwards alike and is none where both ends are one', () => {
		expect(between(5, 2)).toEqual({ from_s: 2, to_s: 5 });
		expect(between(2, 5)).toEqual({ from_s: 2, to_s: 5 });
		expect(between(4, 4)).toBeNull();
	});

	it('is the whole piece of the band where only a moment is pointed at', () => {
		const at = (t: number) => pieceAround(timeline.modes, START_S + t);
		expect(at(700)).toEqual({ from_s: START_S + 600, to_s: START_S + 1500 });
		expect(at(600)).toEqual({ from_s: START_S + 600, to_s: START_S + 1500 });
		expect(at(3600)).toEqual({ from_s: START_S + 3420, to_s: START_S + 3600 });
		expect(at(1600)).toBeNull();
		expect(at(-10)).toBeNull();
	});
});

describe('set modes of a span', () => {
	const row = (id: number, from_time: number, to_time: number, mode: string | null = 'stop') => ({
		id,
		cells: { from_time, to_time, mode, why: 'shift log' },
	});
	it('are those that reach into it, by their beginning; rows not whole yet are left out', () => {
		const rows = [
			row(1, 40, 60),
			row(2, 0, 10),
			row(3, 5, 11),
			row(4, 90, 120),
			row(5, 20, 30, null),
			{ id: 6, cells: { from_time: 20, to_time: null, mode: 'stop', why: null } },
		];
		expect(setModesIn(rows, { from_s: 10, to_s: 90 }).map(({ id }) => id)).toEqual([3, 1]);
	});
});
