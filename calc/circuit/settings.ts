/**
 * What the balance needs to know about the drive, the circuit and a ring, in SI units.
 * `null` means the site has not given it; the balance then says what it left out.
 */

/** Standard uncertainties (k = 1) a site states for its inputs; null = not stated. */
export interface StatedUncertainty {
	/** Relative scale error of one flow meter, 1 = 100 %. */
	readonly flowScale_rel: number | null;
	readonly flowOffset_m3_s: number | null;
	readonly densityOffset_kg_m3: number | null;
	readonly densityScale_rel: number | null;
	readonly diameter_m: number | null;
	readonly stroke_m: number | null;
	readonly grainDensity_kg_m3: number | null;
	readonly dryDensity_kg_m3: number | null;
	readonly level_m: number | null;
}

export interface DriveSettings {
	readonly title: string;
	/** Diameter cut by the gauge cutters. */
	readonly excavatedDiameter_m: number;
	readonly nominalAdvance_m: number;
	/** Radial reach of the copy cutter beyond the excavated radius. */
	readonly overcut_m: number | null;
	/** Angle over which the copy cutter is out, radians; null with an overcut means the full circle. */
	readonly overcutAngle_rad: number | null;
	/** Plan area of the working chamber at its suspension level. */
	readonly workingChamberArea_m2: number | null;
	/** Suspension volume that mixes in the chambers, at the level of the drive's first ring start. */
	readonly chamberMixedVolume_m3: number | null;
	readonly feedLineDiameter_m: number | null;
	readonly returnLineDiameter_m: number | null;
	/** Pipe length from the meters to the chamber at ring 1; the same for feed and return. */
	readonly returnMeterDistance_m: number | null;
	readonly lineGrowth_m_per_ring: number | null;
	readonly waterTemperature_c: number | null;
	readonly waterSalinity_g_kg: number | null;
	readonly bentoniteGrainDensity_kg_m3: number | null;
	readonly uncertainty: StatedUncertainty;
}

/** One ring as the crew records it. */
export interface RingInput {
	readonly ring: number;
	/** Unix time, s. */
	readonly advanceStart_s: number;
	readonly advanceEnd_s: number;
	/** Mean stroke of the thrust rams. */
	readonly strokeStart_m: number;
	readonly strokeEnd_m: number;
	readonly chamberLevelStart_m: number | null;
	readonly chamberLevelEnd_m: number | null;
	/** Growth of each line inside the metered loop between advance start and advance end; null = lines extended outside that window. */
	readonly lineExtension_m: number | null;
}

/** One stratum's share of the face over a range of rings. */
export interface GroundShare {
	readonly fromRing: number;
	readonly toRing: number;
	readonly stratum: string;
	/** 0..1; the shares of one ring add to 1. */
	readonly faceFraction: number;
	readonly grainDensity_kg_m3: number;
	/** Dry mass over in-situ volume. */
	readonly dryDensity_kg_m3: number;
}

export const METERS = ['feed_flow', 'return_flow', 'feed_density', 'return_density'] as const;
export type MeterId = (typeof METERS)[number];

/** value = offset + slope · reading, from `validFrom_s` until the meter's next entry. Offset in SI (m³/s or kg/m³). */
export interface MeterCertificate {
	readonly meter: MeterId;
	readonly validFrom_s: number;
	readonly slope: number;
	readonly offset_si: number;
	readonly certificate: string;
}
