import type { Compare, Figure } from './figure.ts';
import { farther, type Reach, SAME_ROW } from './ranges.ts';

/** Figures as functions of the row, over columns of numbers; NaN is missing. */
export type At = (row: number) => number;

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
	readonly at: At;
	/** The columns it looks at, and how far. */
	readonly reaches: ReadonlyMap<Vector, Reach>;
}

/** Two numbers nearer than this in proportion are the same: converting between units rounds. */
const ALIKE = 1e-12;

/**
 * A formula as a function of the row. Whatever is not a finite number is missing, and what is made
 * of something missing is missing, apart from the branch of a condition that is not taken.
 */
export function compile(figure: Figure, scope: Scope): Compiled {
	const reaches = new Map<Vector, Reach>();
	const note = (vector: Vector, reach: Reach): Float64Array => {
		const before = reaches.get(vector);
		reaches.set(vector, before === undefined ? reach : farther(before, reach));
		return vector.values;
	};
	return { at: new Compiler(scope, note).at(figure), reaches };
}

const finite = (x: number): number => (x - x === 0 ? x : Number.NaN);

class Compiler {
	readonly #scope: Scope;
	readonly #note: (vector: Vector, reach: Reach) => Float64Array;

	constructor(scope: Scope, note: (vector: Vector, reach: Reach) => Float64Array) {
		this.#scope = scope;
		this.#note = note;
	}

	at(f: Figure): At {
		switch (f.op) {
			case 'constant': {
				const { value } = f;
				return () => value;
			}
			case 'column': {
				const v = this.#note(this.#scope.column(f.id), SAME_ROW);
				const { factor } = f;
				return factor === 1 ? (i) => v[i]! : (i) => v[i]! * factor;
			}
			case 'face': {
				const v = this.#note(this.#scope.face(f.stratum), SAME_ROW);
				return (i) => v[i]!;
			}
			case 'is': {
				const v = this.#note(this.#scope.texts(f.id), SAME_ROW);
				const wanted = this.#scope.textNumber(f.text);
				const [same, other] = f.not ? [0, 1] : [1, 0];
				return (i) => {
					const x = v[i]!;
					return Number.isNaN(x) ? x : x === wanted ? same : other;
				};
			}
			case 'add':
			case 'subtract':
			case 'multiply':
			case 'divide':
			case 'power':
				return arithmetic(f.op, this.at(f.a), this.at(f.b));
			case 'and':
			case 'or':
				return both(f.op, this.at(f.a), this.at(f.b));
			case 'compare':
				return comparing(f.how, this.at(f.a), this.at(f.b));
			case 'choose': {
				const [when, a, b] = [this.at(f.when), this.at(f.a), this.at(f.b)];
				return (i) => {
					const yes = when(i);
					return yes === 1 ? a(i) : yes === 0 ? b(i) : Number.NaN;
				};
			}
			case 'min':
			case 'max':
				return outermost(
					f.op,
					f.of.map((one) => this.at(one)),
				);
			case 'log':
			case 'round': {
				const a = this.at(f.a);
				const b = f.b === null ? null : this.at(f.b);
				return f.op === 'log' ? logarithm(a, b) : rounded(a, b);
			}
			case 'mean':
			case 'std':
			case 'sum':
				return this.#rolling(f.op, f.a, f.rows);
			case 'total': {
				const { vector, factor } = this.#column(f.a);
				const v = this.#note(this.#scope.running(vector), SAME_ROW);
				return factor === 1 ? (i) => v[i]! : (i) => finite(v[i]! * factor);
			}
			case 'previous':
			case 'change': {
				const { vector, factor } = this.#column(f.a);
				const v = this.#note(vector, { ...SAME_ROW, back: 1 });
				return f.op === 'previous'
					? (i) => (i === 0 ? Number.NaN : v[i - 1]! * factor)
					: (i) => (i === 0 ? Number.NaN : finite((v[i]! - v[i - 1]!) * factor));
			}
			case 'at_ring': {
				const { vector, factor } = this.#column(f.a);
				const v = this.#note(vector, { ...SAME_ROW, anywhere: true });
				const ring = this.at(f.ring);
				const rowOfRing = (number: number) => this.#scope.rowOfRing(number);
				return (i) => {
					const row = ringRow(ring(i), rowOfRing);
					return row === undefined ? Number.NaN : v[row]! * factor;
				};
			}
			default:
				return alone(f.op, this.at(f.a));
		}
	}

	/** A column as it stands, or one worked out for the purpose. */
	#column(f: Figure): { vector: Vector; factor: number } {
		return f.op === 'column'
			? { vector: this.#scope.column(f.id), factor: f.factor }
			: { vector: this.#scope.hidden(f), factor: 1 };
	}

	#rolling(op: 'mean' | 'std' | 'sum', a: Figure, rows: number): At {
		const { vector, factor } = this.#column(a);
		const v = this.#note(vector, { ...SAME_ROW, back: rows - 1 });
		const sum = (i: number): number =>
			i + 1 < rows ? Number.NaN : sumOver(v, i + 1 - rows, i + 1);
		if (op === 'sum') return (i) => finite(sum(i) * factor);
		if (op === 'mean') return (i) => finite((sum(i) / rows) * factor);
		return (i) => {
			const mean = sum(i) / rows;
			if (Number.isNaN(mean)) return mean;
			let squares = 0;
			for (let k = i + 1 - rows; k <= i; k++) squares += (v[k]! - mean) ** 2;
			return finite(Math.sqrt(squares / (rows - 1)) * factor);
		};
	}
}

/** Row of a ring number that may have come out of a division. */
export function ringRow(
	ring: number,
	rowOfRing: (ring: number) => number | undefined,
): number | undefined {
	const whole = Math.round(ring);
	return Math.abs(ring - whole) < 1e-9 ? rowOfRing(whole) : undefined;
}

/** Compensated (Neumaier), always over the same rows in the same order, so that a part worked out anew is the same to the bit. */
function sumOver(v: Float64Array, from: number, to: number): number {
	let sum = 0;
	let lost = 0;
	for (let k = from; k < to; k++) {
		const x = v[k]!;
		const next = sum + x;
		lost += Math.abs(sum) >= Math.abs(x) ? sum - next + x : x - next + sum;
		sum = next;
	}
	return sum + lost;
}

function alone(op: 'negate' | 'not' | 'abs' | 'sqrt' | 'exp' | 'known', a: At): At {
	switch (op) {
		case 'negate':
			return (i) => -a(i);
		case 'not':
			return (i) => 1 - a(i);
		case 'abs':
			return (i) => Math.abs(a(i));
		case 'sqrt':
			return (i) => Math.sqrt(a(i));
		case 'exp':
			return (i) => finite(Math.exp(a(i)));
		case 'known':
			return (i) => {
				const x = a(i);
				return Number.isNaN(x) ? 0 : 1;
			};
	}
}

function arithmetic(op: 'add' | 'subtract' | 'multiply' | 'divide' | 'power', a: At, b: At): At {
	switch (op) {
		case 'add':
			return (i) => finite(a(i) + b(i));
		case 'subtract':
			return (i) => finite(a(i) - b(i));
		case 'multiply':
			return (i) => finite(a(i) * b(i));
		case 'divide':
			return (i) => finite(a(i) / b(i));
		case 'power':
			return (i) => {
				const x = a(i);
				// NaN to the power of 0 would be 1.
				return Number.isNaN(x) ? x : finite(x ** b(i));
			};
	}
}

function both(op: 'and' | 'or', a: At, b: At): At {
	return op === 'and'
		? (i) => a(i) * b(i)
		: (i) => {
				const [x, y] = [a(i), b(i)];
				return x + y > 0 ? 1 : x + y;
			};
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

function comparing(how: Compare, a: At, b: At): At {
	const holds = HOW[how];
	return (i) => {
		const x = a(i);
		const y = b(i);
		return Number.isNaN(x) || Number.isNaN(y) ? Number.NaN : holds(x, y) ? 1 : 0;
	};
}

function outermost(op: 'min' | 'max', of: readonly At[]): At {
	const [a, b] = of;
	const pick = op === 'min' ? Math.min : Math.max;
	if (a !== undefined && b !== undefined && of.length === 2) return (i) => pick(a(i), b(i));
	return (i) => {
		let found = op === 'min' ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY;
		for (const one of of) found = pick(found, one(i));
		return found;
	};
}

function logarithm(a: At, base: At | null): At {
	if (base === null) return (i) => finite(Math.log(a(i)));
	return (i) => {
		const b = base(i);
		return finite(Math.log(a(i)) / (b > 0 ? Math.log(b) : Number.NaN));
	};
}

/** Halves away from zero. */
function rounded(a: At, decimals: At | null): At {
	return (i) => {
		const x = a(i);
		const scale = decimals === null ? 1 : 10 ** decimals(i);
		const size = Math.abs(x) * scale;
		if (size > Number.MAX_SAFE_INTEGER) return x;
		// 1.005 · 100 falls short of 100.5 by what doubles cannot hold.
		const whole = Math.round(size * (1 + Number.EPSILON));
		return (Math.sign(x) * whole) / scale;
	};
}
