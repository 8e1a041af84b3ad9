import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';
import { MODES } from '../../calc/circuit/samples.ts';
import type { Fault } from '../../calc/fault/fault.ts';
import { loggerLayout } from '../contract/loggerimport.ts';
import {
	UNFINISHED_FILE,
	UNFINISHED_FORMAT,
	type Unfinished,
	unfinishedFolder,
} from './unfinished.ts';

const dayFile = z.string().regex(/^day=\d{4}-\d{2}-\d{2}\/series(-\d+)?\.parquet$/u);
const span = z.object({ from_s: z.number(), to_s: z.number() });
const count = z.number().int().min(0);
const day = z.object({
	file: dayFile,
	rows: z.number().int().positive(),
	bytes: z.number().int().positive(),
	from_s: z.number(),
	to_s: z.number(),
});
const fault = z.object({
	code: z.string(),
	message: z.string(),
	where: z.record(z.string(), z.union([z.string(), z.number()])),
	weight: z.enum(['stop', 'note']),
});

const writerState = z.object({
	day: z.number().int(),
	columns: z.array(z.string()),
	names: z.array(z.string()),
	days: z.array(day.extend({ crc: count })),
	outdated: z.array(dayFile),
	found: z.object({ added: count, duplicates: count, completed: count, conflicts: count }),
	conflicts: z.array(
		z.object({
			time_s: z.number(),
			column: z.string(),
			present: z.union([z.number(), z.string()]),
			offered: z.union([z.number(), z.string()]),
		}),
	),
	overlap: span.nullable(),
});

const filesRead = z.object({
	passed: z.array(count),
	rowsByFile: z.array(count),
	bytesByFile: z.array(count),
	spanByFile: z.array(span.nullable()),
	lastTime_s: z.number().nullable(),
	modeRules: z.array(
		z.object({ from_s: z.number(), to_s: z.number(), mode: z.enum(MODES), why: z.string() }),
	),
});

const importAsk = z.object({
	files: z.array(z.string()).min(1),
	layout: loggerLayout,
	saveAs: z.string().nullable(),
	conflicts: z.enum(['refuse', 'keepBefore', 'takeFile']),
	take: z.enum(['all', 'goodRows']),
});

const unfinished = z.object({
	format: z.literal(UNFINISHED_FORMAT),
	version: z.literal(1),
	ask: importAsk,
	begun_s: z.number(),
	base: z.string().nullable(),
	read: z.array(z.object({ bytes: count, sha256: z.string() })),
	ofBytes: count,
	gapLimit_s: z.number().positive(),
	firstTime_s: z.number(),
	place: z.object({
		file: count,
		before: filesRead,
		place: z.object({ byte: count, line: count, rows: count, latest_s: z.number() }).nullable(),
		from_s: z.number().nullable(),
		faults: z.object({
			listed: z.array(fault),
			beyond: z.array(z.object({ code: z.string(), count, weight: z.enum(['stop', 'note']) })),
			stops: count,
		}),
	}),
	writer: writerState,
});

/** The import into a series that was broken off and can go on; null: there is none. */
export function unfinishedImport(seriesFolder: string): Unfinished | null {
	try {
		const text = readFileSync(join(unfinishedFolder(seriesFolder), UNFINISHED_FILE), 'utf8');
		const { success, data } = unfinished.safeParse(JSON.parse(text));
		if (!success) return null;
		const { format: _format, version: _version, place, ...rest } = data;
		const listed = place.faults.listed as Fault[];
		return { ...rest, place: { ...place, faults: { ...place.faults, listed } } };
	} catch {
		return null;
	}
}
