import type { MudBalancePair } from '../trust/metercheck.ts';
import { lineInForce, meterLines } from './meter.ts';
import type { Samples } from './samples.ts';
import type { MeterCertificate } from './settings.ts';
import { firstAfter, firstAtOrAfter } from './span.ts';

/** A density of the feed weighed by hand. */
export interface MudBalanceSample {
	readonly time_s: number;
	readonly density_kg_m3: number;
}

/**
 * Puts beside each mud-balance sample what the feed densitometer showed, certificate applied: the mean
 * of its readings within `within_s` of the sample. Samples without any such reading are left out.
 * Certified value = offset + slope · reading.
 *
 * @example
 * const s = { count: 3, time_s: Float64Array.of(0, 10, 500), mode: new Uint8Array(3), feedFlow_m3_s: new Float64Array(3), feedDensity_kg_m3: Float64Array.of(1080, 1082, 1100), returnFlow_m3_s: new Float64Array(3), returnDensity_kg_m3: new Float64Array(3), sideFlow_m3_s: null, chamberLevel_m: null, feedTotal_m3: null, returnTotal_m3: null };
 * besideMudBalance(s, [{ time_s: 5, density_kg_m3: 1090 }, { time_s: 250, density_kg_m3: 1090 }], [], 30) // => [{ time_s: 5, balance_kg_m3: 1090, meter_kg_m3: 1081 }]
 */
export function besideMudBalance(
	samples: Samples,
	weighed: readonly MudBalanceSample[],
	certificates: readonly MeterCertificate[],
	within_s: number,
): MudBalancePair[] {
	const lines = meterLines(certificates, 'feed_density');
	return weighed.flatMap(({ time_s, density_kg_m3 }) => {
		const { slope, offset_si } = lines[lineInForce(lines, time_s)]!;
		const to = firstAfter(samples.time_s, samples.count, time_s + within_s);
		let sum = 0;
		let count = 0;
		for (let i = firstAtOrAfter(samples.time_s, samples.count, time_s - within_s); i < to; i++) {
			const reading = samples.feedDensity_kg_m3[i]!;
			if (Number.isNaN(reading)) continue;
			sum += reading;
			count++;
		}
		if (count === 0) return [];
		const meter_kg_m3 = offset_si + (slope * sum) / count;
		return [{ time_s, balance_kg_m3: density_kg_m3, meter_kg_m3 }];
	});
}
