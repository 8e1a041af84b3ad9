import type { RingBalanceAsk } from '../../../calc/circuit/balance.ts';
import type { Samples } from '../../../calc/circuit/samples.ts';
import type { DriveSettings, StatedUncertainty } from '../../../calc/circuit/settings.ts';

/** Nothing stated. */
export const NO_UNCERTAINTY: StatedUncertainty = {
	flowScale_rel: null,
	flowOffset_m3_s: null,
	densityOffset_kg_m3: null,
	densityScale_rel: null,
	diameter_m: null,
	stroke_m: null,
	grainDensity_kg_m3: null,
	dryDensity_kg_m3: null,
	level_m: null,
};

export const BARE_SETTINGS: DriveSettings = {
	title: 'steady ring',
	excavatedDiameter_m: 6.6,
	nominalAdvance_m: 1.4,
	overcut_m: null,
	overcutAngle_rad: null,
	workingChamberArea_m2: null,
	chamberMixedVolume_m3: null,
	feedLineDiameter_m: null,
	returnLineDiameter_m: null,
	returnMeterDistance_m: null,
	lineGrowth_m_per_ring: null,
	waterTemperature_c: 15,
	waterSalinity_g_kg: 0,
	bentoniteGrainDensity_kg_m3: null,
	uncertainty: NO_UNCERTAINTY,
};

export interface Flat {
	readonly time_s: readonly number[];
	readonly mode?: readonly number[];
	readonly feedFlow: number | readonly number[];
	readonly feedDensity: number | readonly number[];
	readonly returnFlow: number | readonly number[];
	readonly returnDensity: number | readonly number[];
	readonly level?: readonly number[];
}

/** Samples from numbers; a single number stands for every stamp. Flows m³/s, densities kg/m³. */
export function flat(of: Flat): Samples {
	const n = of.time_s.length;
	const column = (value: number | readonly number[]): Float64Array =>
		typeof value === 'number' ? new Float64Array(n).fill(value) : Float64Array.from(value);
	return {
		count: n,
		time_s: Float64Array.from(of.time_s),
		mode: of.mode ? Uint8Array.from(of.mode) : new Uint8Array(n),
		feedFlow_m3_s: column(of.feedFlow),
		feedDensity_kg_m3: column(of.feedDensity),
		returnFlow_m3_s: column(of.returnFlow),
		returnDensity_kg_m3: column(of.returnDensity),
		sideFlow_m3_s: null,
		chamberLevel_m: of.level ? Float64Array.from(of.level) : null,
		feedTotal_m3: null,
		returnTotal_m3: null,
	};
}

/**
 * The closed-form steady ring: D 6.6 m, L 1.4 m at 40 mm/min, n 0.40, grains 2650 kg/m³, feed
 * 10 m³/min at 1100 kg/m³; its return is what mass conservation gives with water of 1000 kg/m³.
 */
export function steadyRing(change: Partial<RingBalanceAsk> = {}): RingBalanceAsk {
	const minute = Array.from({ length: 36 }, (_, i) => 60 * i);
	return {
		ring: {
			ring: 1,
			advanceStart_s: 0,
			advanceEnd_s: 2100,
			strokeStart_m: 0.2,
			strokeEnd_m: 1.6,
			chamberLevelStart_m: null,
			chamberLevelEnd_m: null,
			lineExtension_m: null,
		},
		samples: flat({
			time_s: minute,
			feedFlow: 10 / 60,
			feedDensity: 1100,
			returnFlow: 11.368477759871734 / 60,
			returnDensity: 1207.13353,
		}),
		source: 'readings',
		settings: BARE_SETTINGS,
		ground: [
			{
				fromRing: 1,
				toRing: 1,
				stratum: 'sand',
				faceFraction: 1,
				grainDensity_kg_m3: 2650,
				dryDensity_kg_m3: 1590,
			},
		],
		meters: [],
		gapLimit_s: 900,
		referenceLevel_m: null,
		...change,
	};
}
