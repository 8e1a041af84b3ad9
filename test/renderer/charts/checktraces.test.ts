import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { PairCheckShown } from '../../../electron/contract/meterchecks.ts';
import {
	asFlow,
	type CheckPoint,
	checkSpan,
	differenceScale,
	lineAtWindow,
	type Mark,
	middleOf,
	pointsOf,
	REACH,
	signed,
	stretchesOf,
	tally,
	unusableAt,
} from '../../../renderer/charts/checktraces.ts';
import { madeChecks, ODD_AT, SHORT_AT, STEP_AT } from './madechecks.ts';

const SEED = 1899;
const made = madeChecks({
	count: 30,
	correction: 'none',
	accepted: 'none',
	level: 'meters',
	decisions: [],
	byHand: false,
});
const point = (value: number, u: number | null, mark: Mark): CheckPoint => ({
	entry: 0,
	time_s: 0,
	value,
	u,
	sigmas: null,
	mark,
});
const check = (limit: number | null, line: PairCheckShown['line'] = []): PairCheckShown => ({
	line,
	steps: [],
	reference: 1000,
	secondTerm: null,
	limit,
	largest: 0,
	heldBack: false,
	accepted: false,
	inForce: false,
});

describe('windows as points', () => {
	it('leaves out what could not be compared and keeps its moment', () => {
		const density = pointsOf(made.windows, 'density');
		expect(density).toHaveLength(29);
		expect(density.some((one) => one.entry === SHORT_AT)).toBe(false);
		expect(unusableAt(made.windows, 'density')).toEqual([
			middleOf(made.windows[SHORT_AT] as { from_s: number; to_s: number }),
		]);
		expect(unusableAt(made.windows, 'flow')).toEqual([]);
	});

	it('marks the window that stands apart, and a person’s word before the rule’s', () => {
		expect(pointsOf(made.windows, 'flow')[ODD_AT]?.mark).toBe('outlier');
		const from_s = made.windows[ODD_AT]?.from_s as number;
		const decided = (decision: 'accept' | 'reject') =>
			pointsOf(
				madeChecks({
					count: 30,
					correction: 'none',
					accepted: 'none',
					level: 'meters',
					decisions: [{ row: 1, from_s, quantity: 'flow', decision, why: 'pump tripped' }],
					byHand: false,
				}).windows,
				'flow',
			)[ODD_AT]?.mark;
		expect(decided('accept')).toBe('accepted');
		expect(decided('reject')).toBe('rejected');
	});

	it('counts every window once', () => {
		for (const pair of ['flow', 'density'] as const) {
			const count = tally(made.windows, pair);
			expect(count.used + count.aside + count.rejected + count.unusable).toBe(30);
		}
		expect(tally(made.windows, 'flow').aside).toBe(1);
		expect(tally(made.windows, 'density').unusable).toBe(1);
	});

	it('has the line where difference less residual puts it', () => {
		const window = made.windows[3] as (typeof made.windows)[number];
		const { difference, residual } = window.flow;
		expect(lineAtWindow(window, 'flow')).toBe((difference as number) - (residual as number));
		expect(lineAtWindow(made.windows[SHORT_AT] as typeof window, 'density')).toBeNull();
	});
});

describe('the line', () => {
	it('is broken by a step and by nothing else', () => {
		expect(stretchesOf(made.flow?.line ?? [])).toHaveLength(1);
		const [before, after] = stretchesOf(made.density?.line ?? []);
		const step = made.density?.steps[0];
		expect(before?.at(-1)?.time_s).toBe(step?.after_s);
		expect(after?.[0]?.time_s).toBe(step?.before_s);
		expect(after?.[0]?.time_s).toBe(
			middleOf(made.windows[STEP_AT] as { from_s: number; to_s: number }),
		);
	});
});

describe('the scale of a difference', () => {
	const mark = fc.constantFrom<Mark>('used', 'accepted', 'pending', 'outlier', 'rejected');
	const points = fc.array(
		fc
			.record({
				value: fc.double({ min: -50, max: 50, noNaN: true }),
				u: fc.option(fc.double({ min: 0, max: 5, noNaN: true })),
				mark,
			})
			.map(({ value, u, mark }) => point(value, u, mark)),
		{ maxLength: 12 },
	);

	it('holds zero and every window in use with its bar', () => {
		fc.assert(
			fc.property(
				points,
				fc.option(fc.double({ min: 0.1, max: 80, noNaN: true })),
				(all, limit) => {
					const { min, max } = differenceScale(all, check(limit), false);
					expect(min).toBeLessThan(max);
					expect(min).toBeLessThanOrEqual(0);
					expect(max).toBeGreaterThanOrEqual(0);
					for (const one of all) {
						if (one.mark === 'outlier' || one.mark === 'rejected') continue;
						expect(min).toBeLessThanOrEqual(one.value - REACH * (one.u ?? 0));
						expect(max).toBeGreaterThanOrEqual(one.value + REACH * (one.u ?? 0));
					}
				},
			),
			{ seed: SEED, numRuns: 300 },
		);
	});

	it('is not stretched by a window set aside, unless there is no other', () => {
		const used = [point(0.8, 0.05, 'used'), point(0.9, 0.05, 'used')];
		const with_ = differenceScale([...used, point(40, 0.1, 'rejected')], null, false);
		expect(with_).toEqual(differenceScale(used, null, false));
		expect(differenceScale([point(40, 0.1, 'rejected')], null, false).max).toBeGreaterThan(40);
	});

	it('shows a limit that is near, on the side the difference lies', () => {
		const used = [point(0.8, 0.05, 'used')];
		expect(differenceScale(used, check(1), false).max).toBeGreaterThanOrEqual(1);
		expect(differenceScale(used, check(1), false).min).toBeGreaterThan(-0.5);
		expect(differenceScale(used, check(50), false).max).toBeLessThan(2);
		expect(differenceScale([point(-0.8, 0.05, 'used')], check(1), false).min).toBeLessThanOrEqual(
			-1,
		);
	});

	it('leaves zero and limit out of a close-up', () => {
		const used = [point(8.9, 0.1, 'used'), point(9.1, 0.1, 'used')];
		const { min, max } = differenceScale(used, check(10), true);
		expect(min).toBeGreaterThan(8);
		expect(max).toBeLessThan(10);
	});

	it('has room even where there is nothing', () => {
		const { min, max } = differenceScale([], null, true);
		expect(min).toBeLessThan(max);
		const lone = checkSpan({ ...made, windows: [], flow: null, density: null });
		expect(lone.from_s).toBeLessThan(lone.to_s);
	});
});

describe('the time shown', () => {
	it('holds every window and the line to its ends', () => {
		const { from_s, to_s } = checkSpan(made);
		for (const window of made.windows) {
			expect(from_s).toBeLessThan(window.from_s);
			expect(to_s).toBeGreaterThan(window.to_s);
		}
		const [first] = made.windows;
		if (!first || !made.flow) throw new Error('no windows');
		const early = { time_s: first.from_s - 9 * 86_400, value: 0.8, u: 0.1, stretch: 0 };
		const flow = { ...made.flow, line: [early, ...made.flow.line] };
		expect(checkSpan({ ...made, flow }).from_s).toBeLessThan(early.time_s);
	});
});

describe('figures', () => {
	it('turns a relative difference into a flow: 0.5 % of 1000 m³/h is 5 m³/h', () => {
		expect(asFlow(0.5, 1000)).toBeCloseTo(5, 12);
	});

	it('bears a sign unless nothing is left after rounding', () => {
		const marks = { decimal: '.' } as const;
		expect(signed(0.804, 2, marks)).toBe('+0.80');
		expect(signed(-9.06, 1, marks)).toBe('−9.1');
		expect(signed(-0.004, 2, marks)).toBe('0.00');
	});
});
