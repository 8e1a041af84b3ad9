import fc from 'fast-check';
import { expect, test } from 'vitest';
import { freshMix, mixStreams, volumeSplit } from '../../../calc/suspension/mix.ts';
import { solidsConcentration_kg_m3 } from '../../../calc/suspension/solids.ts';

const stream = fc.record({
	volume_m3: fc.double({ min: 1e-3, max: 1e5, noNaN: true }),
	density_kg_m3: fc.double({ min: 990, max: 2000, noNaN: true }),
});
const within = (a: number, b: number, rel: number) =>
	expect(Math.abs(a - b)).toBeLessThanOrEqual(rel * Math.abs(b));

test('mixing keeps volume, mass and dry solids to 1e-9', () => {
	fc.assert(
		fc.property(stream, stream, (a, b) => {
			const mixed = mixStreams(a, b);
			within(mixed.volume_m3, a.volume_m3 + b.volume_m3, 1e-9);
			const mass = (s: typeof a) => s.volume_m3 * s.density_kg_m3;
			within(mass(mixed), mass(a) + mass(b), 1e-9);
			const solids = (s: typeof a) =>
				s.volume_m3 * solidsConcentration_kg_m3(s.density_kg_m3, 2650, 980);
			within(solids(mixed), solids(a) + solids(b), 1e-9);
		}),
		{ seed: 2180, numRuns: 1000 },
	);
});

test('the order of mixing does not matter', () => {
	fc.assert(
		fc.property(stream, stream, stream, (a, b, c) => {
			const left = mixStreams(mixStreams(a, b), c);
			const right = mixStreams(a, mixStreams(c, b));
			within(left.volume_m3, right.volume_m3, 1e-12);
			within(left.density_kg_m3, right.density_kg_m3, 1e-12);
		}),
		{ seed: 2181, numRuns: 500 },
	);
});

test('splitting undoes mixing', () => {
	fc.assert(
		fc.property(stream, stream, (a, b) => {
			fc.pre(Math.abs(a.density_kg_m3 - b.density_kg_m3) > 1);
			const mixed = mixStreams(a, b);
			const split = volumeSplit(mixed.density_kg_m3, a.density_kg_m3, b.density_kg_m3);
			expect(Math.abs(split - a.volume_m3 / mixed.volume_m3)).toBeLessThan(1e-9);
		}),
		{ seed: 2182, numRuns: 500 },
	);
});

test('nothing has no density and no split', () => {
	const none = { volume_m3: 0, density_kg_m3: 1100 };
	expect(mixStreams(none, none).density_kg_m3).toBeNaN();
	expect(volumeSplit(1100, 1100, 1100)).toBeNaN();
});

test('a fresh mix holds its dose and its water, on either basis', () => {
	const doses = fc.double({ min: 0, max: 200, noNaN: true });
	const grains = fc.double({ min: 2000, max: 2900, noNaN: true });
	fc.assert(
		fc.property(
			doses,
			grains,
			fc.constantFrom('water' as const, 'suspension' as const),
			(dose, rb, basis) => {
				const mix = freshMix(dose, basis, rb, 998);
				const perWater = basis === 'water' ? dose : dose * mix.suspensionPerWater;
				within(mix.density_kg_m3 * mix.suspensionPerWater, 998 + perWater, 1e-12);
				within(mix.suspensionPerWater, 1 + perWater / rb, 1e-12);
				expect(
					Math.abs(solidsConcentration_kg_m3(mix.density_kg_m3, rb, 998) - mix.concentration_kg_m3),
				).toBeLessThan(1e-9);
			},
		),
		{ seed: 2183, numRuns: 500 },
	);
});

test('a dose that leaves no water, or none at all, is no recipe', () => {
	expect(() => freshMix(2600, 'suspension', 2600, 1000)).toThrow(RangeError);
	expect(() => freshMix(-1, 'water', 2600, 1000)).toThrow(RangeError);
	expect(() => freshMix(Number.NaN, 'water', 2600, 1000)).toThrow(RangeError);
});
