import type { BypassWindow, PairComparison } from '../circuit/bypass.ts';
import { type Fault, noteFault } from '../fault/fault.ts';
import {
	DENSITY_DRIFT_RULES,
	type DriftFit,
	type DriftRules,
	type DriftStep,
	type DriftVerdict,
	driftAt,
	driftBends,
	driftMean,
	FLOW_DRIFT_RULES,
	fitDrift,
} from './drift.ts';
import { straightLine } from './straightline.ts';

/**
 * From bypass windows to the correction in force at any time.
 *
 * Flow:     return = zero + (1 + s(t)) · feed         in bypass, where both see one stream
 * Density:  return = feed + d(t) + b · (feed − ρ₀)    in bypass, for the same suspension
 *
 * s and d drift; zero and b are constant, and told apart from s and d only where the windows span
 * enough flow or density. Bypass tells the meters' difference and nothing about what they have in
 * common: the mud balance speaks about the densities' common level, nothing here about the flows'.
 */

/** Which meters are made to agree with which. `both`: each side takes half. */
export type CorrectedSide = 'return' | 'feed' | 'both';
export type Quantity = 'flow' | 'density';

/** What a person has said of a window, found by its start. */
export interface WindowDecision {
	readonly quantity: Quantity;
	readonly from_s: number;
	readonly verdict: 'accept' | 'reject';
	readonly reason: string;
}

/** A moment at which a person says that a meter changed at once: cleaned, replaced, knocked. */
export interface StepDecision {
	readonly quantity: Quantity;
	readonly at_s: number;
	readonly reason: string;
}

/** A mud-balance sample of the feed beside what the feed densitometer showed, certificate applied. */
export interface MudBalancePair {
	readonly time_s: number;
	readonly balance_kg_m3: number;
	readonly meter_kg_m3: number;
}

/** Largest correction the meters' own papers allow; null: not stated, and not checked. */
export interface CorrectionLimits {
	readonly flowScale_rel: number | null;
	readonly densityOffset_kg_m3: number | null;
}

export interface MeterCheckRules {
	readonly flow: DriftRules;
	readonly density: DriftRules;
	/** Windows needed to tell a second parameter, and the span they must have. */
	readonly windowsForLine: number;
	/** (largest − smallest) over mean of the bypass flows, from which the zero is told. */
	readonly zeroNeedsSpan_rel: number;
	/** Largest − smallest bypass density, from which the slope is told, kg/m³. */
	readonly slopeNeedsSpan_kg_m3: number;
	/** Readings of a mud balance go in steps of so much, kg/m³ (checks: 0.01 g/cm³, ISO 10414-1, from memory). */
	readonly balanceResolution_kg_m3: number;
	/** Fewest samples for an anchor. */
	readonly anchorSamples: number;
}

export const METER_CHECK_RULES: MeterCheckRules = {
	flow: FLOW_DRIFT_RULES,
	density: DENSITY_DRIFT_RULES,
	windowsForLine: 8,
	zeroNeedsSpan_rel: 0.25,
	slopeNeedsSpan_kg_m3: 40,
	balanceResolution_kg_m3: 10,
	anchorSamples: 5,
};

export interface MeterCheckAsk {
	/** In order of time, certificates applied (certifiedWindow). */
	readonly windows: readonly BypassWindow[];
	readonly decisions: readonly WindowDecision[];
	readonly steps: readonly StepDecision[];
	readonly mudBalance: readonly MudBalancePair[];
	/** Whether the mud balance sets the common level of the densities; its figure is shown either way. */
	readonly anchored: boolean;
	readonly side: CorrectedSide;
	readonly limits: CorrectionLimits;
	/** A person has accepted corrections beyond the limit; else they are shown and not applied. */
	readonly beyondLimitAccepted: { readonly flow: boolean; readonly density: boolean };
	readonly rules: MeterCheckRules;
}

/** A window as the check used it, for the chart. */
export interface CheckedWindow {
	readonly from_s: number;
	readonly to_s: number;
	/** Relative difference of the flows, or difference of the densities in kg/m³; null where unusable. */
	readonly difference: number | null;
	readonly u: number | null;
	/** Difference less the correction in force; in units of its own standard deviation. */
	readonly residual: number | null;
	readonly standardised: number | null;
	readonly verdict: DriftVerdict | 'rejected' | 'unusable';
	/** A person's words, or the rule that spoke; null for windows used without question. */
	readonly reason: string | null;
}

/** Second parameter of a pair of meters, or why it is not told; value 0 and u null then. */
export interface LineTerm {
	readonly value: number;
	readonly u: number | null;
}

/** What the check knows of one quantity; plain data. */
export interface PairCheck {
	/** Drift of the difference at `reference`: relative for flows, kg/m³ for densities. */
	readonly drift: DriftFit;
	/** Mean bypass flow (harmonic), m³/s, or mean bypass density, kg/m³: where drift and line term are uncorrelated. */
	readonly reference: number;
	/** Zero of the flows, m³/s, or slope of the densities. */
	readonly line: LineTerm;
	readonly largest: number;
	/** Beyond the certificate's limit and not accepted: shown, not applied. */
	readonly heldBack: boolean;
}

/** Common level of the densities from the mud balance, kg/m³ to be added to both. */
export interface DensityAnchor {
	readonly value: number;
	readonly u: number;
	readonly count: number;
	readonly applied: boolean;
}

/** The correction of a drive's meters, as plain data: read it with {@link correctionAt}. */
export interface MeterCorrection {
	readonly side: CorrectedSide;
	readonly flow: PairCheck | null;
	readonly density: PairCheck | null;
	readonly anchor: DensityAnchor | null;
	readonly flowWindows: readonly CheckedWindow[];
	readonly densityWindows: readonly CheckedWindow[];
	readonly faults: readonly Fault[];
}

/**
 * Judges all windows and makes the correction. Faults (all notes): `no_bypass_window`,
 * `flow_scale_only`, `density_offset_only`, `meter_step` for every step called,
 * `correction_beyond_certificate`, `balance_resolution`, `too_few_balance_samples`.
 *
 * @example
 * const pair = (k, feed, back, u) => ({ from_s: 3600 * k, to_s: 3600 * k + 300, count: 300, feed, return: back, difference: back - feed, u });
 * const windows = [0, 1, 2].map((k) => ({ from_s: 3600 * k, to_s: 3600 * k + 300, flow: pair(k, 0.3, 0.3024, 1e-4), density: pair(k, 1080, 1089, 0.3) }));
 * const made = checkMeters({ windows, decisions: [], steps: [], mudBalance: [], anchored: false, side: 'return', limits: { flowScale_rel: 0.005, densityOffset_kg_m3: null }, beyondLimitAccepted: { flow: true, density: true }, rules: METER_CHECK_RULES });
 * correctionAt(made, 4000).flow.scale_rel // => 0.008
 * correctionAt(made, 4000).density.offset_kg_m3 // => 9
 * made.faults.map((fault) => fault.code) // => ["flow_scale_only", "correction_beyond_certificate", "density_offset_only"]
 */
export function checkMeters(ask: MeterCheckAsk): MeterCorrection {
	const faults: Fault[] = [];
	const flow = checkPair(ask, 'flow', faults);
	const density = checkPair(ask, 'density', faults);
	const bare = {
		side: ask.side,
		flow: flow.check,
		density: density.check,
		anchor: null,
		flowWindows: flow.windows,
		densityWindows: density.windows,
		faults,
	};
	return { ...bare, anchor: anchorOf(ask, bare, faults) };
}

const SAID: Record<Quantity, { line: string; code: string; lineMissing: string; unit: string }> = {
	flow: {
		line: 'zero',
		code: 'flow_scale_only',
		lineMissing:
			'The bypass flows are too alike to tell a zero from a scale: only the scale is corrected.',
		unit: '%',
	},
	density: {
		line: 'slope',
		code: 'density_offset_only',
		lineMissing:
			'The bypass densities are too alike to tell a slope from an offset: only the offset is corrected.',
		unit: 'kg/m³',
	},
};

const shown = (quantity: Quantity, value: number): string =>
	quantity === 'flow' ? `${(100 * value).toFixed(2)} %` : `${value.toFixed(1)} kg/m³`;

function checkPair(
	ask: MeterCheckAsk,
	quantity: Quantity,
	faults: Fault[],
): { check: PairCheck | null; windows: CheckedWindow[] } {
	const { rules } = ask;
	const decided = new Map(
		ask.decisions
			.filter((one) => one.quantity === quantity)
			.map((one) => [one.from_s, one] as const),
	);
	const usable: { pair: PairComparison; window: BypassWindow; accepted: boolean }[] = [];
	for (const window of ask.windows) {
		const pair = window[quantity];
		const decision = decided.get(window.from_s);
		if ('code' in pair || decision?.verdict === 'reject') continue;
		usable.push({ pair, window, accepted: decision?.verdict === 'accept' });
	}
	const none = (fit: null): { check: null; windows: CheckedWindow[] } => ({
		check: fit,
		windows: ask.windows.map((window) => checked(window, quantity, decided, null, null)),
	});
	const line = lineOf(
		usable.map((one) => one.pair),
		quantity,
		rules,
	);
	const points = usable.map(({ pair, accepted }) => ({
		time_s: (pair.from_s + pair.to_s) / 2,
		...seen(pair, quantity, line),
		count: pair.count,
		accepted,
	}));
	const told = ask.steps.filter((one) => one.quantity === quantity);
	const fit = fitDrift(points, told, rules[quantity]);
	if (fit === null) {
		faults.push(
			noteFault(
				'no_bypass_window',
				`No bypass window lets the two ${quantity === 'flow' ? 'flow meters' : 'densitometers'} be compared.`,
			),
		);
		return none(null);
	}
	if (line.u === null) faults.push(noteFault(SAID[quantity].code, SAID[quantity].lineMissing));
	for (const step of fit.steps) faults.push(stepFault(quantity, step));
	const largest = fit.stretches
		.flat()
		.reduce((most, node) => Math.max(most, Math.abs(node.value)), 0);
	const limit = quantity === 'flow' ? ask.limits.flowScale_rel : ask.limits.densityOffset_kg_m3;
	const beyond = limit !== null && largest > limit;
	const heldBack = beyond && !ask.beyondLimitAccepted[quantity];
	if (beyond) {
		faults.push(
			noteFault(
				'correction_beyond_certificate',
				`The ${quantity} meters differ by up to ${shown(quantity, largest)}, more than the ${shown(quantity, limit)} their papers allow${heldBack ? ': not corrected until someone accepts it' : ''}.`,
				{ expected: `at most ${shown(quantity, limit)}` },
			),
		);
	}
	let next = 0;
	return {
		check: { drift: fit, reference: line.reference, line, largest, heldBack },
		windows: ask.windows.map((window) => {
			const used = usable[next]?.window === window ? next++ : null;
			return checked(window, quantity, decided, fit, used);
		}),
	};
}

/** Difference of one window at the reference, with its standard uncertainty. */
function seen(
	pair: PairComparison,
	quantity: Quantity,
	line: LineTerm & { readonly reference: number },
): { value: number; u: number | null } {
	if (quantity === 'flow') {
		const turned = line.value * (1 / pair.feed - 1 / line.reference);
		return {
			value: pair.difference / pair.feed - turned,
			u: pair.u === null ? null : pair.u / pair.feed,
		};
	}
	return { value: pair.difference - line.value * (pair.feed - line.reference), u: pair.u };
}

/**
 * Zero of the flows or slope of the densities from all windows together, where they span enough.
 * Flows: (return − feed)/feed against 1/feed has the zero as its slope. The fit turns about the mean,
 * so that the term and the level there are uncorrelated.
 */
function lineOf(
	pairs: readonly PairComparison[],
	quantity: Quantity,
	rules: MeterCheckRules,
): LineTerm & { readonly reference: number } {
	const flow = quantity === 'flow';
	const weights = pairs.map((pair) => pair.count);
	const x = pairs.map((pair) => (flow ? 1 / pair.feed : pair.feed));
	const total = weights.reduce((a, b) => a + b, 0);
	const mean = x.reduce((sum, one, i) => sum + one * weights[i]!, 0) / total;
	const reference = flow ? 1 / mean : mean;
	const feeds = pairs.map((pair) => pair.feed);
	const span = Math.max(...feeds) - Math.min(...feeds);
	const spans = flow
		? span >= rules.zeroNeedsSpan_rel * reference
		: span >= rules.slopeNeedsSpan_kg_m3;
	if (pairs.length < rules.windowsForLine || !spans) return { value: 0, u: null, reference };
	const y = pairs.map((pair) => (flow ? pair.difference / pair.feed : pair.difference));
	const line = straightLine(x, y, weights);
	return { value: line.slope, u: line.uSlope, reference };
}

function stepFault(quantity: Quantity, step: DriftStep): Fault {
	const meters = quantity === 'flow' ? 'flow meters' : 'densitometers';
	const how = step.at_s === null ? 'between two bypass windows' : 'at the moment told';
	return noteFault(
		'meter_step',
		`The difference of the two ${meters} changed at once by ${shown(quantity, step.size)}, ${how}: one of them was knocked, coated, cleaned or set anew.`,
	);
}

function checked(
	window: BypassWindow,
	quantity: Quantity,
	decided: ReadonlyMap<number, WindowDecision>,
	fit: DriftFit | null,
	used: number | null,
): CheckedWindow {
	const pair = window[quantity];
	const bare = { from_s: window.from_s, to_s: window.to_s, residual: null, standardised: null };
	if ('code' in pair) {
		return { ...bare, difference: null, u: null, verdict: 'unusable', reason: pair.message };
	}
	const decision = decided.get(window.from_s);
	const flow = quantity === 'flow';
	const difference = flow ? pair.difference / pair.feed : pair.difference;
	const u = pair.u === null ? null : flow ? pair.u / pair.feed : pair.u;
	const point = fit !== null && used !== null ? fit.points[used] : undefined;
	if (point === undefined) {
		return { ...bare, difference, u, verdict: 'rejected', reason: decision?.reason ?? null };
	}
	const apart = `${Math.abs(point.standardised).toFixed(1)} standard deviations from its neighbours`;
	const reason = {
		used: decision?.reason ?? null,
		outlier: `Stands apart, ${apart}, and the next window does not confirm it.`,
		pending: `Stands apart, ${apart}; the next window will tell whether the meters changed.`,
	}[point.verdict];
	return {
		...bare,
		difference,
		u,
		residual: point.residual,
		standardised: point.standardised,
		verdict: point.verdict,
		reason,
	};
}

/** The corrections in force at one time. */
export interface CorrectionInForce {
	readonly flow: {
		/** return = zero + (1 + scale) · feed. */
		readonly scale_rel: number;
		readonly zero_m3_s: number;
		readonly uScale_rel: number;
		/** null: the zero is not told and taken as 0. */
		readonly uZero_m3_s: number | null;
		/** Covariance of scale and zero, m³/s. */
		readonly covariance: number;
	} | null;
	readonly density: {
		/** return = feed + offset + slope · (feed − reference). */
		readonly offset_kg_m3: number;
		readonly slope: number;
		readonly reference_kg_m3: number;
		readonly uOffset_kg_m3: number;
		readonly uSlope: number | null;
		/** Covariance of offset and slope: 0 at the reference. */
		readonly covariance: number;
	} | null;
	/** Added to both densities, kg/m³; 0 where no anchor is applied. */
	readonly anchor_kg_m3: number;
	/** What is to be said about the time itself: extrapolated, or a step whose moment is not known. */
	readonly notes: readonly Fault[];
}

/**
 * The correction in force at a time; null for a quantity that is not corrected.
 *
 * @example
 * const pair = { from_s: 0, to_s: 300, count: 300, feed: 1080, return: 1089, difference: 9, u: 0.3 };
 * const one = { from_s: 0, to_s: 300, flow: { code: 'window_too_short', message: '', where: {}, weight: 'note' }, density: pair };
 * const made = checkMeters({ windows: [one], decisions: [], steps: [], mudBalance: [], anchored: false, side: 'return', limits: { flowScale_rel: null, densityOffset_kg_m3: null }, beyondLimitAccepted: { flow: false, density: false }, rules: METER_CHECK_RULES });
 * correctionAt(made, 86400).flow // => null
 * correctionAt(made, 86400).density.offset_kg_m3 // => 9
 * correctionAt(made, 86400).notes.map((fault) => fault.code) // => ["correction_extrapolated"]
 */
export function correctionAt(correction: MeterCorrection, time_s: number): CorrectionInForce {
	const notes: Fault[] = [];
	const read = (check: PairCheck | null, quantity: Quantity) => {
		if (check === null || check.heldBack) return null;
		const at = driftAt(check.drift, time_s);
		if (at.where === 'outside') {
			notes.push(
				noteFault(
					'correction_extrapolated',
					`No bypass window on one side of this time: the ${quantity} correction of the nearest one is kept, and its uncertainty grows.`,
				),
			);
		}
		if (at.where === 'in_step') {
			notes.push(
				noteFault(
					'step_moment_unknown',
					`The difference of the ${quantity} meters changed at once somewhere about this time: the correction is uncertain by the change until its moment is told.`,
				),
			);
		}
		return { ...at, line: check.line, reference: check.reference };
	};
	const flow = read(correction.flow, 'flow');
	const density = read(correction.density, 'density');
	return {
		flow:
			flow === null
				? null
				: {
						scale_rel: flow.value - flow.line.value / flow.reference,
						zero_m3_s: flow.line.value,
						uScale_rel: Math.hypot(flow.u, (flow.line.u ?? 0) / flow.reference),
						uZero_m3_s: flow.line.u,
						covariance: -((flow.line.u ?? 0) ** 2) / flow.reference,
					},
		density:
			density === null
				? null
				: {
						offset_kg_m3: density.value,
						slope: density.line.value,
						reference_kg_m3: density.reference,
						uOffset_kg_m3: density.u,
						uSlope: density.line.u,
						covariance: 0,
					},
		anchor_kg_m3: correction.anchor?.applied === true ? correction.anchor.value : 0,
		notes,
	};
}

/**
 * Times between which the correction runs straight, the two ends included.
 *
 * @example
 * correctionBends({ side: 'return', flow: null, density: null, anchor: null, flowWindows: [], densityWindows: [], faults: [] }, 0, 60) // => [0, 60]
 */
export function correctionBends(
	correction: MeterCorrection,
	from_s: number,
	to_s: number,
): number[] {
	const times = [correction.flow, correction.density].flatMap((check) =>
		check === null ? [] : driftBends(check.drift, from_s, to_s),
	);
	return [...new Set([from_s, ...times, to_s])].sort((a, b) => a - b);
}

/** Means over a ring of what the check says, for its budget. */
export interface RingCheck {
	readonly flow: {
		/** Mean relative difference at the reference flow, uncorrelated with the zero. */
		readonly scale_rel: number;
		readonly u: number;
		readonly reference_m3_s: number;
		readonly zero: LineTerm;
		/** Relative variance of one sample's difference: noise with its correlation, of n samples this over n. */
		readonly sampleVariance: number;
	} | null;
	readonly density: {
		readonly offset_kg_m3: number;
		readonly u: number;
		readonly reference_kg_m3: number;
		readonly slope: LineTerm;
		readonly sampleVariance: number;
	} | null;
	readonly anchor: DensityAnchor | null;
	/** Part of the difference the return side takes: 1, ½ or 0. */
	readonly returnShare: number;
}

/** Part of the difference that the return side takes. */
export function returnShare(side: CorrectedSide): number {
	return side === 'return' ? 1 : side === 'feed' ? 0 : 0.5;
}

/**
 * What the check says of one ring, as means over its time with their standard uncertainties.
 *
 * @example
 * const pair = { from_s: 0, to_s: 300, count: 300, feed: 1080, return: 1089, difference: 9, u: 0.3 };
 * const one = { from_s: 0, to_s: 300, flow: { code: 'window_too_short', message: '', where: {}, weight: 'note' }, density: pair };
 * const made = checkMeters({ windows: [one], decisions: [], steps: [], mudBalance: [], anchored: false, side: 'both', limits: { flowScale_rel: null, densityOffset_kg_m3: null }, beyondLimitAccepted: { flow: false, density: false }, rules: METER_CHECK_RULES });
 * ringCheck(made, 600, 3000).density.offset_kg_m3 // => 9
 * ringCheck(made, 600, 3000).returnShare // => 0.5
 */
export function ringCheck(correction: MeterCorrection, from_s: number, to_s: number): RingCheck {
	const mean = (check: PairCheck | null) =>
		check === null || check.heldBack ? null : { ...driftMean(check.drift, from_s, to_s), check };
	const flow = mean(correction.flow);
	const density = mean(correction.density);
	return {
		flow:
			flow === null
				? null
				: {
						scale_rel: flow.value,
						u: flow.u,
						reference_m3_s: flow.check.reference,
						zero: flow.check.line,
						sampleVariance: flow.check.drift.sampleVariance,
					},
		density:
			density === null
				? null
				: {
						offset_kg_m3: density.value,
						u: density.u,
						reference_kg_m3: density.check.reference,
						slope: density.check.line,
						sampleVariance: density.check.drift.sampleVariance,
					},
		anchor: correction.anchor,
		returnShare: returnShare(correction.side),
	};
}

/**
 * The densities' common level: mean of mud balance − corrected feed densitometer. A balance is read to
 * 10 kg/m³, so each sample is uncertain by 10/√12 kg/m³ at least; the mean of many gains as long as
 * the suspension itself moves across the steps of the reading.
 */
function anchorOf(
	ask: MeterCheckAsk,
	bare: MeterCorrection,
	faults: Fault[],
): DensityAnchor | null {
	const { mudBalance, rules } = ask;
	if (mudBalance.length === 0) return null;
	if (mudBalance.length < rules.anchorSamples) {
		faults.push(
			noteFault(
				'too_few_balance_samples',
				`${mudBalance.length} mud-balance samples are too few for a common level of the densities; ${rules.anchorSamples} are needed.`,
			),
		);
		return null;
	}
	const share = returnShare(ask.side);
	const differences = mudBalance.map(({ time_s, balance_kg_m3, meter_kg_m3 }) => {
		const { density } = correctionAt(bare, time_s);
		const moved =
			density === null
				? 0
				: (1 - share) *
					(density.offset_kg_m3 + density.slope * (meter_kg_m3 - density.reference_kg_m3));
		return balance_kg_m3 - (meter_kg_m3 + moved);
	});
	const count = differences.length;
	const value = differences.reduce((a, b) => a + b, 0) / count;
	const scatter = Math.sqrt(
		differences.reduce((sum, one) => sum + (one - value) ** 2, 0) / (count - 1),
	);
	const single = Math.max(scatter, rules.balanceResolution_kg_m3 / Math.sqrt(12));
	faults.push(
		noteFault(
			'balance_resolution',
			`The mud balance is read to ${rules.balanceResolution_kg_m3} kg/m³: its ${count} samples give the common level of the densities to ±${(single / Math.sqrt(count)).toFixed(1)} kg/m³ at best.`,
		),
	);
	return { value, u: single / Math.sqrt(count), count, applied: ask.anchored };
}
