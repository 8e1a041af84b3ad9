import {
	correctionAt,
	correctionBends,
	type MeterCorrection,
	returnShare,
} from '../trust/metercheck.ts';
import { STOPPED_NOISE_M3_S } from './series.ts';

/**
 * The way of a bypass correction into a stretch of the record. It comes after the certificates; a
 * missing value stays missing, and a line that stands still stays at rest.
 */

/** Columns that are corrected where they lie; flows m³/s, densities kg/m³. */
export interface CorrectedColumns {
	readonly feedFlow: Float64Array;
	readonly returnFlow: Float64Array;
	readonly feedDensity: Float64Array;
	readonly returnDensity: Float64Array;
}

/**
 * Corrects the four columns in place so that both sides agree in bypass. With w the part the return
 * side takes (1, ½ or 0), s the scale, z the zero, d and b the offset and slope about ρ₀:
 *
 *     Qr′ = (Qr − w·z)/(1 + w·s)        Qf′ = ((1 + s)·Qf + (1 − w)·z)/(1 + w·s)
 *     ρr′ = ρr + w·(ρ̂(ρr) − ρr)         ρf′ = ρf + (1 − w)·(d + b·(ρf − ρ₀))
 *
 * where ρ̂(ρr) = ρ₀ + (ρr − ρ₀ − d)/(1 + b) is what the feed densitometer would have shown. An anchor
 * adds the same to both densities.
 *
 * @example
 * import { checkMeters, METER_CHECK_RULES } from '../trust/metercheck.ts';
 * const pair = (feed, back) => ({ from_s: 0, to_s: 300, count: 300, feed, return: back, difference: back - feed, u: feed / 1e4 });
 * const correction = checkMeters({ windows: [{ from_s: 0, to_s: 300, flow: pair(0.3, 0.3024), density: pair(1080, 1089) }], decisions: [], steps: [], mudBalance: [], anchored: false, side: 'return', limits: { flowScale_rel: null, densityOffset_kg_m3: null }, beyondLimitAccepted: { flow: false, density: false }, rules: METER_CHECK_RULES });
 * const columns = { feedFlow: Float64Array.of(0.3), returnFlow: Float64Array.of(0.3276), feedDensity: Float64Array.of(1080), returnDensity: Float64Array.of(1160) };
 * applyCorrection(correction, [900], columns);
 * columns.returnFlow[0] // => 0.325
 * columns.returnDensity[0] // => 1151
 */
export function applyCorrection(
	correction: MeterCorrection,
	time_s: ArrayLike<number>,
	columns: CorrectedColumns,
): void {
	const n = time_s.length;
	if (n === 0) return;
	const { feedFlow, returnFlow, feedDensity, returnDensity } = columns;
	const w = returnShare(correction.side);
	const first = time_s[0]!;
	const last = time_s[n - 1]!;
	const bends = correctionBends(correction, first, last);
	let piece = 0;
	let span = pieceOf(correction, bends, piece);
	for (let i = 0; i < n; i++) {
		const t = time_s[i]!;
		while (piece + 2 < bends.length && t >= bends[piece + 1]!) {
			piece++;
			span = pieceOf(correction, bends, piece);
		}
		const f = span.length_s > 0 ? (t - span.from_s) / span.length_s : 0;
		if (span.flow !== null) {
			const { scaleFrom, scaleBy, zero } = span.flow;
			const s = scaleFrom + scaleBy * f;
			const whole = 1 + w * s;
			const qr = returnFlow[i]!;
			const qf = feedFlow[i]!;
			if (qr > STOPPED_NOISE_M3_S) returnFlow[i] = (qr - w * zero) / whole;
			if (qf > STOPPED_NOISE_M3_S) feedFlow[i] = ((1 + s) * qf + (1 - w) * zero) / whole;
		}
		if (span.density !== null) {
			const { offsetFrom, offsetBy, slope, reference } = span.density;
			const d = offsetFrom + offsetBy * f;
			const rr = returnDensity[i]!;
			const rf = feedDensity[i]!;
			returnDensity[i] = rr + w * (reference + (rr - reference - d) / (1 + slope) - rr);
			feedDensity[i] = rf + (1 - w) * (d + slope * (rf - reference));
		}
		returnDensity[i] = returnDensity[i]! + span.anchor;
		feedDensity[i] = feedDensity[i]! + span.anchor;
	}
}

/** Shortest part of a piece next to its ends, s: a step at an end must not be read across. */
const INSIDE_S = 1e-3;

function pieceOf(correction: MeterCorrection, bends: readonly number[], piece: number) {
	const from_s = bends[piece]!;
	const to_s = bends[piece + 1] ?? from_s;
	const inside = Math.min(INSIDE_S, (to_s - from_s) / 4);
	const a = correctionAt(correction, from_s + inside);
	const b = correctionAt(correction, to_s - inside);
	return {
		from_s,
		length_s: to_s - from_s,
		flow:
			a.flow === null || b.flow === null
				? null
				: {
						scaleFrom: a.flow.scale_rel,
						scaleBy: b.flow.scale_rel - a.flow.scale_rel,
						zero: a.flow.zero_m3_s,
					},
		density:
			a.density === null || b.density === null
				? null
				: {
						offsetFrom: a.density.offset_kg_m3,
						offsetBy: b.density.offset_kg_m3 - a.density.offset_kg_m3,
						slope: a.density.slope,
						reference: a.density.reference_kg_m3,
					},
		anchor: a.anchor_kg_m3,
	};
}

/**
 * How much more line volume a ring's span must allow for, as a factor: a corrected flow may be smaller
 * than the one the span was sought with.
 *
 * @example
 * spanMargin(null) // => 1
 */
export function spanMargin(correction: MeterCorrection | null): number {
	const check = correction?.flow ?? null;
	return check === null || check.heldBack ? 1 : 1.01 + 2 * check.largest;
}
