/**
 * Density and solids of a suspension. ρ suspension, ρw base liquid, ρs grains, all kg/m³; volumes add.
 * A missing input (NaN) gives a missing result. Grains that are not denser than the liquid tell
 * nothing about solids and throw. A density below the liquid's gives negative solids: it is the
 * caller's fault to report, not snapped to zero here.
 */

function checkGrains(grain_kg_m3: number, water_kg_m3: number): void {
	if (grain_kg_m3 <= water_kg_m3)
		throw new RangeError(`grains of ${grain_kg_m3} kg/m³ in a liquid of ${water_kg_m3} kg/m³`);
}

/**
 * Volume of grains over volume of suspension, Cv = (ρ − ρw)/(ρs − ρw).
 * Source: Wills' Mineral Processing Technology, ch. 3.
 *
 * @example
 * volumeFraction(1400, 2650, 1000) // => 0.242424242424
 */
export function volumeFraction(
	density_kg_m3: number,
	grain_kg_m3: number,
	water_kg_m3: number,
): number {
	checkGrains(grain_kg_m3, water_kg_m3);
	return (density_kg_m3 - water_kg_m3) / (grain_kg_m3 - water_kg_m3);
}

/**
 * Dry mass per volume of suspension in kg/m³, which is the g/L of the laboratory: c = ρs·Cv.
 *
 * @example
 * solidsConcentration_kg_m3(1100, 2600, 1000) // => 162.5
 */
export function solidsConcentration_kg_m3(
	density_kg_m3: number,
	grain_kg_m3: number,
	water_kg_m3: number,
): number {
	return grain_kg_m3 * volumeFraction(density_kg_m3, grain_kg_m3, water_kg_m3);
}

/**
 * Dry mass over mass of suspension, w = ρs(ρ − ρw)/(ρ(ρs − ρw)).
 * Source: Wills' Mineral Processing Technology, ch. 3, eq. 3.6 (7th ed.).
 *
 * @example
 * massFraction(1400, 2650, 1000) // => 0.458874
 */
export function massFraction(
	density_kg_m3: number,
	grain_kg_m3: number,
	water_kg_m3: number,
): number {
	return solidsConcentration_kg_m3(density_kg_m3, grain_kg_m3, water_kg_m3) / density_kg_m3;
}

/**
 * Density in kg/m³ of a suspension with a volume fraction of grains, ρ = ρw + Cv(ρs − ρw).
 *
 * @example
 * densityFromVolumeFraction_kg_m3(0.0625, 2600, 1000) // => 1100
 */
export function densityFromVolumeFraction_kg_m3(
	fraction: number,
	grain_kg_m3: number,
	water_kg_m3: number,
): number {
	checkGrains(grain_kg_m3, water_kg_m3);
	return water_kg_m3 + fraction * (grain_kg_m3 - water_kg_m3);
}

/**
 * Density in kg/m³ of a suspension with `concentration` kg of dry solids (= g/L) in its cubic metre.
 *
 * @example
 * densityFromConcentration_kg_m3(162.5, 2600, 1000) // => 1100
 */
export function densityFromConcentration_kg_m3(
	concentration_kg_m3: number,
	grain_kg_m3: number,
	water_kg_m3: number,
): number {
	return densityFromVolumeFraction_kg_m3(
		concentration_kg_m3 / grain_kg_m3,
		grain_kg_m3,
		water_kg_m3,
	);
}

/**
 * Density in kg/m³ of a suspension with a mass fraction of dry solids, 1/ρ = w/ρs + (1 − w)/ρw.
 * Source: Wills' Mineral Processing Technology, ch. 3.
 *
 * @example
 * densityFromMassFraction_kg_m3(0.4, 3000, 1000) // => 1363.63636
 */
export function densityFromMassFraction_kg_m3(
	fraction: number,
	grain_kg_m3: number,
	water_kg_m3: number,
): number {
	checkGrains(grain_kg_m3, water_kg_m3);
	return 1 / (fraction / grain_kg_m3 + (1 - fraction) / water_kg_m3);
}

/** What a suspension of two solids holds, per cubic metre of suspension. */
export interface TwoSolids {
	readonly bentonite_kg_m3: number;
	readonly ground_kg_m3: number;
	/** Ground the one-solid form would give, all excess density taken as ground. */
	readonly oneSolidGround_kg_m3: number;
	/** One-solid form less two-solid form of ALL solids (bentonite counted with ground grains). */
	readonly oneSolidError_kg_m3: number;
}

/**
 * Ground in a suspension whose bentonite content is known from the laboratory (methylene blue) or
 * from what was dosed: the bentonite's own excess density b(1 − ρw/ρb) is taken off first,
 *
 *     g = ρs/(ρs − ρw) · [ρ − ρw − b(1 − ρw/ρb)]
 *
 * and says what the one-solid form, which counts bentonite as ground, would be off by in the total
 * of dry solids: error = b·[ρs(ρb − ρw)/(ρb(ρs − ρw)) − 1]. In the difference of return and feed it
 * cancels as long as all bentonite returns. Source: mass conservation, volumes add.
 *
 * @example
 * twoSolids(1180, 40, 2400, 2650, 1000).ground_kg_m3 // => 251.616162
 * twoSolids(1180, 40, 2650, 2650, 1000).oneSolidError_kg_m3 // => 0
 */
export function twoSolids(
	density_kg_m3: number,
	bentonite_kg_m3: number,
	bentoniteGrain_kg_m3: number,
	groundGrain_kg_m3: number,
	water_kg_m3: number,
): TwoSolids {
	checkGrains(bentoniteGrain_kg_m3, water_kg_m3);
	checkGrains(groundGrain_kg_m3, water_kg_m3);
	const perExcess = groundGrain_kg_m3 / (groundGrain_kg_m3 - water_kg_m3);
	const bentoniteExcess = bentonite_kg_m3 * (1 - water_kg_m3 / bentoniteGrain_kg_m3);
	const oneSolid = perExcess * (density_kg_m3 - water_kg_m3);
	return {
		bentonite_kg_m3,
		ground_kg_m3: perExcess * (density_kg_m3 - water_kg_m3 - bentoniteExcess),
		oneSolidGround_kg_m3: oneSolid,
		oneSolidError_kg_m3: perExcess * bentoniteExcess - bentonite_kg_m3,
	};
}

/**
 * Density in kg/m³ of a suspension holding both solids.
 *
 * @example
 * twoSolidsDensity_kg_m3(40, 2400, 251.616162, 2650, 1000) // => 1180
 */
export function twoSolidsDensity_kg_m3(
	bentonite_kg_m3: number,
	bentoniteGrain_kg_m3: number,
	ground_kg_m3: number,
	groundGrain_kg_m3: number,
	water_kg_m3: number,
): number {
	checkGrains(bentoniteGrain_kg_m3, water_kg_m3);
	checkGrains(groundGrain_kg_m3, water_kg_m3);
	return (
		water_kg_m3 +
		bentonite_kg_m3 * (1 - water_kg_m3 / bentoniteGrain_kg_m3) +
		ground_kg_m3 * (1 - water_kg_m3 / groundGrain_kg_m3)
	);
}

/**
 * Dry mass in a volume (or flow) of suspension: kg for m³, kg/s for m³/s.
 * Source: Wills' Mineral Processing Technology, ch. 3, eq. 3.8 (7th ed.).
 *
 * @example
 * dryMass_kg(3.6 / 7, 1400, 2650, 1000) // => 330.39
 */
export function dryMass_kg(
	volume_m3: number,
	density_kg_m3: number,
	grain_kg_m3: number,
	water_kg_m3: number,
): number {
	return volume_m3 * solidsConcentration_kg_m3(density_kg_m3, grain_kg_m3, water_kg_m3);
}
