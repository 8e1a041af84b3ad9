/**
 * Exact integrals of piecewise linear signals on irregular stamps.
 * Between two stamps a meter's signal is taken as linear; the product of two such signals
 * (flow × density) is then a quadratic and is integrated as one, not as a product of means.
 */

/**
 * ∫ a dt over one step in which `a` runs linearly from a0 to a1. Exact.
 *
 * @example
 * stepIntegral(60, 10, 10.4) // => 612
 */
export function stepIntegral(dt_s: number, a0: number, a1: number): number {
	return ((a0 + a1) * dt_s) / 2;
}

/**
 * ∫ a·b dt over one step in which both run linearly. Exact: (2a0b0 + a0b1 + a1b0 + 2a1b1)·Δt/6.
 * Source: integration of the quadratic (a0 + (a1−a0)s)(b0 + (b1−b0)s) over s = 0..1.
 *
 * @example
 * stepProductIntegral(6, 1, 2, 3, 5) // => 37
 */
export function stepProductIntegral(
	dt_s: number,
	a0: number,
	a1: number,
	b0: number,
	b1: number,
): number {
	return ((2 * a0 * b0 + a0 * b1 + a1 * b0 + 2 * a1 * b1) * dt_s) / 6;
}

/**
 * ∫ values dt over all stamps (trapezoid, irregular steps). Unit: unit of values × s.
 * Throws RangeError if the two differ in length or a stamp does not ascend.
 *
 * @example
 * integral([0, 60, 120, 240, 300], [10 / 60, 10.4 / 60, 10.8 / 60, 10.2 / 60, 10 / 60]) // => 51.9
 */
export function integral(time_s: ArrayLike<number>, values: ArrayLike<number>): number {
	let sum = 0;
	let carry = 0;
	for (let i = 1; i < checkedLength(time_s, values); i++) {
		const part = stepIntegral(ascend(time_s, i), values[i - 1]!, values[i]!) - carry;
		const next = sum + part;
		carry = next - sum - part;
		sum = next;
	}
	return sum;
}

/**
 * ∫ a·b dt over all stamps, both linear between stamps. Unit: unit of a × unit of b × s.
 * Throws RangeError as {@link integral} does.
 *
 * @example
 * productIntegral([0, 1], [0, 1], [0, 1]) // => 0.333333333333
 */
export function productIntegral(
	time_s: ArrayLike<number>,
	a: ArrayLike<number>,
	b: ArrayLike<number>,
): number {
	checkedLength(time_s, b);
	let sum = 0;
	let carry = 0;
	for (let i = 1; i < checkedLength(time_s, a); i++) {
		const dt = ascend(time_s, i);
		const part = stepProductIntegral(dt, a[i - 1]!, a[i]!, b[i - 1]!, b[i]!) - carry;
		const next = sum + part;
		carry = next - sum - part;
		sum = next;
	}
	return sum;
}

/**
 * How far into a step, in s, a linearly changing flow has passed a given volume; the step must hold it.
 * Solves q0·s + (q1−q0)·s²/(2Δt) = volume in the form that does not cancel.
 *
 * @example
 * timeToPass_s(10, 1, 1, 4) // => 4
 * timeToPass_s(10, 0, 2, 2.5) // => 5
 */
export function timeToPass_s(dt_s: number, q0: number, q1: number, volume: number): number {
	if (volume <= 0) return 0;
	const slope = (q1 - q0) / dt_s;
	const root = Math.sqrt(Math.max(0, q0 * q0 + 2 * slope * volume));
	const sum = q0 + root;
	if (sum <= 0) return dt_s;
	return Math.min(dt_s, (2 * volume) / sum);
}

function checkedLength(time_s: ArrayLike<number>, values: ArrayLike<number>): number {
	if (time_s.length !== values.length) {
		throw new RangeError(
			`integral requires as many values as stamps, got ${values.length} for ${time_s.length}`,
		);
	}
	return time_s.length;
}

function ascend(time_s: ArrayLike<number>, i: number): number {
	const dt = time_s[i]! - time_s[i - 1]!;
	if (!(dt > 0)) throw new RangeError(`integral requires ascending stamps, stamp ${i} does not`);
	return dt;
}
