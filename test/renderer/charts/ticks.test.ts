import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
	clockStep_s,
	clockTicks,
	decimalsOf,
	durationText,
	tickTexts,
} from '../../../renderer/charts/ticks.ts';

const SEED = 1931;

describe('the time axis', () => {
	it('puts every tick on a whole step of the local clock, none missing', () => {
		fc.assert(
			fc.property(
				fc.integer({ min: 1_900_000_000, max: 2_000_000_000 }),
				fc.integer({ min: 1, max: 400_000 }),
				fc.constantFrom(-210, 0, 60, 330, 345),
				fc.integer({ min: 2, max: 16 }),
				(from, length, offset, most) => {
					const step = clockStep_s(length, most);
					const ticks = clockTicks(from, from + length, step, offset);
					expect(ticks.length).toBeLessThanOrEqual(most + 1);
					for (const tick of ticks) {
						expect((tick + offset * 60) % step).toBe(0);
						expect(tick).toBeGreaterThanOrEqual(from);
						expect(tick).toBeLessThanOrEqual(from + length);
					}
					if (ticks.length === 0) expect(length).toBeLessThan(step);
					else expect((ticks[0] as number) - from).toBeLessThan(step);
					for (let i = 1; i < ticks.length; i++) {
						expect((ticks[i] as number) - (ticks[i - 1] as number)).toBe(step);
					}
				},
			),
			{ seed: SEED, numRuns: 400 },
		);
	});

	it('names the new day after midnight', () => {
		// 2031-04-07T23:50:00Z, shown two hours east of UTC: 01:50 on the 8th.
		const start = Date.UTC(2031, 3, 7, 21, 50) / 1000;
		const ticks = clockTicks(start, start + 1200, 300, 120);
		expect(tickTexts(ticks, 300, 120)).toEqual(['23:50', '23:55', '2031-04-08', '00:05', '00:10']);
	});

	it('gives values the decimals that tell them apart', () => {
		expect([100, 5, 0.5, 0.25, 0.05, 0.025, 0.001, 2.5e-6].map(decimalsOf)).toEqual([
			0, 0, 1, 2, 2, 3, 3, 7,
		]);
	});

	it('says stretches of time in words', () => {
		expect([0, 48, 400, 3600, 7500, -90, 59.6].map(durationText)).toEqual([
			'0 s',
			'48 s',
			'6 min 40 s',
			'1 h',
			'2 h 5 min',
			'−1 min 30 s',
			'1 min',
		]);
	});
});
