/**
 * How a meter difference moves in time, from comparisons made now and then.
 *
 * Model: local level. The difference walks at random, xₜ₊Δ = xₜ + w with var w = q·Δ, and each
 * comparison sees it with its own scatter, y = x + e with var e = κ²·r. q (the walk) and κ (how much
 * larger the scatter is than the comparisons' own figures say) are means over a fixed grid, weighted by
 * how well each pair explains the comparisons (likelihood times a broad expectation), so the same
 * comparisons always give the same answer. Smoothing:
 * Kalman filter and Rauch–Tung–Striebel backward pass (Rauch, Tung, Striebel 1965; the local-level
 * model after Harvey 1989; both from memory).
 */

/** One comparison: the difference seen, and how well. */
export interface DriftPoint {
	/** Middle of the comparison, Unix s. Points are given in ascending time. */
	readonly time_s: number;
	readonly value: number;
	/** Standard uncertainty from the scatter; null if it cannot be told. */
	readonly u: number | null;
	/** Samples or pairs behind it, 1 or more. */
	readonly count: number;
	/** A person has accepted it: it is never set aside as standing apart. */
	readonly accepted: boolean;
}

/** Every limit used, in the unit of the difference. Common practice, no source. */
export interface DriftRules {
	/** A comparison further from its forecast than this many standard deviations stands apart. */
	readonly gate: number;
	/** Smallest change called a step. */
	readonly leastStep: number;
	/** Walk expected before anything is seen: standard deviation over one day. */
	readonly walkPerDay: number;
	/** How uncertain that expectation is, as a standard deviation in decades. */
	readonly walkDecades: number;
	/** Scatter of a single pair where the comparisons themselves cannot tell. */
	readonly uSingle: number;
	/** No comparison is taken to be better than this. */
	readonly uFloor: number;
}

/** Relative difference of two flow meters. */
export const FLOW_DRIFT_RULES: DriftRules = {
	gate: 4,
	leastStep: 0.004,
	walkPerDay: 0.0005,
	walkDecades: 0.5,
	uSingle: 0.003,
	uFloor: 1e-5,
};

/** Difference of two densitometers, kg/m³. */
export const DENSITY_DRIFT_RULES: DriftRules = {
	gate: 4,
	leastStep: 3,
	walkPerDay: 0.4,
	walkDecades: 0.5,
	uSingle: 1.5,
	uFloor: 0.01,
};

/**
 * What became of a comparison. `outlier`: stands apart, and the next one did not confirm it.
 * `pending`: the last one stands apart, and one more will tell an outlier from a step.
 */
export type DriftVerdict = 'used' | 'outlier' | 'pending';

export interface DriftPointFit extends DriftPoint {
	readonly verdict: DriftVerdict;
	/** Standard uncertainty the comparison was used with. */
	readonly uUsed: number;
	/** Value less what the fit has at that time, and the same in standard deviations of such a residual. */
	readonly residual: number;
	readonly standardised: number;
}

/** A step told by a person: the difference changes at once at that moment. */
export interface ToldStep {
	readonly at_s: number;
}

export interface DriftStep {
	/** Middle of the last comparison before and the first after. */
	readonly after_s: number;
	readonly before_s: number;
	/** The moment, where a person has told it; null: somewhere between the two, all moments alike. */
	readonly at_s: number | null;
	/** Change, with its standard uncertainty. */
	readonly size: number;
	readonly u: number;
	/** Middle of the comparison that made the call; of the first after it for a step that was told. */
	readonly called_s: number;
}

/** Smoothed level at a comparison. */
export interface DriftNode {
	readonly time_s: number;
	readonly value: number;
	readonly variance: number;
	/** Smoother gain: cov(this, next) = gain · variance of next. */
	readonly gain: number;
}

/** A fitted drift; plain data, read with {@link driftAt} and {@link driftCovariance}. */
export interface DriftFit {
	/** Walk variance per second. */
	readonly walk_per_s: number;
	/** κ: how much larger the scatter is than the comparisons' own figures. */
	readonly scatterFactor: number;
	/** Variance of one sample's difference, κ included: of a mean over n samples it is this over n. */
	readonly sampleVariance: number;
	readonly points: readonly DriftPointFit[];
	/** Stretches without a step, each with one node or more. */
	readonly stretches: readonly (readonly DriftNode[])[];
	readonly steps: readonly DriftStep[];
}

const DAY_S = 86_400;
/** Grid of the walk: decades about the expectation; and of κ. */
const WALK_FROM = -2;
const WALK_TO = 1.6;
const WALK_POINTS = 37;
const FACTOR_FROM = -0.3;
const FACTOR_TO = 0.6;
const FACTOR_POINTS = 19;
/** κ is expected to be 1 within this many decades. */
const FACTOR_DECADES = 0.2;
/** Degrees of freedom with which the pooled scatter stands beside a comparison's own. */
const POOLED_FREEDOM = 12;
/** Median of χ² with one degree of freedom. */
const CHI2_MEDIAN = 0.4549364;

/**
 * Fits a drift to comparisons in order of time. Comparisons that stand apart are set aside; two that
 * follow each other, stand apart to the same side, agree with each other and differ from the forecast
 * by at least `leastStep` are a step, called at the second of them. A stretch of one lone comparison
 * at the very beginning is an outlier, not a step. null if there is no comparison at all.
 * Throws RangeError for times that do not ascend.
 *
 * @example
 * const at = (hours, value) => ({ time_s: 3600 * hours, value, u: 0.3, count: 300, accepted: false });
 * const fit = fitDrift([at(0, 9.1), at(1, 8.9), at(2, 9), at(3, 30), at(4, 9.2), at(5, 9)], [], DENSITY_DRIFT_RULES);
 * fit.points.map((p) => p.verdict) // => ["used", "used", "used", "outlier", "used", "used"]
 * Math.abs(driftAt(fit, 9000).value - 9) < 0.2 // => true
 * const stepped = fitDrift([at(0, 9.1), at(1, 8.9), at(2, 9), at(3, 19), at(4, 19.2)], [], DENSITY_DRIFT_RULES);
 * [stepped.steps.length, stepped.steps[0].called_s] // => [1, 14400]
 */
export function fitDrift(
	points: readonly DriftPoint[],
	told: readonly ToldStep[],
	rules: DriftRules,
): DriftFit | null {
	if (points.length === 0) return null;
	for (let i = 1; i < points.length; i++) {
		if (!(points[i]!.time_s > points[i - 1]!.time_s))
			throw new RangeError(`fitDrift requires ascending times, point ${i} does not`);
	}
	const { variances, perSample } = scatterOf(points, rules);
	const breaks = told.map(({ at_s }) => at_s).sort((a, b) => a - b);
	const tried: { score: number; q: number; factor2: number }[] = [];
	for (let a = 0; a < WALK_POINTS; a++) {
		const decades = WALK_FROM + ((WALK_TO - WALK_FROM) * a) / (WALK_POINTS - 1);
		const q = (rules.walkPerDay * 10 ** decades) ** 2 / DAY_S;
		for (let b = 0; b < FACTOR_POINTS; b++) {
			const wider = FACTOR_FROM + ((FACTOR_TO - FACTOR_FROM) * b) / (FACTOR_POINTS - 1);
			const factor2 = 10 ** (2 * wider);
			const { cost } = gatedPass(points, variances, q, factor2, breaks, rules);
			const expected = (decades / rules.walkDecades) ** 2 + (wider / FACTOR_DECADES) ** 2;
			tried.push({ score: -(cost + expected) / 2, q, factor2 });
		}
	}
	// Means weighted by how well each pair explains the comparisons: the best pair alone would be too
	// sure of a walk that few comparisons leave open.
	const best = tried.reduce((most, { score }) => Math.max(most, score), Number.NEGATIVE_INFINITY);
	let weights = 0;
	let q = 0;
	let factor2 = 0;
	for (const one of tried) {
		const weight = Math.exp(one.score - best);
		weights += weight;
		q += weight * one.q;
		factor2 += weight * one.factor2;
	}
	q /= weights;
	const factor = Math.sqrt(factor2 / weights);
	const pass = gatedPass(points, variances, q, factor * factor, breaks, rules);
	const used = (i: number): number => factor * factor * variances[i]!;
	const stretches: DriftNode[][] = [];
	const members: number[][] = [];
	points.forEach((_, i) => {
		if (pass.verdicts[i] !== 'used') return;
		if (pass.opens[i] || members.length === 0) members.push([]);
		members.at(-1)!.push(i);
	});
	for (const indices of members) stretches.push(smooth(points, indices, used, q));
	const bare = {
		walk_per_s: q,
		scatterFactor: factor,
		sampleVariance: factor * factor * perSample,
		stretches,
	};
	const steps = stretches.slice(1).map((stretch, k): DriftStep => {
		const last = stretches[k]!.at(-1)!;
		const first = stretch[0]!;
		const at = breaks.find((one) => one > last.time_s && one <= first.time_s) ?? null;
		return {
			after_s: last.time_s,
			before_s: first.time_s,
			at_s: at,
			size: first.value - last.value,
			u: Math.sqrt(first.variance + last.variance),
			called_s: (at === null ? (stretch[1] ?? first) : first).time_s,
		};
	});
	const fit = { ...bare, steps, points: [] };
	return {
		...fit,
		points: points.map((point, i) => {
			const verdict = pass.verdicts[i]!;
			const here = driftAt(fit, point.time_s);
			const residual = point.value - here.value;
			// A used point has pulled the fit towards itself, one set aside has not (Harvey 1989).
			const variance = verdict === 'used' ? used(i) - here.u ** 2 : used(i) + here.u ** 2;
			return {
				...point,
				verdict,
				uUsed: Math.sqrt(used(i)),
				residual,
				standardised: variance > 0 ? residual / Math.sqrt(variance) : 0,
			};
		}),
	};
}

/** Variance of each comparison before κ, and of a single sample: own scatter and the pooled one together. */
function scatterOf(
	points: readonly DriftPoint[],
	rules: DriftRules,
): { variances: number[]; perSample: number } {
	const own = points.flatMap(({ u, count }) => (u === null ? [] : [u * u * count]));
	let perSample = median(own);
	if (perSample === null && points.length >= 4) {
		perSample = median(
			points.slice(1).map((b, k) => {
				const a = points[k]!;
				return (b.value - a.value) ** 2 / (1 / a.count + 1 / b.count) / CHI2_MEDIAN;
			}),
		);
	}
	const pooled = Math.max(perSample ?? rules.uSingle ** 2, 0);
	const variances = points.map(({ u, count }) => {
		const ofPool = pooled / count;
		const freedom = Math.min(count, POOLED_FREEDOM) - 1;
		const variance =
			u === null
				? ofPool
				: (freedom * u * u + POOLED_FREEDOM * ofPool) / (freedom + POOLED_FREEDOM);
		return Math.max(variance, rules.uFloor ** 2);
	});
	return { variances, perSample: pooled };
}

function median(values: readonly number[]): number | null {
	if (values.length === 0) return null;
	const sorted = [...values].sort((a, b) => a - b);
	const middle = sorted.length >> 1;
	return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

interface Pass {
	/** −2·log likelihood, less constants. What stands apart costs as much as the gate, once. */
	readonly cost: number;
	readonly verdicts: readonly DriftVerdict[];
	/** True where a new stretch begins. */
	readonly opens: readonly boolean[];
}

function gatedPass(
	points: readonly DriftPoint[],
	variances: readonly number[],
	q: number,
	factor2: number,
	breaks: readonly number[],
	{ gate, leastStep }: DriftRules,
): Pass {
	const verdicts: DriftVerdict[] = points.map(() => 'used');
	const opens = points.map(() => false);
	const scatter = (i: number): number => factor2 * variances[i]!;
	let cost = 0;
	let level = 0;
	let variance = 0;
	let last = -1;
	/** Comparisons in the current stretch. */
	let length = 0;
	/** A comparison that stands apart and waits for the next one. */
	let waiting = -1;
	let waitingBy = 0;
	let nextBreak = 0;
	const start = (i: number): void => {
		level = points[i]!.value;
		variance = scatter(i);
		last = i;
		length = 1;
		waiting = -1;
	};
	const update = (i: number, forecast: number, total: number): void => {
		const gain = forecast / total;
		level += gain * (points[i]!.value - level);
		variance = gain * scatter(i);
		last = i;
		length++;
		waiting = -1;
	};
	points.forEach((point, i) => {
		let broken = false;
		while (nextBreak < breaks.length && breaks[nextBreak]! <= point.time_s) {
			nextBreak++;
			broken = i > 0;
		}
		if (last < 0 || broken) {
			opens[i] = true;
			start(i);
			return;
		}
		const forecast = variance + q * (point.time_s - points[last]!.time_s);
		const total = forecast + scatter(i);
		const by = point.value - level;
		const square = (by * by) / total;
		if (square <= gate * gate || point.accepted) {
			cost += Math.log(total) + Math.min(square, gate * gate);
			update(i, forecast, total);
			return;
		}
		if (waiting >= 0) {
			const between = q * (point.time_s - points[waiting]!.time_s);
			const both = scatter(waiting) + between + scatter(i);
			const apart = (point.value - points[waiting]!.value) ** 2 / both;
			const confirmed =
				by * waitingBy > 0 && apart <= gate * gate && Math.abs(by + waitingBy) / 2 >= leastStep;
			if (confirmed) {
				if (length === 1 && opens[last] && !points[last]!.accepted && firstOpen(opens) === last) {
					verdicts[last] = 'outlier';
				}
				verdicts[waiting] = 'used';
				opens[waiting] = true;
				start(waiting);
				const held = variance + between;
				cost += Math.log(both) + apart;
				update(i, held, held + scatter(i));
				return;
			}
		}
		cost += Math.log(total) + gate * gate;
		verdicts[i] = i === points.length - 1 ? 'pending' : 'outlier';
		waiting = i;
		waitingBy = by;
	});
	return { cost, verdicts, opens };
}

function firstOpen(opens: readonly boolean[]): number {
	return opens.indexOf(true);
}

/** Filter and backward pass over one stretch. */
function smooth(
	points: readonly DriftPoint[],
	indices: readonly number[],
	scatter: (i: number) => number,
	q: number,
): DriftNode[] {
	const n = indices.length;
	const level = new Float64Array(n);
	const variance = new Float64Array(n);
	for (let k = 0; k < n; k++) {
		const { value, time_s } = points[indices[k]!]!;
		const own = scatter(indices[k]!);
		if (k === 0) {
			level[0] = value;
			variance[0] = own;
			continue;
		}
		const forecast = variance[k - 1]! + q * (time_s - points[indices[k - 1]!]!.time_s);
		const gain = forecast / (forecast + own);
		level[k] = level[k - 1]! + gain * (value - level[k - 1]!);
		variance[k] = gain * own;
	}
	const nodes: DriftNode[] = [];
	let later: DriftNode | null = null;
	for (let k = n - 1; k >= 0; k--) {
		const time_s = points[indices[k]!]!.time_s;
		let node: DriftNode = { time_s, value: level[k]!, variance: variance[k]!, gain: 0 };
		if (later !== null) {
			const forecast: number = variance[k]! + q * (later.time_s - time_s);
			const gain: number = variance[k]! / forecast;
			node = {
				time_s,
				value: level[k]! + gain * (later.value - level[k]!),
				variance: variance[k]! + gain * gain * (later.variance - forecast),
				gain,
			};
		}
		nodes.push(node);
		later = node;
	}
	return nodes.reverse();
}

/** The drift at one time. */
export interface DriftValue {
	readonly value: number;
	readonly u: number;
	/** Where the time lies: among comparisons, outside of all of them, or where a step may or may not have come yet. */
	readonly where: 'between' | 'outside' | 'in_step';
}

type Readable = Pick<DriftFit, 'stretches' | 'steps' | 'walk_per_s'>;

/**
 * The drift at any time with its standard uncertainty. Between two comparisons it runs straight;
 * before the first and after the last it stays and its uncertainty grows with the walk. Where a step
 * came between two comparisons at a moment nobody has told, every moment is taken as equally likely.
 *
 * @example
 * const fit = fitDrift([{ time_s: 0, value: 4, u: 0.3, count: 300, accepted: false }], [], DENSITY_DRIFT_RULES);
 * driftAt(fit, 86400).value // => 4
 * driftAt(fit, 86400).where // => "outside"
 * driftAt(fit, 86400).u > driftAt(fit, 3600).u // => true
 */
export function driftAt(fit: Readable, time_s: number): DriftValue {
	const { stretches, steps } = fit;
	const u = Math.sqrt(Math.max(0, driftCovariance(fit, time_s, time_s)));
	const place = placeOf(fit, time_s);
	if (place.before === null) {
		const value = levelIn(stretches[place.stretch]!, time_s);
		const first = stretches[0]![0]!.time_s;
		const last = stretches.at(-1)!.at(-1)!.time_s;
		return { value, u, where: time_s < first || time_s > last ? 'outside' : 'between' };
	}
	const step = steps[place.before]!;
	const from = stretches[place.before]!.at(-1)!.value;
	return { value: from + place.part * step.size, u, where: 'in_step' };
}

/**
 * Covariance of the drift at two times.
 *
 * @example
 * const at = (time_s) => ({ time_s, value: 4, u: 0.3, count: 300, accepted: false });
 * const fit = fitDrift([at(0), at(3600), at(7200)], [], DENSITY_DRIFT_RULES);
 * driftCovariance(fit, 0, 7200) < driftCovariance(fit, 0, 0) // => true
 * Math.sqrt(driftCovariance(fit, 0, 0)) === driftAt(fit, 0).u // => true
 */
export function driftCovariance(fit: Readable, a_s: number, b_s: number): number {
	const [early, late] = a_s <= b_s ? [a_s, b_s] : [b_s, a_s];
	const parts = (t: number): [number, number][] => {
		const place = placeOf(fit, t);
		return place.before === null
			? [[place.stretch, 1]]
			: [
					[place.before, 1 - place.part],
					[place.before + 1, place.part],
				];
	};
	let sum = 0;
	for (const [k, a] of parts(early)) {
		for (const [m, b] of parts(late)) {
			if (k === m) sum += a * b * covarianceIn(fit.stretches[k]!, fit.walk_per_s, early, late);
		}
	}
	const one = placeOf(fit, early);
	const other = placeOf(fit, late);
	if (one.before !== null && one.before === other.before) {
		const { size } = fit.steps[one.before]!;
		sum += size * size * (one.part - one.part * other.part);
	}
	return sum;
}

/** Points at which the mean of a stretch of time is taken. */
const MEAN_POINTS = 5;

/**
 * Mean of the drift from one time to another with its standard uncertainty, the covariance between
 * the times included.
 *
 * @example
 * const at = (time_s, value) => ({ time_s, value, u: 0.3, count: 300, accepted: false });
 * const fit = fitDrift([at(0, 4), at(3600, 4), at(7200, 4)], [], DENSITY_DRIFT_RULES);
 * driftMean(fit, 0, 7200).value // => 4
 * driftMean(fit, 0, 7200).u < 0.3 // => true
 */
export function driftMean(
	fit: Readable,
	from_s: number,
	to_s: number,
): { readonly value: number; readonly u: number } {
	const times = Array.from(
		{ length: MEAN_POINTS },
		(_, k) => from_s + ((to_s - from_s) * k) / (MEAN_POINTS - 1),
	);
	const weight = (k: number): number =>
		(k === 0 || k === MEAN_POINTS - 1 ? 0.5 : 1) / (MEAN_POINTS - 1);
	let value = 0;
	let variance = 0;
	times.forEach((a, i) => {
		value += weight(i) * driftAt(fit, a).value;
		times.forEach((b, k) => {
			variance += weight(i) * weight(k) * driftCovariance(fit, a, b);
		});
	});
	return { value, u: Math.sqrt(Math.max(0, variance)) };
}

/**
 * Times at which a drift bends or jumps between two times, both of them included, ascending.
 *
 * @example
 * const at = (time_s) => ({ time_s, value: 4, u: 0.3, count: 300, accepted: false });
 * driftBends(fitDrift([at(0), at(3600), at(7200)], [], DENSITY_DRIFT_RULES), 1800, 5000) // => [1800, 3600, 5000]
 */
export function driftBends(fit: Readable, from_s: number, to_s: number): number[] {
	const inside = fit.steps.flatMap(({ at_s }) =>
		at_s !== null && at_s > from_s && at_s < to_s ? [at_s] : [],
	);
	// Every ring asks: only the nodes in between are looked at, however long the drive is.
	for (const nodes of fit.stretches)
		for (let k = nodeBefore(nodes, from_s) + 1; k < nodes.length; k++) {
			const { time_s } = nodes[k]!;
			if (time_s >= to_s) break;
			inside.push(time_s);
		}
	return [from_s, ...new Set(inside.sort((a, b) => a - b)), to_s];
}

/** The stretch a time lies in, or the step it may lie on either side of and how far through it is. */
function placeOf(
	{ stretches, steps }: Readable,
	t: number,
): { stretch: number; before: number | null; part: number } {
	for (let k = 0; k < steps.length; k++) {
		const { after_s, before_s, at_s } = steps[k]!;
		if (at_s !== null ? t < at_s : t <= after_s) return { stretch: k, before: null, part: 0 };
		if (at_s === null && t < before_s) {
			return { stretch: k, before: k, part: (t - after_s) / (before_s - after_s) };
		}
	}
	return { stretch: stretches.length - 1, before: null, part: 0 };
}

/** Index of the node at or before a time; −1 before the first. */
function nodeBefore(nodes: readonly DriftNode[], t: number): number {
	let low = 0;
	let high = nodes.length;
	while (low < high) {
		const mid = (low + high) >> 1;
		if (nodes[mid]!.time_s <= t) low = mid + 1;
		else high = mid;
	}
	return low - 1;
}

function levelIn(nodes: readonly DriftNode[], t: number): number {
	const k = nodeBefore(nodes, t);
	if (k < 0) return nodes[0]!.value;
	const a = nodes[k]!;
	const b = nodes[k + 1];
	if (b === undefined) return a.value;
	return a.value + ((b.value - a.value) * (t - a.time_s)) / (b.time_s - a.time_s);
}

function nodeCovariance(nodes: readonly DriftNode[], i: number, k: number): number {
	const [early, late] = i <= k ? [i, k] : [k, i];
	let product = nodes[late]!.variance;
	for (let m = early; m < late; m++) product *= nodes[m]!.gain;
	return product;
}

/** Covariance within one stretch, early ≤ late: a random walk tied to its smoothed nodes. */
function covarianceIn(nodes: readonly DriftNode[], q: number, early: number, late: number): number {
	const weights = (t: number): { k: number; parts: [number, number][] } => {
		const k = nodeBefore(nodes, t);
		if (k < 0) return { k, parts: [[0, 1]] };
		const next = nodes[k + 1];
		if (next === undefined) return { k, parts: [[k, 1]] };
		const part = (t - nodes[k]!.time_s) / (next.time_s - nodes[k]!.time_s);
		return {
			k,
			parts: [
				[k, 1 - part],
				[k + 1, part],
			],
		};
	};
	const a = weights(early);
	const b = weights(late);
	let sum = 0;
	for (const [i, wi] of a.parts) {
		for (const [k, wk] of b.parts) sum += wi * wk * nodeCovariance(nodes, i, k);
	}
	if (a.k !== b.k) return sum;
	if (a.k < 0) return sum + q * (nodes[0]!.time_s - late);
	const from = nodes[a.k]!.time_s;
	const next = nodes[a.k + 1];
	if (next === undefined) return sum + q * (early - from);
	return sum + (q * (early - from) * (next.time_s - late)) / (next.time_s - from);
}
