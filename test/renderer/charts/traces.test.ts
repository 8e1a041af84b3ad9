import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
	fullSpan,
	nearest,
	panelsShown,
	SIGNALS,
	summarise,
	tracesOf,
} from '../../../renderer/charts/traces.ts';
import { madeTimeline, START_S } from './madetimeline.ts';

describe('breaks in the lines', () => {
	it('puts one break into a stretch without data', () => {
		const timeline = madeTimeline();
		const traces = tracesOf(timeline);
		expect(traces.time_s.length).toBe(timeline.time_s.length + 1);
		const at = traces.stampOf.indexOf(-1);
		expect(traces.time_s[at]).toBe(START_S + (1500 + 1740) / 2);
		for (const signal of SIGNALS) expect(traces.columns[signal.key][at]).toBeNull();
	});

	it('adds nothing where nothing is missing', () => {
		const timeline = madeTimeline({ silence: null });
		expect(tracesOf(timeline).time_s).toEqual(timeline.time_s);
	});

	it('needs no break before the first or after the last stamp', () => {
		const made = madeTimeline({ silence: null });
		const timeline = {
			...made,
			modes: [
				{ from_s: START_S - 600, to_s: START_S, mode: null },
				...made.modes,
				{ from_s: START_S + 3600, to_s: START_S + 4000, mode: null },
			],
		};
		expect(tracesOf(timeline).stampOf).not.toContain(-1);
	});

	it('keeps every stamp and value, in order, whatever the silences (random)', () => {
		const silences = fc.array(
			fc.tuple(fc.integer({ min: -50, max: 700 }), fc.integer({ min: 0, max: 90 })),
			{ maxLength: 12 },
		);
		const stamps = fc.uniqueArray(fc.integer({ min: 0, max: 600 }), { maxLength: 60 });
		fc.assert(
			fc.property(stamps, silences, (seconds, gaps) => {
				const time_s = seconds.map((s) => START_S + s).sort((a, b) => a - b);
				let reached = Number.NEGATIVE_INFINITY;
				const modes = gaps
					.map(([from, length]) => ({
						from_s: START_S + from,
						to_s: START_S + from + length,
						mode: null,
					}))
					.sort((a, b) => a.from_s - b.from_s)
					.filter((gap) => {
						if (gap.from_s < reached) return false;
						reached = gap.to_s;
						return true;
					});
				const values = time_s.map((t) => t - START_S);
				const timeline = {
					...madeTimeline(),
					time_s,
					feed_flow_m3_h: values,
					return_flow_m3_h: values,
					feed_density_t_m3: values,
					return_density_t_m3: values,
					chamber_level_m: values,
					modes,
				};
				const traces = tracesOf(timeline);
				const kept = traces.stampOf.map((entry, i) => [entry, i] as const).filter(([e]) => e >= 0);
				expect(kept.map(([entry]) => entry)).toEqual(time_s.map((_, i) => i));
				expect(kept.map(([, i]) => traces.columns.feed_flow_m3_h[i])).toEqual(values);
				for (let i = 1; i < traces.time_s.length; i++) {
					expect(traces.time_s[i]).toBeGreaterThan(traces.time_s[i - 1] as number);
				}
				// No two neighbouring stamps with a silence of some length between them are joined.
				for (let i = 1; i < time_s.length; i++) {
					const a = time_s[i - 1] as number;
					const b = time_s[i] as number;
					const silent = modes.some((gap) => Math.min(gap.to_s, b) - Math.max(gap.from_s, a) > 0);
					const joined =
						traces.stampOf.indexOf(i) - traces.stampOf.findIndex((e) => e === i - 1) === 1;
					expect(joined).toBe(!silent);
				}
			}),
			{ seed: 20310407, numRuns: 300 },
		);
	});
});

describe('what a timeline holds', () => {
	it('reaches over samples and all three windows', () => {
		const made = madeTimeline();
		const late = START_S + 9000;
		expect(fullSpan({ ...made, returnWindow: { from_s: START_S, to_s: late } })).toEqual({
			from_s: START_S,
			to_s: late,
		});
	});

	it('counts what is there and what is missing', () => {
		const made = madeTimeline({ silence: null, seconds: 20 });
		const holed = { ...made, feed_flow_m3_h: [10, null, 12, null, 11] };
		expect(summarise(holed)[0]).toMatchObject({ count: 3, missing: 2, min: 10, max: 12 });
	});

	it('says null, not zero, for a signal that was never measured', () => {
		const level = summarise(madeTimeline({ level: false })).at(-1);
		expect(level).toMatchObject({ count: 0, min: null, max: null });
	});

	it('leaves the level panel out where no level is kept', () => {
		const ids = (level: boolean) => panelsShown(madeTimeline({ level })).map((panel) => panel.id);
		expect(ids(true)).toEqual(['flow', 'density', 'level']);
		expect(ids(false)).toEqual(['flow', 'density']);
	});

	it('finds the nearest stamp like a search through all of them (random)', () => {
		fc.assert(
			fc.property(
				fc.uniqueArray(fc.integer({ min: -1000, max: 1000 }), { minLength: 1, maxLength: 40 }),
				fc.double({ min: -1200, max: 1200, noNaN: true }),
				(list, at) => {
					const stamps = [...list].sort((a, b) => a - b);
					const best = Math.min(...stamps.map((stamp) => Math.abs(stamp - at)));
					expect(Math.abs((stamps[nearest(stamps, at)] as number) - at)).toBe(best);
				},
			),
			{ seed: 7, numRuns: 300 },
		);
		expect(nearest([], 3)).toBe(-1);
	});
});
