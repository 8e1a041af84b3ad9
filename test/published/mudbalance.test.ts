import { expect, test } from 'vitest';
import { convert } from '../../calc/quantity/convert.ts';
import { freshMix } from '../../calc/suspension/mix.ts';

/**
 * Units the mud balance of ISO 10414-1 is graduated in. Factors follow from the definitions in NIST
 * SP 811 (2008), app. B; the figures are recomputed from them to the digits given.
 */
test.each([
	[1, 'lb/gal', 'kg/m3', 119.826427],
	[1, 'lb/ft3', 'kg/m3', 16.018463],
	[1, 'lb/bbl', 'kg/m3', 2.85301],
	[8.33, 'lb/gal', 'kg/m3', 998.154],
	[1000, 'kg/m3', 'lb/gal', 8.345404],
	[9.2, 'lb/gal', 'kg/m3', 1102.403],
	[1.08, 'g/cm3', 'kg/m3', 1080],
	[1, 'lbf/100ft2', 'Pa', 0.4788026],
	[1, 'quart', 'mL', 946.353],
] as const)('%d %s in %s', (value, from, to, expected) => {
	const decimals = (String(expected).split('.')[1] ?? '').length;
	expect(convert(value, from, to)).toBeCloseTo(expected, decimals);
});

test('a column of 1 lb/gal: 51.948 psi in 1000 ft', () => {
	const pressure_Pa = convert(1, 'lb/gal', 'kg/m3') * 9.80665 * convert(1000, 'ft', 'm');
	expect(convert(pressure_Pa, 'Pa', 'psi')).toBeCloseTo(51.948, 3);
});

test('50 kg of bentonite in a cubic metre of water is not 50 kg in one of suspension', () => {
	// Mass conservation, grains 2600, water 1000; recomputed.
	expect(freshMix(50, 'water', 2600, 1000).density_kg_m3).toBeCloseTo(1030.189, 3);
	expect(freshMix(50, 'suspension', 2600, 1000).density_kg_m3).toBeCloseTo(1030.769, 3);
});
