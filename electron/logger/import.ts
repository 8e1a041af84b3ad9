import { existsSync, statSync } from 'node:fs';
import { basename } from 'node:path';
import { MessageChannel, type Transferable, type Worker } from 'node:worker_threads';
import type { RingBalance } from '../../calc/circuit/ringbalance.ts';
import type { Fault } from '../../calc/fault/fault.ts';
import type { LoggerLayout } from '../contract/loggerimport.ts';
import type { RuleStretch } from './layout/rulestretch.ts';
import type { Manifest, SeriesSource } from './manifest.ts';
import type { OnConflict } from './mergeday.ts';
import type { Noting, ToMain, WorkerTask } from './messages.ts';
import { SeriesDamaged } from './parquet/decode.ts';
import { ReadyThreads } from './readythreads.ts';
import type { DriveInputs } from './ringwindow.ts';
import type { SeriesGrowth } from './serieswriter.ts';
import { dropUnfinished, type Unfinished, type UnfinishedAsk } from './unfinished.ts';

export interface LoggerProgress {
	readonly rows: number;
	readonly bytes: number;
	/** Mean speed since the import began. */
	readonly rows_per_s: number;
	/** Of all files together. */
	readonly ofBytes: number;
	/** At the mean speed so far; null until it can be told. */
	readonly left_s: number | null;
}

export interface LoggerImportAsk {
	/** Absolute paths; read as one record, in the order of their first stamps. */
	readonly files: readonly string[];
	/** Folder the series is to stand in; must not exist, unless `base` is given. */
	readonly seriesFolder: string;
	/** The series that stands in the folder and is to take in the rows; absent: a new one. */
	readonly base?: Manifest | null;
	/** How the files are laid out; absent: the plain dialect. With a layout, or into a series that is there, files may reach over each other. */
	readonly layout?: LoggerLayout | null;
	/** What is done with figures that differ from those there; `refuse` keeps nothing of the import. */
	readonly onConflict?: OnConflict;
	/** null: no ring is balanced on the way. */
	readonly inputs: DriveInputs | null;
	/** `all`: with a stop fault nothing is kept. `goodRows`: what can be read is taken. */
	readonly take: 'all' | 'goodRows';
	readonly onProgress?: ((progress: LoggerProgress) => void) | undefined;
	readonly signal?: AbortSignal | undefined;
	/** Threads started ahead; absent: they are started now. */
	readonly threads?: ReadyThreads | undefined;
	/**
	 * Whole days are kept aside when the import is aborted or the process dies, with a note of how to go on
	 * ({@link unfinishedImport}). Needs a layout, and no rings to balance.
	 */
	readonly keepAside?: {
		readonly ask: UnfinishedAsk;
		readonly begun_s: number;
		/** Identity of `base`; null: a new series. */
		readonly base: string | null;
		/** Milliseconds between two notes at least; 0: at every day. */
		readonly every_ms?: number;
	};
	/** Goes on with this import, of which days are kept aside. Rejects with `FilesChanged` if the files are others now. */
	readonly goOn?: Unfinished;
}

const NOTE_EVERY_MS = 250;

export interface LoggerImport {
	/** In the order the files were given. */
	readonly sources: readonly SeriesSource[];
	readonly rows: number;
	/** Unix s; null if there is no row. */
	readonly firstTime_s: number | null;
	readonly lastTime_s: number | null;
	/** Two stamps farther apart are a gap; null if there is no row. */
	readonly gapLimit_s: number | null;
	/** Of the rings the record reaches over, in order of their advance. Empty if files reach over each other. */
	readonly balances: readonly RingBalance[];
	readonly faults: readonly Fault[];
	readonly moreFaults: number;
	/** Stop faults found, listed or not. */
	readonly stops: number;
	/** The series stands in its folder with the rows. False if there was nothing new to keep, figures differ and `onConflict` is `refuse`, or, with `take: 'all'`, there is a stop fault. */
	readonly kept: boolean;
	readonly growth: SeriesGrowth;
	/** First and last stamp of each file, in the order given; null: it has no row. */
	readonly spanByFile: readonly ({ readonly from_s: number; readonly to_s: number } | null)[];
	/** Which rule told the mode of which stamps, in order of the files; empty where modes were recorded. */
	readonly modeRules: readonly RuleStretch[];
}

export type LoggerInspection = Omit<
	LoggerImport,
	'sources' | 'balances' | 'kept' | 'growth' | 'spanByFile' | 'modeRules'
> & {
	readonly rowsByFile: readonly number[];
};

type ReadAnswer = Extract<ToMain, { what: 'read' }>;

/**
 * Streams logger files once: balances every ring the record reaches over, hashes the files and writes
 * the raw series into its folder, in two threads. Aborting rejects with the signal's reason; then, on
 * any failure, and if the process dies, no series is left in place.
 */
export async function importLogger(ask: LoggerImportAsk): Promise<LoggerImport> {
	const { files, seriesFolder, inputs, signal } = ask;
	const base = ask.base ?? null;
	const layout = ask.layout ?? null;
	signal?.throwIfAborted();
	if (base === null && existsSync(seriesFolder))
		throw new Error(`${basename(seriesFolder)} is already there`);
	const { port1, port2 } = new MessageChannel();
	const ofBytes = bytesOf(files);
	const threads = new ImportThreads(signal, ofBytes, ask.threads);
	const goOn = ask.goOn ?? null;
	const noting: Noting | null =
		ask.keepAside === undefined ? null : { every_ms: NOTE_EVERY_MS, ...ask.keepAside, ofBytes };
	let isOver = false;
	try {
		const series = threads.start(
			{
				role: 'series',
				files,
				seriesFolder,
				base,
				onConflict: ask.onConflict ?? 'refuse',
				batches: port2,
				inputs,
				noting,
				goOn,
			},
			[port2],
		);
		const written = threads.answer(series, 'series');
		const overlapping = base !== null || layout !== null;
		const reader = threads.start(
			{
				role: 'read',
				files,
				layout,
				overlapping,
				series: port1,
				hashing: noting === null,
				goOn,
			},
			[port1],
		);
		const read = await threads.answer(reader, 'read', ask.onProgress);
		const keep = read.firstTime_s !== null && (ask.take === 'goodRows' || read.stops === 0);
		// From here on the series is put in place: that is not broken off half way.
		signal?.throwIfAborted();
		threads.holdOut();
		reader.postMessage(keep);
		isOver = true;
		const { sources, kept, growth, balances } = await written;
		const { spanByFile } = read;
		return {
			...found(read),
			sources,
			balances,
			kept,
			growth,
			spanByFile,
			modeRules: read.modeRules,
		};
	} catch (error) {
		const { name } = error as Error;
		// Days that cannot be read are of no use to go on with; files may come back.
		isOver =
			(isOver || error instanceof SeriesDamaged || name === 'SeriesDamaged') &&
			name !== 'FilesChanged';
		throw error;
	} finally {
		await threads.stop();
		if (isOver || noting === null || !(await canGoOn(seriesFolder))) dropUnfinished(seriesFolder);
	}
}

/** Asked only of an import that was broken off: what reads its note is slow to load. */
async function canGoOn(seriesFolder: string): Promise<boolean> {
	const { unfinishedImport } = await import('./unfinishedreader.ts');
	return unfinishedImport(seriesFolder) !== null;
}

/** Reads logger files through without keeping anything: how many rows there are and what is wrong with them. */
export async function inspectLogger(
	files: readonly string[],
	options: Pick<LoggerImportAsk, 'onProgress' | 'signal'> = {},
): Promise<LoggerInspection> {
	options.signal?.throwIfAborted();
	const threads = new ImportThreads(options.signal, bytesOf(files));
	try {
		const reader = threads.start(
			{
				role: 'read',
				files,
				layout: null,
				overlapping: false,
				series: null,
				hashing: false,
				goOn: null,
			},
			[],
		);
		const read = await threads.answer(reader, 'read', options.onProgress);
		return { ...found(read), rowsByFile: read.rowsByFile };
	} finally {
		await threads.stop();
	}
}

/** A file that is not there counts nothing; it is told when it is read. */
function bytesOf(files: readonly string[]): number {
	return files.reduce(
		(sum, file) => sum + (statSync(file, { throwIfNoEntry: false })?.size ?? 0),
		0,
	);
}

function found(read: ReadAnswer) {
	const { firstTime_s, lastTime_s, gapLimit_s, faults, moreFaults, stops } = read;
	return {
		rows: read.rowsByFile.reduce((sum, rows) => sum + rows, 0),
		firstTime_s,
		lastTime_s,
		gapLimit_s,
		faults,
		moreFaults,
		stops,
	};
}

/** The threads of one import: started together, and all ended when one fails or the import is aborted. */
class ImportThreads {
	readonly #workers: Worker[] = [];
	readonly #failed = Promise.withResolvers<never>();
	readonly #signal: AbortSignal | undefined;
	readonly #abort = (): void => this.#failed.reject(this.#signal?.reason);
	readonly #started_ms = performance.now();
	readonly #ofBytes: number;
	readonly #ready: ReadyThreads;

	constructor(
		signal: AbortSignal | undefined,
		ofBytes: number,
		ready: ReadyThreads = new ReadyThreads(0),
	) {
		this.#ready = ready;
		this.#signal = signal;
		this.#ofBytes = ofBytes;
		signal?.addEventListener('abort', this.#abort, { once: true });
		this.#failed.promise.catch(() => {});
	}

	start(task: WorkerTask, transfer: Transferable[]): Worker {
		const worker = this.#ready.take();
		worker.postMessage(task, transfer);
		worker.on('error', (error) => this.#failed.reject(error));
		this.#workers.push(worker);
		return worker;
	}

	/** The thread's answer of one kind; rejects if any thread fails or the import is aborted. */
	answer<K extends Exclude<ToMain['what'], 'progress'>>(
		worker: Worker,
		what: K,
		onProgress?: (progress: LoggerProgress) => void,
	): Promise<Extract<ToMain, { what: K }>> {
		const { promise, resolve } = Promise.withResolvers<Extract<ToMain, { what: K }>>();
		worker.on('message', (message: ToMain) => {
			if (message.what === 'progress') {
				const passed_s = Math.max(1e-3, (performance.now() - this.#started_ms) / 1000);
				onProgress?.({
					rows: message.rows,
					bytes: message.bytes,
					rows_per_s: message.rows / passed_s,
					ofBytes: this.#ofBytes,
					left_s:
						message.bytes === 0
							? null
							: (passed_s * Math.max(0, this.#ofBytes - message.bytes)) / message.bytes,
				});
			} else if (message.what === what) resolve(message as Extract<ToMain, { what: K }>);
		});
		const answer = Promise.race([promise, this.#failed.promise]);
		// Two answers are awaited one after the other: the one not yet awaited must not count as unhandled.
		answer.catch(() => {});
		return answer;
	}

	/** The signal is not listened to any more. */
	holdOut(): void {
		this.#signal?.removeEventListener('abort', this.#abort);
	}

	async stop(): Promise<void> {
		this.#signal?.removeEventListener('abort', this.#abort);
		await Promise.all(this.#workers.map((worker) => worker.terminate()));
	}
}
