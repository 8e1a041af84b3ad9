import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
	continueCells,
	continueSeries,
	decimalsOf,
} from '../../../../renderer/sheets/range/series.ts';

const SEEDED = { seed: 20260403 };

describe('a series', () => {
	it('goes on by even steps without rounding errors', () => {
		fc.assert(
			fc.property(
				fc.integer({ min: -9999, max: 9999 }),
				fc.integer({ min: -99, max: 99 }),
				fc.integer({ min: 2, max: 6 }),
				fc.integer({ min: 0, max: 4 }),
				fc.integer({ min: 1, max: 40 }),
				(start, step, n, decimals, count) => {
					// Whole numbers are exact; the same with a point in it must be the same digits.
					const told = (at: number) => Number(`${start + at * step}e-${decimals}`);
					const known = Array.from({ length: n }, (_, at) => told(at));
					expect(continueSeries(known, count)).toEqual(
						Array.from({ length: count }, (_, at) => told(n + at) + 0),
					);
					expect(continueSeries(known, count, true)).toEqual(
						Array.from({ length: count }, (_, at) => told(-1 - at) + 0),
					);
				},
			),
			SEEDED,
		);
	});

	it('of uneven steps follows the line of least squares', () => {
		// By hand: places 0…3, mean 2.5, slope ((-1.5)(-1.5)+(-0.5)(-0.5)+0.5(-0.5)+1.5·2.5)/5 = 1.2; a figure keeps the decimals of its source.
		expect(continueSeries([1, 2, 2, 5], 2)).toEqual([6, 7]);
		expect(continueSeries([1.0, 2.0, 2.0, 5.01], 1)).toEqual([5.51]);
	});

	it('of times keeps its step', () => {
		expect(continueSeries([1_772_343_000, 1_772_343_900], 3)).toEqual([
			1_772_344_800, 1_772_345_700, 1_772_346_600,
		]);
	});

	it('of a single value, of texts, and of a gap only repeats', () => {
		expect(continueCells([3], 2, { back: false, series: true })).toEqual([3, 3]);
		expect(continueCells(['a', 'b'], 3, { back: false, series: true })).toEqual(['a', 'b', 'a']);
		expect(continueCells(['a', 'b'], 3, { back: true, series: true })).toEqual(['b', 'a', 'b']);
		expect(continueCells([1, null], 3, { back: false, series: true })).toEqual([1, null, 1]);
		expect(continueCells([1, 2], 3, { back: false, series: false })).toEqual([1, 2, 1]);
		expect(continueCells([], 3, { back: false, series: true })).toEqual([]);
	});

	it('counts the digits after the point', () => {
		expect([1, 1.25, 0.001, 1e-7, 2e21].map(decimalsOf)).toEqual([0, 2, 3, 7, 0]);
	});
});
