/** A straight line y = intercept + slope·x through points, with its standard uncertainties and their covariance. */
export interface StraightLine {
	readonly intercept: number;
	readonly slope: number;
	readonly uIntercept: number;
	readonly uSlope: number;
	/** Covariance of intercept and slope. */
	readonly covariance: number;
	/** Residual standard deviation, n − 2 degrees of freedom (weighted: of unit weight). */
	readonly residualSd: number;
	readonly degreesOfFreedom: number;
}

/**
 * Least-squares straight line. Sums are taken about the weighted mean of x, so that large offsets do
 * not cancel. `weights` are relative (1/variance); missing means alike. The uncertainties come from
 * the scatter about the line. Throws RangeError for fewer than three points or an x that does not vary.
 * Source: JCGM 100:2008, H.3.2; certified results of the NIST StRD linear-regression sets.
 *
 * @example
 * straightLine([1, 2, 3, 4], [2.1, 3.9, 6.1, 7.9]).slope // => 1.96
 */
export function straightLine(
	x: ArrayLike<number>,
	y: ArrayLike<number>,
	weights?: ArrayLike<number>,
): StraightLine {
	const n = x.length;
	if (y.length !== n)
		throw new RangeError(`straightLine requires as many y as x, got ${y.length} for ${n}`);
	if (n < 3) throw new RangeError('straightLine requires at least three points');
	const w = (i: number): number => weights?.[i] ?? 1;
	let sw = 0;
	let swx = 0;
	let swy = 0;
	for (let i = 0; i < n; i++) {
		sw += w(i);
		swx += w(i) * x[i]!;
		swy += w(i) * y[i]!;
	}
	const mx = swx / sw;
	const my = swy / sw;
	let sxx = 0;
	let sxy = 0;
	for (let i = 0; i < n; i++) {
		sxx += w(i) * (x[i]! - mx) ** 2;
		sxy += w(i) * (x[i]! - mx) * (y[i]! - my);
	}
	if (!(sxx > 0)) throw new RangeError('straightLine requires x values that differ');
	const slope = sxy / sxx;
	const intercept = my - slope * mx;
	let squares = 0;
	for (let i = 0; i < n; i++) squares += w(i) * (y[i]! - my - slope * (x[i]! - mx)) ** 2;
	const degreesOfFreedom = n - 2;
	const variance = squares / degreesOfFreedom;
	return {
		intercept,
		slope,
		uIntercept: Math.sqrt(variance * (1 / sw + (mx * mx) / sxx)),
		uSlope: Math.sqrt(variance / sxx),
		covariance: (-variance * mx) / sxx,
		residualSd: Math.sqrt(variance),
		degreesOfFreedom,
	};
}
