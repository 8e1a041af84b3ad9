import type { Samples } from './samples.ts';

/**
 * Rules by which faults of a record are found. All limits are data a person can see and change;
 * common practice, no source.
 */

/** Signals that are looked at: the columns of the samples. */
export const FAULT_SIGNALS = [
	'feedFlow_m3_s',
	'feedDensity_kg_m3',
	'returnFlow_m3_s',
	'returnDensity_kg_m3',
	'sideFlow_m3_s',
	'chamberLevel_m',
	'feedTotal_m3',
	'returnTotal_m3',
] as const satisfies readonly (keyof Samples)[];
export type FaultSignal = (typeof FAULT_SIGNALS)[number];

export const FAULT_KINDS = [
	/** The same value to the last digit while it had to move. */
	'frozen',
	/** A jump and a return within a few rows. */
	'spike',
	/** Pinned at the end of the meter's range. */
	'saturation',
	/** Values, or whole rows, are missing. */
	'dropout',
	/** Stamps step back or jump although no time was lost. */
	'clock_jump',
	/** Local stamps moved by one hour, and the hour that is told twice. */
	'daylight_saving',
	/** Rows that are the row before once more. */
	'repeated_rows',
] as const;
export type FaultKind = (typeof FAULT_KINDS)[number];

/** Ends of a meter's range; a missing end is not known. */
export interface MeterRange {
	readonly low?: number;
	readonly high?: number;
}

export interface FaultRules {
	/**
	 * The circuit moves where a flow is beyond this, and stands still where it is within a fifth of it. Level
	 * and side flow are asked only while the stream passes the chamber, as far as the mode is known.
	 */
	readonly movingFlow_m3_s: number;
	/** What a signal's own habit must be known from: time in a moving circuit, and changes. */
	readonly habit: {
		readonly time_s: number;
		readonly changes: number;
		/** A signal is fine enough to be judged if its usual change is at least so many of its smallest. */
		readonly smallestChanges: number;
		/** Same values last too long from so many times the usual length of such a run. */
		readonly times: number;
	};
	readonly frozen: {
		readonly time_s: number;
		readonly rows: number;
		/** A flow that keeps one value while the other line moves and stands still for this long each. */
		readonly throughStop_s: number;
		/** Time in a moving circuit after which one value cannot be, whatever the resolution; null: no such time. */
		readonly never_s: Readonly<Record<FaultSignal, number | null>>;
		/** A totaliser that stays while this much has passed its meter. */
		readonly total_m3: number;
	};
	readonly spike: {
		readonly rows: number;
		readonly time_s: number;
		/** Robust standard deviations (1.4826 × median of changes / √2) of the latest changes. */
		readonly deviations: number;
		/** And so many of the smallest changes the signal shows: its own resolution is no jump. */
		readonly smallestChanges: number;
		/** Part of the jump that may be left after the return. */
		readonly left: number;
		/** Smallest jump told; null: the signal is not judged. */
		readonly smallest: Readonly<Record<FaultSignal, number | null>>;
	};
	readonly saturation: {
		readonly time_s: number;
		readonly rows: number;
		/** Ranges of the meters as they are known; without one, the record's highest value kept to the last digit is taken for an end. */
		readonly ranges: Readonly<Partial<Record<FaultSignal, MeterRange>>>;
	};
	readonly dropout: {
		readonly time_s: number;
		/** And this many times the usual distance of the signal's values. */
		readonly times: number;
	};
	readonly stamps: {
		/** Local: read without an offset from UTC, so that daylight saving moves them. */
		readonly are: 'local' | 'absolute';
		/** Two stamps farther apart are a gap; null: three usual steps, at least 10 s. */
		readonly gapLimit_s: number | null;
	};
	readonly repeated: { readonly time_s: number; readonly rows: number };
}

export const FAULT_RULES: FaultRules = {
	movingFlow_m3_s: 0.05,
	habit: { time_s: 600, changes: 32, smallestChanges: 2, times: 20 },
	frozen: {
		time_s: 180,
		rows: 20,
		throughStop_s: 60,
		never_s: {
			feedFlow_m3_s: null,
			feedDensity_kg_m3: null,
			returnFlow_m3_s: null,
			// Six hours of circulation hold cutting and not cutting: no return density is one then.
			returnDensity_kg_m3: 21_600,
			sideFlow_m3_s: null,
			chamberLevel_m: null,
			feedTotal_m3: null,
			returnTotal_m3: null,
		},
		total_m3: 50,
	},
	spike: {
		rows: 3,
		time_s: 15,
		deviations: 8,
		smallestChanges: 3,
		left: 0.3,
		smallest: {
			feedFlow_m3_s: 0.02,
			feedDensity_kg_m3: 15,
			returnFlow_m3_s: 0.02,
			returnDensity_kg_m3: 15,
			sideFlow_m3_s: null,
			chamberLevel_m: 0.1,
			feedTotal_m3: null,
			returnTotal_m3: null,
		},
	},
	saturation: { time_s: 10, rows: 10, ranges: {} },
	dropout: { time_s: 10, times: 3 },
	stamps: { are: 'local', gapLimit_s: null },
	repeated: { time_s: 15, rows: 10 },
};

/** A stretch of a record in which something is wrong. */
export interface SignalFault {
	readonly kind: FaultKind;
	/** null: it concerns all signals, or the stamps. */
	readonly signal: FaultSignal | null;
	/** First and last stamp concerned, from_s ≤ to_s. */
	readonly from_s: number;
	readonly to_s: number;
	/** Rows concerned; where rows are missing, about how many. */
	readonly count: number;
	/** The rule that found it, in words and with its figures. */
	readonly rule: string;
}

/**
 * A time in words.
 *
 * @example
 * [0.5, 42, 90, 5400, 7200].map(spanText) // => ["0.5 s", "42 s", "1 min 30 s", "1 h 30 min", "2 h"]
 */
export function spanText(seconds: number): string {
	const size = Math.abs(seconds);
	if (size < 60) return `${Number(size.toPrecision(3))} s`;
	const whole = Math.round(size);
	const part = (big: number, small: number, of: string, rest: string): string =>
		small === 0 ? `${big} ${of}` : `${big} ${of} ${small} ${rest}`;
	if (whole < 3600) return part(Math.floor(whole / 60), whole % 60, 'min', 's');
	const minutes = Math.round(whole / 60);
	return part(Math.floor(minutes / 60), minutes % 60, 'h', 'min');
}
