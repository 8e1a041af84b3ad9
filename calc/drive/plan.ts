import { pipeVolume_m3 } from '../circuit/line.ts';
import { METERS, type MeterId } from '../circuit/settings.ts';
import type { Fault } from '../fault/fault.ts';
import { stopFault } from '../fault/fault.ts';
import { excavatedVolume_m3 } from '../ground/geometry.ts';
import { waterDensity_kg_m3 } from '../suspension/water.ts';
import { Chance } from './chance.ts';
import { type DriveEvent, usualEvents } from './events.ts';
import { type FaceSection, faceSections } from './strata.ts';

/** How the meters of the simulated drive stand to the truth. */
export type MeterState =
	/** They show the truth, with more digits than a real meter. */
	| 'perfect'
	/** Scale, zero, drift and noise; certificates state scale and zero. */
	| 'certified'
	/** The same meters without certificates. */
	| 'uncorrected';

/** true = offset + slope · shown; offset in m³/h or t/m³. */
export interface GivenMeterError {
	readonly slope: number;
	readonly offset: number;
}

/** Everything that can be chosen about a simulated drive. */
export interface DriveSetup {
	/** Same seed, same drive. Whole number from 0. */
	readonly seed: number;
	/** Rings built, 1 or more. */
	readonly rings: number;
	readonly title: string;
	/** Unix time at which the record begins; a Monday morning by default. */
	readonly start_s: number;
	/** Minutes east of UTC in which the site keeps its times. */
	readonly utcOffset_min: number;
	readonly diameter_m: number;
	readonly overcut_mm: number | null;
	/** Angle over which the copy cutter is out; null with an overcut means the full circle. */
	readonly overcutAngle_deg: number | null;
	readonly advance_m: number;
	readonly advanceSpeed_mm_min: number;
	readonly feedFlow_m3_h: number;
	/** Feed density at the first ring; it then moves with fines and fresh mix. */
	readonly feedDensity_t_m3: number;
	/** Part of the feed's excess mass that is bentonite at the start, 0..1. */
	readonly feedBentoniteShare: number;
	readonly chamberMixedVolume_m3: number;
	readonly workingChamberArea_m2: number;
	/** Mean level of the working chamber as a part of the diameter. */
	readonly levelShare: number;
	readonly feedLineDiameter_m: number;
	readonly returnLineDiameter_m: number;
	readonly returnMeterDistance_m: number;
	readonly lineGrowth_m_per_ring: number;
	/**
	 * `after_thrust`: pipes are put in while the circuit is stopped, already filled from the feed tank.
	 * `during_thrust`: telescopic lines grow with the stroke, filled from the streams at the chamber.
	 */
	readonly lineGrowth: 'after_thrust' | 'during_thrust';
	/** Plain water for seals and flushing while the stream passes the chamber. */
	readonly sideFlow_m3_h: number;
	readonly waterTemperature_c: number;
	readonly bentoniteGrainDensity_kg_m3: number;
	/** Standard deviation of each ring's true dry density about the ground sheet's, relative; null: 0.008, or 0 with perfect meters. */
	readonly dryDensityScatter_rel: number | null;
	/** Time the cutting wheel takes from no advance to full advance, whole seconds. */
	readonly cutRamp_s: number;
	/** Nothing wanders, nothing pauses: every second of the cut is like the other. */
	readonly steady: boolean;
	/** Pauses in bypass and short back-flushes in the middle of some rings. */
	readonly pauses: boolean;
	/** No work from Saturday 14:00 to Monday 06:00. */
	readonly weekendStop: boolean;
	/** A longer stop for the cutting tools after so many rings; 0 for none. */
	readonly maintenanceEvery_rings: number;
	/** Every so many rings a bypass window long enough to compare the meters; 0 for none. */
	readonly checkBypassEvery_rings: number;
	readonly events: 'usual' | 'none' | readonly DriveEvent[];
	/** Ground along the drive; null: made from the seed. */
	readonly ground: readonly FaceSection[] | null;
	readonly meters: MeterState;
	/** Slopes and offsets of single meters instead of the seed's; drift and noise stay the seed's. */
	readonly meterErrors: Readonly<Partial<Record<MeterId, GivenMeterError>>> | null;
	/** Counters start anew here, m³; null: they never do. */
	readonly totaliserCapacity_m3: number | null;
	/** Usual time between two shift readings, whole seconds. */
	readonly readingInterval_s: number;
	/** Time between two logger rows, whole seconds. */
	readonly loggerInterval_s: number;
}

export type DriveOptions = Pick<DriveSetup, 'seed' | 'rings'> &
	Partial<Omit<DriveSetup, 'seed' | 'rings'>>;

/** Monday 2 March 2026, 05:00 UTC. */
const FIRST_MONDAY_S = 1_772_427_600;

/** The invented drive unless told otherwise. */
export const DRIVE_DEFAULTS: Omit<DriveSetup, 'seed' | 'rings'> = {
	title: 'Invented drive under the invented town of Tarnhollow',
	start_s: FIRST_MONDAY_S,
	utcOffset_min: 60,
	diameter_m: 6.8,
	overcut_mm: null,
	overcutAngle_deg: null,
	advance_m: 1.5,
	advanceSpeed_mm_min: 33,
	feedFlow_m3_h: 1100,
	feedDensity_t_m3: 1.075,
	feedBentoniteShare: 0.4,
	chamberMixedVolume_m3: 55,
	workingChamberArea_m2: 12,
	levelShare: 0.66,
	feedLineDiameter_m: 0.35,
	returnLineDiameter_m: 0.3,
	returnMeterDistance_m: 600,
	lineGrowth_m_per_ring: 1.5,
	lineGrowth: 'after_thrust',
	sideFlow_m3_h: 6,
	waterTemperature_c: 14,
	bentoniteGrainDensity_kg_m3: 2500,
	dryDensityScatter_rel: null,
	cutRamp_s: 20,
	steady: false,
	pauses: true,
	weekendStop: true,
	maintenanceEvery_rings: 14,
	checkBypassEvery_rings: 5,
	events: 'usual',
	ground: null,
	meters: 'certified',
	meterErrors: null,
	totaliserCapacity_m3: null,
	readingInterval_s: 300,
	loggerInterval_s: 1,
};

/** A setup with what follows from it, SI. */
export interface DrivePlan extends Omit<DriveSetup, 'events' | 'ground' | 'dryDensityScatter_rel'> {
	readonly events: readonly DriveEvent[];
	readonly ground: readonly FaceSection[];
	readonly dryDensityScatter_rel: number;
	readonly waterDensity_kg_m3: number;
	/** Face and overcut sector. */
	readonly cutArea_m2: number;
	readonly feedLineArea_m2: number;
	readonly returnLineArea_m2: number;
}

type NumberKey = {
	[K in keyof DriveSetup]: DriveSetup[K] extends number | null ? K : never;
}[keyof DriveSetup];

/** Lowest, highest, and whether only whole numbers make sense. */
const LIMITS: readonly [NumberKey, number, number, boolean][] = [
	['seed', 0, Number.MAX_SAFE_INTEGER, true],
	['rings', 1, 100_000, true],
	['start_s', 0, 4_102_444_800, true],
	['utcOffset_min', -840, 840, true],
	['diameter_m', 2, 20, false],
	['overcut_mm', 0, 300, false],
	['overcutAngle_deg', 0, 360, false],
	['advance_m', 0.5, 3, false],
	['advanceSpeed_mm_min', 5, 120, false],
	['feedFlow_m3_h', 100, 5_000, false],
	['feedDensity_t_m3', 1.02, 1.3, false],
	['feedBentoniteShare', 0, 1, false],
	['chamberMixedVolume_m3', 5, 1_000, false],
	['workingChamberArea_m2', 2, 200, false],
	['levelShare', 0.3, 0.9, false],
	['feedLineDiameter_m', 0.1, 0.8, false],
	['returnLineDiameter_m', 0.1, 0.8, false],
	['returnMeterDistance_m', 20, 20_000, false],
	['lineGrowth_m_per_ring', 0, 5, false],
	['sideFlow_m3_h', 0, 200, false],
	['waterTemperature_c', 1, 35, false],
	['bentoniteGrainDensity_kg_m3', 2_000, 3_000, false],
	['dryDensityScatter_rel', 0, 0.1, false],
	['cutRamp_s', 1, 120, true],
	['maintenanceEvery_rings', 0, 1_000, true],
	['checkBypassEvery_rings', 0, 1_000, true],
	['totaliserCapacity_m3', 1_000, 1e9, false],
	['readingInterval_s', 10, 3_600, true],
	['loggerInterval_s', 1, 60, true],
];

/**
 * What is wrong with the options of a simulated drive, each as a fault naming the option.
 *
 * @example
 * checkDriveOptions({ seed: 1, rings: 0 }).map((f) => f.where.column) // => ["rings"]
 * checkDriveOptions({ seed: 1, rings: 40 }) // => []
 */
export function checkDriveOptions(options: DriveOptions): Fault[] {
	const faults: Fault[] = [];
	for (const [key, low, high, whole] of LIMITS) {
		const value = options[key];
		if (value === undefined) continue;
		if (value === null && DRIVE_DEFAULTS[key as keyof typeof DRIVE_DEFAULTS] === null) continue;
		const fits = value !== null && value >= low && value <= high;
		if (fits && (!whole || Number.isInteger(value))) continue;
		faults.push(
			stopFault('simulate_option', 'The simulated drive cannot be made with this.', {
				column: key,
				value: String(value),
				expected: `${whole ? 'a whole number' : 'a number'} from ${low} to ${high}`,
			}),
		);
	}
	for (const meter of METERS) {
		const given = options.meterErrors?.[meter];
		if (given === undefined) continue;
		const furthest = meter === 'feed_flow' || meter === 'return_flow' ? 50 : 0.05;
		if (Math.abs(given.slope - 1) <= 0.1 && Math.abs(given.offset) <= furthest) continue;
		faults.push(
			stopFault('simulate_option', 'The simulated drive cannot be made with this.', {
				column: 'meterErrors',
				value: `${meter} ${given.slope} ${given.offset}`,
				expected: `a slope from 0.9 to 1.1 and an offset from ${-furthest} to ${furthest}`,
			}),
		);
	}
	if (typeof options.events === 'object') {
		for (const event of options.events) {
			if (event.ring >= 1 && event.ring <= options.rings) continue;
			faults.push(
				stopFault('simulate_option', 'The event lies in a ring that is not built.', {
					column: 'events',
					value: `${event.kind} ${event.ring}`,
					expected: `a ring from 1 to ${options.rings}`,
				}),
			);
		}
	}
	return faults;
}

/**
 * Fills in the defaults and works out what follows from the options.
 * Throws RangeError for options that `checkDriveOptions` finds fault with.
 *
 * @example
 * drivePlan({ seed: 1, rings: 40 }).cutArea_m2 // => 36.31681
 */
export function drivePlan(options: DriveOptions): DrivePlan {
	const [fault] = checkDriveOptions(options);
	if (fault) throw new RangeError(`drivePlan: ${fault.where.column} is ${fault.where.value}`);
	const setup: DriveSetup = { ...DRIVE_DEFAULTS, ...options };
	const { events, meters } = setup;
	// Perfect meters neither step nor fall silent unless told to.
	const usual = usualEvents(setup.rings).filter(
		({ kind }) => meters !== 'perfect' || (kind !== 'densitometer_step' && kind !== 'record_gap'),
	);
	return {
		...setup,
		events: events === 'usual' ? usual : events === 'none' ? [] : events,
		ground: setup.ground ?? faceSections(setup.rings, new Chance(setup.seed, 'ground')),
		dryDensityScatter_rel: setup.dryDensityScatter_rel ?? (setup.meters === 'perfect' ? 0 : 0.008),
		waterDensity_kg_m3: waterDensity_kg_m3(setup.waterTemperature_c, 0),
		cutArea_m2: excavatedVolume_m3({
			diameter_m: setup.diameter_m,
			advance_m: 1,
			overcut_m: setup.overcut_mm === null ? null : setup.overcut_mm / 1000,
			overcutAngle_rad:
				setup.overcutAngle_deg === null ? null : (setup.overcutAngle_deg * Math.PI) / 180,
		}),
		feedLineArea_m2: pipeVolume_m3(setup.feedLineDiameter_m, 1),
		returnLineArea_m2: pipeVolume_m3(setup.returnLineDiameter_m, 1),
	};
}
