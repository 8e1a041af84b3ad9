/**
 * Level at a time, m, from a recorded level column: between the two recorded levels beside it, or
 * the only one near enough; null if none lies within the gap limit.
 *
 * @example
 * levelAt(Float64Array.of(0, 10, 20), Float64Array.of(4, Number.NaN, 5), 3, 5, 30) // => 4.25
 * levelAt(Float64Array.of(0, 10), Float64Array.of(4, Number.NaN), 2, 100, 30) // => null
 */
export function levelAt(
	time_s: Float64Array,
	level_m: Float64Array,
	count: number,
	t: number,
	gapLimit_s: number,
): number | null {
	let before = -1;
	let after = -1;
	for (let i = 0; i < count; i++) {
		if (Number.isNaN(level_m[i]!)) continue;
		if (time_s[i]! <= t) before = i;
		else {
			after = i;
			break;
		}
	}
	const near = (i: number): boolean => i >= 0 && Math.abs(time_s[i]! - t) <= gapLimit_s;
	if (near(before) && near(after)) {
		const span = time_s[after]! - time_s[before]!;
		return level_m[before]! + ((level_m[after]! - level_m[before]!) * (t - time_s[before]!)) / span;
	}
	if (near(before)) return level_m[before]!;
	if (near(after)) return level_m[after]!;
	return null;
}
