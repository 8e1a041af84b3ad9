import type { Fault } from '../fault/fault.ts';
import type { CorrectedSide } from '../trust/metercheck.ts';
import type { Figure } from './figure.ts';
import type { Mode } from './samples.ts';

/** Where the samples of a ring's balance came from. */
export type SampleSource = 'logger' | 'readings' | 'none';

/** One input's part in the variance of a figure, in the figure's own unit. */
export interface BudgetLine {
	/** Input in the trade's words, e.g. "return flow meter, scale". */
	readonly input: string;
	/** Standard uncertainty of the input, in `inputUnit`. */
	readonly u: number;
	readonly inputUnit: string;
	/** Change of the figure for one unit of the input. */
	readonly sensitivity: number;
	/** |sensitivity · u|, in the figure's unit. */
	readonly contribution: number;
}

/** Where a ring stands in time and in the lines. Unix seconds, m³, s; null where it cannot be told. */
export interface RingLag {
	readonly feedLineVolume_m3: number | null;
	readonly returnLineVolumeStart_m3: number | null;
	readonly returnLineVolumeEnd_m3: number | null;
	/** When suspension reaching the chamber at advance start / end passed the feed meters. */
	readonly feedFrom_s: number | null;
	readonly feedTo_s: number | null;
	/** When suspension leaving the chamber at advance start / end passes the return meters. */
	readonly returnFrom_s: number | null;
	readonly returnTo_s: number | null;
	/** returnTo − advance end: transport lag at the end of the ring. */
	readonly lag_s: number | null;
}

/** The bypass correction a ring was balanced with, as means over its advance window, SI. */
export interface AppliedCorrection {
	readonly side: CorrectedSide;
	/** return = (1 + scale) · feed in bypass; null: flows not corrected. u is that of the check. */
	readonly flowScale_rel: number | null;
	readonly uFlowScale_rel: number | null;
	readonly flowZero_m3_s: number;
	/** return − feed in bypass; null: densities not corrected. */
	readonly densityOffset_kg_m3: number | null;
	readonly uDensityOffset_kg_m3: number | null;
	readonly densitySlope: number;
	/** Added to both densities from the mud balance; 0 where it is not applied. */
	readonly densityAnchor_kg_m3: number;
}

/** What a ring's figures are without the bypass correction, SI. */
export interface UncorrectedFigures {
	readonly volumeApparent_m3: Figure;
	readonly drySolids_kg: Figure;
}

/** The balance of one ring, SI units. Every figure carries its standard uncertainty or the reason it is blank. */
export interface RingBalance {
	readonly ring: number;
	readonly advanceStart_s: number;
	readonly advanceEnd_s: number;
	readonly source: SampleSource;
	/** Samples inside the advance window. */
	readonly sampleCount: number;
	/** Seconds of the advance window in each mode; missing time is in none of them. */
	readonly modeSeconds: Readonly<Record<Mode, number>>;
	/** Seconds of the advance window with no usable flow on either line. */
	readonly missingSeconds: number;
	readonly advance_m: Figure;
	readonly volumeExpected_m3: Figure;
	/** ∫Qf dt and ∫Qr dt through the chamber over the advance window. */
	readonly feedVolume_m3: Figure;
	readonly returnVolume_m3: Figure;
	readonly sideVolume_m3: Figure;
	readonly chamberVolumeChange_m3: Figure;
	readonly lineVolumeChange_m3: Figure;
	/** Excavated volume as the flow meters see it, before anything is said of losses or inflow. */
	readonly volumeApparent_m3: Figure;
	readonly volumeBudget: readonly BudgetLine[];
	/** Solids that passed the feed meters / the return meters for this ring, as excess mass ∫Q(ρ−ρw)dt. */
	readonly feedExcess_kg: Figure;
	readonly returnExcess_kg: Figure;
	/** Change of excess mass held in the chambers by mixing. */
	readonly chamberExcessChange_kg: Figure;
	readonly drySolids_kg: Figure;
	readonly solidsBudget: readonly BudgetLine[];
	readonly drySolidsExpected_kg: Figure;
	readonly volumeFromSolids_m3: Figure;
	readonly ratioVolume: Figure;
	readonly ratioSolids: Figure;
	readonly waterDensity_kg_m3: number;
	readonly grainDensity_kg_m3: number | null;
	readonly dryDensity_kg_m3: number | null;
	/** Volume that the ring's missing time could hide: missing time × the widest flow difference seen in the ring. */
	readonly hiddenVolume_m3: number | null;
	/** Totaliser differences over the window, where the site keeps them; compared with the integrals. */
	readonly feedTotaliser_m3: Figure;
	readonly returnTotaliser_m3: Figure;
	readonly lag: RingLag;
	/** null or absent: balanced as the meters and their certificates have it. */
	readonly correction?: AppliedCorrection | null;
	/** The figures with the meter certificates alone, beside those of a bypass correction in use; null or absent: none is. */
	readonly uncorrected?: UncorrectedFigures | null;
	/** Everything to be said about the ring, each once. */
	readonly notes: readonly Fault[];
	/** Span of stamps this balance looked at: a changed sample outside it cannot change the ring. */
	readonly looksFrom_s: number;
	readonly looksTo_s: number;
}
