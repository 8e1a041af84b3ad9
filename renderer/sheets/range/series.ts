import { sumOf } from '../../../calc/quantity/sum.ts';

/** Digits after the point that it takes to write a number; many for a very small one. */
export function decimalsOf(value: number): number {
	const [digits = '', power = '0'] = String(value).split('e');
	return Math.max(0, (digits.split('.')[1]?.length ?? 0) - Number(power));
}

const rounded = (value: number, decimals: number): number => Number(value.toFixed(decimals));

/**
 * Continues a series beyond its last value. Even steps go on exactly; uneven ones are continued along
 * the straight line of least squares. Figures keep the decimals of those they come from. `back`
 * continues it before its first value, nearest first. Fewer than two values are repeated.
 */
export function continueSeries(known: readonly number[], count: number, back = false): number[] {
	const order = back ? [...known].reverse() : known;
	const [first] = order;
	if (first === undefined) return [];
	if (order.length < 2) return Array.from({ length: count }, () => first);
	// More digits than a double holds beside its whole part say nothing.
	const decimals = Math.min(12, Math.max(...order.map(decimalsOf)));
	const last = order[order.length - 1] as number;
	const step = rounded((last - first) / (order.length - 1), 12);
	const even = order.every(
		(value, at) => rounded(value, decimals) === rounded(first + at * step, decimals),
	);
	const line = even ? { start: first, step } : fittedLine(order);
	return Array.from({ length: count }, (_, at) =>
		rounded(line.start + (order.length + at) * line.step, decimals),
	);
}

/** Straight line of least squares through values at the places 0, 1, 2 … */
function fittedLine(values: readonly number[]): { readonly start: number; readonly step: number } {
	const n = values.length;
	const middle = (n - 1) / 2;
	const mean = sumOf(values) / n;
	const along = sumOf(values.map((value, at) => (at - middle) * (value - mean)));
	const spread = (n * (n * n - 1)) / 12;
	const step = along / spread;
	return { start: mean - middle * step, step };
}

/**
 * What fills `count` cells beyond `known`: a series where at least two cells are known and all are
 * numbers, else the known ones over and over.
 */
export function continueCells<T>(
	known: readonly T[],
	count: number,
	{ back, series }: { readonly back: boolean; readonly series: boolean },
): (T | number)[] {
	if (known.length === 0) return [];
	if (series && known.length > 1 && known.every((value) => typeof value === 'number'))
		return continueSeries(known, count, back);
	const n = known.length;
	return Array.from(
		{ length: count },
		(_, at) => (back ? known[n - 1 - (at % n)] : known[at % n]) as T,
	);
}
