/** Rows a batch holds at most. */
export const BATCH_ROWS = 16_384;

/** Rows of a logger file as columns, in the units of the headings. */
export interface LoggerBatch {
	readonly count: number;
	/** Unix seconds, to the millisecond; strictly ascending over the whole record. */
	readonly time_s: Float64Array;
	/** Index into MODES of calc/circuit/samples, 255 if not recorded. */
	readonly mode: Uint8Array;
	/** One column for each of {@link NUMBER_COLUMNS} the file has, in that order; NaN where missing. */
	readonly numbers: readonly NumberColumn[];
}

export interface NumberColumn {
	readonly id: string;
	readonly values: Float64Array;
	/** Most decimals written in any of the values; null if one was written with an exponent or too many digits. */
	readonly decimals: number | null;
}

/** Columns of readings that a logger file can hold and the series keeps, by catalogue id. */
export const NUMBER_COLUMNS = [
	'feed_flow_m3_h',
	'feed_density_t_m3',
	'return_flow_m3_h',
	'return_density_t_m3',
	'ring',
	'chamber_level_m',
	'side_flow_m3_h',
	'face_pressure_bar',
	'feed_total_m3',
	'return_total_m3',
	'marsh_s_per_quart',
	'sand_pct',
	'filtrate_ml',
	'ph',
	'yield_point_pa',
	'temperature_c',
] as const;

/** The buffers a batch lies in, each once, to hand it to another thread without a copy. */
export function buffersOf(batch: LoggerBatch): ArrayBuffer[] {
	const arrays = [batch.time_s, batch.mode, ...batch.numbers.map((column) => column.values)];
	return [...new Set(arrays.map((array) => array.buffer as ArrayBuffer))];
}
