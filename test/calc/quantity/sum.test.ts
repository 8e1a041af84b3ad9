import fc from 'fast-check';
import { bignumber, sum as preciseSum } from 'mathjs';
import { expect, test } from 'vitest';
import { CompensatedSum, sumOf } from '../../../calc/quantity/sum.ts';

test('agrees with 64-digit arithmetic where plain addition does not', () => {
	fc.assert(
		fc.property(
			fc.array(fc.double({ min: -1e12, max: 1e12, noNaN: true }), { minLength: 1, maxLength: 300 }),
			(terms) => {
				const exact = Number(String(preciseSum(terms.map((term) => bignumber(term)))));
				const size = terms.reduce((all, term) => all + Math.abs(term), 0);
				// Neumaier: one rounding of the result and a second-order rest of the sizes.
				const slack =
					Number.EPSILON * Math.abs(exact) + Number.EPSILON ** 2 * terms.length * size * 4;
				expect(Math.abs(sumOf(terms) - exact)).toBeLessThanOrEqual(slack + Number.MIN_VALUE);
			},
		),
		{ seed: 2110, numRuns: 500 },
	);
});

test('a million tenths are a hundred thousand', () => {
	const total = new CompensatedSum();
	let plain = 0;
	for (let i = 0; i < 1_000_000; i++) {
		total.add(0.1);
		plain += 0.1;
	}
	expect(Math.abs(total.value - 100_000)).toBeLessThan(1e-9);
	expect(Math.abs(plain - 100_000)).toBeGreaterThan(1e-7);
});

test('nothing is 0, one missing term makes the total missing', () => {
	expect(sumOf([])).toBe(0);
	expect(sumOf([1, Number.NaN, 2])).toBeNaN();
});
