import type { Fault } from '../fault/fault.ts';

/** A worked-out figure in SI: a value with its standard uncertainty, or blank with the reason. */
export type Figure =
	| { readonly value: number; readonly u: number | null; readonly notes: readonly Fault[] }
	| { readonly value: null; readonly u: null; readonly notes: readonly Fault[] };

/**
 * A figure that could be worked out.
 *
 * @example
 * given(47.9, 1.2).u // => 1.2
 */
export function given(
	value: number,
	u: number | null = null,
	notes: readonly Fault[] = [],
): Figure {
	if (!Number.isFinite(value)) throw new RangeError(`a figure must be finite, got ${value}`);
	return { value, u, notes };
}

/**
 * A figure that cannot be worked out; at least one reason is needed.
 *
 * @example
 * blank({ code: 'no_samples', message: 'Nothing was read.', where: {}, weight: 'stop' }).value // => null
 */
export function blank(...notes: Fault[]): Figure {
	if (notes.length === 0) throw new RangeError('a blank figure needs a reason');
	return { value: null, u: null, notes };
}
