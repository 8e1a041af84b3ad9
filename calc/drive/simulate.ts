import type { CellValue } from '../sheet/column.ts';
import type { DriveAudit } from './audit.ts';
import { Chance } from './chance.ts';
import { driveCycles } from './cycle.ts';
import { type LoggerBatch, LoggerRecord } from './loggerrecord.ts';
import { DriveMeters } from './meters.ts';
import { type DriveOptions, type DrivePlan, drivePlan } from './plan.ts';
import { recordDecimals, roundTo } from './rounding.ts';
import { ShiftLog } from './shiftlog.ts';
import { SIEVES_MM } from './strata.ts';
import type { RingTruth } from './truth.ts';

/** Cells of one row by column id, in the units of the catalogue; an absent key is a missing value. */
export type RowCells = Record<string, CellValue>;

/** An invented drive as a site would record it, and what really happened. */
export interface SimulatedDrive {
	readonly plan: DrivePlan;
	readonly drive: RowCells;
	readonly rings: readonly RowCells[];
	readonly ground: readonly RowCells[];
	readonly readings: readonly RowCells[];
	readonly meters: readonly RowCells[];
	readonly utcOffset_min: number;
	/** The logger's record, ring by ring; each call runs the drive again. Read a batch before asking for the next. */
	logger(): Generator<LoggerBatch>;
	readonly truth: readonly RingTruth[];
	readonly audit: DriveAudit;
}

/**
 * Makes an invented drive from a seed: its sheets in file units, the shift readings, the logger's
 * record on demand, and the truth. The same options give the same drive, to the last digit.
 * Throws RangeError for options that `checkDriveOptions` finds fault with.
 *
 * @example
 * const drive = simulateDrive({ seed: 7, rings: 3 });
 * drive.rings.map((row) => row.ring) // => [1, 2, 3]
 * drive.truth.length // => 3
 * simulateDrive({ seed: 7, rings: 3 }).readings[20].feed_flow_m3_h === drive.readings[20].feed_flow_m3_h // => true
 */
export function simulateDrive(options: DriveOptions): SimulatedDrive {
	const plan = drivePlan(options);
	const meters = new DriveMeters(plan);
	const log = new ShiftLog(plan, meters);
	const strokes = new Chance(plan.seed, 'strokes');
	const rings: RowCells[] = [];
	const readings: RowCells[] = [];
	const truth: RingTruth[] = [];
	const decimals = recordDecimals(meters.perfect);
	const stroke_mm = (stroke_m: number): number =>
		roundTo(stroke_m * 1000 + (meters.perfect ? 0 : 0.6 * strokes.normal()), decimals.stroke);
	const cycles = driveCycles(plan);
	let step = cycles.next();
	for (; !step.done; step = cycles.next()) {
		const cycle = step.value;
		const { grid, advanceStart, advanceEnd } = cycle;
		meters.beginRing(cycle.ring, grid.start_s);
		const cells: RowCells = {
			ring: cycle.ring,
			advance_start: grid.start_s + advanceStart,
			advance_end: grid.start_s + advanceEnd,
			stroke_start_mm: stroke_mm(cycle.strokeStart_m),
			stroke_end_mm: stroke_mm(cycle.strokeEnd_m),
			chamber_level_start_m: log.level(grid.level_m[advanceStart]!),
			chamber_level_end_m: log.level(grid.level_m[advanceEnd]!),
		};
		if (cycle.lineExtension_m !== null)
			cells.line_extension_m = roundTo(cycle.lineExtension_m, meters.perfect ? 6 : 3);
		rings.push(cells);
		readings.push(...log.readingsOf(cycle));
		truth.push(...cycle.finished);
	}
	return {
		plan,
		drive: driveCells(plan),
		rings,
		ground: groundRows(plan),
		readings,
		meters: meters.certificates.map(({ validFrom_s, ...rest }) => ({
			...rest,
			valid_from: validFrom_s,
		})),
		utcOffset_min: plan.utcOffset_min,
		logger: () => loggerBatches(plan),
		truth,
		audit: step.value,
	};
}

function* loggerBatches(plan: DrivePlan): Generator<LoggerBatch> {
	const meters = new DriveMeters(plan);
	const record = new LoggerRecord(plan, meters);
	for (const cycle of driveCycles(plan)) {
		meters.beginRing(cycle.ring, cycle.grid.start_s);
		yield record.batchOf(cycle);
	}
}

/** The drive sheet's one row. Perfect meters state no uncertainty. */
function driveCells(plan: DrivePlan): RowCells {
	const cells: RowCells = {
		title: plan.title,
		excavated_diameter_m: plan.diameter_m,
		nominal_advance_m: plan.advance_m,
		working_chamber_area_m2: plan.workingChamberArea_m2,
		chamber_mixed_volume_m3: plan.chamberMixedVolume_m3,
		feed_line_diameter_m: plan.feedLineDiameter_m,
		return_line_diameter_m: plan.returnLineDiameter_m,
		return_meter_distance_m: plan.returnMeterDistance_m,
		line_growth_m_per_ring: plan.lineGrowth_m_per_ring,
		water_temperature_c: plan.waterTemperature_c,
		water_salinity_g_kg: 0,
		bentonite_grain_density_kg_m3: plan.bentoniteGrainDensity_kg_m3,
	};
	if (plan.overcut_mm !== null) cells.overcut_mm = plan.overcut_mm;
	if (plan.overcutAngle_deg !== null) cells.overcut_angle_deg = plan.overcutAngle_deg;
	if (plan.meters === 'perfect') return cells;
	const certified = plan.meters === 'certified';
	return {
		...cells,
		'uncertainty.flow_scale_rel': certified ? 0.001 : 0.006,
		'uncertainty.flow_offset_m3_h': 1,
		'uncertainty.density_offset_kg_m3': certified ? 0.6 : 8,
		'uncertainty.density_scale_rel': certified ? 0.002 : 0.006,
		'uncertainty.diameter_m': 0.004,
		'uncertainty.stroke_m': 0.001,
		'uncertainty.grain_density_kg_m3': 15,
		'uncertainty.dry_density_kg_m3': 20,
		'uncertainty.level_m': 0.005,
	};
}

function groundRows(plan: DrivePlan): RowCells[] {
	return plan.ground.flatMap(({ fromRing, toRing, shares }) =>
		shares.map(({ stratum, faceFraction }) => {
			const cells: RowCells = {
				from_ring: fromRing,
				to_ring: toRing,
				stratum: stratum.stratum,
				face_fraction: faceFraction,
				grain_density_t_m3: stratum.grainDensity_t_m3,
				dry_density_t_m3: stratum.dryDensity_t_m3,
				d10_mm: stratum.d10_mm,
			};
			SIEVES_MM.forEach((sieve, i) => {
				cells[`passing_${sieve}_mm`] = stratum.passing_pct[i] ?? null;
			});
			return cells;
		}),
	);
}
