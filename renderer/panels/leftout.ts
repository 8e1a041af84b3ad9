/** What the balance leaves out, or takes instead, while an optional setting of the drive is missing. */
export const LEFT_OUT: Readonly<Record<string, string>> = {
	overcut_mm: 'no overcut is added to the expected volume.',
	overcut_angle_deg: 'an overcut, if given, is taken over the full circle.',
	working_chamber_area_m2: 'suspension stored by a moving chamber level is left out.',
	chamber_mixed_volume_m3: 'solids held in the chambers at ring start and end are left out.',
	feed_line_diameter_m:
		'the lag of the feed line is left out, and so is its filling when lines are extended.',
	return_line_diameter_m:
		'the lag of the return line is left out, and so is its filling when lines are extended.',
	return_meter_distance_m: 'the lag between meters and chamber is left out.',
	line_growth_m_per_ring: 'the lines are taken as long as they were at ring 1.',
	water_temperature_c: 'the density of the base liquid is taken at a usual temperature.',
	water_salinity_g_kg: 'the base liquid is taken as fresh water.',
	bentonite_grain_density_kg_m3: 'feed solids are read with the grains of the ground.',
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
