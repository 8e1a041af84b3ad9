import { scatterOfIntegral } from '../trust/ringbudget.ts';
import { stepIntegral } from './integrate.ts';
import { BRIDGED_FLOW, type Polyline } from './polyline.ts';
import { MODE_MISSING, MODES, type Mode, passesChamber } from './samples.ts';
import { firstAtOrAfter } from './span.ts';

/** What the flow meters say of one advance window, SI. */
export interface WindowFlows {
	/** ∫Qf, ∫Qr, ∫Qj dt while the stream passes the chamber, m³. */
	readonly feed_m3: number;
	readonly return_m3: number;
	readonly side_m3: number;
	/** ∫(Qr − Qf − Qj) dt over the same time, m³. */
	readonly difference_m3: number;
	/** Time the stream passes the chamber, bridged time included, s. */
	readonly throughChamber_s: number;
	/** Time in each mode with usable flows, s. */
	readonly modeSeconds: Record<Mode, number>;
	/** Time without usable flows, s. */
	readonly missing_s: number;
	readonly modeMissing_s: number;
	/** Largest |Qr − Qf − Qj| met while the stream passes the chamber, m³/s. */
	readonly widestDifference_m3_s: number;
	/** Part of difference_m3 that was bridged over missing time, m³. */
	readonly bridged_m3: number;
	/** Standard uncertainty of difference_m3 from the scatter of its samples, m³; null if too few. */
	readonly scatter_m3: number | null;
}

/**
 * Integrates the flows of an advance window. Only time in which the stream passes the chamber counts
 * towards the volumes; the polyline has nodes at both ends of the window.
 *
 * @example
 * const line = { n: 3, t: Float64Array.of(0, 10, 20), feedFlow: Float64Array.of(1, 1, 1), returnFlow: Float64Array.of(1.2, 1.2, 1.2), sideFlow: new Float64Array(3), feedExcess: Float64Array.of(100, 100, 100), returnExcess: Float64Array.of(200, 200, 200), mode: new Uint8Array(3), bridged: new Uint8Array(3), has: { feedFlow: true, returnFlow: true, feedDensity: true, returnDensity: true }, removed: { negativeFlow: 0, belowWater: 0 } };
 * windowFlows(line, 0, 20).difference_m3 // => 4
 */
export function windowFlows(line: Polyline, start_s: number, end_s: number): WindowFlows {
	const modeSeconds: Record<Mode, number> = { advance: 0, bypass: 0, back_flush: 0, stop: 0 };
	let feed = 0;
	let back = 0;
	let side = 0;
	let through = 0;
	let missing = 0;
	let modeMissing = 0;
	let widest = 0;
	let bridged = 0;
	const differences: number[] = [];
	const weights: number[] = [];
	const { t, feedFlow, returnFlow, sideFlow } = line;
	for (let k = firstAtOrAfter(t, line.n, start_s); k + 1 < line.n && t[k + 1]! <= end_s; k++) {
		const dt = t[k + 1]! - t[k]!;
		if (dt === 0) continue;
		const mode = line.mode[k]!;
		const isBridged = (line.bridged[k]! & BRIDGED_FLOW) !== 0;
		if (mode === MODE_MISSING) {
			modeMissing += dt;
			missing += dt;
			continue;
		}
		if (isBridged) missing += dt;
		else modeSeconds[MODES[mode]!] += dt;
		if (!passesChamber(mode)) continue;
		through += dt;
		const f = stepIntegral(dt, feedFlow[k]!, feedFlow[k + 1]!);
		const r = stepIntegral(dt, returnFlow[k]!, returnFlow[k + 1]!);
		const j = stepIntegral(dt, sideFlow[k]!, sideFlow[k + 1]!);
		feed += f;
		back += r;
		side += j;
		const difference = r - f - j;
		if (isBridged) bridged += difference;
		else {
			const rate = difference / dt;
			widest = Math.max(widest, Math.abs(rate));
			differences.push(rate);
			weights.push(dt);
		}
	}
	return {
		feed_m3: feed,
		return_m3: back,
		side_m3: side,
		difference_m3: back - feed - side,
		throughChamber_s: through,
		modeSeconds,
		missing_s: missing,
		modeMissing_s: modeMissing,
		widestDifference_m3_s: widest,
		bridged_m3: bridged,
		scatter_m3: scatterOfIntegral(differences, weights),
	};
}
