import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
	densityFromConcentration_kg_m3,
	densityFromMassFraction_kg_m3,
	densityFromVolumeFraction_kg_m3,
	dryMass_kg,
	massFraction,
	solidsConcentration_kg_m3,
	twoSolids,
	twoSolidsDensity_kg_m3,
	volumeFraction,
} from '../../../calc/suspension/solids.ts';

const water = fc.double({ min: 985, max: 1035, noNaN: true });
const grain = fc.double({ min: 1800, max: 5000, noNaN: true });
const share = fc.double({ min: 0, max: 0.6, noNaN: true });
const close = (a: number, b: number, scale = 1) =>
	expect(Math.abs(a - b)).toBeLessThanOrEqual(1e-12 * Math.max(Math.abs(a), Math.abs(b), scale));

describe('density and solids, there and back', () => {
	test('volume fraction, mass fraction and g/L tell the same suspension', () => {
		fc.assert(
			fc.property(share, grain, water, (cv, rs, rw) => {
				const density = densityFromVolumeFraction_kg_m3(cv, rs, rw);
				close(volumeFraction(density, rs, rw), cv);
				const c = solidsConcentration_kg_m3(density, rs, rw);
				close(densityFromConcentration_kg_m3(c, rs, rw), density);
				const w = massFraction(density, rs, rw);
				close(densityFromMassFraction_kg_m3(w, rs, rw), density);
				close(w * density, c);
			}),
			{ seed: 2170, numRuns: 1000 },
		);
	});

	test('a cubic metre weighs its grains and its water', () => {
		fc.assert(
			fc.property(share, grain, water, (cv, rs, rw) => {
				close(densityFromVolumeFraction_kg_m3(cv, rs, rw), cv * rs + (1 - cv) * rw);
			}),
			{ seed: 2171, numRuns: 1000 },
		);
	});

	test('two solids, there and back', () => {
		const content = fc.double({ min: 0, max: 400, noNaN: true });
		fc.assert(
			fc.property(content, content, grain, grain, water, (b, g, rb, rs, rw) => {
				const density = twoSolidsDensity_kg_m3(b, rb, g, rs, rw);
				close(twoSolids(density, b, rb, rs, rw).ground_kg_m3, g, 1e4);
			}),
			{ seed: 2172, numRuns: 1000 },
		);
	});
});

test('the error of the one-solid form is what it is said to be', () => {
	fc.assert(
		fc.property(
			fc.double({ min: 0, max: 80, noNaN: true }),
			grain,
			grain,
			water,
			(b, rb, rs, rw) => {
				const density = twoSolidsDensity_kg_m3(b, rb, 200, rs, rw);
				const told = twoSolids(density, b, rb, rs, rw);
				const oneSolid = solidsConcentration_kg_m3(density, rs, rw);
				close(told.oneSolidGround_kg_m3, oneSolid, 1e3);
				close(told.oneSolidError_kg_m3, oneSolid - (told.ground_kg_m3 + b), 1e3);
				// The closed form of the doc comment.
				close(told.oneSolidError_kg_m3, b * ((rs * (rb - rw)) / (rb * (rs - rw)) - 1), 1e3);
			},
		),
		{ seed: 2173, numRuns: 1000 },
	);
});

test('the bentonite’s grain density drops out of the difference of two streams that share it', () => {
	// checks.md §0, "exact invariance": feed solids of 2650 or 2300 kg/m³ give the same ground.
	const ground = (rb: number) => {
		const feed = twoSolidsDensity_kg_m3(60, rb, 0, 2650, 1000);
		const loaded = twoSolidsDensity_kg_m3(60, rb, 180, 2650, 1000);
		return (
			solidsConcentration_kg_m3(loaded, 2650, 1000) - solidsConcentration_kg_m3(feed, 2650, 1000)
		);
	};
	close(ground(2650), 180, 1e3);
	close(ground(2300), 180, 1e3);
});

test('what is missing stays missing, what is below water is not hidden', () => {
	expect(solidsConcentration_kg_m3(Number.NaN, 2650, 1000)).toBeNaN();
	expect(dryMass_kg(Number.NaN, 1100, 2650, 1000)).toBeNaN();
	expect(solidsConcentration_kg_m3(990, 2650, 1000)).toBeLessThan(0);
	expect(() => volumeFraction(1100, 1000, 1000)).toThrow(RangeError);
	expect(() => densityFromMassFraction_kg_m3(0.3, 900, 1000)).toThrow(RangeError);
});
