import type { Samples } from '../../calc/circuit/samples.ts';

/** The logger's series as the desk needs it. */
export interface LoggerSeries {
	/** Tells one series from another, and from itself after an import. */
	readonly id: string;
	/** Stretches it can be read by, in order of time. */
	readonly days: readonly { readonly from_s: number; readonly to_s: number }[];
	/** Two stamps farther apart are a gap. */
	readonly gapLimit_s: number;
	/** True if the series has samples over the whole window. */
	covers(from_s: number, to_s: number): boolean;
	span(from_s: number, to_s: number): Promise<Samples>;
	close(): void;
}

/** How far a long command has come; `of` null: it cannot be told. */
export type Progress = (what: string, done: number, of: number | null) => void;
