/**
 * Samples of the circuit's meters as columns: one entry a stamp, SI units, ascending time.
 * A missing value is NaN; it is never 0.
 */

/** How the circuit is valved. The order is fixed: `Samples.mode` holds indices into it. */
export const MODES = ['advance', 'bypass', 'back_flush', 'stop'] as const;
export type Mode = (typeof MODES)[number];
/** Index into {@link MODES}; 255 means the mode was not recorded. */
export const MODE_MISSING = 255;

/**
 * True for the modes in which the stream passes through the excavation chamber.
 *
 * @example
 * passesChamber(MODES.indexOf('advance')) // => true
 * passesChamber(MODES.indexOf('bypass')) // => false
 */
export function passesChamber(modeIndex: number): boolean {
	return modeIndex === 0 || modeIndex === 2;
}

export interface Samples {
	/** Number of stamps; every column has at least this many entries. */
	readonly count: number;
	/** Unix time in seconds (UTC), strictly ascending. */
	readonly time_s: Float64Array;
	/** Index into MODES, or MODE_MISSING. The mode holds from its stamp until the next. */
	readonly mode: Uint8Array;
	readonly feedFlow_m3_s: Float64Array;
	readonly feedDensity_kg_m3: Float64Array;
	readonly returnFlow_m3_s: Float64Array;
	readonly returnDensity_kg_m3: Float64Array;
	/** Metered side streams of plain water into the control volume. null: the column is not kept (taken as none, and said so). */
	readonly sideFlow_m3_s: Float64Array | null;
	/** Level of suspension in the working chamber. */
	readonly chamberLevel_m: Float64Array | null;
	/** Totaliser readings. */
	readonly feedTotal_m3: Float64Array | null;
	readonly returnTotal_m3: Float64Array | null;
}
