import { describe, expect, test } from 'vitest';
import { volumeSplit } from '../../calc/suspension/mix.ts';
import {
	densityFromMassFraction_kg_m3,
	dryMass_kg,
	massFraction,
	solidsConcentration_kg_m3,
	volumeFraction,
} from '../../calc/suspension/solids.ts';

/**
 * Wills' Mineral Processing Technology, 7th ed. (2006), ch. 3, examples; the base liquid is 1000 kg/m³
 * throughout. Where print and formula differ by rounding, both are held, each to its digits.
 */
const WATER = 1000;

test('example 3.1: a one-litre can fills in 7 s with a slurry of 1400, quartz 2650', () => {
	const flow_m3_h = 3.6 / 7;
	expect(flow_m3_h).toBeCloseTo(0.5142857, 7);
	expect(massFraction(1400, 2650, WATER)).toBeCloseTo(0.458874, 6);
	expect(volumeFraction(1400, 2650, WATER)).toBeCloseTo(0.242424, 6);
	const dry_kg_h = dryMass_kg(flow_m3_h, 1400, 2650, WATER);
	expect(dry_kg_h).toBeCloseTo(330.39, 3);
	// Printed 45.9 % and, from rounded steps, 330.5 kg/h.
	expect(Math.round(massFraction(1400, 2650, WATER) * 1000)).toBe(459);
	expect(Math.abs(dry_kg_h - 330.5)).toBeLessThan(0.2);
});

describe('example 3.2: two streams of 40 % and 55 % solids by mass, grains 3000', () => {
	const one = densityFromMassFraction_kg_m3(0.4, 3000, WATER);
	const two = densityFromMassFraction_kg_m3(0.55, 3000, WATER);

	test('densities, printed 1364 and 1579', () => {
		expect(one).toBeCloseTo(1363.636, 3);
		expect(two).toBeCloseTo(1578.947, 3);
	});

	test('dry solids: 2.73 t/h printed for the first; the second follows the book’s own formula', () => {
		// The copies seen print 1.82 t/h for the second stream, which their formula does not give.
		expect(dryMass_kg(5, one, 3000, WATER)).toBeCloseTo(2727.27, 2);
		expect(dryMass_kg(3.4, two, 3000, WATER)).toBeCloseTo(2952.63, 2);
		expect(dryMass_kg(5, one, 3000, WATER) + dryMass_kg(3.4, two, 3000, WATER)).toBeCloseTo(
			5679.9,
			1,
		);
	});

	test('example 3.4: solids of the two streams together', () => {
		const dry = dryMass_kg(5, one, 3000, WATER) + dryMass_kg(3.4, two, 3000, WATER);
		const all = 5 * one + 3.4 * two;
		expect(dry / all).toBeCloseTo(0.466078, 6);
	});
});

test('example 3.3: 500 t/h of solids at 40 %, grains 2700, five minutes in a tank', () => {
	const density = densityFromMassFraction_kg_m3(0.4, 2700, WATER);
	const slurry_m3_h = 500_000 / solidsConcentration_kg_m3(density, 2700, WATER);
	expect(slurry_m3_h).toBeCloseTo(935.185, 3);
	expect((slurry_m3_h * 5) / 60).toBeCloseTo(77.932, 3);
	expect(500_000 / 2700).toBeCloseTo(185.185, 3);
	expect(slurry_m3_h * density - 500_000).toBeCloseTo(750_000, 4);
});

describe('two-product split on density: grains 2500, feed 1800, underflow 2000, overflow 1600', () => {
	test('half the volume goes to the underflow', () => {
		expect(volumeSplit(1800, 2000, 1600)).toBe(0.5);
	});

	test('35 t/h of underflow: 46.67 = 29.17 + 17.50 t/h dry, printed 74.1, 83.3 and 62.5 % solids', () => {
		const under_m3_h = 35_000 / 2000;
		const feed_m3_h = under_m3_h / volumeSplit(1800, 2000, 1600);
		const dry = (volume: number, density: number) =>
			dryMass_kg(volume, density, 2500, WATER) / 1000;
		expect(dry(feed_m3_h, 1800)).toBeCloseTo(46.6667, 4);
		expect(dry(under_m3_h, 2000)).toBeCloseTo(29.1667, 4);
		expect(dry(feed_m3_h - under_m3_h, 1600)).toBeCloseTo(17.5, 4);
		expect(massFraction(1800, 2500, WATER)).toBeCloseTo(0.741, 3);
		expect(massFraction(2000, 2500, WATER)).toBeCloseTo(0.833, 3);
		expect(massFraction(1600, 2500, WATER)).toBeCloseTo(0.625, 3);
	});
});

test('laboratory cyclone (from memory of the same chapter, recomputed): 1130, 1280, 1040, grains 2650', () => {
	expect(massFraction(1130, 2650, WATER)).toBeCloseTo(0.184768, 6);
	expect(massFraction(1280, 2650, WATER)).toBeCloseTo(0.351326, 6);
	expect(massFraction(1040, 2650, WATER)).toBeCloseTo(0.061772, 6);
	const under_t_h = dryMass_kg(((2 / 1000) * 3600) / 3.1, 1280, 2650, WATER) / 1000;
	expect(under_t_h).toBeCloseTo(1.044457, 6);
});

describe('bentonite suspensions', () => {
	test('1100 with grains of 2600: 162.5 g/L', () => {
		expect(volumeFraction(1100, 2600, WATER)).toBeCloseTo(0.0625, 12);
		expect(solidsConcentration_kg_m3(1100, 2600, WATER)).toBeCloseTo(162.5, 9);
		expect(massFraction(1100, 2600, WATER)).toBeCloseTo(0.147727, 6);
	});
});
