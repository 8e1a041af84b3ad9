/** Density of the base liquid: fresh or saline water at one atmosphere. */

/** Tanaka et al. 2001, table 1: °C, °C, °C², °C, kg/m³. */
const A1 = -3.983035;
const A2 = 301.797;
const A3 = 522528.9;
const A4 = 69.34881;
const A5 = 999.97495;

export const WATER_TEMPERATURE_RANGE_C = [0, 40] as const;
export const WATER_SALINITY_RANGE_G_KG = [0, 42] as const;

/**
 * Density in kg/m³ of air-free fresh water at 101 325 Pa, 0 to 40 °C (ITS-90); outside the range of
 * the source it throws, since the catalogue bounds the temperature. Air in solution lowers it by
 * 0.0025 kg/m³ at 20 °C, 5 bar raise it by 0.23: both are left out.
 * Source: Tanaka, Girard, Davis, Peuto, Bignell, Metrologia 38 (2001) 301–309.
 *
 * @example
 * freshWaterDensity_kg_m3(20) // => 998.2067
 * freshWaterDensity_kg_m3(3.983035) // => 999.97495
 */
export function freshWaterDensity_kg_m3(temperature_c: number): number {
	const t = within(temperature_c, WATER_TEMPERATURE_RANGE_C, 'temperature', '°C');
	return A5 * (1 - ((t + A1) ** 2 * (t + A2)) / (A3 * (t + A4)));
}

/**
 * What salt adds to the density of water, kg/m³: the salinity terms of the one-atmosphere equation
 * of state EOS-80, practical salinity 0 to 42, 0 to 40 °C. Zero for fresh water. EOS-80 takes
 * temperatures on IPTS-68; the ITS-90 ones entered are turned into it (t68 = 1.00024·t90).
 * Source: UNESCO technical papers in marine science 44 (1983), eq. 13; Millero & Poisson 1981.
 *
 * @example
 * saltDensityExcess_kg_m3(0, 0) // => 0
 * saltDensityExcess_kg_m3(25 / 1.00024, 35) // => 26.2951
 */
export function saltDensityExcess_kg_m3(temperature_c: number, salinity_g_kg: number): number {
	const t = within(temperature_c, WATER_TEMPERATURE_RANGE_C, 'temperature', '°C') * 1.00024;
	const s = within(salinity_g_kg, WATER_SALINITY_RANGE_G_KG, 'salinity', 'g/kg');
	const linear = 0.824493 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9)));
	const threeHalves = -5.72466e-3 + t * (1.0227e-4 - t * 1.6546e-6);
	return s * linear + s * Math.sqrt(s) * threeHalves + 4.8314e-4 * s * s;
}

/**
 * Density in kg/m³ of the base liquid at one atmosphere. Fresh water is Tanaka's; salt adds the
 * salinity terms of EOS-80 to it, so that salinity 0 is exactly fresh water. EOS-80's own fresh
 * water differs from Tanaka's by less than 0.01 kg/m³, which the sum inherits. Salinity in g/kg is
 * taken as practical salinity: they differ by 0.5 % in sea water, 0.13 kg/m³ at 35 g/kg; a measured
 * base liquid is better where it matters.
 *
 * @example
 * waterDensity_kg_m3(20, 0) // => 998.2067
 * waterDensity_kg_m3(15, 35) // => 1025.9735
 */
export function waterDensity_kg_m3(temperature_c: number, salinity_g_kg: number): number {
	return (
		freshWaterDensity_kg_m3(temperature_c) + saltDensityExcess_kg_m3(temperature_c, salinity_g_kg)
	);
}

function within(
	value: number,
	[low, high]: readonly [number, number],
	what: string,
	unit: string,
): number {
	if (!(value >= low && value <= high))
		throw new RangeError(`water ${what} ${value} is outside ${low} to ${high} ${unit}`);
	return value;
}
