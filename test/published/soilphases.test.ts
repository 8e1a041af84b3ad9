import { describe, expect, test } from 'vitest';
import {
	bulkDensity_kg_m3,
	bulkingFactor,
	dryDensity_kg_m3,
	dryDensityFromPorosity_kg_m3,
	dryMassOfWet,
	porosity,
	saturation,
	voidRatio,
	waterContent,
	waterContentFromWetBasis,
} from '../../calc/ground/phases.ts';

/**
 * Textbook exercises on phase relations. Their inputs were seen in print; the answers are recomputed
 * from the definitions of ISO 17892-1 and -2. Densities in t/m³ and unit weights in kN/m³ obey the
 * same relations as kg/m³, with water of 1 t/m³ and 9.81 kN/m³.
 */
describe.each([
	{
		bulk: 2.05,
		w: 0.157,
		Gs: 2.71,
		water: 1,
		dry: 1.771824,
		e: 0.529498,
		n: 0.346191,
		S: 0.803535,
	},
	{
		bulk: 17.8,
		w: 0.14,
		Gs: 2.69,
		water: 9.81,
		dry: 15.614035,
		e: 0.690076,
		n: 0.40831,
		S: 0.545737,
	},
	{
		bulk: 18.7,
		w: 0.103,
		Gs: 2.71,
		water: 9.81,
		dry: 16.953762,
		e: 0.568094,
		n: 0.362283,
		S: 0.491344,
	},
])('bulk $bulk, w $w, Gs $Gs', ({ bulk, w, Gs, water, dry, e, n, S }) => {
	const grain = Gs * water;
	test('dry density, void ratio, porosity, saturation', () => {
		const dryFound = dryDensity_kg_m3(bulk, w);
		const eFound = voidRatio(dryFound, grain);
		expect(dryFound).toBeCloseTo(dry, 6);
		expect(eFound).toBeCloseTo(e, 6);
		expect(porosity(dryFound, grain)).toBeCloseTo(n, 6);
		expect(saturation(w, eFound, grain, water)).toBeCloseTo(S, 6);
	});
	test('and back to the bulk density', () => {
		const eFound = voidRatio(dryDensity_kg_m3(bulk, w), grain);
		const SFound = saturation(w, eFound, grain, water);
		expect(bulkDensity_kg_m3(SFound, eFound, grain, water)).toBeCloseTo(bulk, 10);
		expect(waterContent(SFound, eFound, grain, water)).toBeCloseTo(w, 12);
		expect(dryDensityFromPorosity_kg_m3(grain, eFound / (1 + eFound))).toBeCloseTo(
			bulk / (1 + w),
			10,
		);
	});
});

test('e = 0.65, Gs = 2.80: dry, S 60 %, S 95 %, saturated', () => {
	const grain = 2.8 * 9.81;
	const at = (S: number) => bulkDensity_kg_m3(S, 0.65, grain, 9.81);
	expect(at(0)).toBeCloseTo(16.647273, 6);
	expect(waterContent(0.6, 0.65, grain, 9.81)).toBeCloseTo(0.139286, 6);
	expect(at(0.6)).toBeCloseTo(18.966, 6);
	expect(at(0.95)).toBeCloseTo(20.318591, 6);
	expect(at(1)).toBeCloseTo(20.511818, 6);
});

describe('weighbridge (a constructed case without a published source: it tests the algebra)', () => {
	const dry_t = dryMassOfWet(28.4, 0.18);

	test('28.4 t at 18 % of the dry mass', () => {
		expect(dry_t).toBeCloseTo(24.067797, 6);
		expect(waterContentFromWetBasis(0.152542)).toBeCloseTo(0.18, 5);
		// Taking 18 % of the wet mass instead is 3.24 % short.
		expect((28.4 * (1 - 0.18)) / dry_t - 1).toBeCloseTo(-0.0324, 4);
	});

	test('in-situ volume and bulking', () => {
		const inSitu = dryDensityFromPorosity_kg_m3(2.65, 0.4);
		expect(inSitu).toBeCloseTo(1.59, 12);
		expect(dry_t / inSitu).toBeCloseTo(15.136979, 6);
		const loose = dryDensity_kg_m3(1.55, 0.18);
		expect(loose).toBeCloseTo(1.313559, 6);
		const bulking = bulkingFactor(inSitu, loose);
		expect(bulking).toBeCloseTo(1.210452, 6);
		expect(47.8967 * bulking).toBeCloseTo(57.9766, 4);
	});

	test('the closed-form ring: n = 0.40, grains 2650, saturated', () => {
		const e = voidRatio(1590, 2650);
		expect(bulkDensity_kg_m3(1, e, 2650, 1000)).toBeCloseTo(1990, 9);
		expect((1590 * 47.896722) / 1000).toBeCloseTo(76.155787, 5);
	});
});
