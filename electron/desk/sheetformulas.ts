import type { FormulaPlan, FormulaSheetId } from '../../calc/formula/columns.ts';
import { type Ranges, united } from '../../calc/formula/ranges.ts';
import { FormulaFigures, type FormulaRows } from '../../calc/formula/recalculate.ts';
import { sumOf } from '../../calc/quantity/sum.ts';
import { dateTime } from '../../calc/quantity/time.ts';
import type { CellValue } from '../../calc/sheet/column.ts';
import type { DriveModel } from './drivemodel.ts';

type Cells = Readonly<Record<string, CellValue>>;

/** Where the figures of the catalogue's columns come from, by row number. */
export interface CellSource {
	/** Cells of a ledger row. */
	readonly ledger: (row: number) => Cells;
	/** Worked-out cells of a reading. */
	readonly reading: (row: number) => Cells;
	/** Ids of the worked-out columns of the readings. */
	readonly worked: ReadonlySet<string>;
}

/** More rings than most drives have; of readings one or two columns are looked at. */
const MOST_LOOKED_AT = 8_192;

/** One sheet's formula figures by row number, kept up with the rows. */
export class SheetFormulas {
	readonly #model: DriveModel;
	readonly #sheet: FormulaSheetId;
	readonly #source: CellSource;
	readonly #utcOffset_min: number;
	/** Row numbers in the order of the sheet. */
	#order: number[] = [];
	#placeOf = new Map<number, number>();
	#figures: FormulaFigures;
	/** Cells of rows looked at in this run: one row is asked for several columns. */
	readonly #looked = new Map<number, Cells>();

	constructor(plan: FormulaPlan, model: DriveModel, source: CellSource, utcOffset_min: number) {
		this.#model = model;
		this.#sheet = plan.sheet;
		this.#source = source;
		this.#utcOffset_min = utcOffset_min;
		this.#figures = this.#made(plan);
	}

	get figures(): FormulaFigures {
		return this.#figures;
	}

	get count(): number {
		return this.#order.length;
	}

	/** "ring 12", as reasons name a row. */
	nameOf(place: number): string {
		const key = this.#key(this.#order[place]!);
		return this.#sheet === 'ledger'
			? `ring ${key}`
			: `the reading of ${dateTime(key, this.#utcOffset_min)}`;
	}

	/** Place of a row in the order of the sheet. */
	placeOf(row: number): number | undefined {
		return this.#placeOf.get(row);
	}

	/** A column's figures as they would be, over the columns as they are. */
	trial(plan: FormulaPlan, id: string): FormulaFigures {
		try {
			return new FormulaFigures(plan, this.#rows(), this.#figures, id);
		} finally {
			this.#looked.clear();
		}
	}

	/** Another set of columns over the same rows. */
	take(plan: FormulaPlan): void {
		try {
			this.#figures = new FormulaFigures(plan, this.#rows(), this.#figures);
		} finally {
			this.#looked.clear();
		}
	}

	/**
	 * Takes in rows that came, went or changed; gives the rows in which a formula column changed, or
	 * null if they are more than `most`.
	 */
	follow(rows: Iterable<number>, most: number): number[] | null {
		const places: number[] = [];
		const added: number[] = [];
		for (const row of rows) {
			const place = this.#placeOf.get(row);
			const there = this.#held().has(row);
			if (place !== undefined && there && this.#keepsPlace(row, place)) places.push(place);
			else if (place === undefined && there) added.push(row);
			else if (place !== undefined || there) return this.#anew(most);
		}
		try {
			const changed = this.#figures.update(places);
			return added.length === 0 ? this.#rowsIn(changed, most) : this.#append(added, changed, most);
		} finally {
			this.#looked.clear();
		}
	}

	/** Rows after the last are taken in as they come; any other makes the order anew. */
	#append(added: number[], changed: Ranges, most: number): number[] | null {
		const last = this.#order.at(-1);
		added.sort((a, b) => this.#key(a) - this.#key(b) || a - b);
		const [first] = added;
		if (first === undefined || (last !== undefined && this.#key(first) <= this.#key(last)))
			return this.#anew(most);
		for (const row of added) {
			this.#placeOf.set(row, this.#order.length);
			this.#order.push(row);
		}
		const grown = this.#figures.append(this.#rows());
		return grown === null ? this.#anew(most) : this.#rowsIn(united([changed, grown]), most);
	}

	#anew(most: number): number[] | null {
		this.#figures = this.#made(this.#figures.plan);
		return this.#order.length > most ? null : [...this.#order];
	}

	#made(plan: FormulaPlan): FormulaFigures {
		this.#order = this.#sorted();
		this.#placeOf = new Map(this.#order.map((row, place) => [row, place]));
		try {
			return new FormulaFigures(plan, this.#rows());
		} finally {
			this.#looked.clear();
		}
	}

	/** Rows come from the file in order: sorting is for those that were added in between. */
	#sorted(): number[] {
		const rows = [...this.#held().keys()];
		const keys = Float64Array.from(rows, (row) => this.#key(row));
		const inOrder = keys.every((key, at) => at === 0 || keys[at - 1]! < key);
		if (inOrder) return rows;
		return rows
			.map((row, at) => ({ row, key: keys[at]! }))
			.sort((a, b) => a.key - b.key || a.row - b.row)
			.map(({ row }) => row);
	}

	#held(): ReadonlyMap<number, Cells> {
		return this.#model.rows[this.#sheet === 'ledger' ? 'rings' : 'readings'];
	}

	/** What rows are in the order of. */
	#key(row: number): number {
		return Number(this.#held().get(row)?.[this.#sheet === 'ledger' ? 'ring' : 'time']);
	}

	/** Whether a row still stands between the ones beside it. */
	#keepsPlace(row: number, place: number): boolean {
		const key = this.#key(row);
		const [before, after] = [this.#order[place - 1], this.#order[place + 1]];
		return (
			(before === undefined || this.#key(before) < key) &&
			(after === undefined || this.#key(after) > key)
		);
	}

	#rowsIn(ranges: Ranges, most: number): number[] | null {
		if (ranges.reduce((sum, { from, to }) => sum + to - from, 0) > most) return null;
		const rows: number[] = [];
		for (const { from, to } of ranges)
			for (let place = from; place < to; place++) rows.push(this.#order[place]!);
		return rows;
	}

	#rows(): FormulaRows {
		const order = this.#order;
		return {
			count: order.length,
			cell: (column, place) => this.cell(column, order[place]!),
			faceShare: (stratum, place) => this.#faceShare(stratum, this.#key(order[place]!)),
			ring: (place) => (this.#sheet === 'ledger' ? this.#key(order[place]!) : null),
			name: (place) => this.nameOf(place),
			hasStratum: (stratum) => this.#model.ground.some((share) => share.stratum === stratum),
		};
	}

	/** A cell of a column of the catalogue. */
	cell(column: string, row: number): CellValue {
		if (this.#sheet === 'readings' && !this.#source.worked.has(column))
			return this.#model.rows.readings.get(row)?.[column] ?? null;
		let cells = this.#looked.get(row);
		if (cells === undefined) {
			cells = this.#sheet === 'ledger' ? this.#source.ledger(row) : this.#source.reading(row);
			// Rows are mostly asked for one after the other: long drives are not held twice.
			if (this.#looked.size >= MOST_LOOKED_AT) this.#looked.clear();
			this.#looked.set(row, cells);
		}
		return cells[column] ?? null;
	}

	/** Strata are asked for in a row's ring; one that is not in a face that is described has no share. */
	#faceShare(stratum: string, ring: number): number | null {
		const face = this.#model.ground.filter(
			(share) => share.fromRing <= ring && ring <= share.toRing,
		);
		if (face.length === 0) return null;
		return sumOf(face.filter((share) => share.stratum === stratum).map((one) => one.faceFraction));
	}
}
