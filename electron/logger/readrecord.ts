import { closeSync, openSync, readSync, statSync } from 'node:fs';
import { basename } from 'node:path';
import type { ModeRule } from '../../calc/circuit/moderules.ts';
import { stopFault } from '../../calc/fault/fault.ts';
import type { LoggerLayout } from '../contract/loggerimport.ts';
import { FaultList, type FaultsSoFar } from '../folder/faultlist.ts';
import type { LoggerBatch } from './batch.ts';
import { ByteParser, type ByteParserOptions, type ReadingPlace } from './byteparser.ts';
import { CsvReader } from './layout/csvreader.ts';
import { ModeFiller } from './layout/modefiller.ts';
import { openParquet, ParquetUnreadable } from './layout/parquetreader.ts';
import { isPlain } from './layout/plain.ts';
import { isParquetName, plainParquetLayout } from './layout/plainparquet.ts';
import { RowReader } from './layout/rowreader.ts';
import type { RuleStretch } from './layout/rulestretch.ts';

/** Bytes read at a time: large enough to be quick, small enough for the processor's cache. */
const CHUNK_BYTES = 1 << 20;
/** Where the first stamp of a file is looked for. */
const HEAD_BYTES = 1 << 16;
const FIRST_ROWS = 100;
/** Rows of a Parquet group read without a pause. */
const ROWS_BETWEEN = 8192;

export interface RecordReading {
	readonly faults: FaultList;
	/** How the files are laid out; null: the plain dialect, a file `*.parquet` with the same headings. */
	readonly layout?: LoggerLayout | null;
	/** Files may reach over each other, as exports of overlapping spans do: each is in order by itself only. */
	readonly overlapping?: boolean;
	/**
	 * `file`: index into `files`; `upTo`: bytes of it the batch and what came before can be from; `place`:
	 * where reading can begin anew for this batch, null: at the beginning of the file.
	 */
	readonly take: (
		batch: LoggerBatch,
		file: number,
		upTo: number,
		place: ReadingPlace | null,
	) => void;
	/** Before each file is read: what the ones before it were. */
	readonly begins?: (before: FilesRead) => void;
	/** Begins here instead of at the first file. */
	readonly goOn?: RecordPlace | null;
	/** A batch that is done with and may be filled again. */
	readonly spare?: () => LoggerBatch | undefined;
	/** After every chunk; reading goes on when it settles. */
	readonly between?: (rows: number, bytes: number) => Promise<void> | undefined;
}

/** What is known of the files read to their end; those to come count nothing yet. */
export interface FilesRead {
	/** Files that reading is done with, as indices, in the order of reading. */
	readonly passed: number[];
	readonly rowsByFile: number[];
	readonly bytesByFile: number[];
	/** First and last stamp of each file; null: it has no row. */
	readonly spanByFile: ({ from_s: number; to_s: number } | null)[];
	readonly lastTime_s: number | null;
	/** Which rule told the mode of which stamps, where modes were told from signals. */
	readonly modeRules: RuleStretch[];
}

/** Where in a record reading goes on, and what was known there. */
export interface RecordPlace {
	/** Index into the files. */
	readonly file: number;
	readonly before: FilesRead;
	/** null: at the beginning of the file. */
	readonly place: ReadingPlace | null;
	/** First stamp of the file, if rows of it came before the place. */
	readonly from_s: number | null;
	readonly faults: FaultsSoFar;
}

/** The files are not the ones any more that were being read. */
export class FilesChanged extends Error {
	constructor(message: string) {
		super(message);
		this.name = 'FilesChanged';
	}
}

/**
 * Reads logger files as one record, in the order of their first stamps, whatever they are called.
 * A file that cannot be opened or read is a stop fault.
 */
export async function readRecord(
	files: readonly string[],
	reading: RecordReading,
): Promise<FilesRead> {
	const goOn = reading.goOn ?? null;
	const before = goOn?.before;
	const passed = before?.passed.slice() ?? [];
	const rowsByFile = before?.rowsByFile.slice() ?? files.map(() => 0);
	const bytesByFile = before?.bytesByFile.slice() ?? files.map(() => 0);
	const spanByFile: FilesRead['spanByFile'] = before?.spanByFile.slice() ?? files.map(() => null);
	const modeRules: RuleStretch[] = before?.modeRules.slice() ?? [];
	const layout = reading.layout ?? null;
	const order = [];
	for (const [at, path] of files.entries())
		order.push({ at, first_s: await firstStamp_s(path, layout) });
	order.sort((a, b) => a.first_s - b.first_s || a.at - b.at);
	let latest_s = before?.lastTime_s ?? Number.NEGATIVE_INFINITY;
	let rows = rowsByFile.reduce((sum, n) => sum + n, 0);
	let bytes = bytesByFile.reduce((sum, n) => sum + n, 0);
	const known = (): FilesRead => ({
		passed: passed.slice(),
		rowsByFile: rowsByFile.slice(),
		bytesByFile: bytesByFile.slice(),
		spanByFile: spanByFile.slice(),
		lastTime_s: Number.isFinite(latest_s) ? latest_s : null,
		modeRules: modeRules.slice(),
	});
	if (goOn !== null) {
		const turns = order.map(({ at }) => at).slice(0, passed.length + 1);
		if (turns.join() !== [...passed, goOn.file].join())
			throw new FilesChanged('the files do not follow each other as they did');
		reading.faults.goOnFrom(goOn.faults);
	}
	for (const { at } of order.slice(passed.length)) {
		const path = files[at] ?? '';
		const from = goOn?.file === at ? goOn : null;
		let upTo = 0;
		let place = from?.place ?? null;
		let reader: TextReader | null = null;
		const progress = {
			handed(to: number) {
				upTo = to;
			},
			moved(to: number, rowsOfFile: number) {
				return reading.between?.(rows + rowsOfFile, bytes + to);
			},
		};
		reading.begins?.(known());
		if (place !== null && from?.from_s != null)
			spanByFile[at] = { from_s: from.from_s, to_s: from.from_s };
		const options = {
			file: basename(path),
			faults: reading.faults,
			take: (batch: LoggerBatch) => {
				const to_s = batch.time_s[batch.count - 1]!;
				spanByFile[at] = { from_s: spanByFile[at]?.from_s ?? batch.time_s[0]!, to_s };
				reading.take(batch, at, upTo, place);
				place = reader?.place ?? null;
			},
			spare: reading.spare,
			after_s: reading.overlapping === true ? Number.NEGATIVE_INFINITY : latest_s,
		};
		try {
			const read = isParquet(path, layout)
				? await readParquetFile(path, { ...options, layout }, progress)
				: await readTextFile(
						path,
						() => {
							reader = textReader(options, path, layout);
							return reader;
						},
						progress,
						from?.place ?? null,
						() => {
							if (from !== null) reading.faults.goOnFrom(from.faults);
						},
					);
			bytesByFile[at] = statSync(path).size;
			latest_s = Math.max(latest_s, read.latest_s);
			modeRules.push(...(read.modeRules ?? []));
			rowsByFile[at] = read.rows;
			rows += read.rows;
			bytes += bytesByFile[at] ?? 0;
		} catch (error) {
			const { code } = error as NodeJS.ErrnoException;
			const why = error instanceof ParquetUnreadable ? error.message : code;
			if (why === undefined) throw error;
			reading.faults.add(
				stopFault('file_unreadable', `The file cannot be read (${why}).`, {
					file: basename(path),
					expected: 'a file that can be read',
				}),
			);
		}
		passed.push(at);
	}
	return known();
}

const isParquet = (path: string, layout: LoggerLayout | null): boolean =>
	layout === null ? isParquetName(path) : layout.format === 'parquet';

interface TextReader {
	readonly rows: number;
	readonly latest_s: number;
	readonly unusable: boolean;
	readonly modeRules?: readonly RuleStretch[];
	/** Where the next batch begins, if reading can begin there anew. */
	readonly place?: ReadingPlace;
	goOnFrom?(place: ReadingPlace): void;
	push(chunk: Uint8Array): void;
	end(): void;
}

type ReaderOptions = Omit<ByteParserOptions, 'take'> & {
	readonly take: (batch: LoggerBatch) => void;
};

interface Moving {
	/** Told before a stretch is read: rows may be from so many bytes. */
	handed(bytes: number): void;
	/** Told after every stretch read; reading goes on when what it gives settles. */
	moved(bytes: number, rows: number): Promise<void> | undefined;
}

/** The quick reader for the plain dialect, the other for every other layout. */
function textReader(options: ReaderOptions, path: string, layout: LoggerLayout | null): TextReader {
	if (layout === null || isPlain(layout, headLine(path))) return new ByteParser(options);
	return new FilledReader(options, layout);
}

/** A reader by layout whose batches get their modes by rules, if the layout has any. */
class FilledReader implements TextReader {
	readonly #reader: CsvReader;
	readonly #filler: ModeFiller | null;

	constructor(options: ReaderOptions, layout: LoggerLayout) {
		this.#filler = fillerFor(layout, options.take);
		this.#reader = new CsvReader({
			...options,
			layout,
			take: (batch) => (this.#filler === null ? options.take(batch) : this.#filler.push(batch)),
		});
	}
	get rows(): number {
		return this.#reader.rows;
	}
	get latest_s(): number {
		return this.#reader.latest_s;
	}
	get modeRules(): readonly RuleStretch[] {
		return this.#filler?.told ?? [];
	}
	get unusable(): boolean {
		return this.#reader.unusable;
	}
	push(chunk: Uint8Array): void {
		this.#reader.push(chunk);
	}
	end(): void {
		this.#reader.end();
		this.#filler?.end();
	}
}

function fillerFor(layout: LoggerLayout, take: (batch: LoggerBatch) => void): ModeFiller | null {
	const hasMode = layout.columns.some((column) => column.to === 'mode');
	return hasMode || layout.modeRules.length === 0
		? null
		: new ModeFiller(layout.modeRules as readonly ModeRule[], take);
}

async function readTextFile(
	path: string,
	open: () => TextReader,
	moving: Moving,
	place: ReadingPlace | null,
	headerRead: () => void,
): Promise<TextReader> {
	const reader = open();
	const chunk = new Uint8Array(CHUNK_BYTES);
	let upTo = 0;
	if (place !== null) {
		if (reader.goOnFrom === undefined)
			throw new FilesChanged(`${basename(path)} is not in the plain dialect any more`);
		reader.push(new TextEncoder().encode(`${headLine(path)}\n`));
		headerRead();
		reader.goOnFrom(place);
		upTo = place.byte;
	}
	const fd = openSync(path, 'r');
	const next = () => readSync(fd, chunk, 0, CHUNK_BYTES, upTo);
	try {
		for (let n = next(); n > 0; n = next()) {
			upTo += n;
			moving.handed(upTo);
			reader.push(chunk.subarray(0, n));
			if (reader.unusable) break;
			const wait = moving.moved(upTo, reader.rows);
			if (wait !== undefined) await wait;
		}
		reader.end();
	} finally {
		closeSync(fd);
	}
	return reader;
}

async function readParquetFile(
	path: string,
	options: ReaderOptions & { readonly layout: LoggerLayout | null },
	moving: Moving,
): Promise<Pick<TextReader, 'rows' | 'latest_s' | 'modeRules'>> {
	const record = await openParquet(path);
	try {
		const { size } = statSync(path);
		// Its rows are found from its end: a change anywhere may change any of them.
		moving.handed(size);
		let { layout } = options;
		if (layout === null) {
			const plain = plainParquetLayout(options.file, record);
			options.faults.add(...plain.faults);
			layout = plain.layout;
		}
		if (layout === null) return { rows: 0, latest_s: options.after_s ?? Number.NEGATIVE_INFINITY };
		const filler = fillerFor(layout, options.take);
		const reader = new RowReader({
			...options,
			layout,
			headings: record.headings,
			take: (batch) => (filler === null ? options.take(batch) : filler.push(batch)),
		});
		if (reader.unusable.length > 0) {
			options.faults.add(...reader.unusable);
			return reader;
		}
		let line = 0;
		for await (const group of record.groups(reader.wanted)) {
			for (let at = 0; at < group.count; at++) {
				reader.row(group.fields(at), ++line);
				if (at % ROWS_BETWEEN !== 0) continue;
				const wait = moving.moved(Math.floor((size * line) / record.rows), reader.rows);
				if (wait !== undefined) await wait;
			}
		}
		reader.end();
		filler?.end();
		return { rows: reader.rows, latest_s: reader.latest_s, modeRules: filler?.told ?? [] };
	} finally {
		await record.close();
	}
}

function headLine(path: string): string {
	const head = new Uint8Array(HEAD_BYTES);
	const fd = openSync(path, 'r');
	try {
		const n = readSync(fd, head);
		const end = head.subarray(0, n).indexOf(10);
		return new TextDecoder().decode(head.subarray(0, end < 0 ? n : end));
	} finally {
		closeSync(fd);
	}
}

/** First stamp that can be read near the head of a file; +∞ if there is none. */
async function firstStamp_s(path: string, layout: LoggerLayout | null): Promise<number> {
	let first_s = Number.POSITIVE_INFINITY;
	const options = {
		file: basename(path),
		faults: new FaultList(0),
		take: (batch: LoggerBatch) => {
			first_s = Math.min(first_s, batch.time_s[0] ?? first_s);
		},
	};
	try {
		if (isParquet(path, layout)) {
			const record = await openParquet(path);
			try {
				const known = layout ?? plainParquetLayout(options.file, record).layout;
				if (known === null) return first_s;
				const reader = new RowReader({ ...options, headings: record.headings, layout: known });
				if (reader.unusable.length > 0) return first_s;
				for await (const group of record.groups(reader.wanted, FIRST_ROWS))
					for (let at = 0; at < group.count; at++) reader.row(group.fields(at), at + 1);
				reader.end();
			} finally {
				await record.close();
			}
			return first_s;
		}
		const head = new Uint8Array(HEAD_BYTES);
		const fd = openSync(path, 'r');
		let n = 0;
		try {
			n = readSync(fd, head);
		} finally {
			closeSync(fd);
		}
		const reader =
			layout === null ? new ByteParser(options) : new CsvReader({ ...options, layout });
		reader.push(head.subarray(0, n));
		reader.end();
	} catch {
		// Told when the file is read in its turn.
	}
	return first_s;
}
