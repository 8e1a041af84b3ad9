import { expect, test } from 'vitest';
import {
	freshWaterDensity_kg_m3,
	saltDensityExcess_kg_m3,
	waterDensity_kg_m3,
} from '../../../calc/suspension/water.ts';

test('salinity 0 is fresh water to the last bit', () => {
	for (let t = 0; t <= 40; t += 0.25)
		expect(waterDensity_kg_m3(t, 0)).toBe(freshWaterDensity_kg_m3(t));
});

test('salt always makes water denser, and more so the more there is', () => {
	for (let t = 0; t <= 40; t += 2)
		for (let s = 1; s <= 42; s++)
			expect(saltDensityExcess_kg_m3(t, s)).toBeGreaterThan(saltDensityExcess_kg_m3(t, s - 1));
});

test('fresh water is densest at 3.983 °C', () => {
	const top = freshWaterDensity_kg_m3(3.983035);
	for (let t = 0; t <= 40; t += 0.1) expect(freshWaterDensity_kg_m3(t)).toBeLessThanOrEqual(top);
});

test('outside the range of the sources nothing is made up', () => {
	for (const t of [-0.01, 40.01, Number.NaN])
		expect(() => waterDensity_kg_m3(t, 0)).toThrow(RangeError);
	for (const s of [-0.01, 42.01, Number.NaN])
		expect(() => waterDensity_kg_m3(10, s)).toThrow(RangeError);
});
