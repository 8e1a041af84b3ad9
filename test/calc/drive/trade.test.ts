import { describe, expect, it } from 'vitest';
import { MODES } from '../../../calc/circuit/samples.ts';
import { driveCycles } from '../../../calc/drive/cycle.ts';
import { CHECK_BYPASS_S, stopSeconds } from '../../../calc/drive/phases.ts';
import { drivePlan } from '../../../calc/drive/plan.ts';
import { simulateDrive } from '../../../calc/drive/simulate.ts';

// Facts of the trade the defaults must agree with. Common practice, no source.

const WEEK_S = 7 * 86_400;

describe('the default drive', () => {
	const plan = drivePlan({ seed: 5, rings: 150 });
	const cycles = Array.from(driveCycles(plan), (cycle) => {
		const { grid } = cycle;
		const levels = grid.level_m.slice(0, grid.count);
		return {
			ring: cycle.ring,
			start_s: grid.start_s,
			end_s: grid.start_s + grid.count,
			kinds: cycle.spans.map(({ phase }) =>
				phase.kind === 'circulate' && phase.mode === 'back_flush' ? 'back_flush' : phase.kind,
			),
			bypass_s: cycle.spans
				.filter(({ phase }) => phase.kind === 'bypass')
				.map(({ from, to }) => to - from),
			lowest: levels.reduce((a, b) => Math.min(a, b)),
			highest: levels.reduce((a, b) => Math.max(a, b)),
			mean: levels.reduce((sum, level) => sum + level, 0) / levels.length,
			cutsOutsideAdvance: cycle.spans.some(
				({ phase, from, to }) =>
					phase.kind === 'cut' && (from < cycle.advanceStart || to > cycle.advanceEnd),
			),
			bypassFlowsDiffer: cycle.spans.some(({ phase, from, to }) => {
				if (phase.kind !== 'bypass') return false;
				for (let i = from; i < to; i++)
					if (grid.feedFlow_m3_s[i] !== grid.returnFlow_m3_s[i]) return true;
				return false;
			}),
			flowWhileStopped: grid.mode
				.slice(0, grid.count)
				.some(
					(mode, i) =>
						MODES[mode] === 'stop' &&
						(grid.feedFlow_m3_s[i] !== 0 || grid.returnFlow_m3_s[i] !== 0),
				),
			longestJump: grid.returnFlow_m3_s
				.slice(1, grid.count)
				.map((flow, i) => Math.abs(flow - grid.returnFlow_m3_s[i]!))
				.reduce((a, b) => Math.max(a, b)),
		};
	});

	it('advances 90 to 150 m a week', () => {
		const weeks = (cycles.at(-1)!.end_s - cycles[0]!.start_s) / WEEK_S;
		const perWeek = (150 * plan.advance_m) / weeks;
		expect(perWeek).toBeGreaterThan(90);
		expect(perWeek).toBeLessThan(150);
	});

	it('keeps the working chamber about two-thirds full', () => {
		for (const { mean, lowest, highest } of cycles) {
			expect(mean / plan.diameter_m).toBeGreaterThan(0.6);
			expect(mean / plan.diameter_m).toBeLessThan(0.72);
			expect(lowest).toBeGreaterThan(0.5 * plan.diameter_m);
			expect(highest).toBeLessThan(0.8 * plan.diameter_m);
		}
	});

	it('excavates and builds in turn: circulate, cut, clear, bypass, stop, bypass', () => {
		for (const { kinds, ring, cutsOutsideAdvance } of cycles) {
			const afterLastCut = kinds.slice(kinds.lastIndexOf('cut') + 1);
			expect(afterLastCut.slice(0, 3)).toEqual(['circulate', 'bypass', 'stop']);
			if (ring < plan.rings) expect(afterLastCut[3]).toBe('bypass');
			const beforeFirstCut = kinds.slice(0, kinds.indexOf('cut'));
			expect(beforeFirstCut.at(-1)).toBe('circulate');
			expect(afterLastCut).not.toContain('cut');
			expect(cutsOutsideAdvance).toBe(false);
		}
	});

	it('has pauses and back-flushes in some rings and bypass windows to compare the meters in every fifth', () => {
		const paused = cycles.filter(({ kinds }) =>
			kinds.slice(kinds.indexOf('cut'), kinds.lastIndexOf('cut')).includes('bypass'),
		);
		expect(paused.length).toBeGreaterThan(5);
		expect(paused.length).toBeLessThan(40);
		expect(cycles.filter(({ kinds }) => kinds.includes('back_flush')).length).toBeGreaterThan(5);
		for (const { ring, bypass_s } of cycles)
			if (ring % 5 === 0 && ring < plan.rings)
				expect(Math.max(...bypass_s)).toBeGreaterThan(CHECK_BYPASS_S);
		expect(CHECK_BYPASS_S).toBeGreaterThan(600);
	});

	it('sends the same stream past both flow meters in bypass, and none when stopped', () => {
		for (const cycle of cycles) {
			expect(cycle.bypassFlowsDiffer).toBe(false);
			expect(cycle.flowWhileStopped).toBe(false);
		}
	});

	it('never changes a flow by more in a second than the pumps can', () => {
		// A pump ramp of ten seconds from about 1,200 m³/h; anything more would be a jump of the model.
		for (const { longestJump } of cycles) expect(longestJump * 3600).toBeLessThan(140);
	});

	it('follows on from one cycle to the next second by second', () => {
		for (let i = 1; i < cycles.length; i++) expect(cycles[i]!.start_s).toBe(cycles[i - 1]!.end_s);
	});

	it('stands still over the weekend and begins on Monday at six', () => {
		// 2026-03-07 is a Saturday: day 66 of 2026, which began on a Thursday (ISO 8601 calendar).
		const saturdayNoon = Date.UTC(2026, 2, 7, 11) / 1000;
		expect(new Date(saturdayNoon * 1000).getUTCDay()).toBe(6);
		expect(stopSeconds(1800, saturdayNoon, 60)).toBe(1800);
		const mondaySix = Date.UTC(2026, 2, 9, 5) / 1000;
		expect(stopSeconds(1800, saturdayNoon + 7200, 60)).toBe(mondaySix - saturdayNoon - 7200);
		const longest = cycles
			.slice(1)
			.map((cycle) => cycle.end_s - cycle.start_s)
			.reduce((a, b) => Math.max(a, b), 0);
		expect(longest).toBeGreaterThan(38 * 3600);
	});
});

describe('the feed', () => {
	it('gets denser while ground is cut and lighter when fresh suspension is added', () => {
		const { truth } = simulateDrive({ seed: 8, rings: 60 });
		const steps = truth
			.slice(1)
			.map((ring, i) => ring.meanFeedDensity_kg_m3 - truth[i]!.meanFeedDensity_kg_m3);
		expect(steps.filter((step) => step > 0.3).length).toBeGreaterThan(20);
		expect(Math.min(...steps)).toBeLessThan(-5);
		for (const ring of truth) {
			expect(ring.meanFeedDensity_kg_m3).toBeGreaterThan(1040);
			expect(ring.meanFeedDensity_kg_m3).toBeLessThan(1130);
			expect(ring.meanReturnDensity_kg_m3).toBeGreaterThan(ring.meanFeedDensity_kg_m3 + 20);
		}
	});

	it('meets at least three strata and faces of more than one', () => {
		const { plan } = simulateDrive({ seed: 8, rings: 40 });
		const names = new Set(
			plan.ground.flatMap(({ shares }) => shares.map(({ stratum }) => stratum.stratum)),
		);
		expect(names.size).toBeGreaterThanOrEqual(3);
		expect(plan.ground.filter(({ shares }) => shares.length > 1).length).toBeGreaterThanOrEqual(2);
	});
});
