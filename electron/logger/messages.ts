import type { MessagePort } from 'node:worker_threads';
import type { RingBalance } from '../../calc/circuit/ringbalance.ts';
import type { Fault } from '../../calc/fault/fault.ts';
import type { LoggerLayout } from '../contract/loggerimport.ts';
import type { LoggerBatch } from './batch.ts';
import type { RuleStretch } from './layout/rulestretch.ts';
import type { Manifest, SeriesSource } from './manifest.ts';
import type { OnConflict } from './mergeday.ts';
import type { DriveInputs } from './ringwindow.ts';
import type { SeriesGrowth } from './serieswriter.ts';

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
	  };

/** From the reading thread to the series thread. */
export type ToSeries =
	/** `upTo`: bytes of the file that have been read so far. */
	| {
			readonly what: 'batch';
			readonly file: number;
			readonly upTo: number;
			readonly batch: LoggerBatch;
	  }
	| {
			readonly what: 'end';
			readonly rowsByFile: readonly number[];
			readonly gapLimit_s: number;
			readonly keep: boolean;
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
