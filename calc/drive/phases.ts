import type { Mode } from '../circuit/samples.ts';
import type { Chance } from './chance.ts';
import type { DrivePlan } from './plan.ts';

/**
 * The order of work on a ring (common practice, no source): circulation through the chamber is set
 * up, the ring is cut, the chamber is cleared, the circuit goes on bypass and is stopped while the
 * ring is built and the lines are extended, then runs on bypass until the next ring. Excavation and
 * ring building alternate, so no ground enters while a ring is built.
 */
export type Phase =
	/** The stream passes the chamber and nothing is cut. `opens`/`shuts`: the chamber valves move at its start/end. */
	| {
			readonly kind: 'circulate';
			readonly mode: Extract<Mode, 'advance' | 'back_flush'>;
			readonly seconds: number;
			readonly opens: boolean;
			readonly shuts: boolean;
	  }
	/** Cutting until a part of the stroke is done; always between phases of circulation. */
	| { readonly kind: 'cut'; readonly untilPart: number }
	| {
			readonly kind: 'bypass';
			readonly seconds: number;
			readonly fromRest: boolean;
			readonly toRest: boolean;
	  }
	/** Pumps off. `extends`: pipes are put in. */
	| {
			readonly kind: 'stop';
			readonly seconds: number;
			readonly extends: boolean;
			readonly weekend: boolean;
	  };

/** Time in which pumps run up and down, and chamber valves and flushing water with them, s. */
export const PUMP_RAMP_S = 10;
/** Shortest bypass window in which meters can be compared once both lines hold the same suspension, s. */
export const CHECK_BYPASS_S = 660;

const circulate = (seconds: number, opens: boolean, shuts: boolean): Phase => ({
	kind: 'circulate',
	mode: 'advance',
	seconds,
	opens,
	shuts,
});

/** All phases of one ring, from the set-up of its circulation to the end of its ring building. */
export function ringPhases(plan: DrivePlan, ring: number, chance: Chance): Phase[] {
	const flow_m3_s = plan.feedFlow_m3_h / 3600;
	const length_m = plan.returnMeterDistance_m + plan.lineGrowth_m_per_ring * ring;
	const feedLine_s = Math.ceil((length_m * plan.feedLineArea_m2) / flow_m3_s);
	const returnLine_s = Math.ceil((length_m * plan.returnLineArea_m2) / flow_m3_s);
	const phases: Phase[] = [];
	if (ring === 1) {
		// The record opens with both lines swept, so that the first ring's feed can be traced.
		const sweep = Math.ceil(1.2 * (feedLine_s + returnLine_s)) + CHECK_BYPASS_S;
		phases.push({ kind: 'bypass', seconds: sweep, fromRest: true, toRest: false });
	}
	phases.push(circulate(chance.whole(60, 110), true, false));
	const pauses = plan.pauses && !plan.steady;
	if (pauses && chance.happens(0.12)) {
		phases.push(
			{ kind: 'cut', untilPart: chance.between(0.3, 0.7) },
			circulate(chance.whole(30, 60), false, true),
			{ kind: 'bypass', seconds: chance.whole(240, 540), fromRest: false, toRest: false },
			circulate(chance.whole(30, 60), true, false),
		);
	} else if (pauses && chance.happens(0.1)) {
		phases.push(
			{ kind: 'cut', untilPart: chance.between(0.3, 0.7) },
			circulate(20, false, false),
			{
				kind: 'circulate',
				mode: 'back_flush',
				seconds: chance.whole(50, 100),
				opens: false,
				shuts: false,
			},
			circulate(20, false, false),
		);
	}
	phases.push({ kind: 'cut', untilPart: 1 }, circulate(chance.whole(150, 240), false, true));
	if (ring === plan.rings) {
		const sweep = Math.ceil(1.2 * returnLine_s) + CHECK_BYPASS_S;
		phases.push({ kind: 'bypass', seconds: sweep, fromRest: false, toRest: true });
		phases.push({ kind: 'stop', seconds: 300, extends: false, weekend: false });
		return phases;
	}
	const every = plan.maintenanceEvery_rings;
	const longStop = every > 0 && ring % every === 0 ? chance.whole(3 * 3600, 5 * 3600) : 0;
	const check = plan.checkBypassEvery_rings;
	const checkWindow =
		check > 0 && ring % check === 0 ? CHECK_BYPASS_S + feedLine_s + returnLine_s : 0;
	phases.push(
		{ kind: 'bypass', seconds: chance.whole(200, 420), fromRest: false, toRest: true },
		{ kind: 'stop', seconds: chance.whole(1300, 2100) + longStop, extends: true, weekend: true },
		{
			kind: 'bypass',
			seconds: chance.whole(300, 540) + checkWindow,
			fromRest: true,
			toRest: false,
		},
	);
	if (pauses && chance.happens(0.15)) {
		phases.push(
			{
				kind: 'circulate',
				mode: 'back_flush',
				seconds: chance.whole(60, 120),
				opens: true,
				shuts: true,
			},
			{ kind: 'bypass', seconds: chance.whole(60, 180), fromRest: false, toRest: false },
		);
	}
	return phases;
}

const WEEK_S = 7 * 86_400;
/** Unix time began on a Thursday; this is the first Monday after it. */
const MONDAY_S = 4 * 86_400;
const WORK_BEGINS_S = 6 * 3600;
const WORK_ENDS_S = 5 * 86_400 + 14 * 3600;

/**
 * Seconds to stand still if a stop of `seconds` begins at this time: until Monday 06:00 local when
 * it begins or ends in the weekend, else as planned.
 *
 * @example
 * stopSeconds(1800, 1772890200, 60) // => 142200
 * stopSeconds(1800, 1772427600, 60) // => 1800
 */
export function stopSeconds(seconds: number, time_s: number, utcOffset_min: number): number {
	const local = time_s + utcOffset_min * 60 - MONDAY_S;
	const ofWeek = local - Math.floor(local / WEEK_S) * WEEK_S;
	if (ofWeek < WORK_BEGINS_S) return Math.max(seconds, WORK_BEGINS_S - ofWeek);
	if (ofWeek + seconds < WORK_ENDS_S) return seconds;
	return Math.max(seconds, WEEK_S - ofWeek + WORK_BEGINS_S);
}
