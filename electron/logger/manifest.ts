/** The file that makes a folder of day files a series; written last. */
export const MANIFEST_FILE = 'series.json';
export const FORMAT = 'slurry-ledger series';

/** A logger file the series was made from. */
export interface SeriesSource {
	readonly file: string;
	readonly sha256: string;
	readonly bytes: number;
	readonly rows: number;
}

/** One UTC day's file, its path within the series folder, and the stamps it holds. */
export interface SeriesDay {
	readonly file: string;
	readonly rows: number;
	readonly bytes: number;
	readonly from_s: number;
	readonly to_s: number;
}

export interface Manifest {
	readonly format: typeof FORMAT;
	readonly version: 1;
	/** Two stamps farther apart are a gap, s. */
	readonly gapLimit_s: number;
	readonly rows: number;
	/** Column names, as in readings.csv, that any day file has. */
	readonly columns: readonly string[];
	/** Ascending. */
	readonly days: readonly SeriesDay[];
	readonly sources: readonly SeriesSource[];
}

export function manifestText(content: Omit<Manifest, 'format' | 'version'>): string {
	return `${JSON.stringify({ format: FORMAT, version: 1, ...content } satisfies Manifest, null, '\t')}\n`;
}
