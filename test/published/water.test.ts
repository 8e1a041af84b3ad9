import { describe, expect, test } from 'vitest';
import {
	freshWaterDensity_kg_m3,
	saltDensityExcess_kg_m3,
	waterDensity_kg_m3,
} from '../../calc/suspension/water.ts';

describe('fresh water', () => {
	// Tanaka et al., Metrologia 38 (2001) 301–309: the table recomputed from the published formula,
	// its 20 °C and 25 °C rows also printed as 0.9982067 and 0.9970470 g/cm³.
	test.each([
		[0, 999.8428],
		[4, 999.9749],
		[5, 999.9668],
		[10, 999.7027],
		[15, 999.1026],
		[20, 998.2067],
		[25, 997.047],
		[30, 995.6488],
		[35, 994.0326],
		[40, 992.2152],
	])('%d °C', (t, density) => {
		expect(Math.abs(freshWaterDensity_kg_m3(t) - density)).toBeLessThanOrEqual(1e-4);
	});

	test('is a5 where it is densest', () => {
		expect(freshWaterDensity_kg_m3(3.983035)).toBeCloseTo(999.97495, 9);
	});

	// Kell, J. Chem. Eng. Data 20 (1975) 97–105, coefficients as printed; IPTS-68.
	test('agrees with Kell 1975 to 0.004 kg/m³ from 0 to 40 °C', () => {
		for (let t = 0; t <= 40; t += 0.5) {
			const kell =
				(999.83952 +
					16.945176 * t -
					7.9870401e-3 * t ** 2 -
					46.170461e-6 * t ** 3 +
					105.56302e-9 * t ** 4 -
					280.54253e-12 * t ** 5) /
				(1 + 16.87985e-3 * t);
			expect(Math.abs(freshWaterDensity_kg_m3(t) - kell)).toBeLessThan(0.004);
		}
	});

	test('is not the older formula that is 0.027 kg/m³ off at 20 °C', () => {
		const t = 20;
		const older = 1000 * (1 - ((t + 288.9414) * (t - 3.9863) ** 2) / (508_929.2 * (t + 68.12963)));
		expect(older - freshWaterDensity_kg_m3(t)).toBeGreaterThan(0.02);
	});
});

describe('saline water', () => {
	/** Fresh water of EOS-80 (UNESCO technical papers in marine science 44, 1983, eq. 14; IPTS-68). */
	const eos80Fresh = (t68: number): number =>
		999.842594 +
		6.793952e-2 * t68 -
		9.09529e-3 * t68 ** 2 +
		1.001685e-4 * t68 ** 3 -
		1.120083e-6 * t68 ** 4 +
		6.536332e-9 * t68 ** 5;
	const t90 = (t68: number): number => t68 / 1.00024;

	// Check values printed in the same paper, p. 19.
	test.each([
		[0, 5, 999.96675],
		[0, 25, 997.04796],
		[35, 5, 1027.67547],
		[35, 25, 1023.34306],
	])('the salinity terms: S %d, t %d', (s, t, density) => {
		const eos80 = eos80Fresh(t) + saltDensityExcess_kg_m3(t90(t), s);
		expect(Math.abs(eos80 - density)).toBeLessThanOrEqual(6e-6);
		// The desk's own sum stands on Tanaka's fresh water instead.
		expect(Math.abs(waterDensity_kg_m3(t90(t), s) - density)).toBeLessThan(0.01);
	});

	test('the two fresh waters differ by less than 0.01 kg/m³ from 0 to 40 °C', () => {
		for (let t = 0; t <= 39.9; t += 0.5)
			expect(Math.abs(eos80Fresh(t * 1.00024) - freshWaterDensity_kg_m3(t))).toBeLessThan(0.01);
	});
});
