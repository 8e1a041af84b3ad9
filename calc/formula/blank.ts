import type { PlannedColumn } from './columns.ts';
import { ringRow } from './compile.ts';
import type { Figure } from './figure.ts';

/** Why a figure of a formula column is blank: which figure was missing, in which row, or what cannot be reckoned. */

export interface BlankNames {
	planned(id: string): PlannedColumn | undefined;
	heading(id: string): string;
	/** "ring 12". */
	row(row: number): string;
	/** The value of a part of a formula in a row; NaN where it is missing. */
	part(figure: Figure, row: number): number;
	/** The first row up to `upTo` in which the figure is missing. */
	firstMissing(figure: Figure, upTo: number): number;
	rowOfRing(ring: number): number | undefined;
	hasStratum(stratum: string): boolean;
}

/** More reasons than this help nobody. */
const MOST_REASONS = 3;
/** Columns on columns: the last of a long line is enough. */
const MOST_COLUMNS_DEEP = 8;

/** The reasons of a blank figure, at least one. */
export function reasonsOf(planned: PlannedColumn, row: number, names: BlankNames): string[] {
	const told = new Set<string>();
	new Telling(names, row, told).column(planned, row, '', 0);
	if (told.size === 0) told.add('The figure is too large to be kept.');
	return [...told].slice(0, MOST_REASONS);
}

class Telling {
	readonly #names: BlankNames;
	readonly #row: number;
	readonly #told: Set<string>;

	constructor(names: BlankNames, row: number, told: Set<string>) {
		this.#names = names;
		this.#row = row;
		this.#told = told;
	}

	column(planned: PlannedColumn, row: number, through: string, deep: number): undefined {
		if (planned.fault !== null) {
			const { heading } = planned.column;
			this.#tell(
				through === ''
					? `The formula cannot be used: ${planned.fault.message}`
					: `The formula of ${heading} cannot be used.`,
			);
			return;
		}
		if (planned.meaning !== null) this.#figure(planned.meaning.figure, row, through, deep);
	}

	#tell(reason: string): undefined {
		if (this.#told.size < MOST_REASONS) this.#told.add(reason);
	}

	#inRow(row: number): string {
		return row === this.#row ? '' : ` in ${this.#names.row(row)}`;
	}

	#missing(figure: Figure, row: number): boolean {
		return Number.isNaN(this.#names.part(figure, row));
	}

	/** Goes to what is missing in a figure that is. */
	#figure(f: Figure, row: number, through: string, deep: number): undefined {
		if (this.#told.size >= MOST_REASONS || !this.#missing(f, row)) return;
		const go = (part: Figure, at = row) => this.#figure(part, at, through, deep);
		switch (f.op) {
			case 'constant':
			case 'known':
				return;
			case 'column':
				return this.#cell(f.id, row, through, deep);
			case 'is':
				return this.#tell(`${this.#names.heading(f.id)} is missing${this.#inRow(row)}.`);
			case 'face':
				return this.#tell(
					this.#names.hasStratum(f.stratum)
						? `The ground sheet says nothing of ${this.#names.row(row)}.`
						: `The ground sheet has no stratum “${f.stratum}”.`,
				);
			case 'choose': {
				const when = this.#names.part(f.when, row);
				return go(Number.isNaN(when) ? f.when : when === 1 ? f.a : f.b);
			}
			case 'min':
			case 'max':
				for (const one of f.of) go(one);
				return;
			case 'mean':
			case 'std':
			case 'sum':
				return this.#rolling(f, row, go);
			case 'total':
				return go(f.a, this.#names.firstMissing(f.a, row));
			case 'previous':
			case 'change':
				if (row === 0) return this.#tell('There is no row before the first.');
				go(f.a, row - 1);
				if (f.op === 'change') go(f.a);
				return;
			case 'at_ring':
				return this.#atRing(f, row, go);
			default:
				return this.#reckoned(f, row, go);
		}
	}

	#cell(id: string, row: number, through: string, deep: number): undefined {
		const planned = this.#names.planned(id);
		if (planned === undefined || deep >= MOST_COLUMNS_DEEP)
			return this.#tell(`${this.#names.heading(id)} is missing${this.#inRow(row)}${through}.`);
		this.column(planned, row, ` (in ${planned.column.heading})`, deep + 1);
	}

	#rolling(
		f: Figure & { op: 'mean' | 'std' | 'sum' },
		row: number,
		go: (part: Figure, at: number) => undefined,
	): undefined {
		const first = row + 1 - f.rows;
		if (first < 0)
			return this.#tell(
				`${f.op} looks at ${f.rows} rows; up to here there ${row === 0 ? 'is 1' : `are ${row + 1}`}.`,
			);
		for (let at = row; at >= first; at--) go(f.a, at);
	}

	#atRing(
		f: Figure & { op: 'at_ring' },
		row: number,
		go: (part: Figure, at?: number) => undefined,
	): undefined {
		const ring = this.#names.part(f.ring, row);
		if (Number.isNaN(ring)) return go(f.ring);
		const found = ringRow(ring, (number) => this.#names.rowOfRing(number));
		if (found === undefined) return this.#tell(`There is no ring ${Number(ring.toFixed(3))}.`);
		go(f.a, found);
	}

	/** Of figures that are there, something that cannot be reckoned. */
	#reckoned(
		f: Exclude<Figure, { op: 'constant' | 'known' | 'column' | 'is' | 'face' | 'choose' }>,
		row: number,
		go: (part: Figure) => undefined,
	): undefined {
		if (!('a' in f)) return;
		const b = 'b' in f && f.b !== null ? f.b : null;
		if (this.#missing(f.a, row) || (b !== null && this.#missing(b, row))) {
			go(f.a);
			if (b !== null) go(b);
			return;
		}
		const where = this.#inRow(row);
		const second = b === null ? null : this.#names.part(b, row);
		if (f.op === 'divide' && second === 0) return this.#tell(`This divides by 0${where}.`);
		if (f.op === 'sqrt') return this.#tell(`This is the root of a number below 0${where}.`);
		if (f.op === 'log')
			return this.#tell(`This is the logarithm of a number that is not above 0${where}.`);
		if (f.op === 'power') return this.#tell(`This power is no number${where}.`);
		this.#tell(`The figure is too large to be kept${where}.`);
	}
}
