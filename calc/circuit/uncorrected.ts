import { balanceRing, type RingBalanceAsk } from './balance.ts';
import type { RingBalance } from './ringbalance.ts';

/**
 * A ring's balance with the bypass correction that is asked for, and beside it what its figures are
 * without; the plain balance where no correction is asked for.
 *
 * @example
 * const stamps = Float64Array.from({ length: 36 }, (_, i) => 60 * i);
 * const all = (value) => new Float64Array(36).fill(value);
 * const nothing = { flowScale_rel: null, flowOffset_m3_s: null, densityOffset_kg_m3: null, densityScale_rel: null, diameter_m: null, stroke_m: null, grainDensity_kg_m3: null, dryDensity_kg_m3: null, level_m: null };
 * const ring = balanceWithAndWithout({
 *   ring: { ring: 1, advanceStart_s: 0, advanceEnd_s: 2100, strokeStart_m: 0.2, strokeEnd_m: 1.6, chamberLevelStart_m: null, chamberLevelEnd_m: null, lineExtension_m: null },
 *   samples: { count: 36, time_s: stamps, mode: new Uint8Array(36), feedFlow_m3_s: all(10 / 60), feedDensity_kg_m3: all(1100), returnFlow_m3_s: all(11 / 60), returnDensity_kg_m3: all(1207), sideFlow_m3_s: null, chamberLevel_m: null, feedTotal_m3: null, returnTotal_m3: null },
 *   source: 'readings',
 *   settings: { title: '', excavatedDiameter_m: 6.6, nominalAdvance_m: 1.4, overcut_m: null, overcutAngle_rad: null, workingChamberArea_m2: null, chamberMixedVolume_m3: null, feedLineDiameter_m: null, returnLineDiameter_m: null, returnMeterDistance_m: null, lineGrowth_m_per_ring: null, waterTemperature_c: 15, waterSalinity_g_kg: 0, bentoniteGrainDensity_kg_m3: null, uncertainty: nothing },
 *   ground: [], meters: [], gapLimit_s: 900, referenceLevel_m: null,
 *   correction: { side: 'return', flow: null, density: null, anchor: null, flowWindows: [], densityWindows: [], faults: [] },
 * });
 * ring.uncorrected.volumeApparent_m3.value // => 35
 */
export function balanceWithAndWithout(ask: RingBalanceAsk): RingBalance {
	const made = balanceRing(ask);
	if (!ask.correction) return made;
	const bare = balanceRing({ ...ask, correction: null });
	return {
		...made,
		uncorrected: { volumeApparent_m3: bare.volumeApparent_m3, drySolids_kg: bare.drySolids_kg },
		looksFrom_s: Math.min(made.looksFrom_s, bare.looksFrom_s),
		looksTo_s: Math.max(made.looksTo_s, bare.looksTo_s),
	};
}
