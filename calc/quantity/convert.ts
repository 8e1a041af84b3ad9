import { type UnitId, unit } from './unit.ts';

/**
 * Whether a value in one unit can be told in the other.
 *
 * @example
 * convertible('kg/m3', 'g/L') // => true
 * convertible('s/quart', 's/L') // => false
 */
export function convertible(from: UnitId, to: UnitId): boolean {
	return unit(from).dimension === unit(to).dimension;
}

/**
 * A value of a unit in the SI unit of its dimension (temperatures in kelvin). NaN stays NaN.
 *
 * @example
 * toSi(3600, 'm3/h') // => 1
 * toSi(20, 'degC') // => 293.15
 */
export function toSi(value: number, id: UnitId): number {
	const { times, over, zero } = unit(id);
	return ((value + zero) * times) / over;
}

/**
 * A value in SI told in a unit of its dimension. NaN stays NaN.
 *
 * @example
 * fromSi(1180, 't/m3') // => 1.18
 * fromSi(293.15, 'degC') // => 20
 */
export function fromSi(value: number, id: UnitId): number {
	const { times, over, zero } = unit(id);
	return (value * over) / times - zero;
}

/**
 * A value of one unit told in another of the same dimension, scale zeros of temperatures included.
 * Units of different dimensions are a programmer's mistake and throw: ask `convertible` first where
 * the unit was typed. NaN stays NaN.
 *
 * @example
 * convert(1180, 'kg/m3', 't/m3') // => 1.18
 * convert(68, 'degF', 'degC') // => 20
 * convert(9.2, 'lb/gal', 'kg/m3') // => 1102.4031
 */
export function convert(value: number, from: UnitId, to: UnitId): number {
	if (from === to) return value;
	const a = unit(from);
	const b = unit(to);
	if (a.dimension !== b.dimension)
		throw new RangeError(`${from} is a ${a.dimension} and ${to} a ${b.dimension}`);
	// One multiplication and one division by whole numbers: decimal figures stay the ones typed.
	return ((value + a.zero) * (a.times * b.over)) / (a.over * b.times) - b.zero;
}
