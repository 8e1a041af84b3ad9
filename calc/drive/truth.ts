/** What really happened in one ring of the simulated drive, SI. */
export interface RingTruth {
	readonly ring: number;
	readonly advanceStart_s: number;
	readonly advanceEnd_s: number;
	readonly advance_m: number;
	/** Face and overcut times advance. */
	readonly volumeExpected_m3: number;
	/** In-situ volume of all ground that entered, over-excavation included. */
	readonly volumeExcavated_m3: number;
	readonly overExcavation_m3: number;
	readonly inflow_m3: number;
	readonly loss_m3: number;
	/** What perfect flow meters must show: excavated + inflow − loss. */
	readonly volumeApparent_m3: number;
	/** Dry mass of the ground that entered. */
	readonly drySolids_kg: number;
	readonly drySolidsByStratum: readonly {
		readonly stratum: string;
		readonly drySolids_kg: number;
	}[];
	/** Expected volume times the ground sheet's dry density. */
	readonly drySolidsExpected_kg: number;
	/** Excess mass over water that left with lost suspension: the dry-solids method does not see it return. */
	readonly lossExcess_kg: number;
	/** Volumes through the meters during the advance window while the stream passed the chamber. */
	readonly feedVolume_m3: number;
	readonly returnVolume_m3: number;
	readonly sideVolume_m3: number;
	readonly chamberVolumeChange_m3: number;
	readonly lineVolumeChange_m3: number;
	/** Excess mass over water held in the chambers at advance start and end. */
	readonly chamberExcessStart_kg: number;
	readonly chamberExcessEnd_kg: number;
	/** Flow-weighted over the advance window, kg/m³. */
	readonly meanFeedDensity_kg_m3: number;
	readonly meanReturnDensity_kg_m3: number;
	/** Bentonite in the feed, kg dry in a m³ of suspension, flow-weighted over the same time. */
	readonly meanFeedBentonite_kg_m3: number;
	/** Time suspension leaving the chamber at advance end takes to the return meters; null if the record ends before. */
	readonly lag_s: number | null;
	/** Labels of the events that touch this ring. */
	readonly events: readonly string[];
}

/** Name of the file the truth is written to, beside a simulated folder. */
export const TRUTH_FILE = 'truth.csv';

/** A column of truth.csv: heading with its unit, and the text of a ring. */
export interface TruthColumn {
	readonly heading: string;
	readonly help: string;
	readonly text: (truth: RingTruth, time: (time_s: number) => string) => string;
}

const fixed = (value: number | null, decimals: number): string =>
	value === null ? '' : value.toFixed(decimals);

/** The columns of truth.csv in order. */
export const TRUTH_COLUMNS: readonly TruthColumn[] = [
	{ heading: 'ring', help: 'Ring number.', text: (t) => String(t.ring) },
	{
		heading: 'advance_start',
		help: 'When cutting began.',
		text: (t, time) => time(t.advanceStart_s),
	},
	{ heading: 'advance_end', help: 'When cutting ended.', text: (t, time) => time(t.advanceEnd_s) },
	{ heading: 'advance_m', help: 'Length cut.', text: (t) => fixed(t.advance_m, 5) },
	{
		heading: 'volume_expected_m3',
		help: 'Face and overcut times advance.',
		text: (t) => fixed(t.volumeExpected_m3, 4),
	},
	{
		heading: 'volume_excavated_m3',
		help: 'In-situ volume of all ground that entered.',
		text: (t) => fixed(t.volumeExcavated_m3, 4),
	},
	{
		heading: 'over_excavation_m3',
		help: 'Part of it beyond what the wheel cut.',
		text: (t) => fixed(t.overExcavation_m3, 4),
	},
	{
		heading: 'inflow_m3',
		help: 'Groundwater that entered by itself.',
		text: (t) => fixed(t.inflow_m3, 4),
	},
	{
		heading: 'loss_m3',
		help: 'Suspension lost to the ground.',
		text: (t) => fixed(t.loss_m3, 4),
	},
	{
		heading: 'volume_apparent_m3',
		help: 'Excavated + inflow − loss: what perfect flow meters show.',
		text: (t) => fixed(t.volumeApparent_m3, 4),
	},
	{
		heading: 'dry_solids_t',
		help: 'Dry ground that entered.',
		text: (t) => fixed(t.drySolids_kg / 1000, 4),
	},
	{
		heading: 'dry_solids_by_stratum_t',
		help: 'The same by stratum, parts set apart by semicolons.',
		text: (t) =>
			t.drySolidsByStratum
				.map((part) => `${part.stratum} ${fixed(part.drySolids_kg / 1000, 4)}`)
				.join('; '),
	},
	{
		heading: 'dry_solids_expected_t',
		help: 'Expected volume times the dry density of the ground sheet.',
		text: (t) => fixed(t.drySolidsExpected_kg / 1000, 4),
	},
	{
		heading: 'loss_excess_t',
		help: 'Excess mass over water that left with lost suspension.',
		text: (t) => fixed(t.lossExcess_kg / 1000, 4),
	},
	{
		heading: 'chamber_excess_start_t',
		help: 'Excess mass over water in the chambers at advance start.',
		text: (t) => fixed(t.chamberExcessStart_kg / 1000, 4),
	},
	{
		heading: 'chamber_excess_end_t',
		help: 'The same at advance end.',
		text: (t) => fixed(t.chamberExcessEnd_kg / 1000, 4),
	},
	{
		heading: 'mean_feed_density_t_m3',
		help: 'Flow-weighted over the advance.',
		text: (t) => fixed(t.meanFeedDensity_kg_m3 / 1000, 5),
	},
	{
		heading: 'mean_return_density_t_m3',
		help: 'Flow-weighted over the advance.',
		text: (t) => fixed(t.meanReturnDensity_kg_m3 / 1000, 5),
	},
	{
		heading: 'mean_feed_bentonite_kg_m3',
		help: 'Dry bentonite in a cubic metre of feed.',
		text: (t) => fixed(t.meanFeedBentonite_kg_m3, 3),
	},
	{
		heading: 'lag_s',
		help: 'Transport time from chamber to return meters at advance end.',
		text: (t) => fixed(t.lag_s, 1),
	},
	{
		heading: 'events',
		help: 'What was made to go wrong, parts set apart by semicolons.',
		text: (t) => t.events.join('; '),
	},
];
