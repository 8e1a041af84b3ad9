import {
	closeSync,
	existsSync,
	fsync,
	fsyncSync,
	mkdirSync,
	openSync,
	readdirSync,
	readFileSync,
	renameSync,
	rmdirSync,
	rmSync,
	writeSync,
} from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { crc32 } from 'node:zlib';
import { MODE_MISSING, MODES } from '../../calc/circuit/samples.ts';
import { type LoggerBatch, NUMBER_COLUMNS } from './batch.ts';
import { MANIFEST_FILE, type Manifest, manifestText, type SeriesDay } from './manifest.ts';
import {
	type DayRows,
	type MergeCount,
	mergeDay,
	type OnConflict,
	type SeriesConflict,
} from './mergeday.ts';
import type { SeriesColumn } from './parquet/column.ts';
import { decodeParquet, SeriesDamaged } from './parquet/decode.ts';
import { encodeParquet } from './parquet/encode.ts';
import { UNFINISHED_FILE, unfinishedFolder, type WriterState } from './unfinished.ts';

const DAY_S = 86_400;
const CREATED_BY = 'Slurry Ledger';

interface DayColumn {
	values: Float64Array;
	decimals: number | null;
}

/** A day as the series has it, or as this import has written it already. */
interface KnownDay extends SeriesDay {
	readonly path: string;
	readonly isNew: boolean;
	/** CRC-32 of a new file: after a power cut it may have its length and not its content. */
	readonly crc: number;
}

export interface SeriesGrowth extends MergeCount {
	readonly conflictsListed: readonly SeriesConflict[];
	/** First and last stamp of the days that changed; null: none did. */
	readonly changed: { readonly from_s: number; readonly to_s: number } | null;
	/** Part of the files that lay within what was there; null: none. */
	readonly overlap: { readonly from_s: number; readonly to_s: number } | null;
}

/** Conflicts told one by one; the rest is counted. */
const CONFLICTS_LISTED = 200;

/**
 * Writes a record beside the project: one Parquet file for each UTC day under `day=YYYY-MM-DD/`, in
 * the units and under the names of readings.csv. All is written into a folder of another name, each
 * file forced to disk. A new series gets its name when it is whole. Into a series that is there, the
 * days that changed are moved under names of their own, and then its manifest is replaced in one
 * step: whatever happens, it holds all of an import or nothing. What a broken-off import left is
 * cleared away first, but for the whole days of one that goes on: the result is then the same to the
 * byte as without the break.
 */
export class SeriesWriter {
	readonly #folder: string;
	readonly #unfinished: string;
	readonly #names = new Set<string>();
	readonly #syncs: Promise<void>[] = [];
	#day = Number.NaN;
	#count = 0;
	#time: Float64Array = new Float64Array(DAY_S);
	#mode: Uint8Array = new Uint8Array(DAY_S);
	#columns = new Map<string, DayColumn>();

	readonly #base: Manifest | null;
	readonly #onConflict: OnConflict;
	readonly #known = new Map<number, KnownDay>();
	readonly #found: MergeCount = { added: 0, duplicates: 0, completed: 0, conflicts: 0 };
	readonly #conflicts: SeriesConflict[] = [];
	#overlap: { from_s: number; to_s: number } | null = null;
	readonly #outdated: string[] = [];
	/** Days before this one were written before the import was broken off. */
	#skipTo = Number.NEGATIVE_INFINITY;
	readonly #dayEnds: (() => void) | undefined;

	/**
	 * `base`: manifest of the series that is there, null for a new one. `goOn`: the import goes on from
	 * there, and rows of the file being read that were kept then are passed over. `dayEnds`: told when all
	 * rows so far are in whole days.
	 */
	constructor(
		seriesFolder: string,
		base: Manifest | null = null,
		onConflict: OnConflict = 'refuse',
		goOn: WriterState | null = null,
		dayEnds?: () => void,
	) {
		this.#dayEnds = dayEnds;
		this.#folder = seriesFolder;
		this.#base = base;
		this.#onConflict = onConflict;
		for (const day of base?.days ?? [])
			this.#known.set(Math.floor(day.from_s / DAY_S), {
				...day,
				path: join(seriesFolder, day.file),
				isNew: false,
				crc: 0,
			});
		this.#unfinished = unfinishedFolder(seriesFolder);
		if (base !== null) clearStrays(seriesFolder, base);
		if (goOn === null) {
			rmSync(this.#unfinished, { recursive: true, force: true });
			mkdirSync(this.#unfinished, { recursive: true });
		} else this.#takeUp(goOn);
	}

	#takeUp(state: WriterState): void {
		const { day, columns, names, days, outdated, found, conflicts, overlap } = state;
		const pathOf = (file: string): string => join(this.#unfinished, file);
		clearOthers(this.#unfinished, new Set([...days.map(({ file }) => file), ...outdated]));
		for (const one of days) {
			const path = pathOf(one.file);
			if (!existsSync(path) || crc32(readFileSync(path)) !== one.crc)
				throw new SeriesDamaged(`${one.file} of the unfinished import is gone or altered`);
			this.#known.set(Math.floor(one.from_s / DAY_S), { ...one, path, isNew: true });
		}
		this.#outdated.push(...outdated.map(pathOf));
		for (const name of names) this.#names.add(name);
		for (const id of columns)
			this.#columns.set(id, {
				values: new Float64Array(this.#time.length).fill(Number.NaN),
				decimals: 0,
			});
		Object.assign(this.#found, found);
		this.#conflicts.push(...conflicts);
		this.#overlap = overlap;
		this.#skipTo = day;
	}

	/** All that is needed to go on from here; asked when a day has just ended. */
	get state(): WriterState {
		const files = (paths: readonly string[]): string[] =>
			paths.map((path) => relative(this.#unfinished, path).replaceAll('\\', '/'));
		return {
			day: this.#day,
			columns: [...this.#columns.keys()],
			names: [...this.#names],
			days: [...this.#known.values()].flatMap(({ isNew, path: _path, ...day }) =>
				isNew ? [day] : [],
			),
			outdated: files(this.#outdated),
			found: { ...this.#found },
			conflicts: this.#conflicts.slice(),
			overlap: this.#overlap,
		};
	}

	/** What has been found so far. A file at its end is to be closed with {@link endFile} first. */
	get growth(): SeriesGrowth {
		const fresh = [...this.#known.values()].filter((day) => day.isNew);
		return {
			...this.#found,
			conflictsListed: this.#conflicts,
			changed:
				fresh.length === 0
					? null
					: {
							from_s: Math.min(...fresh.map((day) => day.from_s)),
							to_s: Math.max(...fresh.map((day) => day.to_s)),
						},
			overlap: this.#overlap,
		};
	}

	/** Rows that come after this may lie before those that came: another file begins. */
	endFile(): void {
		this.#writeDay();
		this.#day = Number.NaN;
		this.#skipTo = Number.NEGATIVE_INFINITY;
	}

	append(batch: LoggerBatch): void {
		let from = 0;
		while (from < batch.count) {
			const day = Math.floor(batch.time_s[from]! / DAY_S);
			if (day < this.#skipTo) {
				while (from < batch.count && batch.time_s[from]! < this.#skipTo * DAY_S) from++;
				continue;
			}
			if (day !== this.#day) {
				this.#writeDay();
				this.#day = day;
				this.#dayEnds?.();
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

	/** Writes what is left and the manifest, and puts the series in place. */
	async finish(content: Pick<Manifest, 'gapLimit_s' | 'sources'>): Promise<void> {
		this.#writeDay();
		await Promise.all(this.#syncs);
		// From here on the days are put in place: what is broken off now is begun anew.
		rmSync(join(this.#unfinished, UNFINISHED_FILE), { force: true });
		for (const path of this.#outdated) rmSync(path);
		const known = [...this.#known.values()].sort((a, b) => a.from_s - b.from_s);
		const days = known.map((day): SeriesDay => {
			const { rows, bytes, from_s, to_s } = day;
			return {
				file: this.#base === null ? day.file : this.#placed(day),
				rows,
				bytes,
				from_s,
				to_s,
			};
		});
		const columns = new Set([...(this.#base?.columns ?? []), ...this.#names]);
		const manifest = manifestText({
			...content,
			rows: days.reduce((sum, day) => sum + day.rows, 0),
			columns: NUMBER_COLUMNS.filter((id) => columns.has(id)),
			days,
		});
		const written = join(this.#unfinished, MANIFEST_FILE);
		const fd = openSync(written, 'wx');
		try {
			writeSync(fd, manifest);
			fsyncSync(fd);
		} finally {
			closeSync(fd);
		}
		if (this.#base === null) {
			syncFolder(this.#unfinished);
			renameSync(this.#unfinished, this.#folder);
			syncFolder(dirname(this.#folder));
			return;
		}
		renameSync(written, join(this.#folder, MANIFEST_FILE));
		syncFolder(this.#folder);
		const named = new Set(days.map((day) => day.file));
		for (const day of this.#base.days)
			if (!named.has(day.file)) rmSync(join(this.#folder, day.file), { force: true });
		rmSync(this.#unfinished, { recursive: true, force: true });
	}

	/** Moves a day written now beside the one it replaces, under a name that the series does not have. */
	#placed(day: KnownDay): string {
		if (!day.isNew) return day.file;
		const folder = dirname(day.file);
		mkdirSync(join(this.#folder, folder), { recursive: true });
		const taken = new Set(this.#base?.days.map((each) => each.file));
		let file = `${folder}/series.parquet`;
		for (let n = 2; taken.has(file); n++) file = `${folder}/series-${n}.parquet`;
		renameSync(day.path, join(this.#folder, file));
		syncFolder(join(this.#folder, folder));
		return file;
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
		if (this.#count === 0) return;
		const fresh: DayRows = {
			count: this.#count,
			time_s: this.#time,
			mode: this.#mode,
			numbers: [...this.#columns].map(([id, { values, decimals }]) => ({ id, values, decimals })),
		};
		this.#count = 0;
		this.#columns = new Map(
			[...this.#columns].map(([id, { values }]) => [id, { values, decimals: 0 }]),
		);
		const known = this.#known.get(this.#day);
		if (known === undefined) {
			this.#found.added += fresh.count;
			this.#write(fresh);
			return;
		}
		const { rows, count } = mergeDay(readDay(known), fresh, this.#onConflict, (conflict) => {
			if (this.#conflicts.length < CONFLICTS_LISTED) this.#conflicts.push(conflict);
		});
		for (const key of ['added', 'duplicates', 'completed', 'conflicts'] as const)
			this.#found[key] += count[key];
		this.#widenOverlap(known, fresh);
		const differs =
			count.added + count.completed > 0 || (count.conflicts > 0 && this.#onConflict === 'takeFile');
		if (differs) this.#write(rows);
	}

	#widenOverlap(known: KnownDay, { time_s, count }: DayRows): void {
		const from_s = Math.max(known.from_s, time_s[0]!);
		const to_s = Math.min(known.to_s, time_s[count - 1]!);
		if (from_s > to_s) return;
		const so = this.#overlap ?? { from_s, to_s };
		this.#overlap = { from_s: Math.min(so.from_s, from_s), to_s: Math.max(so.to_s, to_s) };
	}

	#write({ count, time_s, mode, numbers }: DayRows): void {
		const columns: SeriesColumn[] = [
			{ kind: 'time', name: 'time', values: time_s },
			{ kind: 'word', name: 'mode', values: mode, words: MODES },
		];
		for (const { id, values, decimals } of numbers) {
			columns.push({ kind: 'number', name: id, values, decimals });
			this.#names.add(id);
		}
		const bytes = encodeParquet(columns, count, CREATED_BY);
		const dayName = `day=${new Date(this.#day * DAY_S * 1000).toISOString().slice(0, 10)}`;
		// A day written before in this import may still be on its way to the disk: it gets another name.
		const before = this.#known.get(this.#day);
		if (before?.isNew === true) this.#outdated.push(before.path);
		const name = `series${before?.isNew === true ? `-${this.#outdated.length + 1}` : ''}.parquet`;
		const path = join(this.#unfinished, dayName, name);
		mkdirSync(dirname(path), { recursive: true });
		const fd = openSync(path, 'wx');
		writeAll(fd, bytes);
		this.#syncs.push(syncAndClose(fd));
		this.#known.set(this.#day, {
			file: `${dayName}/${name}`,
			path,
			isNew: true,
			crc: crc32(bytes),
			rows: count,
			bytes: bytes.length,
			from_s: time_s[0]!,
			to_s: time_s[count - 1]!,
		});
	}
}

/** Removes day files that the manifest does not name: an import was killed while it put them in place. */
function clearStrays(folder: string, { days }: Manifest): void {
	const named = new Set(days.map((day) => day.file));
	for (const day of readdirSync(folder)) {
		if (!/^day=\d{4}-\d{2}-\d{2}$/u.test(day)) continue;
		for (const name of readdirSync(join(folder, day)))
			if (/^series(-\d+)?\.parquet$/u.test(name) && !named.has(`${day}/${name}`))
				rmSync(join(folder, day, name), { force: true });
	}
}

/** Removes day files of an unfinished import that were written after its state was noted. */
function clearOthers(unfinished: string, kept: ReadonlySet<string>): void {
	for (const day of readdirSync(unfinished, { withFileTypes: true })) {
		if (!day.isDirectory()) continue;
		for (const name of readdirSync(join(unfinished, day.name)))
			if (!kept.has(`${day.name}/${name}`)) rmSync(join(unfinished, day.name, name));
		if (readdirSync(join(unfinished, day.name)).length === 0) rmdirSync(join(unfinished, day.name));
	}
}

/** A whole day with every column it has. Throws {@link SeriesDamaged} if the file is not what the manifest says. */
function readDay(day: KnownDay): DayRows {
	const bytes = readFileSync(day.path);
	if (bytes.length !== day.bytes) throw new SeriesDamaged(`${day.file} has ${bytes.length} bytes`);
	const { count, columns } = decodeParquet(bytes, () => true);
	const time = columns.find((column) => column.kind === 'time');
	const mode = columns.find((column) => column.kind === 'word');
	if (time === undefined || count !== day.rows) throw new SeriesDamaged(`${day.file} is altered`);
	return {
		count,
		time_s: time.values,
		mode: mode?.values ?? new Uint8Array(count).fill(MODE_MISSING),
		numbers: columns.flatMap((column) =>
			column.kind === 'number'
				? [{ id: column.name, values: column.values, decimals: column.decimals }]
				: [],
		),
	};
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
