import type { Compare, Figure } from './figure.ts';
import { farther, type Reach, SAME_ROW } from './ranges.ts';

/**
 * Formulas as loops over columns of numbers, a block of rows at a time: each sign of a formula is one
 * short loop, which costs a fraction of a call for each row. NaN is missing.
 */

/** Rows worked out at a time: what is between the signs of a formula stays in the processor's cache. */
export const BLOCK = 1_024;

/** The figures of one part of a formula in a block of rows. */
export interface Operand {
	readonly array: Float64Array;
	/** True: a column, whose figures stand at their rows; false: they stand from 0 on. */
	readonly byRow: boolean;
	/** Works out the rows from `from` up to, not including, `to`: at most {@link BLOCK}. */
	readonly fill: (from: number, to: number) => void;
}

/** A column of numbers with room to grow; the array stays the same one as long as there is room. */
export interface Vector {
	readonly values: Float64Array;
}

/** Where a formula finds its columns. Asked once for each, when it is compiled. */
export interface Scope {
	/** In the column's own unit. */
	column(id: string): Vector;
	/** Texts as numbers, and the number of one text. */
	texts(id: string): Vector;
	textNumber(text: string): number;
	face(stratum: string): Vector;
	/** A figure that other rows are looked at of, worked out for all rows. */
	hidden(figure: Figure): Vector;
	/** The running sum of a column. */
	running(of: Vector): Vector;
	/** Row of a ring, by its number; undefined where the drive has none. */
	rowOfRing(ring: number): number | undefined;
}

export interface Compiled {
	readonly operand: Operand;
	/** The columns it looks at, and how far. */
	readonly reaches: ReadonlyMap<Vector, Reach>;
}

/** Two numbers nearer than this in proportion are the same: converting between units rounds. */
const ALIKE = 1e-12;

/**
 * A formula as work over blocks of rows. Whatever is not a finite number is missing, and what is made
 * of something missing is missing, apart from the branch of a condition that is not taken.
 */
export function compile(figure: Figure, scope: Scope): Compiled {
	const reaches = new Map<Vector, Reach>();
	const note = (vector: Vector, reach: Reach): Float64Array => {
		const before = reaches.get(vector);
		reaches.set(vector, before === undefined ? reach : farther(before, reach));
		return vector.values;
	};
	return { operand: new Compiler(scope, note).operand(figure), reaches };
}

const finite = (x: number): number => (x - x === 0 ? x : Number.NaN);
const NOTHING = (): void => {};

/** A part that is worked out into a block of its own. */
function worked(work: (out: Float64Array, from: number, to: number) => void): Operand {
	const array = new Float64Array(BLOCK);
	return { array, byRow: false, fill: (from, to) => work(array, from, to) };
}

/** Where the first figure of a block stands. */
const startOf = (operand: Operand, from: number): number => (operand.byRow ? from : 0);

class Compiler {
	readonly #scope: Scope;
	readonly #note: (vector: Vector, reach: Reach) => Float64Array;

	constructor(scope: Scope, note: (vector: Vector, reach: Reach) => Float64Array) {
		this.#scope = scope;
		this.#note = note;
	}

	operand(f: Figure): Operand {
		switch (f.op) {
			case 'constant':
				return { array: new Float64Array(BLOCK).fill(f.value), byRow: false, fill: NOTHING };
			case 'column':
				return scaled(this.#note(this.#scope.column(f.id), SAME_ROW), f.factor);
			case 'face':
				return scaled(this.#note(this.#scope.face(f.stratum), SAME_ROW), 1);
			case 'is':
				return textIs(
					this.#note(this.#scope.texts(f.id), SAME_ROW),
					this.#scope.textNumber(f.text),
					f.not,
				);
			case 'add':
			case 'subtract':
			case 'multiply':
			case 'divide':
			case 'power':
			case 'and':
			case 'or':
				return between(f.op, this.operand(f.a), this.operand(f.b));
			case 'compare':
				return comparing(f.how, this.operand(f.a), this.operand(f.b));
			case 'choose':
				return choosing(this.operand(f.when), this.operand(f.a), this.operand(f.b));
			case 'min':
			case 'max':
				return outermost(
					f.op,
					f.of.map((one) => this.operand(one)),
				);
			case 'log':
			case 'round': {
				const a = this.operand(f.a);
				if (f.op === 'round') return rounded(a, f.b?.op === 'constant' ? f.b.value : 0);
				return f.b === null ? alone('log', a) : between('log', a, this.operand(f.b));
			}
			case 'mean':
			case 'std':
			case 'sum': {
				const { vector, factor } = this.#column(f.a);
				const v = this.#note(vector, { ...SAME_ROW, back: f.rows - 1 });
				return rolling(f.op, v, f.rows, factor);
			}
			case 'total': {
				const { vector, factor } = this.#column(f.a);
				return scaled(this.#note(this.#scope.running(vector), SAME_ROW), factor);
			}
			case 'previous':
			case 'change': {
				const { vector, factor } = this.#column(f.a);
				return rowBefore(f.op, this.#note(vector, { ...SAME_ROW, back: 1 }), factor);
			}
			case 'at_ring': {
				const { vector, factor } = this.#column(f.a);
				const v = this.#note(vector, { ...SAME_ROW, anywhere: true });
				return atRing(v, factor, this.operand(f.ring), (ring) => this.#scope.rowOfRing(ring));
			}
			default:
				return alone(f.op, this.operand(f.a));
		}
	}

	/** A column as it stands, or one worked out for the purpose. */
	#column(f: Figure): { vector: Vector; factor: number } {
		return f.op === 'column'
			? { vector: this.#scope.column(f.id), factor: f.factor }
			: { vector: this.#scope.hidden(f), factor: 1 };
	}
}

function scaled(v: Float64Array, factor: number): Operand {
	if (factor === 1) return { array: v, byRow: true, fill: NOTHING };
	return worked((out, from, to) => {
		for (let row = from, k = 0; row < to; row++, k++) out[k] = finite(v[row]! * factor);
	});
}

function textIs(v: Float64Array, wanted: number, not: boolean): Operand {
	const [same, other] = not ? [0, 1] : [1, 0];
	return worked((out, from, to) => {
		for (let row = from, k = 0; row < to; row++, k++) {
			const x = v[row]!;
			out[k] = Number.isNaN(x) ? x : x === wanted ? same : other;
		}
	});
}

type Two = (
	out: Float64Array,
	x: Float64Array,
	i: number,
	y: Float64Array,
	j: number,
	n: number,
) => void;

/** One loop for each sign: of a loop that is handed its sign the machine makes calls. */
const TWO: Readonly<
	Record<'add' | 'subtract' | 'multiply' | 'divide' | 'power' | 'log' | 'and' | 'or', Two>
> = {
	add: (out, x, i, y, j, n) => {
		for (let k = 0; k < n; k++) out[k] = finite(x[i + k]! + y[j + k]!);
	},
	subtract: (out, x, i, y, j, n) => {
		for (let k = 0; k < n; k++) out[k] = finite(x[i + k]! - y[j + k]!);
	},
	multiply: (out, x, i, y, j, n) => {
		for (let k = 0; k < n; k++) out[k] = finite(x[i + k]! * y[j + k]!);
	},
	divide: (out, x, i, y, j, n) => {
		for (let k = 0; k < n; k++) out[k] = finite(x[i + k]! / y[j + k]!);
	},
	power: (out, x, i, y, j, n) => {
		for (let k = 0; k < n; k++) {
			const base = x[i + k]!;
			// NaN to the power of 0 would be 1.
			out[k] = Number.isNaN(base) ? base : finite(base ** y[j + k]!);
		}
	},
	/** Logarithm to a base, which is above 0. */
	log: (out, x, i, y, j, n) => {
		for (let k = 0; k < n; k++) {
			const base = y[j + k]!;
			out[k] = finite(Math.log(x[i + k]!) / (base > 0 ? Math.log(base) : Number.NaN));
		}
	},
	and: (out, x, i, y, j, n) => {
		for (let k = 0; k < n; k++) out[k] = x[i + k]! * y[j + k]!;
	},
	or: (out, x, i, y, j, n) => {
		for (let k = 0; k < n; k++) out[k] = Math.min(1, x[i + k]! + y[j + k]!);
	},
};

function between(op: keyof typeof TWO, a: Operand, b: Operand): Operand {
	const work = TWO[op];
	return worked((out, from, to) => {
		a.fill(from, to);
		b.fill(from, to);
		work(out, a.array, startOf(a, from), b.array, startOf(b, from), to - from);
	});
}

const alike = (x: number, y: number): boolean =>
	x === y || Math.abs(x - y) <= ALIKE * Math.max(Math.abs(x), Math.abs(y));

const HOW: Readonly<Record<Compare, (x: number, y: number) => boolean>> = {
	'<': (x, y) => x < y && !alike(x, y),
	'<=': (x, y) => x < y || alike(x, y),
	'>': (x, y) => x > y && !alike(x, y),
	'>=': (x, y) => x > y || alike(x, y),
	'==': alike,
	'!=': (x, y) => !alike(x, y),
};

function comparing(how: Compare, a: Operand, b: Operand): Operand {
	const holds = HOW[how];
	return worked((out, from, to) => {
		a.fill(from, to);
		b.fill(from, to);
		const [i, j] = [startOf(a, from), startOf(b, from)];
		for (let k = 0; k < to - from; k++) {
			const x = a.array[i + k]!;
			const y = b.array[j + k]!;
			out[k] = Number.isNaN(x) || Number.isNaN(y) ? Number.NaN : holds(x, y) ? 1 : 0;
		}
	});
}

/** Both branches are worked out; only the one that is taken counts. */
function choosing(when: Operand, a: Operand, b: Operand): Operand {
	return worked((out, from, to) => {
		when.fill(from, to);
		a.fill(from, to);
		b.fill(from, to);
		const [w, i, j] = [startOf(when, from), startOf(a, from), startOf(b, from)];
		for (let k = 0; k < to - from; k++) {
			const yes = when.array[w + k]!;
			out[k] = yes === 1 ? a.array[i + k]! : yes === 0 ? b.array[j + k]! : Number.NaN;
		}
	});
}

function outermost(op: 'min' | 'max', of: readonly Operand[]): Operand {
	const least = op === 'min';
	return worked((out, from, to) => {
		out.fill(least ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY, 0, to - from);
		for (const one of of) {
			one.fill(from, to);
			const i = startOf(one, from);
			for (let k = 0; k < to - from; k++) {
				const x = one.array[i + k]!;
				out[k] = least ? Math.min(out[k]!, x) : Math.max(out[k]!, x);
			}
		}
	});
}

type One = (out: Float64Array, x: Float64Array, i: number, n: number) => void;

const ONE: Readonly<Record<'negate' | 'not' | 'abs' | 'sqrt' | 'exp' | 'log' | 'known', One>> = {
	negate: (out, x, i, n) => {
		for (let k = 0; k < n; k++) out[k] = -x[i + k]!;
	},
	not: (out, x, i, n) => {
		for (let k = 0; k < n; k++) out[k] = 1 - x[i + k]!;
	},
	abs: (out, x, i, n) => {
		for (let k = 0; k < n; k++) out[k] = Math.abs(x[i + k]!);
	},
	sqrt: (out, x, i, n) => {
		for (let k = 0; k < n; k++) out[k] = Math.sqrt(x[i + k]!);
	},
	exp: (out, x, i, n) => {
		for (let k = 0; k < n; k++) out[k] = finite(Math.exp(x[i + k]!));
	},
	log: (out, x, i, n) => {
		for (let k = 0; k < n; k++) out[k] = finite(Math.log(x[i + k]!));
	},
	known: (out, x, i, n) => {
		for (let k = 0; k < n; k++) out[k] = Number.isNaN(x[i + k]!) ? 0 : 1;
	},
};

function alone(op: keyof typeof ONE, a: Operand): Operand {
	const work = ONE[op];
	return worked((out, from, to) => {
		a.fill(from, to);
		work(out, a.array, startOf(a, from), to - from);
	});
}

/** Halves away from zero. */
function rounded(a: Operand, decimals: number): Operand {
	const scale = 10 ** decimals;
	return worked((out, from, to) => {
		a.fill(from, to);
		const i = startOf(a, from);
		for (let k = 0; k < to - from; k++) {
			const x = a.array[i + k]!;
			const size = Math.abs(x) * scale;
			// 1.005 · 100 falls short of 100.5 by what doubles cannot hold.
			out[k] =
				size > Number.MAX_SAFE_INTEGER
					? x
					: (Math.sign(x) * Math.round(size * (1 + Number.EPSILON))) / scale;
		}
	});
}

/** Each window is gone over by itself, so that a part worked out anew is the same to the bit. */
function rolling(
	op: 'mean' | 'std' | 'sum',
	v: Float64Array,
	rows: number,
	factor: number,
): Operand {
	const figure =
		op === 'sum'
			? (row: number) => sumOver(v, row + 1 - rows, row + 1)
			: op === 'mean'
				? (row: number) => sumOver(v, row + 1 - rows, row + 1) / rows
				: (row: number) => deviation(v, row + 1 - rows, row + 1);
	return worked((out, from, to) => {
		for (let row = from, k = 0; row < to; row++, k++)
			out[k] = row + 1 < rows ? Number.NaN : finite(figure(row) * factor);
	});
}

/** Compensated (Neumaier). */
function sumOver(v: Float64Array, from: number, to: number): number {
	let sum = 0;
	let lost = 0;
	for (let row = from; row < to; row++) {
		const x = v[row]!;
		const next = sum + x;
		lost += Math.abs(sum) >= Math.abs(x) ? sum - next + x : x - next + sum;
		sum = next;
	}
	return sum + lost;
}

/** Standard deviation of a sample, with n − 1. */
function deviation(v: Float64Array, from: number, to: number): number {
	const mean = sumOver(v, from, to) / (to - from);
	let squares = 0;
	for (let row = from; row < to; row++) squares += (v[row]! - mean) ** 2;
	return Math.sqrt(squares / (to - from - 1));
}

function rowBefore(op: 'previous' | 'change', v: Float64Array, factor: number): Operand {
	const change = op === 'change' ? 1 : 0;
	return worked((out, from, to) => {
		for (let row = from, k = 0; row < to; row++, k++) {
			const before = row === 0 ? Number.NaN : v[row - 1]!;
			out[k] = finite((change === 1 ? v[row]! - before : before) * factor);
		}
	});
}

/** Row of a ring number that may have come out of a division. */
export function ringRow(
	ring: number,
	rowOfRing: (ring: number) => number | undefined,
): number | undefined {
	const whole = Math.round(ring);
	return Math.abs(ring - whole) < 1e-9 ? rowOfRing(whole) : undefined;
}

function atRing(
	v: Float64Array,
	factor: number,
	ring: Operand,
	rowOfRing: (ring: number) => number | undefined,
): Operand {
	return worked((out, from, to) => {
		ring.fill(from, to);
		const i = startOf(ring, from);
		for (let k = 0; k < to - from; k++) {
			const row = ringRow(ring.array[i + k]!, rowOfRing);
			out[k] = row === undefined ? Number.NaN : finite(v[row]! * factor);
		}
	});
}
