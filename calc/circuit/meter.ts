import type { MeterCertificate, MeterId } from './settings.ts';

/** value = offset + slope · reading, in SI. */
export interface MeterLine {
	readonly validFrom_s: number;
	readonly slope: number;
	readonly offset_si: number;
}

/** A meter read as it stands: slope 1, offset 0. */
export const UNCORRECTED: MeterLine = { validFrom_s: -1e12, slope: 1, offset_si: 0 };

/**
 * The certificates of one meter in order of validity, led by the meter as it stands for the time
 * before the first of them.
 *
 * @example
 * meterLines([{ meter: 'feed_flow', validFrom_s: 100, slope: 1.01, offset_si: 0, certificate: 'A' }], 'feed_flow').length // => 2
 */
export function meterLines(
	certificates: readonly MeterCertificate[],
	meter: MeterId,
): readonly MeterLine[] {
	const own = certificates
		.filter((one) => one.meter === meter)
		.sort((a, b) => a.validFrom_s - b.validFrom_s);
	return [UNCORRECTED, ...own];
}

/**
 * Index of the line in force at a time.
 *
 * @example
 * lineInForce([{ validFrom_s: 0, slope: 1, offset_si: 0 }, { validFrom_s: 50, slope: 1.02, offset_si: 0 }], 60) // => 1
 */
export function lineInForce(lines: readonly MeterLine[], time_s: number): number {
	let index = 0;
	for (let i = 1; i < lines.length; i++) if (lines[i]!.validFrom_s <= time_s) index = i;
	return index;
}

/**
 * Corrected copy of a column. NaN stays NaN.
 *
 * @example
 * Array.from(correctColumn([10, 20], [0, 60], [{ validFrom_s: 0, slope: 1, offset_si: 0 }, { validFrom_s: 50, slope: 2, offset_si: 1 }], 0, 2)) // => [10, 41]
 */
export function correctColumn(
	readings: ArrayLike<number>,
	time_s: ArrayLike<number>,
	lines: readonly MeterLine[],
	from: number,
	to: number,
): Float64Array {
	const out = new Float64Array(to - from);
	let at = lineInForce(lines, time_s[from] ?? 0);
	let { slope, offset_si: offset } = lines[at]!;
	let next = lines[at + 1]?.validFrom_s ?? Number.POSITIVE_INFINITY;
	for (let i = from; i < to; i++) {
		while (time_s[i]! >= next) {
			at++;
			({ slope, offset_si: offset } = lines[at]!);
			next = lines[at + 1]?.validFrom_s ?? Number.POSITIVE_INFINITY;
		}
		out[i - from] = offset + slope * readings[i]!;
	}
	return out;
}
