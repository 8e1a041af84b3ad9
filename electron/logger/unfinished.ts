import { closeSync, fsyncSync, openSync, renameSync, rmSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import type { LoggerLayout } from '../contract/loggerimport.ts';
import type { SeriesDay } from './manifest.ts';
import type { MergeCount, OnConflict, SeriesConflict } from './mergeday.ts';
import type { RecordPlace } from './readrecord.ts';

/** Where a series is written until it is whole. */
export const unfinishedFolder = (seriesFolder: string): string => `${seriesFolder}.unfinished`;

/** In the folder of an import under way: how to go on with it after it was broken off. */
export const UNFINISHED_FILE = 'unfinished.json';
export const UNFINISHED_FORMAT = 'slurry-ledger unfinished import';

interface Span {
	readonly from_s: number;
	readonly to_s: number;
}

/** What the writer of a series holds when a day has just ended. */
export interface WriterState {
	/** First day that is still to be written, days since 1970. */
	readonly day: number;
	/** Columns of the record so far, in the order of the day files. */
	readonly columns: readonly string[];
	/** Columns any day written has. */
	readonly names: readonly string[];
	/** Days written by this import, each with the CRC-32 of its file. */
	readonly days: readonly (SeriesDay & { readonly crc: number })[];
	/** Day files of this import that others have taken the place of. */
	readonly outdated: readonly string[];
	readonly found: MergeCount;
	readonly conflicts: readonly SeriesConflict[];
	readonly overlap: Span | null;
}

/** What was asked of an import; the same is asked when it goes on. */
export interface UnfinishedAsk {
	/** Absolute paths. */
	readonly files: readonly string[];
	readonly layout: LoggerLayout;
	readonly saveAs: string | null;
	readonly conflicts: OnConflict;
	readonly take: 'all' | 'goodRows';
}

/** An import that was broken off, as it stood at the end of its last whole day. */
export interface Unfinished {
	readonly ask: UnfinishedAsk;
	/** Unix s at which it was begun. */
	readonly begun_s: number;
	/** Manifest of the series it goes into, as SHA-256; null: a new one. */
	readonly base: string | null;
	/** Parts of the files that have been read. */
	readonly read: readonly { readonly bytes: number; readonly sha256: string }[];
	readonly ofBytes: number;
	readonly gapLimit_s: number;
	readonly firstTime_s: number;
	readonly place: RecordPlace;
	readonly writer: WriterState;
}

/** Replaces what was noted before in one step. */
export function noteUnfinished(folder: string, content: Unfinished): void {
	const part = join(folder, `${UNFINISHED_FILE}.part`);
	const fd = openSync(part, 'w');
	try {
		writeSync(fd, JSON.stringify({ format: UNFINISHED_FORMAT, version: 1, ...content }));
		fsyncSync(fd);
	} finally {
		closeSync(fd);
	}
	renameSync(part, join(folder, UNFINISHED_FILE));
}

/** Removes all that an import which was broken off has left. */
export function dropUnfinished(seriesFolder: string): void {
	rmSync(unfinishedFolder(seriesFolder), { recursive: true, force: true });
}
