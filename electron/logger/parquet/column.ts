/** A column of a series as it goes into a Parquet file and comes out of it. */
export type SeriesColumn =
	/** Unix seconds, ascending; kept as UTC timestamps in milliseconds. */
	| { readonly kind: 'time'; readonly name: string; readonly values: Float64Array }
	/** Indices into `words`; any other index is missing. */
	| {
			readonly kind: 'word';
			readonly name: string;
			readonly values: Uint8Array;
			readonly words: readonly string[];
	  }
	/** NaN is missing. `decimals`: every value is a decimal with at most so many places; null: any double. */
	| {
			readonly kind: 'number';
			readonly name: string;
			readonly values: Float64Array;
			readonly decimals: number | null;
	  };

/** Physical types of the format. */
export const PHYSICAL = { int32: 1, int64: 2, double: 5, bytes: 6 } as const;
export const ENCODING = { plain: 0, rle: 3, delta: 5, dictionary: 8 } as const;
export const PAGE = { data: 0, dictionary: 2 } as const;
/** A decimal of so many digits fits 32 bits. */
export const DECIMAL_DIGITS = 9;
export const MAGIC = 'PAR1';
