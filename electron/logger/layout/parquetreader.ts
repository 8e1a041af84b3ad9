import { type FileHandle, open } from 'node:fs/promises';
import type { Field } from './rowreader.ts';

/** Rows of one group of a file are unpacked at once; a group larger than this is not. */
const MOST_ROWS_IN_GROUP = 4_000_000;

/** Stamps of whatever fineness as Unix milliseconds; everything else as it is. */
const PARSERS = {
	timestampFromMilliseconds: (millis: bigint) => Number(millis),
	timestampFromMicroseconds: (micros: bigint) => Number(micros) / 1000,
	timestampFromNanoseconds: (nanos: bigint) => Number(nanos / 1000n) / 1000,
	dateFromDays: (days: number) => days * 86_400_000,
};

type AnyColumn = ArrayLike<unknown>;

/** A Parquet file from elsewhere, read a group of rows at a time. */
export interface ParquetRecord {
	readonly headings: readonly string[];
	/** Columns kept as points in time: their fields are Unix ms. */
	readonly stamps: ReadonlySet<number>;
	readonly rows: number;
	/** Groups in order; `fields(at)` gives a row, with the columns asked for and null for others. */
	groups(
		wanted: ReadonlySet<number>,
		most?: number,
	): AsyncGenerator<{ readonly count: number; fields(at: number): Field[] }>;
	close(): Promise<void>;
}

/** What a Parquet file cannot be read for: not one, damaged, nested, packed in a way we do not know. */
export class ParquetUnreadable extends Error {
	constructor(why: string) {
		super(why);
		this.name = 'ParquetUnreadable';
	}
}

/** Opens a Parquet file; snappy, gzip, zstd, brotli and LZ4 are unpacked. Rejects with {@link ParquetUnreadable}. */
export async function openParquet(path: string): Promise<ParquetRecord> {
	const handle = await open(path, 'r');
	try {
		return await described(handle);
	} catch (error) {
		await handle.close();
		if (error instanceof ParquetUnreadable || (error as NodeJS.ErrnoException).code !== undefined)
			throw error;
		throw new ParquetUnreadable(reasonOf(error));
	}
}

const reasonOf = (error: unknown): string =>
	(error instanceof Error ? error.message : String(error)).replace(/^parquet /u, '').slice(0, 200);

async function described(handle: FileHandle): Promise<ParquetRecord> {
	// Loaded only when a file of this kind comes: most records are text, and a thread starts sooner.
	const { parquetMetadataAsync, parquetRead } = await import('hyparquet');
	const { compressors } = await import('hyparquet-compressors');
	const byteLength = (await handle.stat()).size;
	const file = {
		byteLength,
		async slice(from: number, to: number = byteLength): Promise<ArrayBuffer> {
			const bytes = new Uint8Array(to - from);
			let at = 0;
			while (at < bytes.length) {
				const { bytesRead } = await handle.read(bytes, at, bytes.length - at, from + at);
				if (bytesRead === 0) throw new ParquetUnreadable('the file ends too early');
				at += bytesRead;
			}
			return bytes.buffer;
		},
	};
	const metadata = await parquetMetadataAsync(file);
	const [root, ...elements] = metadata.schema;
	if (root === undefined || elements.length !== root.num_children)
		throw new ParquetUnreadable('columns within columns; a record has one level of columns');
	const headings = elements.map((element) => element.name);
	const stamps = new Set<number>();
	const scales = elements.map((element, at) => {
		const kind = element.logical_type?.type;
		if (
			kind === 'TIMESTAMP' ||
			kind === 'DATE' ||
			/^(TIMESTAMP|DATE)/u.test(element.converted_type ?? '')
		)
			stamps.add(at);
		// Spark and others still write stamps in 96 bits, which are told by their type alone.
		if (element.type === 'INT96') stamps.add(at);
		return element.converted_type === 'DECIMAL' || kind === 'DECIMAL' ? (element.scale ?? 0) : null;
	});
	return {
		headings,
		stamps,
		rows: Number(metadata.num_rows),
		async *groups(wanted, most = Number.POSITIVE_INFINITY) {
			let from = 0;
			const columns = headings.filter((_, at) => wanted.has(at));
			for (const group of metadata.row_groups) {
				const inGroup = Number(group.num_rows);
				if (inGroup > MOST_ROWS_IN_GROUP)
					throw new ParquetUnreadable(
						`a group of ${inGroup} rows; at most ${MOST_ROWS_IN_GROUP} rows of a group are read`,
					);
				const to = from + Math.min(inGroup, most);
				const parts = new Map<string, { readonly at: number; readonly values: AnyColumn }[]>();
				const groupFrom = from;
				try {
					await parquetRead({
						file,
						metadata,
						columns,
						rowStart: from,
						rowEnd: to,
						compressors,
						parsers: PARSERS as never,
						onChunk({ columnName, columnData, rowStart }) {
							const list = parts.get(columnName) ?? [];
							list.push({ at: rowStart - groupFrom, values: columnData as AnyColumn });
							parts.set(columnName, list);
						},
					});
				} catch (error) {
					if ((error as NodeJS.ErrnoException).code !== undefined) throw error;
					throw new ParquetUnreadable(reasonOf(error));
				}
				const whole = headings.map((heading, at) =>
					wanted.has(at) ? joined(parts.get(heading) ?? [], to - from) : null,
				);
				yield {
					count: to - from,
					fields: (row) => whole.map((column, at) => fieldOf(column?.[row], scales[at] ?? null)),
				};
				from += inGroup;
				if (to - groupFrom < inGroup) return;
			}
		},
		close: () => handle.close(),
	};
}

function joined(
	parts: readonly { readonly at: number; readonly values: AnyColumn }[],
	count: number,
): unknown[] {
	const out = new Array<unknown>(count).fill(null);
	for (const { at, values } of parts)
		for (let i = 0; i < values.length && at + i < count; i++) out[at + i] = values[i];
	return out;
}

function fieldOf(value: unknown, scale: number | null): Field {
	if (value === null || value === undefined) return null;
	if (typeof value === 'bigint') return Number(value);
	// A decimal is unpacked by a multiplication; the nearest double to what was written is meant.
	if (typeof value === 'number') return scale === null ? value : value.toFixed(scale);
	if (typeof value === 'string' || typeof value === 'boolean') return value;
	if (value instanceof Date) return value.getTime();
	return String(value);
}
