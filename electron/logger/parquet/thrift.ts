/**
 * Thrift's compact protocol as far as the head and foot of a Parquet file need it.
 * Source: Apache Thrift, "Thrift Compact protocol encoding"; Apache Parquet, parquet.thrift.
 */

export type ThriftValue =
	| { readonly kind: 'bool'; readonly value: boolean }
	| { readonly kind: 'i32' | 'i64'; readonly value: number }
	| { readonly kind: 'text'; readonly value: string }
	| { readonly kind: 'list'; readonly of: number; readonly value: readonly ThriftValue[] }
	| { readonly kind: 'struct'; readonly value: ThriftStruct };
/** Fields by number, ascending; undefined ones are left out. */
export type ThriftStruct = Readonly<Record<number, ThriftValue | undefined>>;

export const LIST_OF = { i32: 5, text: 8, struct: 12 } as const;
const BOOL_TRUE = 1;
const BOOL_FALSE = 2;
const TYPE = { i32: 5, i64: 6, text: 8, list: 9, struct: 12 } as const;

export const i32 = (value: number): ThriftValue => ({ kind: 'i32', value });
export const i64 = (value: number): ThriftValue => ({ kind: 'i64', value });
export const bool = (value: boolean): ThriftValue => ({ kind: 'bool', value });
export const text = (value: string): ThriftValue => ({ kind: 'text', value });
export const struct = (value: ThriftStruct): ThriftValue => ({ kind: 'struct', value });
export const list = (of: keyof typeof LIST_OF, value: readonly ThriftValue[]): ThriftValue => ({
	kind: 'list',
	of: LIST_OF[of],
	value,
});

/** A struct as bytes. */
export function writeStruct(fields: ThriftStruct): Uint8Array {
	const out: number[] = [];
	putStruct(out, fields);
	return Uint8Array.from(out);
}

/** Base-128 with the low groups first; numbers up to 2⁵³. */
export function putVarint(out: number[], value: number): void {
	let rest = value;
	while (rest >= 128) {
		out.push((rest % 128) | 128);
		rest = Math.floor(rest / 128);
	}
	out.push(rest);
}

/** Signed numbers so that small ones stay short. */
export function putZigZag(out: number[], value: number): void {
	putVarint(out, value < 0 ? -2 * value - 1 : 2 * value);
}

function putStruct(out: number[], fields: ThriftStruct): void {
	let last = 0;
	for (const key of Object.keys(fields)) {
		const id = Number(key);
		const field = fields[id];
		if (field === undefined) continue;
		const type = field.kind === 'bool' ? (field.value ? BOOL_TRUE : BOOL_FALSE) : TYPE[field.kind];
		const step = id - last;
		if (step > 0 && step < 16) out.push((step << 4) | type);
		else {
			out.push(type);
			putZigZag(out, id);
		}
		if (field.kind !== 'bool') putValue(out, field);
		last = id;
	}
	out.push(0);
}

function putValue(out: number[], field: ThriftValue): void {
	switch (field.kind) {
		case 'bool':
			out.push(field.value ? BOOL_TRUE : BOOL_FALSE);
			return;
		case 'i32':
		case 'i64':
			putZigZag(out, field.value);
			return;
		case 'text': {
			const bytes = new TextEncoder().encode(field.value);
			putVarint(out, bytes.length);
			out.push(...bytes);
			return;
		}
		case 'list':
			if (field.value.length < 15) out.push((field.value.length << 4) | field.of);
			else {
				out.push(0xf0 | field.of);
				putVarint(out, field.value.length);
			}
			for (const each of field.value) putValue(out, each);
			return;
		case 'struct':
			putStruct(out, field.value);
	}
}

/** Anything read back: numbers, texts, lists, and structs as records by field number. */
export type ThriftRead = number | boolean | string | ThriftRead[] | { [id: number]: ThriftRead };

/** Reads compact-protocol values from a place in some bytes and keeps where it stands. */
export class ThriftReader {
	readonly #bytes: Uint8Array;
	at: number;

	constructor(bytes: Uint8Array, at: number) {
		this.#bytes = bytes;
		this.at = at;
	}

	struct(): { [id: number]: ThriftRead } {
		const fields: { [id: number]: ThriftRead } = {};
		let last = 0;
		for (;;) {
			const head = this.#byte();
			if (head === 0) return fields;
			const type = head & 15;
			const step = head >> 4;
			last = step === 0 ? this.zigZag() : last + step;
			fields[last] =
				type === BOOL_TRUE || type === BOOL_FALSE ? type === BOOL_TRUE : this.#value(type);
		}
	}

	varint(): number {
		let value = 0;
		let scale = 1;
		for (;;) {
			const byte = this.#byte();
			value += (byte & 127) * scale;
			if (byte < 128) return value;
			scale *= 128;
		}
	}

	zigZag(): number {
		const value = this.varint();
		return value % 2 === 0 ? value / 2 : -(value + 1) / 2;
	}

	#byte(): number {
		const byte = this.#bytes[this.at++];
		if (byte === undefined) throw new RangeError('the file ends within its description');
		return byte;
	}

	#value(type: number): ThriftRead {
		switch (type) {
			case BOOL_TRUE:
			case BOOL_FALSE:
				return this.#byte() === BOOL_TRUE;
			case TYPE.i32:
			case TYPE.i64:
				return this.zigZag();
			case TYPE.text: {
				const length = this.varint();
				const from = this.at;
				this.at += length;
				return new TextDecoder().decode(this.#bytes.subarray(from, this.at));
			}
			case TYPE.list: {
				const head = this.#byte();
				const length = head >> 4 === 15 ? this.varint() : head >> 4;
				return Array.from({ length }, () => this.#value(head & 15));
			}
			case TYPE.struct:
				return this.struct();
			default:
				throw new RangeError(`a field of type ${type} is not used in a series`);
		}
	}
}
