import { type Fault, noteFault } from '../fault/fault.ts';
import { stepIntegral } from './integrate.ts';
import { lineInForce, meterLines } from './meter.ts';
import { STEP_LIMIT_S } from './polyline.ts';
import { MODES, type Samples } from './samples.ts';
import type { MeterCertificate, MeterId } from './settings.ts';

/**
 * Bypass checks. In bypass the loop is closed without the chamber: both flow meters see the same
 * stream, and, once the bypassed suspension has travelled, both densitometers see the same
 * suspension. What they then differ by is the meters' own.
 */

/** One meter pair compared over a steady stretch of bypass. Readings as shown, no certificate applied; SI. */
export interface PairComparison {
	readonly from_s: number;
	readonly to_s: number;
	readonly count: number;
	readonly feed: number;
	readonly return: number;
	/** return − feed, and its standard uncertainty from the scatter; null with fewer than three samples. */
	readonly difference: number;
	readonly u: number | null;
}

export interface BypassWindow {
	readonly from_s: number;
	readonly to_s: number;
	/** Flows compared, m³/s, or why not. */
	readonly flow: PairComparison | Fault;
	/** Densities of the same suspension compared, kg/m³, or why not. */
	readonly density: PairComparison | Fault;
}

/** How a window is judged; every limit is the user's to see. Common practice, no source. */
export interface BypassRules {
	/** Time after the valves have moved that is left out, s; and before they move again. */
	readonly settle_s: number;
	readonly settleEnd_s: number;
	/** Shortest stretch compared, s, where the record is a logger's. */
	readonly shortest_s: number;
	/** Samples with either flow below this share of the stretch's median are pumps running up or down. */
	readonly leastFlow_rel: number;
	/** Largest spread (standard deviation) of each flow over its mean. */
	readonly flowSpread_rel: number;
	/** Largest spread of each density, kg/m³. */
	readonly densitySpread_kg_m3: number;
	/** Fewest samples in a stretch. */
	readonly fewest: number;
	/**
	 * A stop no longer than this leaves the lines as they were, s: what bypass had swept before it
	 * counts on after it. A longer one begins anew, since solids may have settled.
	 */
	readonly longestStop_s: number;
}

export const LOGGER_BYPASS_RULES: BypassRules = {
	settle_s: 30,
	settleEnd_s: 15,
	shortest_s: 60,
	leastFlow_rel: 0.8,
	flowSpread_rel: 0.03,
	densitySpread_kg_m3: 6,
	fewest: 10,
	longestStop_s: 10_800,
};

/** Paired readings by hand: one pair is a comparison, though its scatter cannot be told. */
export const READINGS_BYPASS_RULES: BypassRules = {
	settle_s: 0,
	settleEnd_s: 0,
	shortest_s: 0,
	leastFlow_rel: 0.8,
	flowSpread_rel: 0.04,
	densitySpread_kg_m3: 10,
	fewest: 1,
	longestStop_s: 10_800,
};

const BYPASS = MODES.indexOf('bypass');
const STOP = MODES.indexOf('stop');

/**
 * Index ranges [from, to) of unbroken bypass: consecutive samples in that mode with no gap between.
 *
 * @example
 * bypassStretches({ count: 5, time_s: Float64Array.of(0, 1, 2, 3, 4), mode: Uint8Array.of(0, 1, 1, 0, 1) }, 10) // => [[1, 3], [4, 5]]
 */
export function bypassStretches(
	samples: Pick<Samples, 'count' | 'time_s' | 'mode'>,
	gapLimit_s: number,
): [number, number][] {
	const found: [number, number][] = [];
	let from = -1;
	for (let i = 0; i <= samples.count; i++) {
		const inside = i < samples.count && samples.mode[i] === BYPASS;
		const broken =
			from >= 0 && i < samples.count && samples.time_s[i]! - samples.time_s[i - 1]! > gapLimit_s;
		if (from >= 0 && (!inside || broken)) {
			found.push([from, i]);
			from = -1;
		}
		if (inside && from < 0) from = i;
	}
	return found;
}

/** Inner volumes of the two lines between meters and valves, m³. */
export interface LoopVolumes {
	readonly feed_m3: number;
	readonly return_m3: number;
}

/**
 * Every stretch of bypass in a record compared. `linesAt` gives the volumes at a time, null where they
 * are not known. Whoever streams a record may call this on slices: a slice must reach back from its
 * bypass until both lines have been filled once and, where a stop came before, over that stop to the
 * end of the flow through the chamber; a stretch cut by the end of a slice is compared as far as it goes.
 *
 * @example
 * const n = 200;
 * const of = (v) => new Float64Array(n).fill(v);
 * const s = { count: n, time_s: Float64Array.from({ length: n }, (_, i) => 5 * i), mode: new Uint8Array(n).fill(1), feedFlow_m3_s: of(0.3), feedDensity_kg_m3: of(1080), returnFlow_m3_s: of(0.303), returnDensity_kg_m3: of(1084), sideFlow_m3_s: null, chamberLevel_m: null, feedTotal_m3: null, returnTotal_m3: null };
 * bypassWindows(s, () => null, LOGGER_BYPASS_RULES, 10).map((w) => [w.from_s, w.to_s, w.density.code]) // => [[0, 995, "lag_unknown"]]
 */
export function bypassWindows(
	samples: Samples,
	linesAt: (time_s: number) => LoopVolumes | null,
	rules: BypassRules,
	gapLimit_s: number,
): BypassWindow[] {
	return bypassStretches(samples, gapLimit_s).map((stretch) =>
		compareInBypass(samples, stretch, linesAt(samples.time_s[stretch[0]]!), rules),
	);
}

/**
 * Compares both meter pairs over one stretch of bypass. Densities are compared suspension by
 * suspension: a return reading with the feed reading taken when one feed line and one return line of
 * volume earlier it passed there, and only once the return line has been swept since the stream last
 * passed the chamber. `lines` null: the volumes are not known and densities are not compared.
 * A stretch that cannot be compared says why (`window_too_short`, `window_not_steady`,
 * `line_not_swept`, `lag_unknown`).
 *
 * @example
 * const n = 200;
 * const of = (v) => new Float64Array(n).fill(v);
 * const s = { count: n, time_s: Float64Array.from({ length: n }, (_, i) => 5 * i), mode: new Uint8Array(n).fill(1), feedFlow_m3_s: of(0.3), feedDensity_kg_m3: of(1080), returnFlow_m3_s: of(0.303), returnDensity_kg_m3: of(1084), sideFlow_m3_s: null, chamberLevel_m: null, feedTotal_m3: null, returnTotal_m3: null };
 * const seen = compareInBypass(s, [0, n], { feed_m3: 40, return_m3: 40 }, LOGGER_BYPASS_RULES);
 * seen.flow.difference // => 0.003
 * seen.density.difference // => 4
 */
export function compareInBypass(
	samples: Samples,
	[from, to]: readonly [number, number],
	lines: LoopVolumes | null,
	rules: BypassRules,
): BypassWindow {
	const { time_s: t } = samples;
	const start = t[from]! + rules.settle_s;
	const end = t[to - 1]! - rules.settleEnd_s;
	const base = { from_s: t[from]!, to_s: t[to - 1]! };
	const flowing = flowingIn(samples, from, to, rules.leastFlow_rel);
	const flow = compare(
		samples,
		flowing.filter((i) => t[i]! >= start && t[i]! <= end),
		(i) => samples.feedFlow_m3_s[i]!,
		(i) => samples.returnFlow_m3_s[i]!,
		(spread, mean) => spread <= rules.flowSpread_rel * Math.abs(mean) && mean > 0,
		rules,
		'flow',
	);
	if (lines === null) {
		return {
			...base,
			flow,
			density: noteFault(
				'lag_unknown',
				'Line diameters or the distance of the meters are missing: densities cannot be paired.',
			),
		};
	}
	const swept = sweptFrom(samples, from, to, lines.return_m3, rules.longestStop_s);
	if (swept === null) {
		return {
			...base,
			flow,
			density: noteFault(
				'line_not_swept',
				'The bypass ended before its suspension had reached the return meters.',
			),
		};
	}
	const paired = pairedFeedDensity(samples, swept, to, lines.feed_m3 + lines.return_m3);
	const settled = Math.max(start, swept > from ? t[swept]! + rules.settle_s : start);
	const density = compare(
		samples,
		flowing.filter((i) => i >= swept && t[i]! >= settled && t[i]! <= end),
		(i) => paired[i - swept]!,
		(i) => samples.returnDensity_kg_m3[i]!,
		(spread) => spread <= rules.densitySpread_kg_m3,
		rules,
		'density',
	);
	return { ...base, flow, density };
}

/**
 * A window with the certificates applied that hold at its middle: value = offset + slope · reading, on
 * each side. Certificates are straight lines, so means may be taken before or after.
 *
 * @example
 * const pair = { from_s: 0, to_s: 60, count: 60, feed: 1080, return: 1090, difference: 10, u: 0.2 };
 * const certificates = [{ meter: 'return_density', validFrom_s: -5, slope: 1, offset_si: -4, certificate: 'A' }];
 * certifiedWindow({ from_s: 0, to_s: 60, flow: pair, density: pair }, certificates).density.difference // => 6
 */
export function certifiedWindow(
	window: BypassWindow,
	certificates: readonly MeterCertificate[],
): BypassWindow {
	const certified = (
		pair: PairComparison | Fault,
		feedMeter: MeterId,
		returnMeter: MeterId,
	): PairComparison | Fault => {
		if ('code' in pair) return pair;
		const middle = (pair.from_s + pair.to_s) / 2;
		const line = (meter: MeterId) => {
			const lines = meterLines(certificates, meter);
			return lines[lineInForce(lines, middle)]!;
		};
		const ofFeed = line(feedMeter);
		const ofReturn = line(returnMeter);
		const feed = ofFeed.offset_si + ofFeed.slope * pair.feed;
		const back = ofReturn.offset_si + ofReturn.slope * pair.return;
		const slope = (Math.abs(ofFeed.slope) + Math.abs(ofReturn.slope)) / 2;
		return {
			...pair,
			feed,
			return: back,
			difference: back - feed,
			u: pair.u === null ? null : pair.u * slope,
		};
	};
	return {
		...window,
		flow: certified(window.flow, 'feed_flow', 'return_flow'),
		density: certified(window.density, 'feed_density', 'return_density'),
	};
}

/** Samples of a stretch during which the pumps run as they do in most of it. */
function flowingIn(s: Samples, from: number, to: number, least_rel: number): number[] {
	const median = (flow: Float64Array): number => {
		const sorted = flow.slice(from, to).filter(Number.isFinite).sort();
		return sorted[sorted.length >> 1] ?? Number.NaN;
	};
	const least = [s.feedFlow_m3_s, s.returnFlow_m3_s].map(
		(flow) => [flow, least_rel * median(flow)] as const,
	);
	const out: number[] = [];
	for (let i = from; i < to; i++) {
		if (least.every(([flow, limit]) => flow[i]! >= limit)) out.push(i);
	}
	return out;
}

function compare(
	samples: Samples,
	at: readonly number[],
	feedOf: (i: number) => number,
	returnOf: (i: number) => number,
	steady: (spread: number, mean: number) => boolean,
	rules: BypassRules,
	what: 'flow' | 'density',
): PairComparison | Fault {
	const good = at.filter((i) => Number.isFinite(feedOf(i)) && Number.isFinite(returnOf(i)));
	if (good.length < rules.fewest) {
		return noteFault('window_too_short', `Too few paired ${what} readings in this bypass.`);
	}
	const from_s = samples.time_s[good[0]!]!;
	const to_s = samples.time_s[good.at(-1)!]!;
	if (to_s - from_s < rules.shortest_s) {
		return noteFault('window_too_short', `The steady ${what} stretch of this bypass is too short.`);
	}
	const feed = meanOf(good, feedOf);
	const back = meanOf(good, returnOf);
	if (
		!steady(spreadOf(good, feedOf, feed), feed) ||
		!steady(spreadOf(good, returnOf, back), back)
	) {
		return noteFault('window_not_steady', `The ${what} is not steady in this bypass.`);
	}
	return {
		from_s,
		to_s,
		count: good.length,
		feed,
		return: back,
		difference: back - feed,
		u: uOfMean(good.map((i) => returnOf(i) - feedOf(i))),
	};
}

function meanOf(at: readonly number[], of: (i: number) => number): number {
	let sum = 0;
	for (const i of at) sum += of(i);
	return sum / at.length;
}

function spreadOf(at: readonly number[], of: (i: number) => number, mean: number): number {
	if (at.length < 2) return 0;
	let squares = 0;
	for (const i of at) squares += (of(i) - mean) ** 2;
	return Math.sqrt(squares / (at.length - 1));
}

/** Batches a series is cut into to find the uncertainty of its mean. */
const BATCHES = 12;

/**
 * Standard uncertainty of the mean of an autocorrelated series by batch means: the series is cut into
 * a dozen batches whose means are taken as independent. Short series: as if all were independent.
 */
function uOfMean(values: readonly number[]): number | null {
	const n = values.length;
	if (n < 3) return null;
	const size = Math.max(1, Math.floor(n / BATCHES));
	const means: number[] = [];
	for (let i = 0; i + size <= n; i += size) {
		means.push(
			meanOf(
				Array.from({ length: size }, (_, k) => i + k),
				(k) => values[k]!,
			),
		);
	}
	const mean = means.reduce((a, b) => a + b, 0) / means.length;
	const squares = means.reduce((a, b) => a + (b - mean) ** 2, 0);
	return Math.sqrt(squares / (means.length - 1) / means.length);
}

/**
 * First sample of the stretch at which the return line has been emptied once since the stream last
 * passed the chamber; null if it never is within the stretch.
 */
function sweptFrom(
	s: Samples,
	from: number,
	to: number,
	volume_m3: number,
	longestStop_s: number,
): number | null {
	let begin = from;
	let stopped = 0;
	for (; begin > 0; begin--) {
		const mode = s.mode[begin - 1];
		if (mode === STOP) stopped += s.time_s[begin]! - s.time_s[begin - 1]!;
		else stopped = 0;
		if ((mode !== BYPASS && mode !== STOP) || stopped > longestStop_s) break;
	}
	let left = volume_m3;
	for (let i = begin + 1; i < to && left > 0; i++) {
		left -= passedBetween(s, s.returnFlow_m3_s, i - 1, i);
		if (left <= 0) return Math.max(from, i);
	}
	return left <= 0 ? from : null;
}

/** Volume between two samples; across a change of mode between distant readings the least it can have been. */
function passedBetween(s: Samples, flow: Float64Array, a: number, b: number): number {
	const qa = flow[a]!;
	const qb = flow[b]!;
	if (!Number.isFinite(qa) || !Number.isFinite(qb)) return 0;
	const dt = s.time_s[b]! - s.time_s[a]!;
	if (s.mode[a] !== s.mode[b] && dt > STEP_LIMIT_S) return Math.max(0, Math.min(qa, qb)) * dt;
	return stepIntegral(dt, qa, qb);
}

/** Feed density each return sample's suspension had when it passed the feed meter; NaN before the record. */
function pairedFeedDensity(s: Samples, from: number, to: number, volume_m3: number): Float64Array {
	const out = new Float64Array(to - from).fill(Number.NaN);
	let behind = from;
	let between = 0;
	while (behind > 0 && between < volume_m3) {
		behind--;
		between += passedBetween(s, s.feedFlow_m3_s, behind, behind + 1);
	}
	for (let i = from; i < to; i++) {
		if (i > from) between += passedBetween(s, s.feedFlow_m3_s, i - 1, i);
		if (between < volume_m3) continue;
		while (behind + 1 < i) {
			const step = passedBetween(s, s.feedFlow_m3_s, behind, behind + 1);
			if (between - step < volume_m3) break;
			between -= step;
			behind++;
		}
		const step = passedBetween(s, s.feedFlow_m3_s, behind, behind + 1);
		const f = step > 0 ? Math.min(1, Math.max(0, (between - volume_m3) / step)) : 0;
		const a = s.feedDensity_kg_m3[behind]!;
		const b = s.feedDensity_kg_m3[behind + 1]!;
		out[i - from] = a + (b - a) * f;
	}
	return out;
}
