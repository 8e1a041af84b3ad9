import fc from 'fast-check';
import { expect, test } from 'vitest';
import { excavatedVolume_m3, faceArea_m2, overcutArea_m2 } from '../../../calc/ground/geometry.ts';

const cut = (overcut_m: number | null, overcutAngle_rad: number | null) => ({
	diameter_m: 6.6,
	advance_m: 1.4,
	overcut_m,
	overcutAngle_rad,
});

test('the closed-form ring', () => {
	// checks.md §0.1: D = 6.6 m, L = 1.4 m.
	expect(faceArea_m2(6.6)).toBeCloseTo(34.211944, 6);
	expect(excavatedVolume_m3(cut(null, null))).toBeCloseTo(47.896722, 6);
});

test('an overcut all round is a larger diameter', () => {
	const larger = excavatedVolume_m3({ ...cut(null, null), diameter_m: 6.7 });
	expect(excavatedVolume_m3(cut(0.05, null))).toBeCloseTo(larger, 10);
	expect(excavatedVolume_m3(cut(0.05, 2 * Math.PI))).toBeCloseTo(larger, 10);
});

test('no overcut adds nothing, an angle without one neither', () => {
	expect(overcutArea_m2(cut(null, 1))).toBe(0);
	expect(overcutArea_m2(cut(0, 1))).toBe(0);
});

test('agrees with the sector summed ring by ring', () => {
	fc.assert(
		fc.property(
			fc.double({ min: 2, max: 18, noNaN: true }),
			fc.double({ min: 0.001, max: 0.5, noNaN: true }),
			fc.double({ min: 0, max: 2 * Math.PI, noNaN: true }),
			(diameter_m, overcut_m, overcutAngle_rad) => {
				// Area of an annular sector as ∫ θ·r dr, by the midpoint rule, exact for a linear integrand.
				const steps = 64;
				let area = 0;
				for (let i = 0; i < steps; i++)
					area +=
						overcutAngle_rad *
						(diameter_m / 2 + ((i + 0.5) * overcut_m) / steps) *
						(overcut_m / steps);
				expect(overcutArea_m2({ diameter_m, overcut_m, overcutAngle_rad })).toBeCloseTo(area, 9);
			},
		),
		{ seed: 2190, numRuns: 300 },
	);
});

test('a ring cut in two is the whole', () => {
	fc.assert(
		fc.property(fc.double({ min: 0, max: 1.4, noNaN: true }), (first) => {
			const part = (advance_m: number) => excavatedVolume_m3({ ...cut(0.04, 1.5), advance_m });
			expect(part(first) + part(1.4 - first)).toBeCloseTo(part(1.4), 10);
		}),
		{ seed: 2191, numRuns: 300 },
	);
});
