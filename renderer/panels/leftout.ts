import { ASSUMED_WATER_C } from '../../calc/circuit/balance.ts';

/** What the balance leaves out, or takes instead, while an optional setting of the drive is missing. */
export const LEFT_OUT: Readonly<Record<string, string>> = {
	overcut_mm: 'no overcut is added to the expected volume.',
	overcut_angle_deg: 'an overcut, if given, is taken over the full circle.',
	working_chamber_area_m2: 'suspension stored by a moving chamber level is not counted.',
	chamber_mixed_volume_m3: 'solids held in the chambers at ring start and end are not counted.',
	feed_line_diameter_m:
		'solids are taken without transport lag; a ring with a line extension inside its window gets no volume.',
	return_line_diameter_m:
		'solids are taken without transport lag; a ring with a line extension inside its window gets no volume.',
	return_meter_distance_m: 'solids are taken without transport lag.',
	line_growth_m_per_ring: 'the lines are taken as long as they were at ring 1.',
	water_temperature_c: `the density of the base liquid is taken at ${ASSUMED_WATER_C} °C.`,
	water_salinity_g_kg: 'the base liquid is taken as fresh water.',
	meter_correction: 'the figures stand with the meter certificates alone.',
	correction_accepted: 'a correction beyond the limit of the meters is shown and not used.',
	density_level: 'the level of both densities is that of the meters.',
	bentonite_grain_density_kg_m3:
		'the solids of the feed are shown as if they were grains of the ground; the balance itself does not need it.',
	'uncertainty.flow_scale_rel': 'scale errors of the flow meters are not in the uncertainty.',
	'uncertainty.flow_offset_m3_h': 'zero errors of the flow meters are not in the uncertainty.',
	'uncertainty.density_offset_kg_m3': 'offsets of the densitometers are not in the uncertainty.',
	'uncertainty.density_scale_rel': 'slope errors of the densitometers are not in the uncertainty.',
	'uncertainty.diameter_m': 'the excavated diameter is taken as exact.',
	'uncertainty.stroke_m': 'the ram strokes are taken as exact.',
	'uncertainty.grain_density_kg_m3': 'the grain density of the ground is taken as exact.',
	'uncertainty.dry_density_kg_m3': 'the dry density of the ground is taken as exact.',
	'uncertainty.level_m': 'the chamber level is taken as exact.',
};
