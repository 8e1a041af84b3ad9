import { stepIntegral, stepProductIntegral } from './integrate.ts';
import { type PlugPoint, plugAhead, plugBehind } from './lag.ts';
import {
	BRIDGED_FEED_DENSITY,
	BRIDGED_FLOW,
	BRIDGED_RETURN_DENSITY,
	type Polyline,
} from './polyline.ts';

/** What one pair of flow and density meters says of the ring's suspension, SI. */
export interface ExcessPassage {
	/** When the ring's first and last suspension passed these meters. */
	readonly from: PlugPoint;
	readonly to: PlugPoint;
	/** ∫Q(ρ−ρw) dt between them, kg; what the record lacks is taken at the nearest density. */
	readonly excess_kg: number;
	/** ∫Q dt, m³, and ∫(ρ−ρw) dt, kg·s/m³: sensitivities to density and flow offsets. */
	readonly volume_m3: number;
	readonly excessTime_kgs_m3: number;
	/** Time bridged over missing flow or density, s. */
	readonly missing_s: number;
}

/** Length of record from which the chamber's concentration at ring start and end is read, s. */
const EDGE_S = 10;
/** Samples needed in it for a straight line; with fewer the nearest sample stands for it. */
const EDGE_SAMPLES = 5;

/**
 * The ring at the return meters: suspension that left the chamber at advance start passes them when
 * the return line has been emptied once, and so at advance end. All return flow between the two
 * belongs to the ring, whatever its mode. The two fronts are not smeared: up to the first front the
 * density is the next sample's, from the last front on the previous one's.
 * Source: plug flow, mass conservation.
 *
 * @example
 * const line = { n: 3, t: Float64Array.of(0, 10, 20), feedFlow: Float64Array.of(1, 1, 1), returnFlow: Float64Array.of(1.2, 1.2, 1.2), sideFlow: new Float64Array(3), feedExcess: Float64Array.of(100, 100, 100), returnExcess: Float64Array.of(200, 200, 200), mode: new Uint8Array(3), bridged: new Uint8Array(3), has: { feedFlow: true, returnFlow: true, feedDensity: true, returnDensity: true }, removed: { negativeFlow: 0, belowWater: 0 } };
 * returnPassage(line, 0, 1, 3, 3).excess_kg // => 2400
 * returnPassage(line, 0, 1, 3, 3).to.t // => 12.5
 */
export function returnPassage(
	line: Polyline,
	startNode: number,
	endNode: number,
	lineStart_m3: number,
	lineEnd_m3: number,
): ExcessPassage {
	const from = plugAhead(line, line.returnFlow, startNode, lineStart_m3);
	const to = plugAhead(line, line.returnFlow, endNode, lineEnd_m3);
	const sums = passage(
		line,
		line.returnFlow,
		line.returnExcess,
		from,
		to,
		true,
		BRIDGED_RETURN_DENSITY,
	);
	const shortfall = to.short_m3 - from.short_m3;
	const last = line.returnExcess[line.n - 1]!;
	return {
		from,
		to,
		...sums,
		excess_kg: sums.excess_kg + shortfall * last,
		volume_m3: sums.volume_m3 + shortfall,
	};
}

/**
 * The ring at the feed meters: what reached the chamber at advance start and end passed them a feed line earlier.
 *
 * @example
 * const line = { n: 3, t: Float64Array.of(0, 10, 20), feedFlow: Float64Array.of(1, 1, 1), returnFlow: Float64Array.of(1.2, 1.2, 1.2), sideFlow: new Float64Array(3), feedExcess: Float64Array.of(100, 100, 100), returnExcess: Float64Array.of(200, 200, 200), mode: new Uint8Array(3), bridged: new Uint8Array(3), has: { feedFlow: true, returnFlow: true, feedDensity: true, returnDensity: true }, removed: { negativeFlow: 0, belowWater: 0 } };
 * feedPassage(line, 1, 2, 4, 4).excess_kg // => 1000
 * feedPassage(line, 1, 2, 4, 4).from.t // => 6
 */
export function feedPassage(
	line: Polyline,
	startNode: number,
	endNode: number,
	lineStart_m3: number,
	lineEnd_m3: number,
): ExcessPassage {
	const from = plugBehind(line, line.feedFlow, startNode, lineStart_m3);
	const to = plugBehind(line, line.feedFlow, endNode, lineEnd_m3);
	const sums = passage(line, line.feedFlow, line.feedExcess, from, to, false, BRIDGED_FEED_DENSITY);
	const shortfall = from.short_m3 - to.short_m3;
	return {
		from,
		to,
		...sums,
		excess_kg: sums.excess_kg + shortfall * line.feedExcess[0]!,
		volume_m3: sums.volume_m3 + shortfall,
	};
}

/**
 * Excess density in the chamber at the ring's first (`from`) or last (`to`) suspension, kg/m³, read
 * where that suspension passes the return meters: by a straight line through ten seconds of
 * samples where there are enough of them, else from the nearest sample.
 *
 * @example
 * const line = { n: 3, t: Float64Array.of(0, 10, 20), feedFlow: Float64Array.of(1, 1, 1), returnFlow: Float64Array.of(1.2, 1.2, 1.2), sideFlow: new Float64Array(3), feedExcess: Float64Array.of(100, 100, 100), returnExcess: Float64Array.of(200, 200, 200), mode: new Uint8Array(3), bridged: new Uint8Array(3), has: { feedFlow: true, returnFlow: true, feedDensity: true, returnDensity: true }, removed: { negativeFlow: 0, belowWater: 0 } };
 * chamberExcess(line, { interval: 0, t: 5, short_m3: 0 }, 'from') // => 200
 */
export function chamberExcess(line: Polyline, point: PlugPoint, side: 'from' | 'to'): number {
	const { t, returnExcess } = line;
	const nearest =
		returnExcess[Math.min(line.n - 1, side === 'from' ? point.interval + 1 : point.interval)]!;
	let n = 0;
	let st = 0;
	let se = 0;
	let stt = 0;
	let ste = 0;
	const step = side === 'from' ? 1 : -1;
	for (
		let k = side === 'from' ? point.interval + 1 : point.interval;
		k >= 0 && k < line.n && Math.abs(t[k]! - point.t) <= EDGE_S;
		k += step
	) {
		const x = t[k]! - point.t;
		const e = returnExcess[k]!;
		n++;
		st += x;
		se += e;
		stt += x * x;
		ste += x * e;
	}
	if (n < EDGE_SAMPLES) return nearest;
	const spread = stt - (st * st) / n;
	if (!(spread > 0)) return nearest;
	const slope = (ste - (st * se) / n) / spread;
	return se / n - (slope * st) / n;
}

function passage(
	line: Polyline,
	flow: Float64Array,
	excess: Float64Array,
	from: PlugPoint,
	to: PlugPoint,
	fronts: boolean,
	densityBit: number,
): { excess_kg: number; volume_m3: number; excessTime_kgs_m3: number; missing_s: number } {
	let mass = 0;
	let volume = 0;
	let time = 0;
	let missing = 0;
	for (let k = from.interval; k <= to.interval && k + 1 < line.n; k++) {
		const ta = line.t[k]!;
		const tb = line.t[k + 1]!;
		const a = k === from.interval ? Math.max(ta, from.t) : ta;
		const b = k === to.interval ? Math.min(tb, to.t) : tb;
		const dt = b - a;
		if (!(dt > 0)) continue;
		const qa = a === ta ? flow[k]! : within(flow, k, a - ta, tb - ta);
		const qb = b === tb ? flow[k + 1]! : within(flow, k, b - ta, tb - ta);
		let ea = a === ta ? excess[k]! : within(excess, k, a - ta, tb - ta);
		let eb = b === tb ? excess[k + 1]! : within(excess, k, b - ta, tb - ta);
		if (fronts && k === from.interval && k !== to.interval) ea = eb = excess[k + 1]!;
		else if (fronts && k === to.interval && k !== from.interval) ea = eb = excess[k]!;
		mass += stepProductIntegral(dt, qa, qb, ea, eb);
		volume += stepIntegral(dt, qa, qb);
		time += stepIntegral(dt, ea, eb);
		if ((line.bridged[k]! & (densityBit | BRIDGED_FLOW)) !== 0) missing += dt;
	}
	return { excess_kg: mass, volume_m3: volume, excessTime_kgs_m3: time, missing_s: missing };
}

/** A signal `s` seconds into the interval from node k, which is `dt` long. */
function within(values: Float64Array, k: number, s: number, dt: number): number {
	return values[k]! + ((values[k + 1]! - values[k]!) * s) / dt;
}
