import { DECIMAL_DIGITS, ENCODING, MAGIC, PAGE, PHYSICAL, type SeriesColumn } from './column.ts';
import { packInt32, packNear } from './delta.ts';
import {
	bool,
	i32,
	i64,
	list,
	putVarint,
	struct,
	type ThriftStruct,
	type ThriftValue,
	text,
	writeStruct,
} from './thrift.ts';

/**
 * One Parquet file with one row group from columns in memory: UTC timestamps, words by dictionary,
 * figures as 32-bit decimals where they are exact, else doubles; nothing compressed beyond that, as
 * differences of neighbouring samples are small. Missing values are nulls.
 * Written here and not by a library because a drive's import has to keep up with its parser: a
 * general writer in JavaScript took three to five times as long for columns with missing values.
 * Source: Apache Parquet, parquet.thrift and Encodings.
 */
export function encodeParquet(
	columns: readonly SeriesColumn[],
	count: number,
	createdBy: string,
): Uint8Array {
	const parts: Uint8Array[] = [new TextEncoder().encode(MAGIC)];
	let at = MAGIC.length;
	const put = (bytes: Uint8Array): void => {
		parts.push(bytes);
		at += bytes.length;
	};
	const schema: ThriftValue[] = [struct({ 4: text('series'), 5: i32(columns.length) })];
	const chunks: ThriftValue[] = [];
	let total = 0;
	for (const column of columns) {
		const made = encodeColumn(column, count);
		schema.push(struct(made.element));
		const start = at;
		if (made.dictionary !== null) {
			put(
				pageHead(PAGE.dictionary, made.dictionary.bytes.length, {
					7: struct({ 1: i32(made.dictionary.count), 2: i32(ENCODING.plain) }),
				}),
			);
			put(made.dictionary.bytes);
		}
		const dataAt = at;
		const size = made.levels.length + made.values.length;
		put(
			pageHead(PAGE.data, size, {
				5: struct({
					1: i32(count),
					2: i32(made.encoding),
					3: i32(ENCODING.rle),
					4: i32(ENCODING.rle),
				}),
			}),
		);
		put(made.levels);
		put(made.values);
		const bytes = at - start;
		total += bytes;
		chunks.push(
			struct({
				2: i64(start),
				3: struct({
					1: i32(made.physical),
					2: list('i32', [...new Set([made.encoding, ENCODING.rle, ENCODING.plain])].map(i32)),
					3: list('text', [text(column.name)]),
					4: i32(0),
					5: i64(count),
					6: i64(bytes),
					7: i64(bytes),
					9: i64(dataAt),
					11: made.dictionary === null ? undefined : i64(start),
				}),
			}),
		);
	}
	const foot = writeStruct({
		1: i32(2),
		2: list('struct', schema),
		3: i64(count),
		4: list('struct', [struct({ 1: list('struct', chunks), 2: i64(total), 3: i64(count) })]),
		6: text(createdBy),
	});
	put(foot);
	const tail = new Uint8Array(4 + MAGIC.length);
	new DataView(tail.buffer).setUint32(0, foot.length, true);
	tail.set(new TextEncoder().encode(MAGIC), 4);
	put(tail);
	const file = new Uint8Array(at);
	let to = 0;
	for (const part of parts) {
		file.set(part, to);
		to += part.length;
	}
	return file;
}

function pageHead(type: number, size: number, more: ThriftStruct): Uint8Array {
	return writeStruct({ 1: i32(type), 2: i32(size), 3: i32(size), ...more });
}

interface EncodedColumn {
	readonly element: ThriftStruct;
	readonly physical: number;
	readonly encoding: number;
	readonly dictionary: { readonly bytes: Uint8Array; readonly count: number } | null;
	readonly levels: Uint8Array;
	readonly values: Uint8Array;
}

const REQUIRED = i32(0);
const OPTIONAL = i32(1);
const NOTHING = new Uint8Array(0);
/** Values handled in one go: short goes are compiled to fast code sooner than one loop over a day. */
const STRETCH = 1024;

function encodeColumn(column: SeriesColumn, count: number): EncodedColumn {
	switch (column.kind) {
		case 'time': {
			const stamps = new Float64Array(count);
			for (let from = 0; from < count; from += STRETCH)
				toMilliseconds(column.values, from, Math.min(count, from + STRETCH), stamps);
			return {
				element: {
					1: i32(PHYSICAL.int64),
					3: REQUIRED,
					4: text(column.name),
					6: i32(9),
					10: struct({ 8: struct({ 1: bool(true), 2: struct({ 1: struct({}) }) }) }),
				},
				physical: PHYSICAL.int64,
				encoding: ENCODING.delta,
				dictionary: null,
				levels: NOTHING,
				values: packNear(stamps),
			};
		}
		case 'word': {
			const { words, values } = column;
			return {
				element: {
					1: i32(PHYSICAL.bytes),
					3: OPTIONAL,
					4: text(column.name),
					6: i32(0),
					10: struct({ 1: struct({}) }),
				},
				physical: PHYSICAL.bytes,
				encoding: ENCODING.dictionary,
				dictionary: { bytes: plainWords(words), count: words.length },
				levels: wordLevels(values, count, words.length),
				values: wordIndices(values, count, words.length),
			};
		}
		case 'number':
			return encodeNumbers(column, count);
	}
}

function toMilliseconds(values: Float64Array, from: number, to: number, into: Float64Array): void {
	for (let i = from; i < to; i++) into[i] = Math.round(values[i]! * 1000);
}

function encodeNumbers(column: SeriesColumn & { kind: 'number' }, count: number): EncodedColumn {
	const { values, name } = column;
	const scaled = column.decimals === null ? null : scaledInt32(values, count, column.decimals);
	if (scaled !== null) {
		const levels = numberLevels(values, count, scaled.length);
		const decimals = column.decimals ?? 0;
		return {
			element: {
				1: i32(PHYSICAL.int32),
				3: OPTIONAL,
				4: text(name),
				6: i32(5),
				7: i32(decimals),
				8: i32(DECIMAL_DIGITS),
				10: struct({ 5: struct({ 1: i32(decimals), 2: i32(DECIMAL_DIGITS) }) }),
			},
			physical: PHYSICAL.int32,
			encoding: ENCODING.delta,
			dictionary: null,
			levels,
			values: packInt32(scaled),
		};
	}
	const there = values.subarray(0, count).filter((value) => !Number.isNaN(value));
	const levels = numberLevels(values, count, there.length);
	return {
		element: { 1: i32(PHYSICAL.double), 3: OPTIONAL, 4: text(name) },
		physical: PHYSICAL.double,
		encoding: ENCODING.plain,
		dictionary: null,
		levels,
		values: new Uint8Array(there.buffer, there.byteOffset, there.byteLength),
	};
}

/** The values there are, times 10^decimals, as whole numbers, good until the next call; null if one does not fit. */
function scaledInt32(values: Float64Array, count: number, decimals: number): Int32Array | null {
	if (decimals > DECIMAL_DIGITS) return null;
	const scale = 10 ** decimals;
	const most = 10 ** DECIMAL_DIGITS - 0.5;
	if (wholes.length < count) wholes = new Int32Array(count);
	let n = 0;
	for (let from = 0; from < count && n >= 0; from += STRETCH)
		n = scaleStretch(values, from, Math.min(count, from + STRETCH), scale, most, wholes, n);
	return n < 0 ? null : wholes.subarray(0, n);
}

/** Used again by the next column: fresh memory costs more than the scaling. */
let wholes = new Int32Array(0);

/** Puts the values [from, to) at `at` and gives the place after them; −1 if one does not fit. */
function scaleStretch(
	values: Float64Array,
	from: number,
	to: number,
	scale: number,
	most: number,
	into: Int32Array,
	at: number,
): number {
	let n = at;
	for (let i = from; i < to; i++) {
		const size = values[i]! * scale;
		// A decimal of so few digits is nearest to its own double: rounding gives back what was written.
		if (size > -most && size < most) into[n++] = size < 0 ? size - 0.5 : size + 0.5;
		else if (!Number.isNaN(size)) return -1;
	}
	return n;
}

/** Which rows have a value: one bit a row, or one run where all or none have. Preceded by its length, as data pages of version 1 have it. */
function wordLevels(values: Uint8Array, count: number, words: number): Uint8Array {
	let there = 0;
	for (let from = 0; from < count; from += STRETCH)
		there += wordsWithin(values, from, Math.min(count, from + STRETCH), words);
	if (there === count || there === 0) return oneRun(count, there > 0);
	return bitEach(count, (i) => values[i]! < words);
}

function wordsWithin(values: Uint8Array, from: number, to: number, words: number): number {
	let there = 0;
	for (let i = from; i < to; i++) if (values[i]! < words) there++;
	return there;
}

function numberLevels(values: Float64Array, count: number, there: number): Uint8Array {
	if (there === count || there === 0) return oneRun(count, there > 0);
	return bitEach(count, (i) => !Number.isNaN(values[i]!));
}

function oneRun(count: number, there: boolean): Uint8Array {
	const run: number[] = [];
	putVarint(run, count * 2);
	run.push(there ? 1 : 0);
	return withLength(Uint8Array.from(run));
}

function bitEach(count: number, isThere: (i: number) => boolean): Uint8Array {
	const head: number[] = [];
	const groups = Math.ceil(count / 8);
	putVarint(head, groups * 2 + 1);
	const bits = new Uint8Array(head.length + groups);
	bits.set(head);
	for (let i = 0; i < count; i++) if (isThere(i)) bits[head.length + (i >> 3)]! |= 1 << (i & 7);
	return withLength(bits);
}

function withLength(bytes: Uint8Array): Uint8Array {
	const out = new Uint8Array(4 + bytes.length);
	new DataView(out.buffer).setUint32(0, bytes.length, true);
	out.set(bytes, 4);
	return out;
}

function plainWords(words: readonly string[]): Uint8Array {
	const encoded = words.map((word) => withLength(new TextEncoder().encode(word)));
	const out = new Uint8Array(encoded.reduce((sum, bytes) => sum + bytes.length, 0));
	let at = 0;
	for (const bytes of encoded) {
		out.set(bytes, at);
		at += bytes.length;
	}
	return out;
}

/** Runs of equal indices: modes hold for minutes. The first byte is the bits of an index. */
function wordIndices(values: Uint8Array, count: number, words: number): Uint8Array {
	const out: number[] = [Math.max(1, 32 - Math.clz32(words - 1))];
	let last = -1;
	let run = 0;
	for (let from = 0, to = 0; from < count; from = to) {
		const value = values[from]!;
		to = runEnd(values, from, Math.min(count, from + STRETCH));
		if (value >= words) continue;
		if (value !== last && run > 0) putRun(out, run, last);
		run = value === last ? run + to - from : to - from;
		last = value;
	}
	if (run > 0) putRun(out, run, last);
	return Uint8Array.from(out);
}

function runEnd(values: Uint8Array, from: number, most: number): number {
	let to = from + 1;
	while (to < most && values[to] === values[from]) to++;
	return to;
}

function putRun(out: number[], run: number, value: number): void {
	putVarint(out, run * 2);
	out.push(value);
}
