import { type Fault, stopFault } from '../fault/fault.ts';
import { faceMix } from '../ground/facemix.ts';
import { excavatedVolume_m3 } from '../ground/geometry.ts';
import { waterDensity_kg_m3 } from '../suspension/water.ts';
import {
	correctionAt,
	type MeterCorrection,
	type RingCheck,
	ringCheck,
} from '../trust/metercheck.ts';
import { type Budget, type BudgetInput, combine } from '../trust/ringbudget.ts';
import { chamberStorage_m3 } from './chamber.ts';
import { correctedFlowBudget, correctedSolidsBudget } from './checkbudget.ts';
import { spanMargin } from './correction.ts';
import { blank, type Figure, given } from './figure.ts';
import { levelAt } from './level.ts';
import { type LineVolumes, lineVolumes } from './line.ts';
import { lineInForce, meterLines } from './meter.ts';
import { NOTES } from './notes.ts';
import { type Polyline, polyline } from './polyline.ts';
import type { AppliedCorrection, RingBalance, RingLag, SampleSource } from './ringbalance.ts';
import type { Samples } from './samples.ts';
import type { DriveSettings, GroundShare, MeterCertificate, RingInput } from './settings.ts';
import { chamberExcess, feedPassage, returnPassage } from './solidsmethod.ts';
import { firstAfter, firstAtOrAfter, type RingSpan, ringSpan } from './span.ts';
import { totaliserPassage } from './totaliser.ts';
import { type WindowFlows, windowFlows } from './volumemethod.ts';

/** Everything one ring's balance is made from. */
export interface RingBalanceAsk {
	readonly ring: RingInput;
	/**
	 * Raw samples in time order. May be the whole record or any part of it that holds the ring's span
	 * (see span.ts): back until the feed line has been filled once before advance start, forward until
	 * the return line has been emptied once after advance end. The balance finds its way in by time.
	 */
	readonly samples: Samples;
	readonly source: SampleSource;
	readonly settings: DriveSettings;
	readonly ground: readonly GroundShare[];
	readonly meters: readonly MeterCertificate[];
	/**
	 * Correction from bypass checks, applied after the certificates, with the budget it brings. null or
	 * absent: the balance as certificates have it. With and without are two calls.
	 */
	readonly correction?: MeterCorrection | null;
	/** Two stamps farther apart than this are a gap (see gap.ts). */
	readonly gapLimit_s: number;
	/** Working-chamber level at which the mixed volume is stated (the first ring's start level); null if unknown. */
	readonly referenceLevel_m: number | null;
}

/** Base-water temperature taken, and said so, where the site has not given it, °C (common practice, no source). */
export const ASSUMED_WATER_C = 15;
/** A ring with more than this share of its window missing gets no figure. */
const MISSING_SHARE_LIMIT = 0.5;
/** Totaliser and integral further apart than this are noted. */
const TOTALISER_LIMIT = 0.01;
const BEFORE_ALL_S = -1e12;
const AFTER_ALL_S = 1e12;

/**
 * The balance of one ring: apparent excavated volume by the volume method, dry solids by the
 * dry-solids method, and what geometry and ground say should have left; SI units. Figures that cannot
 * be worked out are blank with their reason. Source: mass conservation over the control volume
 * between the two meter pairs.
 *
 *     V apparent = ∫(Qr − Qf − Qj) dt + ΔV chamber + ΔV lines      over the advance window
 *     M dry = ρs/(ρs − ρw)·[∫Qr(ρr − ρw) dt − ∫Qf(ρf − ρw) dt + Δ(V·(ρ − ρw)) chamber]
 *
 * In the second, each integral runs over the ring as its own meters see it (transport lag), which is
 * the same as carrying what the lines hold at ring start and end. The grain density of the feed's own
 * solids drops out: only their excess mass is needed, and it returns.
 *
 * @example
 * const stamps = Float64Array.from({ length: 36 }, (_, i) => 60 * i);
 * const all = (value) => new Float64Array(36).fill(value);
 * const nothing = { flowScale_rel: null, flowOffset_m3_s: null, densityOffset_kg_m3: null, densityScale_rel: null, diameter_m: null, stroke_m: null, grainDensity_kg_m3: null, dryDensity_kg_m3: null, level_m: null };
 * const ring = balanceRing({
 *   ring: { ring: 1, advanceStart_s: 0, advanceEnd_s: 2100, strokeStart_m: 0.2, strokeEnd_m: 1.6, chamberLevelStart_m: null, chamberLevelEnd_m: null, lineExtension_m: null },
 *   samples: { count: 36, time_s: stamps, mode: new Uint8Array(36), feedFlow_m3_s: all(10 / 60), feedDensity_kg_m3: all(1100), returnFlow_m3_s: all(11.3684778 / 60), returnDensity_kg_m3: all(1207), sideFlow_m3_s: null, chamberLevel_m: null, feedTotal_m3: null, returnTotal_m3: null },
 *   source: 'readings',
 *   settings: { title: '', excavatedDiameter_m: 6.6, nominalAdvance_m: 1.4, overcut_m: null, overcutAngle_rad: null, workingChamberArea_m2: null, chamberMixedVolume_m3: null, feedLineDiameter_m: null, returnLineDiameter_m: null, returnMeterDistance_m: null, lineGrowth_m_per_ring: null, waterTemperature_c: 15, waterSalinity_g_kg: 0, bentoniteGrainDensity_kg_m3: null, uncertainty: nothing },
 *   ground: [{ fromRing: 1, toRing: 9, stratum: 'sand', faceFraction: 1, grainDensity_kg_m3: 2650, dryDensity_kg_m3: 1590 }],
 *   meters: [], gapLimit_s: 900, referenceLevel_m: null,
 * });
 * ring.volumeApparent_m3.value // => 47.896723
 * ring.volumeExpected_m3.value // => 47.89672160
 */
export function balanceRing(ask: RingBalanceAsk): RingBalance {
	const { ring, samples, settings, meters, gapLimit_s } = ask;
	const number = ring.ring;
	const notes: Fault[] = [];
	const note = (...faults: Fault[]): void => {
		for (const fault of faults) {
			if (!notes.some((known) => known.code === fault.code && known.message === fault.message)) {
				notes.push(fault);
			}
		}
	};

	if (settings.waterTemperature_c === null) {
		note(NOTES.waterTemperatureMissing(number, ASSUMED_WATER_C));
	}
	const water = waterDensity_kg_m3(
		settings.waterTemperature_c ?? ASSUMED_WATER_C,
		settings.waterSalinity_g_kg ?? 0,
	);

	const mix = faceMix(ask.ground, number);
	if (mix.kind === 'fault') note(mix.fault);
	const geometry = expected(ring, settings, mix);
	note(...geometry.notes);

	const lines = lineVolumes(settings, number, ring.lineExtension_m);
	const correction = ask.correction ?? null;
	const check =
		correction === null ? null : ringCheck(correction, ring.advanceStart_s, ring.advanceEnd_s);
	const margin = spanMargin(correction);
	const span = ringSpan({
		samples,
		ring,
		meters,
		feedLine_m3: margin * Math.max(lines.feedStart_m3 ?? 0, lines.feedEnd_m3 ?? 0),
		returnLine_m3: margin * Math.max(lines.returnStart_m3 ?? 0, lines.returnEnd_m3 ?? 0),
		gapLimit_s,
	});
	const inWindow = Math.max(
		0,
		firstAfter(samples.time_s, samples.count, ring.advanceEnd_s) -
			firstAtOrAfter(samples.time_s, samples.count, ring.advanceStart_s),
	);
	const looks = {
		looksFrom_s: span.ranOutBefore ? BEFORE_ALL_S : samples.time_s[span.from]!,
		looksTo_s: span.ranOutAfter ? AFTER_ALL_S : samples.time_s[span.to - 1]!,
	};
	const common = {
		ring: number,
		advanceStart_s: ring.advanceStart_s,
		advanceEnd_s: ring.advanceEnd_s,
		sampleCount: inWindow,
		...geometry.figures,
		waterDensity_kg_m3: water,
		grainDensity_kg_m3: mix.kind === 'mix' ? mix.grainDensity_kg_m3 : null,
		dryDensity_kg_m3: mix.kind === 'mix' ? mix.dryDensity_kg_m3 : null,
		correction: correction === null || check === null ? null : applied(correction, check),
		...looks,
	};

	const window_s = ring.advanceEnd_s - ring.advanceStart_s;
	if (inWindow === 0 || !(window_s > 0)) {
		note(NOTES.noSamples(number));
		const none = blank(NOTES.noSamples(number));
		return {
			...common,
			source: 'none',
			modeSeconds: { advance: 0, bypass: 0, back_flush: 0, stop: 0 },
			missingSeconds: Math.max(0, window_s),
			feedVolume_m3: none,
			returnVolume_m3: none,
			sideVolume_m3: none,
			chamberVolumeChange_m3: none,
			lineVolumeChange_m3: none,
			volumeApparent_m3: none,
			volumeBudget: [],
			feedExcess_kg: none,
			returnExcess_kg: none,
			chamberExcessChange_kg: none,
			drySolids_kg: none,
			solidsBudget: [],
			volumeFromSolids_m3: none,
			ratioVolume: none,
			ratioSolids: none,
			hiddenVolume_m3: null,
			feedTotaliser_m3: none,
			returnTotaliser_m3: none,
			lag: noLag(lines),
			notes,
		};
	}

	const line = polyline({
		samples,
		from: span.from,
		to: span.to,
		advanceStart_s: ring.advanceStart_s,
		advanceEnd_s: ring.advanceEnd_s,
		meters,
		correction,
		waterDensity_kg_m3: water,
		gapLimit_s,
	});
	if (correction !== null) {
		note(...correctionAt(correction, (ring.advanceStart_s + ring.advanceEnd_s) / 2).notes);
	}
	if (line.removed.negativeFlow > 0) note(NOTES.impossibleFlow(number, line.removed.negativeFlow));
	if (line.removed.belowWater > 0) note(NOTES.impossibleDensity(number, line.removed.belowWater));

	const flows = windowFlows(line, ring.advanceStart_s, ring.advanceEnd_s);
	const levels = chamberLevels(ask, span);
	const volume = volumeFigures(ask, check, line, flows, lines, levels, window_s, inWindow);
	note(...volume.notes);
	const solids = solidsFigures(ask, check, line, lines, levels, mix, water, window_s, inWindow);
	note(...solids.notes);
	const notStated = [...new Set([...volume.notStated, ...solids.notStated])];
	if (notStated.length > 0) note(NOTES.uncertaintyNotStated(number, notStated));
	const totals = totaliserFigures(ask, check, flows, line);
	note(...totals.notes);

	const { volumeExpected_m3, drySolidsExpected_kg } = geometry.figures;
	return {
		...common,
		source: ask.source,
		modeSeconds: flows.modeSeconds,
		missingSeconds: flows.missing_s,
		...volume.figures,
		...solids.figures,
		volumeFromSolids_m3: volumeFromSolids(solids.figures.drySolids_kg, mix, settings),
		ratioVolume: ratio(volume.figures.volumeApparent_m3, volumeExpected_m3, number),
		ratioSolids: ratio(solids.figures.drySolids_kg, drySolidsExpected_kg, number),
		hiddenVolume_m3: flows.missing_s > 0 ? flows.missing_s * flows.widestDifference_m3_s : null,
		feedTotaliser_m3: totals.feed,
		returnTotaliser_m3: totals.back,
		notes,
	};
}

function applied(correction: MeterCorrection, check: RingCheck): AppliedCorrection {
	const { flow, density, anchor } = check;
	return {
		side: correction.side,
		flowScale_rel: flow === null ? null : flow.scale_rel - flow.zero.value / flow.reference_m3_s,
		uFlowScale_rel:
			flow === null ? null : Math.hypot(flow.u, (flow.zero.u ?? 0) / flow.reference_m3_s),
		flowZero_m3_s: flow?.zero.value ?? 0,
		densityOffset_kg_m3: density?.offset_kg_m3 ?? null,
		uDensityOffset_kg_m3: density?.u ?? null,
		densitySlope: density?.slope.value ?? 0,
		densityAnchor_kg_m3: anchor?.applied === true ? anchor.value : 0,
	};
}

type Mixed = ReturnType<typeof faceMix>;

function expected(ring: RingInput, settings: DriveSettings, mix: Mixed) {
	const u = settings.uncertainty;
	const advance = ring.strokeEnd_m - ring.strokeStart_m;
	if (!(advance > 0)) {
		const none = blank(NOTES.strokeBackwards(ring.ring));
		return {
			notes: [NOTES.strokeBackwards(ring.ring)],
			figures: { advance_m: none, volumeExpected_m3: none, drySolidsExpected_kg: none },
		};
	}
	const strokeU = u.stroke_m === null ? null : Math.SQRT2 * u.stroke_m;
	const cut = {
		diameter_m: settings.excavatedDiameter_m,
		advance_m: advance,
		overcut_m: settings.overcut_m,
		overcutAngle_rad: settings.overcutAngle_rad,
	};
	const volume = excavatedVolume_m3(cut);
	const volumeU = combine([
		{
			input: 'excavated diameter',
			u: u.diameter_m,
			inputUnit: 'm',
			// The overcut sector grows with the diameter too, by a part that is small beside u itself.
			sensitivity: (Math.PI / 2) * settings.excavatedDiameter_m * advance,
		},
		{ input: 'advance', u: strokeU, inputUnit: 'm', sensitivity: volume / advance },
	]).u;
	const solids =
		mix.kind === 'fault'
			? blank(mix.fault)
			: given(
					mix.dryDensity_kg_m3 * volume,
					combine([
						{
							input: 'in-situ dry density',
							u: u.dryDensity_kg_m3,
							inputUnit: 'kg/m3',
							sensitivity: volume,
						},
						{
							input: 'expected volume',
							u: volumeU,
							inputUnit: 'm3',
							sensitivity: mix.dryDensity_kg_m3,
						},
					]).u,
				);
	return {
		notes: [],
		figures: {
			advance_m: given(advance, strokeU),
			volumeExpected_m3: given(volume, volumeU),
			drySolidsExpected_kg: solids,
		},
	};
}

interface Levels {
	readonly start_m: number | null;
	readonly end_m: number | null;
}

/** Levels as the ring's record gives them, else as the level column does at that moment. */
function chamberLevels(ask: RingBalanceAsk, span: RingSpan): Levels {
	const { ring, samples, gapLimit_s } = ask;
	const at = (t: number): number | null =>
		samples.chamberLevel_m === null
			? null
			: levelAt(
					samples.time_s.subarray(span.from, span.to),
					samples.chamberLevel_m.subarray(span.from, span.to),
					span.to - span.from,
					t,
					gapLimit_s,
				);
	return {
		start_m: ring.chamberLevelStart_m ?? at(ring.advanceStart_s),
		end_m: ring.chamberLevelEnd_m ?? at(ring.advanceEnd_s),
	};
}

function volumeFigures(
	ask: RingBalanceAsk,
	check: RingCheck | null,
	line: Polyline,
	flows: WindowFlows,
	lines: LineVolumes,
	levels: Levels,
	window_s: number,
	sampleCount: number,
) {
	const { ring, settings } = ask;
	const number = ring.ring;
	const u = settings.uncertainty;
	const notes: Fault[] = [];
	const stops: Fault[] = [];
	if (!line.has.feedFlow) stops.push(NOTES.flowMissing(number, 'feed'));
	if (!line.has.returnFlow) stops.push(NOTES.flowMissing(number, 'return'));
	if (stops.length === 0 && flows.throughChamber_s === 0) stops.push(NOTES.noAdvanceMode(number));
	if (flows.modeMissing_s > 0) notes.push(NOTES.modeMissing(number, flows.modeMissing_s));
	if (flows.missing_s > MISSING_SHARE_LIMIT * window_s) {
		stops.push(NOTES.tooMuchMissing(number, flows.missing_s, window_s));
	} else if (flows.missing_s > 0) {
		notes.push(
			NOTES.missingTime(number, flows.missing_s, flows.missing_s * flows.widestDifference_m3_s),
		);
	}

	const area = settings.workingChamberArea_m2;
	let chamber: Figure;
	if (area === null) {
		const fault = NOTES.chamberAreaMissing(number);
		notes.push(fault);
		chamber = blank(fault);
	} else if (levels.start_m === null || levels.end_m === null) {
		const fault = NOTES.levelMissing(number, levels.start_m === null ? 'start' : 'end');
		stops.push(fault);
		chamber = blank(fault);
	} else {
		chamber = given(
			chamberStorage_m3(area, levels.start_m, levels.end_m),
			u.level_m === null ? null : Math.SQRT2 * area * u.level_m,
		);
	}
	const growth =
		lines.growth_m3 === null ? blank(NOTES.lineGrowthUnknown(number)) : given(lines.growth_m3, 0);
	if (growth.value === null) stops.push(...growth.notes);

	const flowStops = stops.filter((fault) => fault.code !== 'chamber_level_missing');
	const passed = (value: number, offsetTime_s: number): Figure =>
		flowStops.length > 0
			? blank(...flowStops)
			: given(
					value,
					combine([
						{ input: 'scale', u: u.flowScale_rel, inputUnit: '1', sensitivity: value },
						{ input: 'zero', u: u.flowOffset_m3_s, inputUnit: 'm3/s', sensitivity: offsetTime_s },
					]).u,
				);
	const meters: readonly BudgetInput[] = check?.flow
		? correctedFlowBudget(check.flow, check.returnShare, u, flows, sampleCount)
		: [
				{
					input: 'return flow meter, scale',
					u: u.flowScale_rel,
					inputUnit: '1',
					sensitivity: flows.return_m3,
				},
				{
					input: 'feed flow meter, scale',
					u: u.flowScale_rel,
					inputUnit: '1',
					sensitivity: -flows.feed_m3,
				},
				{
					input: 'return flow meter, zero',
					u: u.flowOffset_m3_s,
					inputUnit: 'm3/s',
					sensitivity: flows.throughChamber_s,
				},
				{
					input: 'feed flow meter, zero',
					u: u.flowOffset_m3_s,
					inputUnit: 'm3/s',
					sensitivity: -flows.throughChamber_s,
				},
			];
	const budget = combine([
		...meters,
		{
			input: 'chamber level, two readings',
			u: u.level_m === null ? null : Math.SQRT2 * u.level_m,
			inputUnit: 'm',
			sensitivity: area ?? 0,
		},
		{
			input: 'scatter of the samples',
			u: flows.scatter_m3,
			inputUnit: 'm3',
			sensitivity: flows.scatter_m3 === 0 ? 0 : 1,
		},
		// A bridged stretch could hold nothing or twice what was bridged: a uniform distribution.
		{
			input: 'missing time',
			u: Math.abs(flows.bridged_m3) / Math.sqrt(3),
			inputUnit: 'm3',
			sensitivity: flows.bridged_m3 === 0 ? 0 : 1,
		},
	]);
	const apparent =
		stops.length > 0
			? blank(...stops)
			: given(
					flows.difference_m3 + (chamber.value ?? 0) + (growth.value ?? 0),
					statedU(budget, u.flowScale_rel),
					notes,
				);
	return {
		notes: [...stops, ...notes],
		notStated: budget.notStated,
		figures: {
			feedVolume_m3: passed(flows.feed_m3, flows.throughChamber_s),
			returnVolume_m3: passed(flows.return_m3, flows.throughChamber_s),
			sideVolume_m3: flowStops.length > 0 ? blank(...flowStops) : given(flows.side_m3),
			chamberVolumeChange_m3: chamber,
			lineVolumeChange_m3: growth,
			volumeApparent_m3: apparent,
			volumeBudget: apparent.value === null ? [] : budget.lines,
		},
	};
}

/** An uncertainty without the flow meters' own is none at all: scatter alone would look far too good. */
function statedU(budget: Budget, flowScale_rel: number | null): number | null {
	return flowScale_rel === null ? null : budget.u;
}

function solidsFigures(
	ask: RingBalanceAsk,
	check: RingCheck | null,
	line: Polyline,
	lines: LineVolumes,
	levels: Levels,
	mix: Mixed,
	water: number,
	window_s: number,
	sampleCount: number,
) {
	const { ring, settings } = ask;
	const number = ring.ring;
	const u = settings.uncertainty;
	const notes: Fault[] = [];
	const stops: Fault[] = [];
	if (!line.has.feedFlow) stops.push(NOTES.flowMissing(number, 'feed'));
	if (!line.has.returnFlow) stops.push(NOTES.flowMissing(number, 'return'));
	if (!line.has.feedDensity) stops.push(NOTES.densityMissing(number, 'feed'));
	if (!line.has.returnDensity) stops.push(NOTES.densityMissing(number, 'return'));
	const nothing = (lag: RingLag) => {
		const none = blank(...stops);
		return {
			notes: [...stops, ...notes],
			notStated: [],
			figures: {
				feedExcess_kg: none,
				returnExcess_kg: none,
				chamberExcessChange_kg: none,
				drySolids_kg: none,
				solidsBudget: [],
				lag,
			},
		};
	};
	if (stops.length > 0) return nothing(noLag(lines));

	const startNode = nodeAt(line, ring.advanceStart_s, 'last');
	const endNode = nodeAt(line, ring.advanceEnd_s, 'first');
	const lagKnown = lines.feedStart_m3 !== null && lines.returnStart_m3 !== null;
	if (!lagKnown) notes.push(NOTES.lagUnknown(number));
	const back = returnPassage(
		line,
		startNode,
		endNode,
		lagKnown ? lines.returnStart_m3! : 0,
		lagKnown ? lines.returnEnd_m3! : 0,
	);
	const feed = feedPassage(
		line,
		startNode,
		endNode,
		lagKnown ? lines.feedStart_m3! : 0,
		lagKnown ? lines.feedEnd_m3! : 0,
	);
	const lag: RingLag = {
		feedLineVolume_m3: lines.feedStart_m3,
		returnLineVolumeStart_m3: lines.returnStart_m3,
		returnLineVolumeEnd_m3: lines.returnEnd_m3,
		feedFrom_s: lagKnown && feed.from.short_m3 === 0 ? feed.from.t : null,
		feedTo_s: lagKnown && feed.to.short_m3 === 0 ? feed.to.t : null,
		returnFrom_s: lagKnown && back.from.short_m3 === 0 ? back.from.t : null,
		returnTo_s: lagKnown && back.to.short_m3 === 0 ? back.to.t : null,
		lag_s: lagKnown && back.to.short_m3 === 0 ? back.to.t - ring.advanceEnd_s : null,
	};
	if (back.from.short_m3 > 0) stops.push(NOTES.lineNotReached(number));
	if (feed.missing_s > MISSING_SHARE_LIMIT * window_s) {
		stops.push(NOTES.tooMuchDensityMissing(number, 'feed'));
	} else if (feed.missing_s > 0) notes.push(NOTES.missingDensity(number, feed.missing_s, 'feed'));
	if (back.missing_s > MISSING_SHARE_LIMIT * window_s) {
		stops.push(NOTES.tooMuchDensityMissing(number, 'return'));
	} else if (back.missing_s > 0) notes.push(NOTES.missingDensity(number, back.missing_s, 'return'));
	if (stops.length > 0) return nothing(lag);
	if (back.to.short_m3 > 0) notes.push(NOTES.lineNotCleared(number, back.to.short_m3));
	if (feed.from.short_m3 > 0) notes.push(NOTES.feedHistoryShort(number, feed.from.short_m3));

	const mixed = settings.chamberMixedVolume_m3;
	let chamber: Figure;
	let held = { start_m3: 0, end_m3: 0 };
	if (mixed === null) {
		const fault = NOTES.chamberVolumeMissing(number);
		notes.push(fault);
		chamber = blank(fault);
	} else {
		held = heldVolumes(mixed, settings.workingChamberArea_m2, levels, ask.referenceLevel_m);
		const before = chamberExcess(line, back.from, 'from');
		const after = chamberExcess(line, back.to, 'to');
		chamber = given(held.end_m3 * after - held.start_m3 * before);
	}
	const change = chamber.value ?? 0;
	const excess = back.excess_kg - feed.excess_kg + change;

	if (mix.kind === 'fault') {
		return {
			notes: [...stops, ...notes],
			notStated: [],
			figures: {
				feedExcess_kg: given(feed.excess_kg),
				returnExcess_kg: given(back.excess_kg),
				chamberExcessChange_kg: chamber,
				drySolids_kg: blank(mix.fault),
				solidsBudget: [],
				lag,
			},
		};
	}
	const grain = mix.grainDensity_kg_m3;
	const factor = grain / (grain - water);
	const excessByFeed = {
		factor,
		back,
		feed,
		heldChange_m3: held.end_m3 - held.start_m3,
		change_kg: change,
		waterDensity_kg_m3: water,
		sampleCount,
	};
	const corrected = check === null ? null : correctedSolidsBudget(check, u, excessByFeed);
	const budget = combine([
		...(corrected?.densities ?? [
			{
				input: 'return densitometer, offset',
				u: u.densityOffset_kg_m3,
				inputUnit: 'kg/m3',
				sensitivity: factor * (back.volume_m3 + held.end_m3 - held.start_m3),
			},
			{
				input: 'feed densitometer, offset',
				u: u.densityOffset_kg_m3,
				inputUnit: 'kg/m3',
				sensitivity: -factor * feed.volume_m3,
			},
			{
				input: 'return densitometer, slope',
				u: u.densityScale_rel,
				inputUnit: '1',
				sensitivity: factor * (back.excess_kg + change),
			},
			{
				input: 'feed densitometer, slope',
				u: u.densityScale_rel,
				inputUnit: '1',
				sensitivity: -factor * feed.excess_kg,
			},
		]),
		...(corrected?.flows ?? [
			{
				input: 'return flow meter, scale',
				u: u.flowScale_rel,
				inputUnit: '1',
				sensitivity: factor * back.excess_kg,
			},
			{
				input: 'feed flow meter, scale',
				u: u.flowScale_rel,
				inputUnit: '1',
				sensitivity: -factor * feed.excess_kg,
			},
			{
				input: 'return flow meter, zero',
				u: u.flowOffset_m3_s,
				inputUnit: 'm3/s',
				sensitivity: factor * back.excessTime_kgs_m3,
			},
			{
				input: 'feed flow meter, zero',
				u: u.flowOffset_m3_s,
				inputUnit: 'm3/s',
				sensitivity: -factor * feed.excessTime_kgs_m3,
			},
		]),
		{
			input: 'grain density of the ground',
			u: u.grainDensity_kg_m3,
			inputUnit: 'kg/m3',
			sensitivity: (-excess * water) / ((grain - water) * (grain - water)),
		},
		// What has not passed yet, or had to be bridged, could differ by its whole excess over the feed.
		{
			input: 'suspension not yet at the return meters',
			u: notYetPassed_kg(line, back.to.short_m3) * factor,
			inputUnit: 'kg',
			sensitivity: back.to.short_m3 > 0 ? 1 : 0,
		},
		{
			input: 'missing time',
			u:
				(factor * Math.abs(excess) * Math.max(back.missing_s, feed.missing_s)) /
				window_s /
				Math.sqrt(3),
			inputUnit: 'kg',
			sensitivity: Math.max(back.missing_s, feed.missing_s) > 0 ? 1 : 0,
		},
	]);
	return {
		notes: [...stops, ...notes],
		notStated: budget.notStated,
		figures: {
			feedExcess_kg: given(feed.excess_kg),
			returnExcess_kg: given(back.excess_kg),
			chamberExcessChange_kg: chamber,
			drySolids_kg: given(
				factor * excess,
				u.densityOffset_kg_m3 === null ? null : statedU(budget, u.flowScale_rel),
				notes,
			),
			solidsBudget: budget.lines,
			lag,
		},
	};
}

/** Suspension that mixes, at ring start and end: the stated volume moved by the level. */
function heldVolumes(
	mixed_m3: number,
	area_m2: number | null,
	levels: Levels,
	reference_m: number | null,
): { start_m3: number; end_m3: number } {
	const at = (level: number | null): number => {
		const base = reference_m ?? levels.start_m;
		if (area_m2 === null || level === null || base === null) return mixed_m3;
		return Math.max(0, mixed_m3 + chamberStorage_m3(area_m2, base, level));
	};
	return { start_m3: at(levels.start_m), end_m3: at(levels.end_m) };
}

function notYetPassed_kg(line: Polyline, short_m3: number): number {
	const last = line.n - 1;
	const spread = Math.abs(line.returnExcess[last]! - line.feedExcess[last]!);
	return (short_m3 * spread) / Math.sqrt(3);
}

function volumeFromSolids(dry: Figure, mix: Mixed, settings: DriveSettings): Figure {
	if (dry.value === null) return blank(...dry.notes);
	if (mix.kind === 'fault') return blank(mix.fault);
	const density = mix.dryDensity_kg_m3;
	const value = dry.value / density;
	const u =
		dry.u === null
			? null
			: combine([
					{ input: 'dry solids', u: dry.u, inputUnit: 'kg', sensitivity: 1 / density },
					{
						input: 'in-situ dry density',
						u: settings.uncertainty.dryDensity_kg_m3,
						inputUnit: 'kg/m3',
						sensitivity: -value / density,
					},
				]).u;
	return given(value, u);
}

function ratio(measured: Figure, planned: Figure, ring: number): Figure {
	if (measured.value === null) return blank(...measured.notes);
	if (planned.value === null) return blank(...planned.notes);
	if (!(planned.value > 0)) return blank(NOTES.nothingExpected(ring));
	const value = measured.value / planned.value;
	const u =
		measured.u === null
			? null
			: Math.hypot(measured.u / planned.value, ((planned.u ?? 0) * value) / planned.value);
	return given(value, u);
}

function totaliserFigures(
	ask: RingBalanceAsk,
	check: RingCheck | null,
	flows: WindowFlows,
	line: Polyline,
) {
	const { samples, ring } = ask;
	const from = firstAtOrAfter(samples.time_s, samples.count, ring.advanceStart_s);
	const to = firstAfter(samples.time_s, samples.count, ring.advanceEnd_s);
	const notes: Fault[] = [];
	const absent = stopFault('totaliser_missing', 'No totaliser is kept for this line.', {
		ring: ring.ring,
	});
	const one = (column: Float64Array | null, side: 'feed' | 'return'): Figure => {
		if (column === null || !someGiven(column, from, to)) return blank(absent);
		const passage = totaliserPassage(column.subarray(from, to), capacityOf(column, from, to));
		if (passage.kind === 'fault') {
			notes.push(passage.fault);
			return blank(passage.fault);
		}
		// The counter covers from its first to its last reading in the window, in every mode.
		const first = firstGiven(column, samples.time_s, from, to);
		// It counts what its meter reads, so the meter's certificate goes for it too.
		const certified = meterLines(ask.meters, side === 'feed' ? 'feed_flow' : 'return_flow');
		const { slope, offset_si } = certified[lineInForce(certified, ring.advanceStart_s)]!;
		const read = slope * passage.volume_m3 + offset_si * (first.to_s - first.from_s);
		const counted = check?.flow
			? correctedVolume(read, side, check, first.to_s - first.from_s)
			: read;
		const integrated = flowBetween(line, side === 'feed' ? line.feedFlow : line.returnFlow, first);
		if (integrated > 0) {
			const off = counted / integrated - 1;
			if (Math.abs(off) > TOTALISER_LIMIT) {
				notes.push(NOTES.totaliserDiffers(ring.ring, side, 100 * off));
			}
		}
		return given(counted, null, passage.notes);
	};
	const feed = one(samples.feedTotal_m3, 'feed');
	const back = one(samples.returnTotal_m3, 'return');
	return { feed, back, notes: flows.throughChamber_s > 0 ? notes : [] };
}

/** A counted volume as its flow meter's correction has it. */
function correctedVolume(
	volume_m3: number,
	side: 'feed' | 'return',
	{ flow, returnShare: w }: RingCheck,
	time_s: number,
): number {
	if (flow === null) return volume_m3;
	const z = flow.zero.value;
	const s = flow.scale_rel - z / flow.reference_m3_s;
	return side === 'return'
		? (volume_m3 - w * z * time_s) / (1 + w * s)
		: ((1 + s) * volume_m3 + (1 - w) * z * time_s) / (1 + w * s);
}

function someGiven(column: Float64Array, from: number, to: number): boolean {
	for (let i = from; i < to; i++) if (!Number.isNaN(column[i]!)) return true;
	return false;
}

function firstGiven(
	column: Float64Array,
	time: Float64Array,
	from: number,
	to: number,
): { from_s: number; to_s: number } {
	let first = Number.NaN;
	let last = Number.NaN;
	for (let i = from; i < to; i++) {
		if (Number.isNaN(column[i]!)) continue;
		if (Number.isNaN(first)) first = time[i]!;
		last = time[i]!;
	}
	return { from_s: first, to_s: last };
}

/** A counter rolls over at a power of ten: the one above the largest total seen beside the fall. */
function capacityOf(column: Float64Array, from: number, to: number): number | null {
	let largest = 0;
	for (let i = from; i < to; i++) if (column[i]! > largest) largest = column[i]!;
	return largest > 0 ? 10 ** Math.ceil(Math.log10(largest + 1e-9)) : null;
}

function flowBetween(
	line: Polyline,
	flow: Float64Array,
	range: { from_s: number; to_s: number },
): number {
	let sum = 0;
	for (let k = 0; k + 1 < line.n; k++) {
		if (line.t[k]! < range.from_s || line.t[k + 1]! > range.to_s) continue;
		sum += ((flow[k]! + flow[k + 1]!) / 2) * (line.t[k + 1]! - line.t[k]!);
	}
	return sum;
}

function nodeAt(line: Polyline, t: number, which: 'first' | 'last'): number {
	const found =
		which === 'first' ? firstAtOrAfter(line.t, line.n, t) : firstAfter(line.t, line.n, t) - 1;
	return Math.min(line.n - 1, Math.max(0, found));
}

function noLag(lines: LineVolumes): RingLag {
	return {
		feedLineVolume_m3: lines.feedStart_m3,
		returnLineVolumeStart_m3: lines.returnStart_m3,
		returnLineVolumeEnd_m3: lines.returnEnd_m3,
		feedFrom_s: null,
		feedTo_s: null,
		returnFrom_s: null,
		returnTo_s: null,
		lag_s: null,
	};
}
