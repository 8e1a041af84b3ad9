import type {
	DriveSettings,
	GroundShare,
	MeterCertificate,
	MeterId,
	RingInput,
	StatedUncertainty,
} from '../circuit/settings.ts';
import type { CellValue } from './column.ts';

/** Turns cells as entered (file units) into the inputs of the balance (SI). Cells are already validated against the catalogue. */

type Cells = Readonly<Record<string, CellValue>>;

const number = (cells: Cells, id: string): number | null => {
	const value = cells[id];
	return typeof value === 'number' ? value : null;
};
const scaled = (cells: Cells, id: string, factor: number): number | null => {
	const value = number(cells, id);
	return value === null ? null : value * factor;
};
const needed = (cells: Cells, id: string): number => {
	const value = number(cells, id);
	if (value === null) throw new RangeError(`the cell ${id} is missing after validation`);
	return value;
};
const text = (cells: Cells, id: string): string => {
	const value = cells[id];
	return value === null || value === undefined ? '' : String(value);
};

const PER_HOUR = 1 / 3600;

/** Settings of the drive from the one row of the drive sheet. */
export function driveSettings(cells: Cells): DriveSettings {
	const uncertainty: StatedUncertainty = {
		flowScale_rel: number(cells, 'uncertainty.flow_scale_rel'),
		flowOffset_m3_s: scaled(cells, 'uncertainty.flow_offset_m3_h', PER_HOUR),
		densityOffset_kg_m3: number(cells, 'uncertainty.density_offset_kg_m3'),
		densityScale_rel: number(cells, 'uncertainty.density_scale_rel'),
		diameter_m: number(cells, 'uncertainty.diameter_m'),
		stroke_m: number(cells, 'uncertainty.stroke_m'),
		grainDensity_kg_m3: number(cells, 'uncertainty.grain_density_kg_m3'),
		dryDensity_kg_m3: number(cells, 'uncertainty.dry_density_kg_m3'),
		level_m: number(cells, 'uncertainty.level_m'),
	};
	return {
		title: text(cells, 'title'),
		excavatedDiameter_m: needed(cells, 'excavated_diameter_m'),
		nominalAdvance_m: needed(cells, 'nominal_advance_m'),
		overcut_m: scaled(cells, 'overcut_mm', 1e-3),
		overcutAngle_rad: scaled(cells, 'overcut_angle_deg', Math.PI / 180),
		workingChamberArea_m2: number(cells, 'working_chamber_area_m2'),
		chamberMixedVolume_m3: number(cells, 'chamber_mixed_volume_m3'),
		feedLineDiameter_m: number(cells, 'feed_line_diameter_m'),
		returnLineDiameter_m: number(cells, 'return_line_diameter_m'),
		returnMeterDistance_m: number(cells, 'return_meter_distance_m'),
		lineGrowth_m_per_ring: number(cells, 'line_growth_m_per_ring'),
		waterTemperature_c: number(cells, 'water_temperature_c'),
		waterSalinity_g_kg: number(cells, 'water_salinity_g_kg'),
		bentoniteGrainDensity_kg_m3: number(cells, 'bentonite_grain_density_kg_m3'),
		uncertainty,
	};
}

export function ringInput(cells: Cells): RingInput {
	return {
		ring: needed(cells, 'ring'),
		advanceStart_s: needed(cells, 'advance_start'),
		advanceEnd_s: needed(cells, 'advance_end'),
		strokeStart_m: needed(cells, 'stroke_start_mm') / 1000,
		strokeEnd_m: needed(cells, 'stroke_end_mm') / 1000,
		chamberLevelStart_m: number(cells, 'chamber_level_start_m'),
		chamberLevelEnd_m: number(cells, 'chamber_level_end_m'),
		lineExtension_m: number(cells, 'line_extension_m'),
	};
}

export function groundShare(cells: Cells): GroundShare {
	return {
		fromRing: needed(cells, 'from_ring'),
		toRing: needed(cells, 'to_ring'),
		stratum: text(cells, 'stratum'),
		faceFraction: needed(cells, 'face_fraction'),
		grainDensity_kg_m3: needed(cells, 'grain_density_t_m3') * 1000,
		dryDensity_kg_m3: needed(cells, 'dry_density_t_m3') * 1000,
	};
}

export function meterCertificate(cells: Cells): MeterCertificate {
	const meter = text(cells, 'meter') as MeterId;
	const isFlow = meter === 'feed_flow' || meter === 'return_flow';
	return {
		meter,
		validFrom_s: needed(cells, 'valid_from'),
		slope: needed(cells, 'slope'),
		offset_si: needed(cells, 'offset') * (isFlow ? PER_HOUR : 1000),
		certificate: text(cells, 'certificate'),
	};
}
