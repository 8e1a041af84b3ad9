import { describe, expect, test } from 'vitest';
import { integral, productIntegral } from '../../calc/circuit/integrate.ts';

/** Source of the integrals: elementary calculus; the trapezoid's error term is −(b−a)h²f″/12. */
describe('trapezoids against closed forms', () => {
	test('irregular steps of a piecewise linear flow are exact: 51.9 m³, not the left rule 52.2', () => {
		const q = [10, 10.4, 10.8, 10.2, 10].map((v) => v / 60);
		expect(integral([0, 60, 120, 240, 300], q)).toBeCloseTo(51.9, 12);
	});

	test.each([
		[4, 1.896119],
		[8, 1.974232],
		[16, 1.99357],
		[32, 1.998393],
	])('∫ sin over 0..π with %i steps is %d', (n, printed) => {
		const t = Array.from({ length: n + 1 }, (_, i) => (Math.PI * i) / n);
		expect(integral(t, t.map(Math.sin))).toBeCloseTo(printed, 6);
	});

	test('∫ x² over 0..1 in ten steps is 0.335', () => {
		const t = Array.from({ length: 11 }, (_, i) => i / 10);
		expect(
			integral(
				t,
				t.map((x) => x * x),
			),
		).toBeCloseTo(0.335, 12);
	});

	test('a product of two linear signals is integrated exactly: ∫ x·x = 1/3, ∫ (1+2x)(3−x) = 29/6', () => {
		expect(productIntegral([0, 1], [0, 1], [0, 1])).toBeCloseTo(1 / 3, 15);
		// (1+2x)(3−x) = 3 + 5x − 2x²: 3 + 5/2 − 2/3 = 29/6
		expect(productIntegral([0, 1], [1, 3], [3, 2])).toBeCloseTo(29 / 6, 14);
	});

	test('the product is not the product of means: constant pieces of Q 8, 12 and ρ−1 0.30, 0.10 give 3.6, not 4.0', () => {
		const t = [0, 1, 1 + 1e-12, 2];
		const q = [8, 8, 12, 12];
		const excess = [0.3, 0.3, 0.1, 0.1];
		expect(productIntegral(t, q, excess)).toBeCloseTo(3.6, 9);
	});
});
