import { z } from 'zod';

/** The file that makes a folder of day files a series; written last. */
export const MANIFEST_FILE = 'series.json';
const FORMAT = 'slurry-ledger series';

const dayFile = z.string().regex(/^day=\d{4}-\d{2}-\d{2}\/series\.parquet$/u);
const manifestShape = z.object({
	format: z.literal(FORMAT),
	version: z.literal(1),
	/** Two stamps farther apart are a gap, s. */
	gapLimit_s: z.number().positive(),
	rows: z.number().int().min(0),
	/** Column names, as in readings.csv, that any day file has. */
	columns: z.array(z.string()),
	/** By UTC day, ascending. */
	days: z.array(
		z.object({
			file: dayFile,
			rows: z.number().int().positive(),
			bytes: z.number().int().positive(),
			from_s: z.number(),
			to_s: z.number(),
		}),
	),
	sources: z.array(
		z.object({
			file: z.string(),
			sha256: z.string().regex(/^[0-9a-f]{64}$/u),
			bytes: z.number().int().min(0),
			rows: z.number().int().min(0),
		}),
	),
});

export type Manifest = z.infer<typeof manifestShape>;
export type SeriesSource = Manifest['sources'][number];
export type SeriesDay = Manifest['days'][number];

export function manifestText(content: Omit<Manifest, 'format' | 'version'>): string {
	return `${JSON.stringify({ format: FORMAT, version: 1, ...content } satisfies Manifest, null, '\t')}\n`;
}

/** The manifest, or null if the text is none of ours. */
export function readManifest(text: string): Manifest | null {
	try {
		const read = manifestShape.safeParse(JSON.parse(text));
		return read.success ? read.data : null;
	} catch {
		return null;
	}
}
