import { MODE_MISSING, type Samples } from '../../calc/circuit/samples.ts';
import { samplesFromReadings } from '../../calc/sheet/samples.ts';
import type { RowCells } from '../folder/content.ts';

const OPTIONAL = ['sideFlow_m3_s', 'chamberLevel_m', 'feedTotal_m3', 'returnTotal_m3'] as const;
const FLOATS = [
	'time_s',
	'feedFlow_m3_s',
	'feedDensity_kg_m3',
	'returnFlow_m3_s',
	'returnDensity_kg_m3',
	...OPTIONAL,
] as const;
type FloatColumn = (typeof FLOATS)[number];

/** Room left for readings to come, so that adding one does not copy the whole record. */
const SLACK = 1_024;
/** Beyond this many rows that come, go or move at once, building anew is quicker than moving each. */
const MANY_MOVES = 64;

export interface ReadingMove {
	readonly before: RowCells | null;
	readonly after: RowCells | null;
}

/**
 * All readings of a document as samples in time order, kept up to date in place: one edited reading
 * touches its own stamp only.
 */
export class ReadingRecord {
	#count = 0;
	#mode = new Uint8Array(0);
	readonly #columns: Record<FloatColumn, Float64Array>;
	/** How many stamps have a value, by optional column: a column nobody fills is not kept. */
	readonly #filled: Record<(typeof OPTIONAL)[number], number>;

	constructor(readings: Iterable<RowCells>) {
		this.#columns = Object.fromEntries(FLOATS.map((name) => [name, new Float64Array(0)])) as Record<
			FloatColumn,
			Float64Array
		>;
		this.#filled = { sideFlow_m3_s: 0, chamberLevel_m: 0, feedTotal_m3: 0, returnTotal_m3: 0 };
		this.rebuild(readings);
	}

	rebuild(readings: Iterable<RowCells>): void {
		const rows = [...readings].sort((a, b) => timeOf(a) - timeOf(b));
		const built = samplesFromReadings(rows);
		const room = rows.length + SLACK;
		this.#count = built.count;
		this.#mode = new Uint8Array(room).fill(MODE_MISSING);
		this.#mode.set(built.mode.subarray(0, built.count));
		for (const name of FLOATS) {
			const column = new Float64Array(room).fill(Number.NaN);
			const from = built[name];
			if (from !== null) column.set(from.subarray(0, built.count));
			this.#columns[name] = column;
		}
		for (const name of OPTIONAL) this.#filled[name] = this.#countFilled(name);
	}

	/** Brings the record from the rows before to the rows after; `all` gives every reading as it is now. */
	apply(moves: readonly ReadingMove[], all: () => Iterable<RowCells>): void {
		const moved = moves.filter(
			({ before, after }) => before === null || after === null || timeOf(before) !== timeOf(after),
		);
		if (moved.length > MANY_MOVES) {
			this.rebuild(all());
			return;
		}
		for (const { before } of moved) if (before !== null) this.#remove(timeOf(before));
		for (const move of moves) {
			if (move.after === null) continue;
			const at = this.#find(timeOf(move.after));
			if (this.#columns.time_s[at] !== timeOf(move.after) || at >= this.#count) this.#insertAt(at);
			this.#put(at, move.after);
		}
	}

	/** The record as the balance takes it; good until the next {@link apply}. */
	samples(): Samples {
		const c = this.#columns;
		const kept = (name: (typeof OPTIONAL)[number]) => (this.#filled[name] > 0 ? c[name] : null);
		return {
			count: this.#count,
			time_s: c.time_s,
			mode: this.#mode,
			feedFlow_m3_s: c.feedFlow_m3_s,
			feedDensity_kg_m3: c.feedDensity_kg_m3,
			returnFlow_m3_s: c.returnFlow_m3_s,
			returnDensity_kg_m3: c.returnDensity_kg_m3,
			sideFlow_m3_s: kept('sideFlow_m3_s'),
			chamberLevel_m: kept('chamberLevel_m'),
			feedTotal_m3: kept('feedTotal_m3'),
			returnTotal_m3: kept('returnTotal_m3'),
		};
	}

	hasTime(time_s: number): boolean {
		const at = this.#find(time_s);
		return at < this.#count && this.#columns.time_s[at] === time_s;
	}

	/** Optional columns that are kept: a change here concerns every ring. */
	keptColumns(): string {
		return OPTIONAL.filter((name) => this.#filled[name] > 0).join(' ');
	}

	#find(time_s: number): number {
		const times = this.#columns.time_s;
		let low = 0;
		let high = this.#count;
		while (low < high) {
			const middle = (low + high) >> 1;
			if (times[middle]! < time_s) low = middle + 1;
			else high = middle;
		}
		return low;
	}

	#put(at: number, cells: RowCells): void {
		const one = samplesFromReadings([cells]);
		for (const name of OPTIONAL) if (!Number.isNaN(this.#columns[name][at]!)) this.#filled[name]--;
		for (const name of FLOATS) this.#columns[name][at] = one[name]?.[0] ?? Number.NaN;
		for (const name of OPTIONAL) if (!Number.isNaN(this.#columns[name][at]!)) this.#filled[name]++;
		this.#mode[at] = one.mode[0] ?? MODE_MISSING;
	}

	#insertAt(at: number): void {
		if (this.#count === this.#mode.length) this.#grow();
		this.#mode.copyWithin(at + 1, at, this.#count);
		for (const name of FLOATS) {
			this.#columns[name].copyWithin(at + 1, at, this.#count);
			this.#columns[name][at] = Number.NaN;
		}
		this.#count++;
	}

	#remove(time_s: number): void {
		const at = this.#find(time_s);
		if (at >= this.#count || this.#columns.time_s[at] !== time_s)
			throw new RangeError(`there is no reading at ${time_s}`);
		for (const name of OPTIONAL) if (!Number.isNaN(this.#columns[name][at]!)) this.#filled[name]--;
		this.#mode.copyWithin(at, at + 1, this.#count);
		for (const name of FLOATS) this.#columns[name].copyWithin(at, at + 1, this.#count);
		this.#count--;
	}

	#grow(): void {
		const room = this.#mode.length + SLACK + (this.#mode.length >> 3);
		const mode = new Uint8Array(room).fill(MODE_MISSING);
		mode.set(this.#mode);
		this.#mode = mode;
		for (const name of FLOATS) {
			const column = new Float64Array(room).fill(Number.NaN);
			column.set(this.#columns[name]);
			this.#columns[name] = column;
		}
	}

	#countFilled(name: (typeof OPTIONAL)[number]): number {
		let filled = 0;
		for (let i = 0; i < this.#count; i++) if (!Number.isNaN(this.#columns[name][i]!)) filled++;
		return filled;
	}
}

function timeOf(cells: RowCells): number {
	const time = cells.time;
	if (typeof time !== 'number') throw new RangeError('a reading without a time is not kept');
	return time;
}
