import { putVarint, putZigZag, ThriftReader } from './thrift.ts';

/**
 * Parquet's DELTA_BINARY_PACKED: differences from value to value, packed to the bits they need in
 * miniblocks of 32. Source: Apache Parquet, Encodings, "Delta Encoding (DELTA_BINARY_PACKED = 5)".
 */

const BLOCK = 128;
const MINI = 32;
const MINIS = BLOCK / MINI;

/** Packs 32-bit whole numbers; the differences are taken modulo 2³². */
export function packInt32(values: Int32Array): Uint8Array {
	let at = begin(values.length, values[0] ?? 0);
	for (let from = 1; from < values.length; from += BLOCK) {
		const n = Math.min(BLOCK, values.length - from);
		differ(values, from, n);
		at = packBlock(room, at, n);
	}
	return room.slice(0, at);
}

/** Packs whole numbers of any size whose neighbours are less than 2³¹ apart, as stamps of one day are. */
export function packNear(values: Float64Array): Uint8Array {
	let at = begin(values.length, values[0] ?? 0);
	for (let from = 1; from < values.length; from += BLOCK) {
		const n = Math.min(BLOCK, values.length - from);
		differNear(values, from, n);
		at = packBlock(room, at, n);
	}
	return room.slice(0, at);
}

// A drive's first days are packed before long loops would have become fast code, and fresh memory
// costs more than the packing itself: the work is done block by block in functions that each see one
// kind of array, in buffers that are used again.

const deltas = new Int32Array(BLOCK);
let room = new Uint8Array(0);

function begin(count: number, first: number): number {
	const head: number[] = [];
	putVarint(head, BLOCK);
	putVarint(head, MINIS);
	putVarint(head, count);
	putZigZag(head, first);
	// A block holds at most a minimum of 5 bytes, four widths and 128 differences of 4 bytes.
	const most = head.length + Math.ceil(count / BLOCK) * (9 + BLOCK * 4);
	if (room.length < most) room = new Uint8Array(most);
	room.set(head);
	return head.length;
}

function differ(values: Int32Array, from: number, n: number): void {
	for (let i = 0; i < n; i++) deltas[i] = (values[from + i]! - values[from + i - 1]!) | 0;
}

function differNear(values: Float64Array, from: number, n: number): void {
	for (let i = 0; i < n; i++) deltas[i] = values[from + i]! - values[from + i - 1]!;
}

function packBlock(out: Uint8Array, start: number, n: number): number {
	let at = start;
	let least = 0x7fffffff;
	for (let i = 0; i < n; i++) if (deltas[i]! < least) least = deltas[i]!;
	deltas.fill(least, n);
	let zigZag = (least << 1) ^ (least >> 31);
	while (zigZag >>> 7 !== 0) {
		out[at++] = (zigZag & 0x7f) | 0x80;
		zigZag >>>= 7;
	}
	out[at++] = zigZag;
	let widthAt = at;
	at += MINIS;
	for (let first = 0; first < BLOCK; first += MINI) {
		let width = 0;
		if (first < n) {
			let all = 0;
			for (let i = first; i < first + MINI; i++) all |= deltas[i]! - least;
			width = 32 - Math.clz32(all);
		}
		out[widthAt++] = width;
		if (width > 0) at = packMini(out, at, first, least, width);
	}
	return at;
}

/** 32 differences of `width` bits each, low bits first: exactly 4·width bytes. */
function packMini(
	out: Uint8Array,
	start: number,
	first: number,
	least: number,
	width: number,
): number {
	let word = 0;
	let filled = 0;
	let at = start;
	for (let i = first; i < first + MINI; i++) {
		const value = (deltas[i]! - least) | 0;
		word |= value << filled;
		filled += width;
		if (filled >= 32) {
			out[at] = word;
			out[at + 1] = word >>> 8;
			out[at + 2] = word >>> 16;
			out[at + 3] = word >>> 24;
			at += 4;
			filled -= 32;
			word = filled === 0 ? 0 : value >>> (width - filled);
		}
	}
	return at;
}

/** Unpacks what {@link packInt32} (`wraps`) or {@link packNear} packed, into `into`; returns how many values there were. */
export function unpackDeltas(
	bytes: Uint8Array,
	at: number,
	into: Int32Array | Float64Array,
	wraps: boolean,
): number {
	const reader = new ThriftReader(bytes, at);
	const block = reader.varint();
	const minis = reader.varint();
	const count = reader.varint();
	let value = reader.zigZag();
	if (block !== BLOCK || minis !== MINIS || count > into.length)
		throw new RangeError('the differences are not packed as a series packs them');
	if (count > 0) into[0] = value;
	let done = 1;
	while (done < count) {
		const least = reader.zigZag();
		const widthsAt = reader.at;
		reader.at += MINIS;
		for (let mini = 0; mini < MINIS && done < count; mini++) {
			const width = bytes[widthsAt + mini]!;
			const mask = width === 32 ? 0xffffffff : 2 ** width - 1;
			let from = reader.at;
			let filled = 0;
			let word = 0;
			const n = Math.min(MINI, count - done);
			for (let i = 0; i < n; i++) {
				let packed = 0;
				if (width > 0) {
					if (filled === 0) {
						word = wordAt(bytes, from);
						from += 4;
						packed = word & mask;
						filled = 32 - width;
					} else if (filled >= width) {
						packed = (word >>> (32 - filled)) & mask;
						filled -= width;
					} else {
						const low = word >>> (32 - filled);
						word = wordAt(bytes, from);
						from += 4;
						packed = (low | (word << filled)) & mask;
						filled = 32 - (width - filled);
					}
				}
				value += least + (packed >>> 0);
				if (wraps) value |= 0;
				into[done++] = value;
			}
			reader.at += 4 * width;
		}
	}
	return count;
}

function wordAt(bytes: Uint8Array, at: number): number {
	return bytes[at]! | (bytes[at + 1]! << 8) | (bytes[at + 2]! << 16) | (bytes[at + 3]! << 24);
}
