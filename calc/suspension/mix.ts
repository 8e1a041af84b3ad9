/** Streams and mixes of suspension. Volumes add; nothing is lost. */

/** A volume (m³) or flow (m³/s) of suspension and its density. */
export interface Stream {
	readonly volume_m3: number;
	readonly density_kg_m3: number;
}

/**
 * Two streams run together: volumes and masses add. Works for volumes and for flows. Two empty
 * streams have no density: NaN.
 *
 * @example
 * mixStreams({ volume_m3: 17.5, density_kg_m3: 2000 }, { volume_m3: 17.5, density_kg_m3: 1600 }) // => {"volume_m3":35,"density_kg_m3":1800}
 */
export function mixStreams(a: Stream, b: Stream): Stream {
	const volume_m3 = a.volume_m3 + b.volume_m3;
	const mass = a.volume_m3 * a.density_kg_m3 + b.volume_m3 * b.density_kg_m3;
	return { volume_m3, density_kg_m3: volume_m3 === 0 ? Number.NaN : mass / volume_m3 };
}

/**
 * Share of a stream's volume that goes to the denser of two products, from the three densities:
 * (feed − light)/(dense − light). Equal products have no split: NaN.
 * Source: two-product formula, Wills' Mineral Processing Technology, ch. 3.
 *
 * @example
 * volumeSplit(1800, 2000, 1600) // => 0.5
 */
export function volumeSplit(feed_kg_m3: number, dense_kg_m3: number, light_kg_m3: number): number {
	return dense_kg_m3 === light_kg_m3
		? Number.NaN
		: (feed_kg_m3 - light_kg_m3) / (dense_kg_m3 - light_kg_m3);
}

/** A dose of bentonite is told per cubic metre of what it goes into, or of what comes out. */
export type DoseBasis = 'water' | 'suspension';

export interface FreshMix {
	readonly density_kg_m3: number;
	/** Bentonite in a cubic metre of suspension. */
	readonly concentration_kg_m3: number;
	/** Suspension from a cubic metre of water. */
	readonly suspensionPerWater: number;
}

/**
 * Fresh suspension from its recipe. A dose per m³ of water and the same per m³ of suspension are two
 * recipes, so the basis is asked for and never assumed. Source: mass conservation, volumes add.
 *
 * @example
 * freshMix(50, 'water', 2600, 1000).density_kg_m3 // => 1030.189
 * freshMix(50, 'suspension', 2600, 1000).density_kg_m3 // => 1030.769
 */
export function freshMix(
	dose_kg_m3: number,
	basis: DoseBasis,
	bentoniteGrain_kg_m3: number,
	water_kg_m3: number,
): FreshMix {
	if (!(dose_kg_m3 >= 0)) throw new RangeError(`a bentonite dose of ${dose_kg_m3} kg/m³`);
	if (basis === 'suspension' && dose_kg_m3 >= bentoniteGrain_kg_m3)
		throw new RangeError(`${dose_kg_m3} kg of bentonite leave no water in a cubic metre`);
	const grainVolume = dose_kg_m3 / bentoniteGrain_kg_m3;
	if (basis === 'water') {
		const suspensionPerWater = 1 + grainVolume;
		return {
			density_kg_m3: (water_kg_m3 + dose_kg_m3) / suspensionPerWater,
			concentration_kg_m3: dose_kg_m3 / suspensionPerWater,
			suspensionPerWater,
		};
	}
	return {
		density_kg_m3: dose_kg_m3 + (1 - grainVolume) * water_kg_m3,
		concentration_kg_m3: dose_kg_m3,
		suspensionPerWater: 1 / (1 - grainVolume),
	};
}
