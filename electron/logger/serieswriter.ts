import {
	closeSync,
	fsync,
	fsyncSync,
	mkdirSync,
	openSync,
	renameSync,
	rmSync,
	writeSync,
} from 'node:fs';
import { dirname, join } from 'node:path';
import { MODES } from '../../calc/circuit/samples.ts';
import type { LoggerBatch } from './batch.ts';
import { MANIFEST_FILE, type Manifest, manifestText, type SeriesDay } from './manifest.ts';
import type { SeriesColumn } from './parquet/column.ts';
import { encodeParquet } from './parquet/encode.ts';

const DAY_S = 86_400;
const CREATED_BY = 'Slurry Ledger';

/** Where a series is written until it is whole. */
export const unfinishedFolder = (seriesFolder: string): string => `${seriesFolder}.unfinished`;

interface DayColumn {
	values: Float64Array;
	decimals: number | null;
}

/**
 * Writes a record beside the project: one Parquet file for each UTC day under `day=YYYY-MM-DD/`, in
 * the units and under the names of readings.csv. All is written into a folder of another name, each
 * file forced to disk; the manifest comes last and then the folder gets its name, so a series is
 * there whole or not at all. What a broken-off import left is cleared away first.
 */
export class SeriesWriter {
	readonly #folder: string;
	readonly #unfinished: string;
	readonly #days: SeriesDay[] = [];
	readonly #names = new Set<string>();
	readonly #syncs: Promise<void>[] = [];
	#day = Number.NaN;
	#count = 0;
	#time: Float64Array = new Float64Array(DAY_S);
	#mode: Uint8Array = new Uint8Array(DAY_S);
	#columns = new Map<string, DayColumn>();

	constructor(seriesFolder: string) {
		this.#folder = seriesFolder;
		this.#unfinished = unfinishedFolder(seriesFolder);
		rmSync(this.#unfinished, { recursive: true, force: true });
		mkdirSync(this.#unfinished, { recursive: true });
	}

	append(batch: LoggerBatch): void {
		let from = 0;
		while (from < batch.count) {
			const day = Math.floor(batch.time_s[from]! / DAY_S);
			if (day !== this.#day) {
				this.#writeDay();
				this.#day = day;
			}
			let to = batch.count;
			if (batch.time_s[to - 1]! >= (day + 1) * DAY_S) {
				to = from;
				while (batch.time_s[to]! < (day + 1) * DAY_S) to++;
			}
			this.#keep(batch, from, to);
			from = to;
		}
	}

	/** Writes what is left and the manifest, and gives the folder its name. */
	async finish(content: Pick<Manifest, 'gapLimit_s' | 'sources'>): Promise<void> {
		this.#writeDay();
		await Promise.all(this.#syncs);
		const manifest = manifestText({
			...content,
			rows: this.#days.reduce((sum, day) => sum + day.rows, 0),
			columns: [...this.#names],
			days: this.#days,
		});
		const fd = openSync(join(this.#unfinished, MANIFEST_FILE), 'wx');
		try {
			writeSync(fd, manifest);
			fsyncSync(fd);
		} finally {
			closeSync(fd);
		}
		syncFolder(this.#unfinished);
		renameSync(this.#unfinished, this.#folder);
		syncFolder(dirname(this.#folder));
	}

	#keep(batch: LoggerBatch, from: number, to: number): void {
		const n = to - from;
		const at = this.#count;
		this.#makeRoom(at + n);
		this.#time.set(batch.time_s.subarray(from, to), at);
		this.#mode.set(batch.mode.subarray(from, to), at);
		for (const { id, values, decimals } of batch.numbers) {
			let column = this.#columns.get(id);
			if (column === undefined) {
				column = {
					values: new Float64Array(this.#time.length).fill(Number.NaN, 0, at),
					decimals: 0,
				};
				this.#columns.set(id, column);
			}
			column.values.set(values.subarray(from, to), at);
			column.decimals =
				column.decimals === null || decimals === null ? null : Math.max(column.decimals, decimals);
		}
		for (const [id, column] of this.#columns)
			if (!batch.numbers.some((given) => given.id === id))
				column.values.fill(Number.NaN, at, at + n);
		this.#count = at + n;
	}

	#makeRoom(rows: number): void {
		if (rows <= this.#time.length) return;
		const room = Math.max(rows, this.#time.length * 2);
		const grown = (old: Float64Array): Float64Array => {
			const next = new Float64Array(room);
			next.set(old);
			return next;
		};
		this.#time = grown(this.#time);
		const mode = new Uint8Array(room);
		mode.set(this.#mode);
		this.#mode = mode;
		for (const column of this.#columns.values()) column.values = grown(column.values);
	}

	#writeDay(): void {
		const count = this.#count;
		if (count === 0) return;
		const columns: SeriesColumn[] = [
			{ kind: 'time', name: 'time', values: this.#time },
			{ kind: 'word', name: 'mode', values: this.#mode, words: MODES },
		];
		for (const [name, { values, decimals }] of this.#columns) {
			columns.push({ kind: 'number', name, values, decimals });
			this.#names.add(name);
		}
		const bytes = encodeParquet(columns, count, CREATED_BY);
		const dayName = `day=${new Date(this.#day * DAY_S * 1000).toISOString().slice(0, 10)}`;
		mkdirSync(join(this.#unfinished, dayName));
		const fd = openSync(join(this.#unfinished, dayName, 'series.parquet'), 'wx');
		writeAll(fd, bytes);
		this.#syncs.push(syncAndClose(fd));
		this.#days.push({
			file: `${dayName}/series.parquet`,
			rows: count,
			bytes: bytes.length,
			from_s: this.#time[0]!,
			to_s: this.#time[count - 1]!,
		});
		this.#count = 0;
		this.#columns = new Map(
			[...this.#columns].map(([id, { values }]) => [id, { values, decimals: 0 }]),
		);
	}
}

function writeAll(fd: number, bytes: Uint8Array): void {
	for (let at = 0; at < bytes.length; ) at += writeSync(fd, bytes, at);
}

function syncAndClose(fd: number): Promise<void> {
	const { promise, resolve, reject } = Promise.withResolvers<void>();
	fsync(fd, (error) => {
		closeSync(fd);
		if (error) reject(error);
		else resolve();
	});
	// The failure is met where all are awaited; until then it must not count as unhandled.
	promise.catch(() => {});
	return promise;
}

/** Names are on disk only when their folder is. Windows has no such call and needs none. */
function syncFolder(folder: string): void {
	if (process.platform === 'win32') return;
	const fd = openSync(folder, 'r');
	try {
		fsyncSync(fd);
	} finally {
		closeSync(fd);
	}
}
