import { putVarint, putZigZag, ThriftReader } from './thrift.ts';

/**
 * Parquet's DELTA_BINARY_PACKED: differences from value to value, packed to the bits they need in
 * miniblocks of 32. Source: Apache Parquet, Encodings, "Delta Encoding (DELTA_BINARY_PACKED = 5)".
 */

const BLOCK = 128;
const MINI = 32;
const MINIS = BLOCK / MINI;

/**
 * Packs whole numbers. `wraps`: the values are 32-bit and so are the differences, modulo 2³²; else
 * neighbours must be less than 2³¹ apart (time stamps of one day).
 */
export function packDeltas(
	values: Int32Array | Float64Array,
	count: number,
	wraps: boolean,
): Uint8Array {
	const head: number[] = [];
	putVarint(head, BLOCK);
	putVarint(head, MINIS);
	putVarint(head, count);
	putZigZag(head, count > 0 ? values[0]! : 0);
	// A block holds at most a minimum of 10 bytes, four widths and 128 differences of 4 bytes.
	const out = new Uint8Array(head.length + Math.ceil(count / BLOCK) * (14 + BLOCK * 4));
	out.set(head);
	let at = head.length;
	const deltas = new Int32Array(BLOCK);
	for (let from = 1; from < count; from += BLOCK) {
		const n = Math.min(BLOCK, count - from);
		let least = 0x7fffffff;
		for (let i = 0; i < n; i++) {
			const delta = values[from + i]! - values[from + i - 1]!;
			const kept = wraps ? delta | 0 : delta;
			deltas[i] = kept;
			if (kept < least) least = kept;
		}
		deltas.fill(least, n);
		const minimum: number[] = [];
		putZigZag(minimum, least);
		out.set(minimum, at);
		at += minimum.length;
		const widthsAt = at;
		at += MINIS;
		for (let mini = 0; mini < MINIS; mini++) {
			const first = mini * MINI;
			out[widthsAt + mini] = 0;
			if (first >= n) continue;
			let all = 0;
			for (let i = first; i < first + MINI; i++) all |= deltas[i]! - least;
			const width = all === 0 ? 0 : 32 - Math.clz32(all);
			out[widthsAt + mini] = width;
			at = packBits(out, at, deltas, first, least, width);
		}
	}
	return out.subarray(0, at);
}

/** 32 differences of `width` bits each, low bits first: exactly 4·width bytes. */
function packBits(
	out: Uint8Array,
	at: number,
	deltas: Int32Array,
	first: number,
	least: number,
	width: number,
): number {
	if (width === 0) return at;
	let word = 0;
	let filled = 0;
	let to = at;
	for (let i = first; i < first + MINI; i++) {
		const value = (deltas[i]! - least) >>> 0;
		word |= value << filled;
		filled += width;
		if (filled >= 32) {
			out[to] = word;
			out[to + 1] = word >>> 8;
			out[to + 2] = word >>> 16;
			out[to + 3] = word >>> 24;
			to += 4;
			filled -= 32;
			word = filled === 0 ? 0 : value >>> (width - filled);
		}
	}
	return to;
}

/** Unpacks what {@link packDeltas} packed, into `into`; returns how many values there were. */
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
