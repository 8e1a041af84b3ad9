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

/** Plug flow backward: when the suspension that leaves a line at a node entered it. */
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
