import fc from 'fast-check';
import { expect, test } from 'vitest';
import { convert, convertible, fromSi, toSi } from '../../../calc/quantity/convert.ts';
import { UNITS, unit } from '../../../calc/quantity/unit.ts';

const anyUnit = fc.constantFrom(...UNITS.map((each) => each.id));
const anyPair = fc
	.tuple(anyUnit, anyUnit)
	.filter(([from, to]) => unit(from).dimension === unit(to).dimension);
const anyValue = fc.double({ min: -1e9, max: 1e9, noNaN: true });

/** Below this doubles lose digits. */
const SMALLEST = 1e-290;

/** Rounding of a value and of the scale zeros it passes. */
const near = (a: number, b: number, scale: number): boolean =>
	Math.abs(a - b) <= 1e-13 * Math.max(Math.abs(a), Math.abs(b), scale, SMALLEST);

test('there and back gives the same value', () => {
	fc.assert(
		fc.property(anyPair, anyValue, ([from, to], value) => {
			const scale = Math.max(
				unit(from).zero,
				unit(to).zero * (unit(to).factor / unit(from).factor),
			);
			expect(near(convert(convert(value, from, to), to, from), value, scale)).toBe(true);
		}),
		{ seed: 2101, numRuns: 2000 },
	);
});

test('by way of SI gives the same as directly', () => {
	fc.assert(
		fc.property(anyPair, anyValue, ([from, to], value) => {
			const direct = convert(value, from, to);
			expect(near(fromSi(toSi(value, from), to), direct, unit(to).zero)).toBe(true);
		}),
		{ seed: 2102, numRuns: 2000 },
	);
});

test('a missing value stays missing', () => {
	for (const each of UNITS) expect(toSi(Number.NaN, each.id)).toBeNaN();
	expect(convert(Number.NaN, 'm3/h', 'L/s')).toBeNaN();
});

test('decimal figures of the site stay the ones typed', () => {
	expect(convert(1180, 'kg/m3', 't/m3')).toBe(1.18);
	expect(convert(1.18, 't/m3', 'kg/m3')).toBe(1180);
	expect(convert(1850, 'mm', 'm')).toBe(1.85);
	expect(convert(35, '%', '1')).toBe(0.35);
	expect(convert(3.2, 'bar', 'kPa')).toBe(320);
});

test('different dimensions are refused, also the two funnel times', () => {
	expect(convertible('s/quart', 's/L')).toBe(false);
	expect(() => convert(1, 'm3/h', 'm3')).toThrow(/flow.*volume/u);
	expect(() => convert(26, 's/quart', 's/L')).toThrow(RangeError);
});
