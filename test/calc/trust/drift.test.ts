import fc from 'fast-check';
import { all, create, type Matrix } from 'mathjs';
import { describe, expect, test } from 'vitest';
import { Chance } from '../../../calc/drive/chance.ts';
import {
	DENSITY_DRIFT_RULES,
	type DriftFit,
	type DriftPoint,
	driftAt,
	driftBends,
	driftCovariance,
	driftMean,
	fitDrift,
} from '../../../calc/trust/drift.ts';

const HOUR = 3600;
const at = (hours: number, value: number, change: Partial<DriftPoint> = {}): DriftPoint => ({
	time_s: HOUR * hours,
	value,
	u: 0.4,
	count: 300,
	accepted: false,
	...change,
});
const fitted = (points: DriftPoint[], told: number[] = []): DriftFit =>
	fitDrift(
		points,
		told.map((hours) => ({ at_s: HOUR * hours })),
		DENSITY_DRIFT_RULES,
	)!;

/** A walk with the given spread a day seen twice a ring with scatter 0.4; the simulator's own chance. */
function walked(seed: number, count: number, perDay: number): DriftPoint[] {
	const chance = new Chance(seed, 'walk');
	let level = 9;
	return Array.from({ length: count }, (_, i) => {
		level += perDay * Math.sqrt(0.75 / 24) * chance.normal();
		return at(0.75 * i, level + 0.4 * chance.normal());
	});
}

describe('smoothing', () => {
	const math = create(all!);

	/**
	 * Outside check: the same estimate as generalised least squares over the whole covariance matrix of a
	 * random walk, solved densely by mathjs. Start level: flat, as a variance large beside all others.
	 */
	test('value and covariance at any times agree with the dense solution', () => {
		fc.assert(
			fc.property(
				fc.array(fc.double({ min: 0.2, max: 9, noNaN: true }), { minLength: 3, maxLength: 7 }),
				fc.array(fc.double({ min: -0.5, max: 0.5, noNaN: true }), { minLength: 7, maxLength: 7 }),
				fc.double({ min: -3, max: 60, noNaN: true }),
				fc.double({ min: -3, max: 60, noNaN: true }),
				(gaps, values, one, other) => {
					let t = 0;
					const points = gaps.map((gap, i) => {
						t += gap;
						return at(t, 9 + values[i]!, { count: 100 + 50 * i });
					});
					const fit = fitted(points);
					fc.pre(fit.stretches.length === 1 && fit.points.every((p) => p.verdict === 'used'));
					const asked = [one * HOUR, other * HOUR];
					const times = [...points.map((p) => p.time_s), ...asked];
					const first = Math.min(...times);
					const flat = 1e4;
					const prior = times.map((a) =>
						times.map((b) => flat + fit.walk_per_s * (Math.min(a, b) - first)),
					);
					const n = points.length;
					const seen = prior
						.slice(0, n)
						.map((row, i) =>
							row.slice(0, n).map((x, k) => (i === k ? x + fit.points[i]!.uUsed ** 2 : x)),
						);
					const cross = prior.slice(n).map((row) => row.slice(0, n));
					const gain = math.multiply(math.matrix(cross), math.inv(math.matrix(seen))) as Matrix;
					const mean = math.multiply(gain, math.matrix(points.map((p) => p.value - 9))) as Matrix;
					const left = math.subtract(
						math.matrix(prior.slice(n).map((row) => row.slice(n))),
						math.multiply(gain, math.transpose(math.matrix(cross))),
					) as Matrix;
					asked.forEach((time, i) => {
						expect(driftAt(fit, time).value).toBeCloseTo(9 + mean.get([i]), 3);
						asked.forEach((to, k) => {
							expect(driftCovariance(fit, time, to)).toBeCloseTo(left.get([i, k]), 3);
						});
					});
				},
			),
			{ seed: 31, numRuns: 60 },
		);
	});

	test('its uncertainty covers a walk that is known: about 95 in 100 within 2 u', () => {
		let inside = 0;
		let count = 0;
		for (let seed = 1; seed <= 20; seed++) {
			const chance = new Chance(seed, 'walk');
			let level = 9;
			const truth: number[] = [];
			for (let i = 0; i < 60; i++) {
				level += 0.4 * Math.sqrt(0.75 / 24) * chance.normal();
				chance.normal();
				truth.push(level);
			}
			const points = walked(seed, 60, 0.4);
			const fit = fitted(points);
			for (const [i, one] of truth.entries()) {
				const { value, u } = driftAt(fit, points[i]!.time_s);
				if (Math.abs(value - one) <= 2 * u) inside++;
				count++;
			}
		}
		expect(inside / count).toBeGreaterThan(0.9);
		expect(inside / count).toBeLessThan(0.99);
	});

	test('between windows straight, after the last one kept while u grows with the walk', () => {
		const fit = fitted(walked(4, 20, 0.4));
		const last = fit.stretches[0]!.at(-1)!;
		const later = driftAt(fit, last.time_s + 86_400);
		expect(later.value).toBe(last.value);
		expect(later.u ** 2 - last.variance).toBeCloseTo(86_400 * fit.walk_per_s, 12);
		expect(later.where).toBe('outside');
		const [a, b] = fit.stretches[0]!;
		const middle = driftAt(fit, (a!.time_s + b!.time_s) / 2);
		expect(middle.value).toBeCloseTo((a!.value + b!.value) / 2, 12);
		expect(middle.where).toBe('between');
	});

	test('one window: constant for ever, and never surer than that window', () => {
		const fit = fitted([at(5, 9)]);
		for (const hours of [0, 5, 200]) {
			expect(driftAt(fit, HOUR * hours).value).toBe(9);
			expect(driftAt(fit, HOUR * hours).u).toBeGreaterThanOrEqual(0.39);
		}
		expect(driftAt(fit, HOUR * 200).u).toBeGreaterThan(driftAt(fit, HOUR * 6).u);
	});

	test('a mean over time is surer than its least sure moment and knows its covariance', () => {
		const fit = fitted(walked(5, 20, 0.4));
		const mean = driftMean(fit, 2 * HOUR, 4 * HOUR);
		const moments = [2, 2.5, 3, 3.5, 4].map((h) => driftAt(fit, HOUR * h).u);
		expect(mean.u).toBeLessThanOrEqual(Math.max(...moments));
		// Were the moments independent, five of them would give less than half of one.
		expect(mean.u).toBeGreaterThan(0.6 * Math.min(...moments));
	});

	test('windows that cannot tell their scatter get it from each other', () => {
		const points = walked(6, 60, 0.1).map((point) => ({ ...point, u: null, count: 1 }));
		const fit = fitted(points);
		expect(fit.points[10]!.uUsed).toBeGreaterThan(0.25);
		expect(fit.points[10]!.uUsed).toBeLessThan(0.6);
	});

	test('times must ascend; no window is no fit', () => {
		expect(() => fitted([at(2, 9), at(2, 9)])).toThrow(RangeError);
		expect(fitDrift([], [], DENSITY_DRIFT_RULES)).toBeNull();
	});
});

describe('what stands apart', () => {
	const calm = walked(1, 20, 0.2);
	const followedBy = (points: DriftPoint[], values: number[]): DriftPoint[] => [
		...points,
		...values.map((value, k) => at(0.75 * (points.length + k), value)),
	];

	test('one window off is an outlier and moves nothing', () => {
		const with_ = calm.map((p, i) => (i === 8 ? { ...p, value: p.value + 12 } : p));
		const fit = fitted(with_);
		expect(fit.points.flatMap((p, i) => (p.verdict === 'used' ? [] : [i]))).toEqual([8]);
		expect(fit.steps).toEqual([]);
		const without = fitted(calm.filter((_, i) => i !== 8));
		expect(driftAt(fit, calm[8]!.time_s).value).toBeCloseTo(
			driftAt(without, calm[8]!.time_s).value,
			1,
		);
		expect(fit.points[8]!.standardised).toBeGreaterThan(4);
	});

	test('a person keeps it: it is used', () => {
		const with_ = calm.map((p, i) => (i === 8 ? { ...p, value: p.value + 5, accepted: true } : p));
		expect(fitted(with_).points[8]!.verdict).toBe('used');
	});

	test('the last window off waits; a second one to the same side makes a step, at once', () => {
		const waiting = fitted(followedBy(calm, [19]));
		expect(waiting.points.at(-1)!.verdict).toBe('pending');
		expect(waiting.steps).toEqual([]);
		const called = fitted(followedBy(calm, [19, 19.3]));
		expect(called.steps).toHaveLength(1);
		const [step] = called.steps;
		expect(step!.called_s).toBe(0.75 * 21 * HOUR);
		expect(step!.after_s).toBe(calm.at(-1)!.time_s);
		expect(step!.size).toBeGreaterThan(9);
		expect(step!.size).toBeLessThan(11.5);
		expect(called.points.every((p) => p.verdict === 'used')).toBe(true);
	});

	test('two off to different sides, or that do not agree, are outliers and no step', () => {
		for (const values of [
			[19, -1, 9.2, 9],
			[19, 35, 9.2, 9],
		]) {
			const fit = fitted(followedBy(calm, values));
			expect(fit.steps, String(values)).toEqual([]);
			expect(fit.points.slice(20, 22).map((p) => p.verdict)).toEqual(['outlier', 'outlier']);
		}
	});

	test('a first window that all others contradict is an outlier, not a step', () => {
		const fit = fitted([at(-1, 25), ...calm]);
		expect(fit.points[0]!.verdict).toBe('outlier');
		expect(fit.steps).toEqual([]);
	});

	test('a change below the least step is followed as drift, never called', () => {
		const fit = fitted(followedBy(calm, [11.5, 11.6, 11.4, 11.5]));
		expect(fit.steps).toEqual([]);
	});

	test('a step whose moment is not known: halfway it is half, and uncertain by half the step', () => {
		const fit = fitted(followedBy(calm, [19, 19.1, 19.2]));
		const [step] = fit.steps;
		const middle = (step!.after_s + step!.before_s) / 2;
		const here = driftAt(fit, middle);
		expect(here.where).toBe('in_step');
		expect(here.value).toBeCloseTo(driftAt(fit, step!.after_s).value + step!.size / 2, 9);
		expect(here.u).toBeGreaterThan(step!.size / 2);
		expect(here.u).toBeLessThan(step!.size / 2 + 0.5);
		// The moment is one and the same for two times in the gap: they go together.
		const early = step!.after_s + 0.4 * (step!.before_s - step!.after_s);
		expect(driftCovariance(fit, early, middle)).toBeGreaterThan(0.19 * step!.size ** 2);
	});

	test('a moment told is a jump there, with bends on both sides of it', () => {
		const told = 0.75 * 19.5;
		const fit = fitted(followedBy(calm, [19, 19.1, 19.2]), [told]);
		const [step] = fit.steps;
		expect(step!.at_s).toBe(told * HOUR);
		expect(driftAt(fit, told * HOUR - 1).value).toBeLessThan(11);
		expect(driftAt(fit, told * HOUR + 1).value).toBeGreaterThan(18);
		expect(driftBends(fit, told * HOUR - 60, told * HOUR + 60)).toEqual([
			told * HOUR - 60,
			told * HOUR,
			told * HOUR + 60,
		]);
	});

	test('clean walks of any seed: no step is called in 40 × 100 windows', () => {
		for (let seed = 1; seed <= 40; seed++) {
			expect(fitted(walked(seed, 100, 0.4)).steps, `seed ${seed}`).toEqual([]);
		}
	});

	test('a step of 10 kg/m³ is called at its second window, wherever it comes from the sixth on', () => {
		for (let seed = 1; seed <= 10; seed++) {
			for (const where of [6, 15, 40]) {
				const points = walked(seed, where + 2, 0.4).map((p, i) =>
					i >= where ? { ...p, value: p.value - 10 } : p,
				);
				const { steps } = fitted(points);
				expect(
					steps.map((s) => s.called_s),
					`seed ${seed}, window ${where}`,
				).toEqual([points.at(-1)!.time_s]);
			}
		}
	});
});
