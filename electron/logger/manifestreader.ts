import { z } from 'zod';
import { FORMAT, type Manifest } from './manifest.ts';

const dayFile = z.string().regex(/^day=\d{4}-\d{2}-\d{2}\/series(-\d+)?\.parquet$/u);
const manifestShape = z.object({
	format: z.literal(FORMAT),
	version: z.literal(1),
	gapLimit_s: z.number().positive(),
	rows: z.number().int().min(0),
	columns: z.array(z.string()),
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

/** The manifest, or null if the text is none of ours. */
export function readManifest(text: string): Manifest | null {
	try {
		const read = manifestShape.safeParse(JSON.parse(text));
		return read.success ? read.data : null;
	} catch {
		return null;
	}
}
