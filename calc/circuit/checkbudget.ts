import type { RingCheck } from '../trust/metercheck.ts';
import type { BudgetInput } from '../trust/ringbudget.ts';
import type { StatedUncertainty } from './settings.ts';
import type { ExcessPassage } from './solidsmethod.ts';
import type { WindowFlows } from './volumemethod.ts';

/**
 * The meters' part of a ring's budget once bypass has made the two sides agree. What sets the sides
 * apart is known to the check's own uncertainty, and works on the whole volume; what they have in
 * common is not seen by any bypass, and works on the difference of the two sides only.
 */

type FlowCheck = NonNullable<RingCheck['flow']>;

/**
 * Inputs of the apparent volume's budget from corrected flow meters. With w the return side's share,
 * Vw = w·Vr + (1−w)·Vf and q̄ the mean bypass flow: scale between the meters at q̄, sensitivity −Vw;
 * zero between them, Vw/q̄ − T (its own u where bypass told it, else both meters' stated zeros);
 * scale in common, the difference volume. The scatter is the check's, so that noise that lasts is
 * in it; the part the samples' own successive differences show stands in the budget already.
 *
 * @example
 * const flow = { scale_rel: 0.008, u: 2e-4, reference_m3_s: 0.3, zero: { value: 0, u: null }, sampleVariance: 0 };
 * const stated = { flowScale_rel: 0.006, flowOffset_m3_s: null };
 * const passed = { feed_m3: 810, return_m3: 865, difference_m3: 55, throughChamber_s: 2700, scatter_m3: 0 };
 * correctedFlowBudget(flow, 1, stated, passed, 2700).map((line) => [line.u, line.sensitivity]) // => [[0.0002, -865], [0.006, 55], [null, 183.333333], [0, 0]]
 */
export function correctedFlowBudget(
	flow: FlowCheck,
	returnShare: number,
	stated: Pick<StatedUncertainty, 'flowScale_rel' | 'flowOffset_m3_s'>,
	passed: Pick<
		WindowFlows,
		'feed_m3' | 'return_m3' | 'difference_m3' | 'throughChamber_s' | 'scatter_m3'
	>,
	sampleCount: number,
): BudgetInput[] {
	const whole = returnShare * passed.return_m3 + (1 - returnShare) * passed.feed_m3;
	const lasting = lastingScatter(flow.sampleVariance, sampleCount, whole, passed.scatter_m3 ?? 0);
	return [
		{
			input: 'scale between the flow meters, bypass check',
			u: flow.u,
			inputUnit: '1',
			sensitivity: -whole,
		},
		{
			input: 'scale common to both flow meters',
			u: stated.flowScale_rel,
			inputUnit: '1',
			sensitivity: passed.difference_m3,
		},
		{
			input: 'zero between the flow meters',
			u: zeroU(flow, stated.flowOffset_m3_s),
			inputUnit: 'm3/s',
			sensitivity: whole / flow.reference_m3_s - passed.throughChamber_s,
		},
		{
			input: 'lasting scatter of the flow meters',
			u: lasting,
			inputUnit: 'm3',
			sensitivity: lasting === 0 ? 0 : 1,
		},
	];
}

/** What passed for a ring's solids, as its budget needs it. */
export interface PassedSolids {
	/** ρs/(ρs − ρw): dry mass for excess mass. */
	readonly factor: number;
	readonly back: ExcessPassage;
	readonly feed: ExcessPassage;
	/** Change of the volume held in the chambers, and of the excess mass in it. */
	readonly heldChange_m3: number;
	readonly change_kg: number;
	readonly waterDensity_kg_m3: number;
	readonly sampleCount: number;
}

/**
 * The same for dry solids, apart for densities and flows; null where that quantity is not corrected.
 *
 * @example
 * const passage = (excess_kg, volume_m3) => ({ from: { interval: 0, t: 0, short_m3: 0 }, to: { interval: 0, t: 0, short_m3: 0 }, excess_kg, volume_m3, excessTime_kgs_m3: 0, missing_s: 0 });
 * const density = { offset_kg_m3: 9, u: 0.2, reference_kg_m3: 1080, slope: { value: 0, u: null }, sampleVariance: 0 };
 * const passed = { factor: 1.6, back: passage(125000, 865), feed: passage(66000, 810), heldChange_m3: 0, change_kg: 0, waterDensity_kg_m3: 999, sampleCount: 2700 };
 * const stated = { flowScale_rel: 0.006, flowOffset_m3_s: null, densityOffset_kg_m3: 8, densityScale_rel: 0.006 };
 * const made = correctedSolidsBudget({ flow: null, density, anchor: null, returnShare: 1 }, stated, passed);
 * made.flows // => null
 * made.densities.slice(0, 2).map((line) => [line.u, line.sensitivity]) // => [[0.2, -1384], [8, 88]]
 */
export function correctedSolidsBudget(
	check: RingCheck,
	stated: Pick<
		StatedUncertainty,
		'flowScale_rel' | 'flowOffset_m3_s' | 'densityOffset_kg_m3' | 'densityScale_rel'
	>,
	passed: PassedSolids,
): { readonly densities: BudgetInput[] | null; readonly flows: BudgetInput[] | null } {
	const { factor, back, feed, heldChange_m3, change_kg, sampleCount } = passed;
	const { density, flow, anchor, returnShare: w } = check;
	const returnVolume = back.volume_m3 + heldChange_m3;
	const returnExcess = back.excess_kg + change_kg;
	const excess = returnExcess - feed.excess_kg;
	const weighed = (ofReturn: number, ofFeed: number): number => w * ofReturn + (1 - w) * ofFeed;
	let densities: BudgetInput[] | null = null;
	if (density !== null) {
		const volume = weighed(returnVolume, feed.volume_m3);
		const reference = density.reference_kg_m3 - passed.waterDensity_kg_m3;
		const lasting = factor * Math.abs(volume) * lastingOf(density.sampleVariance, sampleCount);
		const both = (u: number | null): number | null => (u === null ? null : Math.SQRT2 * u);
		densities = [
			{
				input: 'offset between the densitometers, bypass check',
				u: density.u,
				inputUnit: 'kg/m3',
				sensitivity: -factor * volume,
			},
			{
				input:
					anchor?.applied === true
						? 'offset common to both densitometers, mud balance'
						: 'offset common to both densitometers',
				u: anchor?.applied === true ? anchor.u : stated.densityOffset_kg_m3,
				inputUnit: 'kg/m3',
				sensitivity: factor * (returnVolume - feed.volume_m3),
			},
			{
				input: 'slope between the densitometers',
				u: density.slope.u ?? both(stated.densityScale_rel),
				inputUnit: '1',
				sensitivity:
					-factor *
					weighed(
						returnExcess - reference * returnVolume,
						feed.excess_kg - reference * feed.volume_m3,
					),
			},
			{
				input: 'slope common to both densitometers',
				u: stated.densityScale_rel,
				inputUnit: '1',
				sensitivity: factor * excess,
			},
			{
				input: 'scatter of the densitometers',
				u: lasting,
				inputUnit: 'kg',
				sensitivity: lasting === 0 ? 0 : 1,
			},
		];
	}
	let flows: BudgetInput[] | null = null;
	if (flow !== null) {
		const whole = weighed(back.excess_kg, feed.excess_kg);
		const time = weighed(back.excessTime_kgs_m3, feed.excessTime_kgs_m3);
		flows = [
			{
				input: 'scale between the flow meters, bypass check',
				u: flow.u,
				inputUnit: '1',
				sensitivity: -factor * whole,
			},
			{
				input: 'scale common to both flow meters',
				u: stated.flowScale_rel,
				inputUnit: '1',
				sensitivity: factor * (back.excess_kg - feed.excess_kg),
			},
			{
				input: 'zero between the flow meters',
				u: zeroU(flow, stated.flowOffset_m3_s),
				inputUnit: 'm3/s',
				sensitivity: factor * (whole / flow.reference_m3_s - time),
			},
		];
	}
	return { densities, flows };
}

/** Zero of one meter against the other: as bypass told it, else from what is stated of each. */
function zeroU(flow: FlowCheck, stated_m3_s: number | null): number | null {
	if (flow.zero.u !== null) return flow.zero.u;
	return stated_m3_s === null ? null : Math.SQRT2 * stated_m3_s;
}

function lastingOf(sampleVariance: number, count: number): number {
	return count > 0 ? Math.sqrt(sampleVariance / count) : 0;
}

/** Scatter of a mean over the ring beyond what its samples' successive differences show. */
function lastingScatter(
	sampleVariance: number,
	count: number,
	whole: number,
	known: number,
): number {
	const all = Math.abs(whole) * lastingOf(sampleVariance, count);
	return Math.sqrt(Math.max(0, all * all - known * known));
}
