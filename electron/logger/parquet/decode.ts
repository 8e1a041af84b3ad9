import { ENCODING, MAGIC, PHYSICAL, type SeriesColumn } from './column.ts';
import { unpackDeltas } from './delta.ts';
import { type ThriftRead, ThriftReader } from './thrift.ts';

/** The file is not a Parquet file as {@link encodeParquet} writes them, or it is damaged. */
export class SeriesDamaged extends Error {
	constructor(why: string) {
		super(why);
		this.name = 'SeriesDamaged';
	}
}

type Struct = { [id: number]: ThriftRead };

/** Columns of a file that `encodeParquet` wrote; only the named ones are unpacked. */
export function decodeParquet(
	file: Uint8Array,
	wanted: (name: string) => boolean,
): { count: number; columns: SeriesColumn[] } {
	try {
		return decode(file, wanted);
	} catch (error) {
		if (error instanceof RangeError || error instanceof TypeError)
			throw new SeriesDamaged(error.message);
		throw error;
	}
}

function decode(
	file: Uint8Array,
	wanted: (name: string) => boolean,
): { count: number; columns: SeriesColumn[] } {
	const mark = (at: number): string => new TextDecoder('latin1').decode(file.subarray(at, at + 4));
	if (file.length < 12 || mark(0) !== MAGIC || mark(file.length - 4) !== MAGIC)
		throw new SeriesDamaged('the file does not begin and end as a Parquet file');
	const view = new DataView(file.buffer, file.byteOffset, file.byteLength);
	const footLength = view.getUint32(file.length - 8, true);
	const foot = new ThriftReader(file, file.length - 8 - footLength).struct();
	const count = numberOf(foot[3]);
	const groups = listOf(foot[4]);
	const elements = listOf(foot[2]).slice(1);
	if (groups.length !== 1) throw new SeriesDamaged('the file has not one row group');
	const chunks = listOf((groups[0] as Struct)[1]);
	const columns: SeriesColumn[] = [];
	elements.forEach((element, index) => {
		const name = (element as Struct)[4];
		if (typeof name !== 'string') throw new SeriesDamaged('a column without a name');
		if (wanted(name))
			columns.push(decodeColumn(file, view, element as Struct, chunks[index] as Struct, count));
	});
	return { count, columns };
}

const numberOf = (value: ThriftRead | undefined): number => {
	if (typeof value !== 'number') throw new SeriesDamaged('a number is missing in the description');
	return value;
};
const listOf = (value: ThriftRead | undefined): ThriftRead[] => {
	if (!Array.isArray(value)) throw new SeriesDamaged('a list is missing in the description');
	return value;
};

function decodeColumn(
	file: Uint8Array,
	view: DataView,
	element: Struct,
	chunk: Struct,
	count: number,
): SeriesColumn {
	const name = element[4] as string;
	const meta = chunk[3] as Struct;
	const physical = numberOf(meta[1]);
	const optional = numberOf(element[3]) === 1;
	const reader = new ThriftReader(file, numberOf(meta[9]));
	const page = reader.struct();
	const encoding = numberOf((page[5] as Struct)[2]);
	let at = reader.at;
	const end = at + numberOf(page[2]);
	let isThere: ((i: number) => boolean) | null = null;
	if (optional) {
		const length = view.getUint32(at, true);
		isThere = readLevels(file, at + 4, count);
		at += 4 + length;
	}
	if (physical === PHYSICAL.int64 && encoding === ENCODING.delta) {
		const values = new Float64Array(count);
		unpackDeltas(file, at, values, false);
		for (let i = 0; i < count; i++) values[i] = values[i]! / 1000;
		return { kind: 'time', name, values };
	}
	if (physical === PHYSICAL.int32 && encoding === ENCODING.delta) {
		const decimals = numberOf(element[7]);
		const packed = new Int32Array(count);
		unpackDeltas(file, at, packed, true);
		const scale = 10 ** decimals;
		return {
			kind: 'number',
			name,
			decimals,
			values: spread(count, isThere, (n) => packed[n]! / scale),
		};
	}
	if (physical === PHYSICAL.double && encoding === ENCODING.plain)
		return {
			kind: 'number',
			name,
			decimals: null,
			values: spread(count, isThere, (n) => view.getFloat64(at + 8 * n, true)),
		};
	if (physical === PHYSICAL.bytes && encoding === ENCODING.dictionary) {
		const words = readWords(file, view, numberOf(meta[11]));
		return { kind: 'word', name, words, values: readIndices(file, at, end, count, isThere) };
	}
	throw new SeriesDamaged(`the column ${name} is packed in a way a series does not use`);
}

/** Puts the values there are at their rows, NaN between. */
function spread(
	count: number,
	isThere: ((i: number) => boolean) | null,
	value: (n: number) => number,
): Float64Array {
	const out = new Float64Array(count);
	let n = 0;
	for (let i = 0; i < count; i++) out[i] = isThere === null || isThere(i) ? value(n++) : Number.NaN;
	return out;
}

/** null if every row has a value. */
function readLevels(file: Uint8Array, at: number, count: number): ((i: number) => boolean) | null {
	const reader = new ThriftReader(file, at);
	const head = reader.varint();
	const from = reader.at;
	if (head % 2 === 0) return file[from] === 1 ? null : () => false;
	if (((head - 1) / 2) * 8 < count)
		throw new SeriesDamaged('the rows with values are not all told');
	return (i) => (file[from + (i >> 3)]! & (1 << (i & 7))) !== 0;
}

function readWords(file: Uint8Array, view: DataView, at: number): string[] {
	const reader = new ThriftReader(file, at);
	const page = reader.struct();
	const words = numberOf((page[7] as Struct)[1]);
	let from = reader.at;
	return Array.from({ length: words }, () => {
		const length = view.getUint32(from, true);
		from += 4 + length;
		return new TextDecoder().decode(file.subarray(from - length, from));
	});
}

function readIndices(
	file: Uint8Array,
	at: number,
	end: number,
	count: number,
	isThere: ((i: number) => boolean) | null,
): Uint8Array {
	const values = new Uint8Array(count).fill(255);
	const reader = new ThriftReader(file, at + 1);
	let row = 0;
	while (reader.at < end) {
		const head = reader.varint();
		if (head % 2 !== 0) throw new SeriesDamaged('words are packed in a way a series does not use');
		const index = file[reader.at++]!;
		for (let run = head / 2; run > 0; row++) {
			if (row >= count) throw new SeriesDamaged('there are more words than rows');
			if (isThere !== null && !isThere(row)) continue;
			values[row] = index;
			run--;
		}
	}
	return values;
}
