import type { CellValue } from '../sheet/column.ts';
import { type BlankNames, reasonsOf } from './blank.ts';
import type { FormulaPlan, PlannedColumn } from './columns.ts';
import { BLOCK, type Compiled, compile, type Operand, type Scope, type Vector } from './compile.ts';
import type { Figure } from './figure.ts';
import {
	lookingAt,
	NO_ROWS,
	type Range,
	type Ranges,
	rangesOf,
	SAME_ROW,
	united,
} from './ranges.ts';

/** The rows of a sheet as formulas see them, numbered from 0 in the order of the sheet. */
export interface FormulaRows {
	readonly count: number;
	/** A cell of a column of the catalogue, in its own unit. */
	cell(column: string, row: number): CellValue;
	/** Share of a stratum in the face of a row's ring; null where the ring has no ground. */
	faceShare(stratum: string, row: number): number | null;
	/** Ring number of a row; null where rows are no rings. */
	ring(row: number): number | null;
	/** "ring 12", as reasons name it. */
	name(row: number): string;
	/** Whether the ground sheet has the stratum at all. */
	hasStratum(stratum: string): boolean;
}

/** Rows that can be added before everything has to be made anew. */
const ROOM = 4_096;

interface Column extends Vector {
	/** Where figures changed since the beginning of the run. */
	changed: Ranges;
}

interface Input extends Column {
	readonly read: (row: number) => number;
}

interface Step {
	readonly target: Column;
	readonly looksAt: ReadonlyMap<Vector, { back: number; onward: boolean; anywhere: boolean }>;
	/** Works out rows, tells which figures changed. */
	readonly run: (rows: Ranges) => Ranges;
}

/**
 * The figures of a sheet's formula columns. After a change of the rows only what looks at them is
 * worked out again, in an order that is always the same; what comes out is the same to the bit as
 * working out everything.
 */
export class FormulaFigures {
	readonly plan: FormulaPlan;
	#rows: FormulaRows;
	#count: number;
	readonly #capacity: number;
	readonly #inputs = new Map<string, Input>();
	readonly #hidden = new Map<string, Column>();
	readonly #running = new Map<Vector, Column & { firstMissing: number }>();
	readonly #results = new Map<string, Column>();
	readonly #steps: Step[] = [];
	#textNumbers = new Map<string, number>();
	#rowOfRing: Map<number, number> | null = null;
	readonly #scope: Scope;
	readonly #parts = new WeakMap<Figure, Operand>();
	readonly #base: FormulaFigures | null;
	/** While these are made: figures whose columns of the sheet can be taken over. */
	#earlier: FormulaFigures | null;

	/**
	 * Works out every row. Columns with a fault stay blank. `over`: figures over the same rows that are
	 * there already; their columns of the sheet are taken as they are. With `only`, one column is worked
	 * out over them, to try it, and they stay as they are; else these take their place.
	 */
	constructor(
		plan: FormulaPlan,
		rows: FormulaRows,
		over: FormulaFigures | null = null,
		only: string | null = null,
	) {
		this.plan = plan;
		this.#rows = rows;
		this.#count = rows.count;
		this.#base = only === null ? null : over;
		this.#earlier = over;
		if (over !== null) this.#textNumbers = over.#textNumbers;
		this.#capacity = over === null ? rows.count + ROOM : over.#capacity;
		this.#scope = {
			column: (id) =>
				this.#results.get(id) ??
				(this.#base === null ? undefined : this.#base.#results.get(id)) ??
				this.#input(id, (row) => this.#number(id, row)),
			texts: (id) => this.#input(`text ${id}`, (row) => this.#text(id, row)),
			textNumber: (text) => this.#textNumber(text),
			face: (stratum) =>
				this.#input(`face ${stratum}`, (row) => this.#rows.faceShare(stratum, row) ?? Number.NaN),
			hidden: (figure) => this.#hiddenColumn(figure),
			running: (of) => this.#runningSum(of),
			rowOfRing: (ring) => this.#ringRows().get(ring),
		};
		const wanted = (one: PlannedColumn) => only === null || one.column.id === only;
		for (const one of plan.columns)
			if (wanted(one)) this.#results.set(one.column.id, this.#blank());
		for (const one of plan.order) if (wanted(one)) this.#addColumn(one);
		for (const column of this.#results.values()) column.changed = NO_ROWS;
		this.#earlier = null;
	}

	/** Ids of the formula columns, as entered. */
	get ids(): readonly string[] {
		return this.plan.columns.map((one) => one.column.id);
	}

	/** Rows in which a column is blank. */
	blankRows(id: string): number {
		const values = this.#results.get(id)?.values;
		let blank = 0;
		for (let row = 0; row < this.#count; row++)
			if (values === undefined || Number.isNaN(values[row])) blank++;
		return blank;
	}

	/** A figure in its column's unit, null where it is blank. */
	value(id: string, row: number): number | null {
		const value = this.#results.get(id)?.values[row];
		return value === undefined || Number.isNaN(value) ? null : value;
	}

	/** Columns of the sheet, and shares of the face, that any formula looks at. */
	get looksAt(): readonly string[] {
		return [...this.#inputs.keys()];
	}

	/**
	 * Takes in that cells of these rows may have changed and works out what looks at them. Gives the
	 * rows in which a formula column changed.
	 */
	update(rows: Iterable<number>): Ranges {
		const concerned = rangesOf(rows);
		for (const input of this.#inputs.values()) input.changed = this.#reread(input, concerned);
		return this.#run();
	}

	/** Takes in rows added after the last; null if there is no room, and all is to be made anew. */
	append(rows: FormulaRows): Ranges | null {
		if (rows.count > this.#capacity || rows.count < this.#count) return null;
		this.#rows = rows;
		this.#rowOfRing = null;
		return this.#grow(rows.count);
	}

	/** Why a figure is blank; empty where it is not. */
	reasons(id: string, row: number): string[] {
		const planned = this.plan.columns.find((one) => one.column.id === id);
		if (planned === undefined || this.value(id, row) !== null) return [];
		return reasonsOf(planned, row, this.#blankNames());
	}

	/** A part of a formula in a row, in what formulas reckon in: for telling how. NaN where it is missing. */
	part(figure: Figure, row: number): number {
		let operand = this.#parts.get(figure);
		if (operand === undefined) {
			operand = compile(figure, this.#scope).operand;
			this.#parts.set(figure, operand);
		}
		operand.fill(row, row + 1);
		return operand.array[operand.byRow ? row : 0]!;
	}

	#blankNames(): BlankNames {
		return {
			planned: (id) => this.plan.columns.find((one) => one.column.id === id),
			heading: (id) => this.plan.names.columns.get(id)?.heading ?? id,
			row: (row) => this.#rows.name(row),
			part: (figure, row) => this.part(figure, row),
			firstMissing: (figure, upTo) => this.#firstMissing(figure, upTo),
			rowOfRing: (ring) => this.#ringRows().get(ring),
			hasStratum: (stratum) => this.#rows.hasStratum(stratum),
		};
	}

	/** First row in which the figure of a running sum is missing. */
	#firstMissing(figure: Figure, upTo: number): number {
		const of = figure.op === 'column' ? this.#scope.column(figure.id) : this.#hiddenColumn(figure);
		return Math.min(this.#running.get(of)?.firstMissing ?? upTo, upTo);
	}

	#blank(): Column {
		return { values: new Float64Array(this.#capacity).fill(Number.NaN), changed: NO_ROWS };
	}

	#input(key: string, read: (row: number) => number): Input {
		if (this.#base !== null) return this.#base.#input(key, read);
		let input = this.#inputs.get(key);
		if (input !== undefined) return input;
		const there = this.#earlier === null ? undefined : this.#earlier.#inputs.get(key);
		input = { values: there?.values ?? this.#blank().values, changed: NO_ROWS, read };
		this.#inputs.set(key, input);
		if (there === undefined)
			for (let row = 0; row < this.#count; row++) input.values[row] = read(row);
		return input;
	}

	#number(id: string, row: number): number {
		const value = this.#rows.cell(id, row);
		return typeof value === 'number' ? value : Number.NaN;
	}

	#text(id: string, row: number): number {
		const value = this.#rows.cell(id, row);
		return typeof value === 'string' ? this.#textNumber(value) : Number.NaN;
	}

	#textNumber(text: string): number {
		let number = this.#textNumbers.get(text);
		if (number === undefined) {
			number = this.#textNumbers.size;
			this.#textNumbers.set(text, number);
		}
		return number;
	}

	#ringRows(): ReadonlyMap<number, number> {
		if (this.#rowOfRing === null) {
			this.#rowOfRing = new Map();
			for (let row = 0; row < this.#rows.count; row++) {
				const ring = this.#rows.ring(row);
				if (ring !== null) this.#rowOfRing.set(ring, row);
			}
		}
		return this.#rowOfRing;
	}

	#hiddenColumn(figure: Figure): Column {
		const key = JSON.stringify(figure);
		let column = this.#hidden.get(key);
		if (column === undefined) {
			column = this.#blank();
			this.#hidden.set(key, column);
			this.#addStep(column, compile(figure, this.#scope), 1);
		}
		return column;
	}

	#addColumn({ column, meaning, factor }: PlannedColumn): void {
		const target = this.#results.get(column.id);
		if (target === undefined || meaning === null) return;
		this.#addStep(target, compile(meaning.figure, this.#scope), factor);
	}

	#addStep(target: Column, { operand, reaches }: Compiled, over: number): void {
		const { values } = target;
		this.#addRun({
			target,
			looksAt: reaches,
			run: (rows) => workOut(values, rows, operand, over),
		});
	}

	/** Steps come after those they look at; one that is asked for late is brought up to date at once. */
	#addRun(step: Step): void {
		this.#steps.push(step);
		if (this.#count > 0) step.run([{ from: 0, to: this.#count }]);
	}

	#runningSum(of: Vector): Vector {
		let running = this.#running.get(of);
		if (running === undefined) {
			const made = { ...this.#blank(), firstMissing: Number.POSITIVE_INFINITY };
			const sums = new RunningSums(of.values, made.values, this.#capacity);
			running = made;
			this.#running.set(of, made);
			this.#addRun({
				target: made,
				looksAt: new Map([[of, { ...SAME_ROW, onward: true }]]),
				run: (rows) => {
					const [first] = rows;
					if (first === undefined) return NO_ROWS;
					const changed = sums.runOn(first.from, this.#count);
					made.firstMissing = sums.firstMissing;
					return changed;
				},
			});
		}
		return running;
	}

	/** Works out the rows by which the sheet has grown. */
	#grow(count: number): Ranges {
		const added: Ranges = count > this.#count ? [{ from: this.#count, to: count }] : NO_ROWS;
		this.#count = count;
		for (const input of this.#inputs.values()) {
			for (const { from, to } of added)
				for (let row = from; row < to; row++) input.values[row] = input.read(row);
			input.changed = added;
		}
		return united([this.#run(added), added]);
	}

	#reread({ values, read }: Input, rows: Ranges): Ranges {
		const changed: number[] = [];
		for (const { from, to } of rows)
			for (let row = from; row < to; row++) {
				const now = read(row);
				const before = values[row]!;
				if (now === before || (Number.isNaN(now) && Number.isNaN(before))) continue;
				values[row] = now;
				changed.push(row);
			}
		return rangesOf(changed);
	}

	/** `added`: rows that are worked out whether or not anything they look at changed. */
	#run(added: Ranges = NO_ROWS): Ranges {
		const changedColumns: Ranges[] = [];
		const ran: Column[] = [];
		for (const { target, looksAt, run } of this.#steps) {
			const dirty: Ranges[] = added.length > 0 ? [added] : [];
			for (const [vector, reach] of looksAt) {
				const { changed } = vector as Column;
				if (changed.length > 0) dirty.push(lookingAt(changed, reach, this.#count));
			}
			if (dirty.length === 0) continue;
			target.changed = run(united(dirty));
			ran.push(target);
		}
		for (const column of this.#results.values())
			if (column.changed.length > 0) changedColumns.push(column.changed);
		for (const column of ran) column.changed = NO_ROWS;
		for (const input of this.#inputs.values()) input.changed = NO_ROWS;
		return united(changedColumns);
	}
}

/** Works out rows into `values`; gives those whose figure is another than before. */
function workOut(values: Float64Array, rows: Ranges, operand: Operand, over: number): Ranges {
	const changed: Range[] = [];
	for (const { from, to } of rows)
		for (let start = from; start < to; start += BLOCK) {
			const end = Math.min(to, start + BLOCK);
			operand.fill(start, end);
			take(values, start, end, operand.array, operand.byRow ? start : 0, over, changed);
		}
	return changed;
}

/** Puts a block of figures into a column and adds the rows in which they are others to `changed`. */
function take(
	values: Float64Array,
	from: number,
	to: number,
	block: Float64Array,
	at: number,
	over: number,
	changed: Range[],
): void {
	let start = -1;
	for (let row = from, k = at; row < to; row++, k++) {
		// Nothing infinite is kept; adding 0 keeps a negative zero out.
		const made = block[k]! / over + 0;
		const now = made - made === 0 ? made : Number.NaN;
		const before = values[row]!;
		if (now === before || (Number.isNaN(now) && Number.isNaN(before))) {
			if (start >= 0) add(changed, start, row);
			start = -1;
			continue;
		}
		values[row] = now;
		if (start < 0) start = row;
	}
	if (start >= 0) add(changed, start, to);
}

/** A stretch that goes on from the last one makes it longer. */
function add(changed: Range[], from: number, to: number): void {
	const last = changed.at(-1);
	if (last !== undefined && last.to === from) changed[changed.length - 1] = { from: last.from, to };
	else changed.push({ from, to });
}

/** A compensated (Neumaier) sum from the first row to each, which can be taken up again at any row. */
class RunningSums {
	readonly #of: Float64Array;
	readonly #values: Float64Array;
	readonly #sums: Float64Array;
	readonly #lost: Float64Array;
	/** First row in which a figure is missing: from there on there is no sum. */
	firstMissing = Number.POSITIVE_INFINITY;

	constructor(of: Float64Array, values: Float64Array, capacity: number) {
		this.#of = of;
		this.#values = values;
		this.#sums = new Float64Array(capacity);
		this.#lost = new Float64Array(capacity);
	}

	/** Carries the sum on from a row to the end; gives the rows whose sum is another than before. */
	runOn(from: number, to: number): Ranges {
		const [of, values, sums, lost] = [this.#of, this.#values, this.#sums, this.#lost];
		let sum = from > 0 ? sums[from - 1]! : 0;
		let rest = from > 0 ? lost[from - 1]! : 0;
		let missing = this.firstMissing < from ? this.firstMissing : Number.POSITIVE_INFINITY;
		const changed: Range[] = [];
		let start = -1;
		for (let row = from; row < to; row++) {
			const x = of[row]!;
			if (Number.isNaN(x) && missing > row) missing = row;
			const next = sum + x;
			rest += Math.abs(sum) >= Math.abs(x) ? sum - next + x : x - next + sum;
			sum = next;
			sums[row] = sum;
			lost[row] = rest;
			const now = finiteSum(sum + rest);
			const before = values[row]!;
			if (now === before || (Number.isNaN(now) && Number.isNaN(before))) {
				if (start >= 0) changed.push({ from: start, to: row });
				start = -1;
				continue;
			}
			values[row] = now;
			if (start < 0) start = row;
		}
		if (start >= 0) changed.push({ from: start, to });
		this.firstMissing = missing;
		return changed;
	}
}

const finiteSum = (x: number): number => (x - x === 0 ? x + 0 : Number.NaN);
