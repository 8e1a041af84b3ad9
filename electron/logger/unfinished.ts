import {
	closeSync,
	fsyncSync,
	openSync,
	readFileSync,
	renameSync,
	rmSync,
	writeSync,
} from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';
import { MODES } from '../../calc/circuit/samples.ts';
import type { Fault } from '../../calc/fault/fault.ts';
import { loggerLayout } from '../contract/loggerimport.ts';
import type { RecordPlace } from './readrecord.ts';

/** Where a series is written until it is whole. */
export const unfinishedFolder = (seriesFolder: string): string => `${seriesFolder}.unfinished`;

/** In the folder of an import under way: how to go on with it after it was broken off. */
export const UNFINISHED_FILE = 'unfinished.json';
const FORMAT = 'slurry-ledger unfinished import';

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

/** What the writer of a series holds when a day has just ended. */
const writerState = z.object({
	/** First day that is still to be written, days since 1970. */
	day: z.number().int(),
	/** Columns of the record so far, in the order of the day files. */
	columns: z.array(z.string()),
	/** Columns any day written has. */
	names: z.array(z.string()),
	/** Days written by this import, each with the CRC-32 of its file. */
	days: z.array(day.extend({ crc: count })),
	/** Day files of this import that others have taken the place of. */
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
export type WriterState = z.infer<typeof writerState>;

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
	/** Absolute paths. */
	files: z.array(z.string()).min(1),
	layout: loggerLayout,
	saveAs: z.string().nullable(),
	conflicts: z.enum(['refuse', 'keepBefore', 'takeFile']),
	take: z.enum(['all', 'goodRows']),
});
/** What was asked of an import; the same is asked when it goes on. */
export type UnfinishedAsk = z.infer<typeof importAsk>;

const unfinished = z.object({
	format: z.literal(FORMAT),
	version: z.literal(1),
	ask: importAsk,
	/** Unix s at which it was begun. */
	begun_s: z.number(),
	/** Manifest of the series it goes into, as SHA-256; null: a new one. */
	base: z.string().nullable(),
	/** Parts of the files that have been read. */
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

/** An import that was broken off, as it stood at the end of its last whole day. */
export type Unfinished = Omit<z.infer<typeof unfinished>, 'format' | 'version' | 'place'> & {
	readonly place: RecordPlace;
};

/** Replaces what was noted before in one step. */
export function noteUnfinished(folder: string, content: Unfinished): void {
	const part = join(folder, `${UNFINISHED_FILE}.part`);
	const fd = openSync(part, 'w');
	try {
		writeSync(fd, JSON.stringify({ format: FORMAT, version: 1, ...content }));
		fsyncSync(fd);
	} finally {
		closeSync(fd);
	}
	renameSync(part, join(folder, UNFINISHED_FILE));
}

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

/** Removes all that an import which was broken off has left. */
export function dropUnfinished(seriesFolder: string): void {
	rmSync(unfinishedFolder(seriesFolder), { recursive: true, force: true });
}
