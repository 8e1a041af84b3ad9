/**
 * How far apart two stamps may be before the time between them counts as missing.
 * Common practice, no source.
 */

/** Shift readings by hand, s. */
export const READINGS_GAP_LIMIT_S = 900;
/** A logger never has a tighter limit than this, s. */
export const LOGGER_GAP_FLOOR_S = 10;

/**
 * Gap limit of a logger record, s: three of its usual steps, at least 10 s. The usual step is the
 * median of the first 10,000 steps, so that reading on does not move the limit.
 *
 * @example
 * loggerGapLimit_s([0, 1, 2, 3, 60, 61]) // => 10
 * loggerGapLimit_s([0, 60, 120, 180]) // => 180
 */
export function loggerGapLimit_s(time_s: ArrayLike<number>): number {
	const count = Math.min(10_000, time_s.length - 1);
	if (count < 1) return LOGGER_GAP_FLOOR_S;
	const steps = new Float64Array(count);
	for (let i = 0; i < count; i++) steps[i] = time_s[i + 1]! - time_s[i]!;
	steps.sort();
	return Math.max(LOGGER_GAP_FLOOR_S, 3 * steps[count >> 1]!);
}
