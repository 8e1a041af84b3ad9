import { timeToPass_s } from './integrate.ts';
import type { Polyline } from './polyline.ts';

/** A point on a polyline: a time and the interval it lies in. */
export interface PolylinePoint {
	readonly interval: number;
	readonly t: number;
}

/** Where a plug of suspension has got to; `short_m3` is what the record lacks of the line volume. */
export interface PlugPoint extends PolylinePoint {
	readonly short_m3: number;
}

/**
 * Plug flow forward: when the suspension that enters a line at a node has travelled the line's
 * volume, i.e. t' with ∫ Q dt from that node to t' = volume. Source: plug flow, mass conservation.
 *
 * @example
 * const line = { n: 3, t: Float64Array.of(0, 10, 20), feedFlow: Float64Array.of(1, 1, 1), returnFlow: Float64Array.of(0, 1, 1), sideFlow: new Float64Array(3), feedExcess: Float64Array.of(100, 100, 100), returnExcess: Float64Array.of(200, 200, 200), mode: new Uint8Array(3), bridged: new Uint8Array(3), has: { feedFlow: true, returnFlow: true, feedDensity: true, returnDensity: true }, removed: { negativeFlow: 0, belowWater: 0 } };
 * plugAhead(line, line.returnFlow, 0, 8) // => { "interval": 1, "t": 13, "short_m3": 0 }
 */
export function plugAhead(
	line: Polyline,
	flow: Float64Array,
	fromNode: number,
	volume_m3: number,
): PlugPoint {
	let left = volume_m3;
	let k = fromNode;
	for (; k + 1 < line.n; k++) {
		const dt = line.t[k + 1]! - line.t[k]!;
		const part = ((flow[k]! + flow[k + 1]!) / 2) * dt;
		if (part >= left && dt > 0) {
			return {
				interval: k,
				t: line.t[k]! + timeToPass_s(dt, flow[k]!, flow[k + 1]!, left),
				short_m3: 0,
			};
		}
		left -= part;
	}
	return { interval: Math.max(0, line.n - 2), t: line.t[line.n - 1]!, short_m3: Math.max(0, left) };
}

/**
 * Plug flow backward: when the suspension that leaves a line at a node entered it.
 *
 * @example
 * const line = { n: 3, t: Float64Array.of(0, 10, 20), feedFlow: Float64Array.of(1, 1, 1), returnFlow: Float64Array.of(1.2, 1.2, 1.2), sideFlow: new Float64Array(3), feedExcess: Float64Array.of(100, 100, 100), returnExcess: Float64Array.of(200, 200, 200), mode: new Uint8Array(3), bridged: new Uint8Array(3), has: { feedFlow: true, returnFlow: true, feedDensity: true, returnDensity: true }, removed: { negativeFlow: 0, belowWater: 0 } };
 * plugBehind(line, line.feedFlow, 2, 25) // => { "interval": 0, "t": 0, "short_m3": 5 }
 */
export function plugBehind(
	line: Polyline,
	flow: Float64Array,
	toNode: number,
	volume_m3: number,
): PlugPoint {
	let left = volume_m3;
	for (let k = toNode - 1; k >= 0; k--) {
		const dt = line.t[k + 1]! - line.t[k]!;
		const part = ((flow[k]! + flow[k + 1]!) / 2) * dt;
		if (part >= left && dt > 0) {
			return {
				interval: k,
				t: line.t[k + 1]! - timeToPass_s(dt, flow[k + 1]!, flow[k]!, left),
				short_m3: 0,
			};
		}
		left -= part;
	}
	return { interval: 0, t: line.t[0]!, short_m3: Math.max(0, left) };
}
