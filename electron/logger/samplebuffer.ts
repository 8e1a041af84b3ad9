import type { Samples } from '../../calc/circuit/samples.ts';
import type { NumberColumn } from './batch.ts';

type Signal = Exclude<keyof Samples, 'count' | 'time_s' | 'mode'>;

/** Which series column feeds which signal, and the factor into SI. The same factors serve shift readings. */
export const SIGNALS: readonly {
	readonly id: string;
	readonly signal: Signal;
	readonly toSi: number;
}[] = [
	{ id: 'feed_flow_m3_h', signal: 'feedFlow_m3_s', toSi: 1 / 3600 },
	{ id: 'feed_density_t_m3', signal: 'feedDensity_kg_m3', toSi: 1000 },
	{ id: 'return_flow_m3_h', signal: 'returnFlow_m3_s', toSi: 1 / 3600 },
	{ id: 'return_density_t_m3', signal: 'returnDensity_kg_m3', toSi: 1000 },
	{ id: 'side_flow_m3_h', signal: 'sideFlow_m3_s', toSi: 1 / 3600 },
	{ id: 'chamber_level_m', signal: 'chamberLevel_m', toSi: 1 },
	{ id: 'feed_total_m3', signal: 'feedTotal_m3', toSi: 1 },
	{ id: 'return_total_m3', signal: 'returnTotal_m3', toSi: 1 },
];

/** A stretch of a record as it comes, to take from its front and add to its end. */
export interface RecordPart {
	readonly count: number;
	readonly time_s: Float64Array;
	readonly mode: Uint8Array;
	readonly numbers: readonly Pick<NumberColumn, 'id' | 'values'>[];
}

/** Samples in SI that grow at the end and are dropped from the front; memory follows what is kept. */
export class SampleBuffer {
	#count = 0;
	#time: Float64Array = new Float64Array(1024);
	#mode: Uint8Array = new Uint8Array(1024);
	readonly #columns = new Map<string, Float64Array>();

	get count(): number {
		return this.#count;
	}
	/** Stamps kept, as a view that is good until the next change. */
	get time_s(): Float64Array {
		return this.#time.subarray(0, this.#count);
	}

	/** Adds the rows [from, to) of a part. */
	append(part: RecordPart, from = 0, to = part.count): void {
		const n = to - from;
		if (n <= 0) return;
		this.#makeRoom(this.#count + n);
		const at = this.#count;
		this.#time.set(part.time_s.subarray(from, to), at);
		this.#mode.set(part.mode.subarray(from, to), at);
		for (const { id, toSi } of SIGNALS) {
			const given = part.numbers.find((column) => column.id === id)?.values;
			let column = this.#columns.get(id);
			if (column === undefined) {
				if (given === undefined) continue;
				// A column that only a later file has was not recorded until then.
				column = new Float64Array(this.#time.length).fill(Number.NaN, 0, at);
				this.#columns.set(id, column);
			}
			if (given === undefined) column.fill(Number.NaN, at, at + n);
			else for (let i = 0; i < n; i++) column[at + i] = given[from + i]! * toSi;
		}
		this.#count = at + n;
	}

	/** Forgets the first `n` samples. */
	drop(n: number): void {
		if (n <= 0) return;
		this.#time.copyWithin(0, n, this.#count);
		this.#mode.copyWithin(0, n, this.#count);
		for (const column of this.#columns.values()) column.copyWithin(0, n, this.#count);
		this.#count -= n;
	}

	/** What is kept, as views that are good until the next change. */
	samples(): Samples {
		const count = this.#count;
		const column = (signal: Signal): Float64Array | null => {
			const id = SIGNALS.find((each) => each.signal === signal)?.id ?? '';
			return this.#columns.get(id)?.subarray(0, count) ?? null;
		};
		const needed = (signal: Signal): Float64Array =>
			column(signal) ?? new Float64Array(count).fill(Number.NaN);
		return {
			count,
			time_s: this.#time.subarray(0, count),
			mode: this.#mode.subarray(0, count),
			feedFlow_m3_s: needed('feedFlow_m3_s'),
			feedDensity_kg_m3: needed('feedDensity_kg_m3'),
			returnFlow_m3_s: needed('returnFlow_m3_s'),
			returnDensity_kg_m3: needed('returnDensity_kg_m3'),
			sideFlow_m3_s: column('sideFlow_m3_s'),
			chamberLevel_m: column('chamberLevel_m'),
			feedTotal_m3: column('feedTotal_m3'),
			returnTotal_m3: column('returnTotal_m3'),
		};
	}

	#makeRoom(rows: number): void {
		if (rows <= this.#time.length) return;
		const room = Math.max(rows, Math.ceil(this.#time.length * 1.5));
		const grown = (old: Float64Array): Float64Array<ArrayBuffer> => {
			const next = new Float64Array(room);
			next.set(old.subarray(0, this.#count));
			return next;
		};
		this.#time = grown(this.#time);
		const mode = new Uint8Array(room);
		mode.set(this.#mode.subarray(0, this.#count));
		this.#mode = mode;
		for (const [id, column] of this.#columns) this.#columns.set(id, grown(column));
	}
}
