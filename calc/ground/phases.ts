/**
 * Grains, water and air in a soil. ρ bulk density, ρd dry density, ρs grains, ρw water (kg/m³);
 * w water over dry mass (ISO 17892-1, the dry basis), e void ratio, n porosity, S saturation.
 * Relations: mass and volume of the phases add. Source: ISO 17892-1 and -2 for w and ρ, else geometry
 * of the phases.
 */

/**
 * ρd = ρ/(1 + w), kg/m³; w on the dry basis, 0.18 for 18 %.
 *
 * @example
 * dryDensity_kg_m3(2050, 0.157) // => 1771.824
 */
export function dryDensity_kg_m3(bulk_kg_m3: number, waterContent: number): number {
	return bulk_kg_m3 / (1 + waterContent);
}

/**
 * e = ρs/ρd − 1.
 *
 * @example
 * voidRatio(1771.824, 2710) // => 0.529497
 */
export function voidRatio(dry_kg_m3: number, grain_kg_m3: number): number {
	return grain_kg_m3 / dry_kg_m3 - 1;
}

/**
 * n = e/(1 + e) = 1 − ρd/ρs.
 *
 * @example
 * porosity(1590, 2650) // => 0.4
 */
export function porosity(dry_kg_m3: number, grain_kg_m3: number): number {
	return 1 - dry_kg_m3 / grain_kg_m3;
}

/**
 * Dry density of a ground of known porosity, ρd = ρs(1 − n), kg/m³.
 *
 * @example
 * dryDensityFromPorosity_kg_m3(2650, 0.4) // => 1590
 */
export function dryDensityFromPorosity_kg_m3(grain_kg_m3: number, porosity: number): number {
	return grain_kg_m3 * (1 - porosity);
}

/**
 * Share of the voids filled with water, S = w·ρs/(e·ρw). A result above 1 says that the inputs
 * contradict each other; it is not cut off here.
 *
 * @example
 * saturation(0.157, 0.529498, 2710, 1000) // => 0.803535
 */
export function saturation(
	waterContent: number,
	voidRatio: number,
	grain_kg_m3: number,
	water_kg_m3: number,
): number {
	return (waterContent * grain_kg_m3) / (voidRatio * water_kg_m3);
}

/**
 * Water content of a soil of given saturation, w = S·e·ρw/ρs.
 *
 * @example
 * waterContent(0.6, 0.65, 2800, 1000) // => 0.139286
 */
export function waterContent(
	saturation: number,
	voidRatio: number,
	grain_kg_m3: number,
	water_kg_m3: number,
): number {
	return (saturation * voidRatio * water_kg_m3) / grain_kg_m3;
}

/**
 * Bulk density at a saturation, ρ = (ρs + S·e·ρw)/(1 + e), kg/m³; S = 1 gives the saturated density.
 *
 * @example
 * bulkDensity_kg_m3(1, 2 / 3, 2650, 1000) // => 1990
 */
export function bulkDensity_kg_m3(
	saturation: number,
	voidRatio: number,
	grain_kg_m3: number,
	water_kg_m3: number,
): number {
	return (grain_kg_m3 + saturation * voidRatio * water_kg_m3) / (1 + voidRatio);
}

/**
 * Loose volume over in-situ volume of the same grains, B = ρd in situ / ρd loose. Both densities are
 * dry: the ratio of wet ones is the common error.
 *
 * @example
 * bulkingFactor(1590, dryDensity_kg_m3(1550, 0.18)) // => 1.210452
 */
export function bulkingFactor(inSituDry_kg_m3: number, looseDry_kg_m3: number): number {
	return inSituDry_kg_m3 / looseDry_kg_m3;
}

/**
 * Dry mass of a weighed wet load, M/(1 + w) with w on the dry basis; in the unit of the load.
 *
 * @example
 * dryMassOfWet(28.4, 0.18) // => 24.067797
 */
export function dryMassOfWet(wetMass: number, waterContent: number): number {
	return wetMass / (1 + waterContent);
}

/**
 * Water content on the dry basis from one on the wet basis (water over wet mass), w = w′/(1 − w′).
 *
 * @example
 * waterContentFromWetBasis(0.152542) // => 0.18
 */
export function waterContentFromWetBasis(wetBasis: number): number {
	return wetBasis / (1 - wetBasis);
}
