import type { MeterCorrection } from '../trust/metercheck.ts';
import { applyCorrection } from './correction.ts';
import { correctColumn, meterLines } from './meter.ts';
import { MODE_MISSING, type Samples } from './samples.ts';
import { STOPPED_NOISE_M3_S } from './series.ts';
import type { MeterCertificate } from './settings.ts';

/**
 * A stretch of the circuit's record made ready for integration: meters corrected, impossible values
 * taken out, every signal linear between nodes, a node at advance start and end, steps where the
 * circuit was switched between two distant readings.
 *
 * Rules, each stated once here:
 * - a value missing between two good ones is interpolated; over more than the gap limit it is
 *   interpolated too, but the stretch is marked as bridged and counted as missing time;
 * - two stamps farther apart than the gap limit make a bridged stretch in every signal;
 * - the mode holds from its stamp until the next one;
 * - between two readings of different mode more than {@link STEP_LIMIT_S} apart the flows do not run
 *   linearly: each holds its own value up to the switch, which is at the ring's advance start or end
 *   if that lies between them, else at the later reading;
 * - in `stop` a flow that was not recorded is no flow: the pumps are off by definition of the mode.
 */
export interface Polyline {
	/** Number of nodes; intervals are numbered by their first node. */
	readonly n: number;
	readonly t: Float64Array;
	readonly feedFlow: Float64Array;
	readonly returnFlow: Float64Array;
	readonly sideFlow: Float64Array;
	/** Excess densities ρ − ρw, kg/m³. */
	readonly feedExcess: Float64Array;
	readonly returnExcess: Float64Array;
	/** Mode index of each interval. */
	readonly mode: Uint8Array;
	/** Bits of the signals bridged in each interval. */
	readonly bridged: Uint8Array;
	readonly has: {
		readonly feedFlow: boolean;
		readonly returnFlow: boolean;
		readonly feedDensity: boolean;
		readonly returnDensity: boolean;
	};
	/** Readings taken out because they were impossible. */
	readonly removed: { readonly negativeFlow: number; readonly belowWater: number };
}

export const BRIDGED_FLOW = 1;
export const BRIDGED_FEED_DENSITY = 2;
export const BRIDGED_RETURN_DENSITY = 4;

/** Two readings of different mode closer than this are joined linearly, s. */
export const STEP_LIMIT_S = 15;

export interface PolylineAsk {
	readonly samples: Samples;
	/** Index range [from, to) of the samples used. */
	readonly from: number;
	readonly to: number;
	readonly advanceStart_s: number;
	readonly advanceEnd_s: number;
	readonly meters: readonly MeterCertificate[];
	/** Bypass correction applied after the certificates; null or absent: none. */
	readonly correction?: MeterCorrection | null;
	readonly waterDensity_kg_m3: number;
	readonly gapLimit_s: number;
}

/** Intervals looked at in one go. */
const RUN = 1024;
const ADVANCE = 0;
const STOP = 3;

/**
 * Builds the polyline of a stretch of samples; the range must hold at least one sample.
 *
 * @example
 * const one = { count: 2, time_s: Float64Array.of(0, 10), mode: Uint8Array.of(0, 0), feedFlow_m3_s: Float64Array.of(1, 1), feedDensity_kg_m3: Float64Array.of(1100, 1100), returnFlow_m3_s: Float64Array.of(1.2, 1.4), returnDensity_kg_m3: Float64Array.of(1200, 1210), sideFlow_m3_s: null, chamberLevel_m: null, feedTotal_m3: null, returnTotal_m3: null };
 * const line = polyline({ samples: one, from: 0, to: 2, advanceStart_s: 5, advanceEnd_s: 10, meters: [], waterDensity_kg_m3: 1000, gapLimit_s: 60 });
 * Array.from(line.t.subarray(0, line.n)) // => [0, 5, 10]
 * Array.from(line.returnExcess.subarray(0, line.n)) // => [200, 205, 210]
 */
export function polyline(ask: PolylineAsk): Polyline {
	const { samples, from, to, advanceStart_s: t0, advanceEnd_s: t1, meters, gapLimit_s } = ask;
	const m = to - from;
	const time = samples.time_s.subarray(from, to);
	const modes = samples.mode.subarray(from, to);
	const corrected = (column: Float64Array, meter: Parameters<typeof meterLines>[1]): Float64Array =>
		correctColumn(column, samples.time_s, meterLines(meters, meter), from, to);
	const qf = corrected(samples.feedFlow_m3_s, 'feed_flow');
	const qr = corrected(samples.returnFlow_m3_s, 'return_flow');
	const ef = corrected(samples.feedDensity_kg_m3, 'feed_density');
	const er = corrected(samples.returnDensity_kg_m3, 'return_density');
	if (ask.correction) {
		applyCorrection(ask.correction, time, {
			feedFlow: qf,
			returnFlow: qr,
			feedDensity: ef,
			returnDensity: er,
		});
	}
	const qj =
		samples.sideFlow_m3_s === null ? new Float64Array(m) : samples.sideFlow_m3_s.slice(from, to);

	let negativeFlow = 0;
	let belowWater = 0;
	const water = ask.waterDensity_kg_m3;
	for (let i = 0; i < m; i++) {
		ef[i] = ef[i]! - water;
		er[i] = er[i]! - water;
		if (ef[i]! < 0) {
			ef[i] = Number.NaN;
			belowWater++;
		}
		if (er[i]! < 0) {
			er[i] = Number.NaN;
			belowWater++;
		}
		if (modes[i] === STOP) {
			if (Number.isNaN(qf[i]!)) qf[i] = 0;
			if (Number.isNaN(qr[i]!)) qr[i] = 0;
		}
		if (qf[i]! < -STOPPED_NOISE_M3_S) {
			qf[i] = Number.NaN;
			negativeFlow++;
		}
		if (qr[i]! < -STOPPED_NOISE_M3_S) {
			qr[i] = Number.NaN;
			negativeFlow++;
		}
		if (Number.isNaN(qj[i]!)) qj[i] = Number.NaN;
	}

	const marks = new Uint8Array(m);
	const hasFeedFlow = bridge(time, qf, gapLimit_s, marks, BRIDGED_FLOW);
	const hasReturnFlow = bridge(time, qr, gapLimit_s, marks, BRIDGED_FLOW);
	const hasFeedDensity = bridge(time, ef, gapLimit_s, marks, BRIDGED_FEED_DENSITY);
	const hasReturnDensity = bridge(time, er, gapLimit_s, marks, BRIDGED_RETURN_DENSITY);
	if (samples.sideFlow_m3_s !== null && !bridge(time, qj, gapLimit_s, marks, BRIDGED_FLOW))
		qj.fill(0);

	// Each interval can be cut at advance start and end, and stepped once: at most five nodes for it.
	const room = m + 8 + 4 * stepCount(time, modes);
	const out = {
		t: new Float64Array(room),
		feedFlow: new Float64Array(room),
		returnFlow: new Float64Array(room),
		sideFlow: new Float64Array(room),
		feedExcess: new Float64Array(room),
		returnExcess: new Float64Array(room),
		mode: new Uint8Array(room).fill(MODE_MISSING),
		bridged: new Uint8Array(room),
	};
	let n = 0;
	const put = (
		t: number,
		flowA: number,
		flowB: number,
		flowF: number,
		densA: number,
		densB: number,
		densF: number,
		mode: number,
		bits: number,
	): void => {
		out.t[n] = t;
		out.feedFlow[n] = mix(qf, flowA, flowB, flowF);
		out.returnFlow[n] = mix(qr, flowA, flowB, flowF);
		out.sideFlow[n] = mix(qj, flowA, flowB, flowF);
		out.feedExcess[n] = mix(ef, densA, densB, densF);
		out.returnExcess[n] = mix(er, densA, densB, densF);
		out.mode[n] = mode;
		out.bridged[n] = bits;
		n++;
	};
	const ALL = BRIDGED_FLOW | BRIDGED_FEED_DENSITY | BRIDGED_RETURN_DENSITY;
	const DENSITIES = BRIDGED_FEED_DENSITY | BRIDGED_RETURN_DENSITY;

	if (t0 < time[0]!) {
		const bits = time[0]! - t0 > gapLimit_s ? ALL : 0;
		put(t0, 0, 0, 0, 0, 0, 0, modes[0]!, bits);
		if (t1 < time[0]!) put(t1, 0, 0, 0, 0, 0, 0, modes[0]!, bits);
	}
	for (let i = 0; i + 1 < m; i++) {
		// Where nothing is cut, stepped or missing the nodes are the samples as they stand.
		const plain = plainRun(time, modes, i, Math.min(m - 1, i + RUN), t0, t1, gapLimit_s);
		if (plain > i) {
			out.t.set(time.subarray(i, plain), n);
			out.feedFlow.set(qf.subarray(i, plain), n);
			out.returnFlow.set(qr.subarray(i, plain), n);
			out.sideFlow.set(qj.subarray(i, plain), n);
			out.feedExcess.set(ef.subarray(i, plain), n);
			out.returnExcess.set(er.subarray(i, plain), n);
			out.mode.set(modes.subarray(i, plain), n);
			out.bridged.set(marks.subarray(i, plain), n);
			n += plain - i;
			i = plain - 1;
			continue;
		}
		const ta = time[i]!;
		const tb = time[i + 1]!;
		const dt = tb - ta;
		const ma = modes[i]!;
		const mb = modes[i + 1]!;
		const bits = marks[i]!;
		const inside0 = t0 > ta && t0 < tb;
		const inside1 = t1 > ta && t1 < tb;
		if (ma === mb || dt <= STEP_LIMIT_S) {
			const all = bits | (dt > gapLimit_s ? ALL : 0);
			put(ta, i, i, 0, i, i, 0, ma, all);
			if (inside0) put(t0, i, i + 1, (t0 - ta) / dt, i, i + 1, (t0 - ta) / dt, ma, all);
			if (inside1) put(t1, i, i + 1, (t1 - ta) / dt, i, i + 1, (t1 - ta) / dt, ma, all);
			continue;
		}
		let at = tb;
		if (mb === ADVANCE && t0 >= ta && t0 < tb) at = t0;
		else if (ma === ADVANCE && t1 > ta && t1 <= tb) at = t1;
		const densityBits = bits | (dt > gapLimit_s ? DENSITIES : 0);
		const before = densityBits | (at - ta > gapLimit_s ? BRIDGED_FLOW : 0);
		const after = densityBits | (tb - at > gapLimit_s ? BRIDGED_FLOW : 0);
		const f = (t: number): number => (t - ta) / dt;
		put(ta, i, i, 0, i, i, 0, at > ta ? ma : mb, at > ta ? before : after);
		if (at > ta) {
			if (inside0 && t0 < at) put(t0, i, i, 0, i, i + 1, f(t0), ma, before);
			if (inside1 && t1 < at) put(t1, i, i, 0, i, i + 1, f(t1), ma, before);
			put(at, i, i, 0, i, i + 1, f(at), ma, before);
		}
		if (at < tb) {
			put(at, i + 1, i + 1, 0, i, i + 1, f(at), mb, after);
			if (inside0 && t0 > at) put(t0, i + 1, i + 1, 0, i, i + 1, f(t0), mb, after);
			if (inside1 && t1 > at) put(t1, i + 1, i + 1, 0, i, i + 1, f(t1), mb, after);
		}
	}
	const last = m - 1;
	const end = time[last]!;
	put(end, last, last, 0, last, last, 0, modes[last]!, 0);
	if (t1 > end) {
		const bits = t1 - end > gapLimit_s ? ALL : 0;
		out.bridged[n - 1] = bits;
		if (t0 > end) put(t0, last, last, 0, last, last, 0, modes[last]!, bits);
		put(t1, last, last, 0, last, last, 0, modes[last]!, bits);
	}
	return {
		n,
		...out,
		has: {
			feedFlow: hasFeedFlow,
			returnFlow: hasReturnFlow,
			feedDensity: hasFeedDensity,
			returnDensity: hasReturnDensity,
		},
		removed: { negativeFlow, belowWater },
	};
}

/**
 * End of the run of intervals from `from` that advance start and end do not cut, in which the mode does
 * not change and no gap lies; `from` if the first is not such a one. Before `last`.
 */
function plainRun(
	time: Float64Array,
	modes: Uint8Array,
	from: number,
	last: number,
	t0: number,
	t1: number,
	gapLimit_s: number,
): number {
	let i = from;
	while (i < last) {
		const ta = time[i]!;
		const tb = time[i + 1]!;
		const cut0 = t0 > ta && t0 < tb;
		const cut1 = t1 > ta && t1 < tb;
		if (cut0 || cut1 || modes[i] !== modes[i + 1] || tb - ta > gapLimit_s) break;
		i++;
	}
	return i;
}

/** Fills NaN between good values linearly, holds the nearest good value at the ends; marks what is longer than the limit. */
function bridge(
	time: Float64Array,
	values: Float64Array,
	limit_s: number,
	marks: Uint8Array,
	bit: number,
): boolean {
	const m = values.length;
	let good = -1;
	for (let i = 0; i < m; i++) {
		if (Number.isNaN(values[i]!)) continue;
		if (i - good > 1) {
			if (good < 0) {
				const far = time[i]! - time[0]! > limit_s;
				for (let k = 0; k < i; k++) {
					values[k] = values[i]!;
					if (far) marks[k] = marks[k]! | bit;
				}
			} else {
				const dt = time[i]! - time[good]!;
				const far = dt > limit_s;
				for (let k = good; k < i; k++) {
					if (k > good) {
						values[k] =
							values[good]! + ((values[i]! - values[good]!) * (time[k]! - time[good]!)) / dt;
					}
					if (far) marks[k] = marks[k]! | bit;
				}
			}
		}
		good = i;
	}
	if (good < 0) return false;
	const far = time[m - 1]! - time[good]! > limit_s;
	for (let k = good; k < m; k++) {
		values[k] = values[good]!;
		if (far) marks[k] = marks[k]! | bit;
	}
	return true;
}

function mix(values: Float64Array, a: number, b: number, f: number): number {
	return f === 0 ? values[a]! : values[a]! + (values[b]! - values[a]!) * f;
}

function stepCount(time: Float64Array, modes: Uint8Array): number {
	let steps = 0;
	for (let i = 1; i < time.length; i++) {
		if (modes[i] !== modes[i - 1] && time[i]! - time[i - 1]! > STEP_LIMIT_S) steps++;
	}
	return steps;
}
