import { type Fault, stopFault } from '../fault/fault.ts';
import type { Samples } from './samples.ts';

/** What is wrong with the stamps of a record, by index into it. */
export interface StampFindings {
	readonly duplicates: readonly number[];
	readonly outOfOrder: readonly number[];
	/** Stretches between two stamps longer than the limit. */
	readonly gaps: readonly { readonly from_s: number; readonly to_s: number }[];
}

/**
 * Duplicates, stamps out of order and gaps of a record. A stamp is out of order if it lies before
 * the latest one seen so far; a duplicate equals it.
 *
 * @example
 * stampFindings([0, 1, 1, 5, 4, 30], 10) // => { "duplicates": [2], "outOfOrder": [4], "gaps": [{ "from_s": 5, "to_s": 30 }] }
 */
export function stampFindings(time_s: ArrayLike<number>, gapLimit_s: number): StampFindings {
	const duplicates: number[] = [];
	const outOfOrder: number[] = [];
	const gaps: { from_s: number; to_s: number }[] = [];
	let latest = time_s[0] ?? Number.NaN;
	for (let i = 1; i < time_s.length; i++) {
		const t = time_s[i]!;
		if (t === latest) duplicates.push(i);
		else if (t < latest) outOfOrder.push(i);
		else {
			if (t - latest > gapLimit_s) gaps.push({ from_s: latest, to_s: t });
			latest = t;
		}
	}
	return { duplicates, outOfOrder, gaps };
}

/**
 * Puts samples in time order and keeps the last entered of equal stamps, so that the order of rows
 * never changes a figure. Returns the samples themselves when nothing has to move.
 *
 * @example
 * orderSamples({ count: 2, time_s: Float64Array.of(5, 3), mode: Uint8Array.of(1, 0), feedFlow_m3_s: Float64Array.of(50, 30), feedDensity_kg_m3: Float64Array.of(1, 2), returnFlow_m3_s: Float64Array.of(1, 2), returnDensity_kg_m3: Float64Array.of(1, 2), sideFlow_m3_s: null, chamberLevel_m: null, feedTotal_m3: null, returnTotal_m3: null }).feedFlow_m3_s[0] // => 30
 */
export function orderSamples(samples: Samples): Samples {
	const { count, time_s } = samples;
	let sorted = true;
	for (let i = 1; i < count && sorted; i++) sorted = time_s[i]! > time_s[i - 1]!;
	if (sorted) return samples;
	const order = Array.from({ length: count }, (_, i) => i);
	order.sort((a, b) => time_s[a]! - time_s[b]! || a - b);
	const kept = order.filter((at, i) => {
		const next = order[i + 1];
		return next === undefined || time_s[next] !== time_s[at];
	});
	const pick = (column: Float64Array): Float64Array => Float64Array.from(kept, (i) => column[i]!);
	const pickOptional = (column: Float64Array | null): Float64Array | null =>
		column === null ? null : pick(column);
	return {
		count: kept.length,
		time_s: pick(time_s),
		mode: Uint8Array.from(kept, (i) => samples.mode[i]!),
		feedFlow_m3_s: pick(samples.feedFlow_m3_s),
		feedDensity_kg_m3: pick(samples.feedDensity_kg_m3),
		returnFlow_m3_s: pick(samples.returnFlow_m3_s),
		returnDensity_kg_m3: pick(samples.returnDensity_kg_m3),
		sideFlow_m3_s: pickOptional(samples.sideFlow_m3_s),
		chamberLevel_m: pickOptional(samples.chamberLevel_m),
		feedTotal_m3: pickOptional(samples.feedTotal_m3),
		returnTotal_m3: pickOptional(samples.returnTotal_m3),
	};
}

/** Back-flow a meter may show in a stopped line before it counts as impossible, m³/s (common practice, no source). */
export const STOPPED_NOISE_M3_S = 0.01;

/**
 * Why a reading is impossible, or null if it can stand: a negative flow, a density below the water's.
 *
 * @example
 * impossible({ flow_m3_s: 0.3, density_kg_m3: 980 }, 998.2)?.code // => "density_below_water"
 * impossible({ flow_m3_s: -0.2, density_kg_m3: 1080 }, 998.2)?.code // => "flow_negative"
 * impossible({ flow_m3_s: 0.3, density_kg_m3: 1080 }, 998.2) // => null
 */
export function impossible(
	reading: { flow_m3_s: number; density_kg_m3: number },
	waterDensity_kg_m3: number,
): Fault | null {
	if (reading.flow_m3_s < -STOPPED_NOISE_M3_S) {
		return stopFault('flow_negative', 'The flow is negative.', {
			value: String(reading.flow_m3_s),
			expected: '0 or more',
		});
	}
	if (reading.density_kg_m3 < waterDensity_kg_m3) {
		return stopFault('density_below_water', 'The density is below that of the base water.', {
			value: String(reading.density_kg_m3),
			expected: `${waterDensity_kg_m3} kg/m³ or more`,
		});
	}
	return null;
}
