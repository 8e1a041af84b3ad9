import type { MessagePort } from 'node:worker_threads';
import type { RingBalance } from '../../calc/circuit/ringbalance.ts';
import type { Fault } from '../../calc/fault/fault.ts';
import type { LoggerLayout } from '../contract/loggerimport.ts';
import type { FaultsSoFar } from '../folder/faultlist.ts';
import type { LoggerBatch } from './batch.ts';
import type { HashedFile } from './filehash.ts';
import type { RuleStretch } from './layout/rulestretch.ts';
import type { Manifest, SeriesSource } from './manifest.ts';
import type { OnConflict } from './mergeday.ts';
import type { FilesRead, RecordPlace } from './readrecord.ts';
import type { DriveInputs } from './ringwindow.ts';
import type { SeriesGrowth } from './serieswriter.ts';
import type { Unfinished, UnfinishedAsk } from './unfinished.ts';

/** What the threads of an import are started with and say to each other. */
export type WorkerTask =
	| {
			readonly role: 'read';
			readonly files: readonly string[];
			/** null: the plain dialect, files one after the other. */
			readonly layout: LoggerLayout | null;
			/** Each file is in order by itself only. */
			readonly overlapping: boolean;
			/** To the thread that writes the series; null: none is written. */
			readonly series: MessagePort | null;
			/** The files are hashed as they are read; false: by the thread that writes, which notes how far it came. */
			readonly hashing: boolean;
			/** An import that was broken off goes on; null: it begins. */
			readonly goOn: Pick<Unfinished, 'place' | 'gapLimit_s' | 'firstTime_s'> | null;
	  }
	| {
			readonly role: 'series';
			readonly files: readonly string[];
			readonly seriesFolder: string;
			/** null: the series is new. */
			readonly base: Manifest | null;
			readonly onConflict: OnConflict;
			readonly batches: MessagePort;
			/** null: no ring is balanced on the way. */
			readonly inputs: DriveInputs | null;
			/** How to go on with the import is noted while it runs; null: it cannot go on. */
			readonly noting: Noting | null;
			readonly goOn: Unfinished | null;
	  };

export interface Noting extends Pick<Unfinished, 'base' | 'begun_s' | 'ofBytes'> {
	readonly ask: UnfinishedAsk;
	/** Milliseconds between two notes at least. */
	readonly every_ms: number;
}

/** Where reading stood before a batch; faults listed since the last batch, of the others the counts. */
export interface BatchPlace extends Omit<RecordPlace, 'file' | 'before' | 'faults'> {
	/** Sent with the first batch of each file. */
	readonly before: FilesRead | null;
	readonly faults: FaultsSoFar;
	/** null: not known yet, or there are no rows before. */
	readonly gapLimit_s: number | null;
	readonly firstTime_s: number | null;
}

/** From the reading thread to the series thread. */
export type ToSeries =
	/** `upTo`: bytes of the file that have been read so far. */
	| {
			readonly what: 'batch';
			readonly file: number;
			readonly upTo: number;
			readonly batch: LoggerBatch;
			readonly at: BatchPlace;
	  }
	| {
			readonly what: 'end';
			readonly rowsByFile: readonly number[];
			readonly gapLimit_s: number;
			readonly keep: boolean;
			/** Of each file, null for one that cannot be read; null altogether: the series thread hashes. */
			readonly hashed: readonly (HashedFile | null)[] | null;
	  };
/** Back: one batch has been taken and may be filled again. */
export type FromSeries = { readonly what: 'taken'; readonly batch: LoggerBatch };

export type ToMain =
	| { readonly what: 'progress'; readonly rows: number; readonly bytes: number }
	| {
			readonly what: 'read';
			readonly rowsByFile: readonly number[];
			readonly bytesByFile: readonly number[];
			readonly spanByFile: readonly ({ readonly from_s: number; readonly to_s: number } | null)[];
			readonly firstTime_s: number | null;
			readonly lastTime_s: number | null;
			readonly gapLimit_s: number | null;
			readonly modeRules: readonly RuleStretch[];
			readonly faults: readonly Fault[];
			readonly moreFaults: number;
			readonly stops: number;
	  }
	| {
			readonly what: 'series';
			readonly sources: readonly SeriesSource[];
			readonly kept: boolean;
			readonly growth: SeriesGrowth;
			readonly balances: readonly RingBalance[];
	  };
