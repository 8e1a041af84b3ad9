import { Chance } from './chance.ts';
import type { Cycle } from './cycle.ts';
import { type DriveMeters, LOW_FLOW_CUTOFF_M3_H } from './meters.ts';
import type { DrivePlan } from './plan.ts';
import { recordGaps } from './recordgap.ts';
import { recordDecimals } from './rounding.ts';

/**
 * A stretch of a logger's record as columns, in file units and already rounded to the decimals of the
 * record. The arrays may be longer than `count` and are filled anew for the next batch.
 */
export interface LoggerBatch {
	readonly ring: number;
	readonly count: number;
	/** Unix time in whole seconds, ascending; a jump is a gap. */
	readonly time_s: Float64Array;
	/** Index into MODES. */
	readonly mode: Uint8Array;
	readonly feedFlow_m3_h: Float64Array;
	readonly feedDensity_t_m3: Float64Array;
	readonly returnFlow_m3_h: Float64Array;
	readonly returnDensity_t_m3: Float64Array;
	readonly chamberLevel_m: Float64Array;
	/** null: the drive has no side flow. */
	readonly sideFlow_m3_h: Float64Array | null;
}

/** Turns cycles into a logger's record. One instance for a whole record, cycles in order. */
export class LoggerRecord {
	readonly #plan: DrivePlan;
	readonly #meters: DriveMeters;
	readonly #chance: Chance;
	/** Lasting noise of the four meters, in standard deviations. */
	readonly #lasting = [0, 0, 0, 0];
	#room = 0;
	#columns = roomFor(0, false);

	constructor(plan: DrivePlan, meters: DriveMeters) {
		this.#plan = plan;
		this.#meters = meters;
		this.#chance = new Chance(plan.seed, 'logger');
	}

	batchOf(cycle: Cycle): LoggerBatch {
		const { grid, ring } = cycle;
		const every = this.#plan.loggerInterval_s;
		const gaps = recordGaps(this.#plan, cycle);
		const rows = Math.ceil(grid.count / every) + 1;
		if (rows > this.#room) {
			this.#room = rows * 2;
			this.#columns = roomFor(this.#room, this.#plan.sideFlow_m3_h > 0);
		}
		const columns = this.#columns;
		let count = 0;
		const first = Math.ceil(grid.start_s / every) * every - grid.start_s;
		for (let at = first; at < grid.count; at += every) {
			const gap = gaps.find(({ from, to }) => at >= from && at < to);
			if (gap) continue;
			columns.time_s[count] = grid.start_s + at;
			columns.mode[count] = grid.mode[at]!;
			columns.point[count] = at;
			count++;
		}
		this.#flow(0, 'feed_flow', grid.feedFlow_m3_s, grid.start_s, count, columns.feedFlow_m3_h);
		this.#flow(
			2,
			'return_flow',
			grid.returnFlow_m3_s,
			grid.start_s,
			count,
			columns.returnFlow_m3_h,
		);
		this.#density(
			1,
			'feed_density',
			grid.feedExcess_kg_m3,
			grid.start_s,
			count,
			columns.feedDensity_t_m3,
		);
		this.#density(
			3,
			'return_density',
			grid.returnExcess_kg_m3,
			grid.start_s,
			count,
			columns.returnDensity_t_m3,
		);
		const decimals = recordDecimals(this.#meters.perfect);
		const noise = this.#meters.levelNoise_m;
		const levelTimes = 10 ** decimals.level;
		const flowTimes = 10 ** decimals.flow;
		for (let i = 0; i < count; i++) {
			const at = columns.point[i]!;
			const level = grid.level_m[at]! + (noise === 0 ? 0 : noise * this.#chance.normal());
			columns.chamberLevel_m[i] = Math.round(level * levelTimes) / levelTimes;
			if (columns.sideFlow_m3_h)
				columns.sideFlow_m3_h[i] =
					Math.round(grid.sideFlow_m3_s[at]! * 3600 * flowTimes) / flowTimes;
		}
		return { ring, count, ...columns };
	}

	#flow(
		place: number,
		meter: 'feed_flow' | 'return_flow',
		flow_m3_s: Float64Array,
		start_s: number,
		count: number,
		out: Float64Array,
	): void {
		const { point } = this.#columns;
		const { perfect } = this.#meters;
		const times = 10 ** recordDecimals(perfect).flow;
		if (perfect) {
			for (let i = 0; i < count; i++)
				out[i] = Math.round(flow_m3_s[point[i]!]! * 3600 * times) / times;
			return;
		}
		const { slope, offset, quickNoise, lastingNoise, kept, fresh } = this.#noiseOf(meter);
		// Drift moves over half days: one value a cycle is enough.
		const drift = this.#meters.driftAt(meter, start_s);
		const chance = this.#chance;
		let lasting = this.#lasting[place]!;
		for (let i = 0; i < count; i++) {
			lasting = kept * lasting + fresh * chance.normal();
			const flow = flow_m3_s[point[i]!]! * 3600;
			const noise = lastingNoise * lasting + quickNoise * chance.normal();
			const shown = flow < LOW_FLOW_CUTOFF_M3_H ? 0 : (flow - offset + drift + noise) / slope;
			out[i] = Math.max(0, Math.round(shown * times) / times);
		}
		this.#lasting[place] = lasting;
	}

	#density(
		place: number,
		meter: 'feed_density' | 'return_density',
		excess_kg_m3: Float64Array,
		start_s: number,
		count: number,
		out: Float64Array,
	): void {
		const { point } = this.#columns;
		const { perfect } = this.#meters;
		const water = this.#plan.waterDensity_kg_m3;
		const times = 10 ** recordDecimals(perfect).density;
		if (perfect) {
			for (let i = 0; i < count; i++)
				out[i] = Math.round(((water + excess_kg_m3[point[i]!]!) / 1000) * times) / times;
			return;
		}
		const { slope, offset, quickNoise, lastingNoise, kept, fresh } = this.#noiseOf(meter);
		const drift = this.#meters.driftAt(meter, start_s);
		const chance = this.#chance;
		let lasting = this.#lasting[place]!;
		for (let i = 0; i < count; i++) {
			lasting = kept * lasting + fresh * chance.normal();
			const density = (water + excess_kg_m3[point[i]!]!) / 1000;
			const noise = lastingNoise * lasting + quickNoise * chance.normal();
			out[i] = Math.round(((density - offset + drift + noise) / slope) * times) / times;
		}
		this.#lasting[place] = lasting;
	}

	/** Errors of a meter, and how much of its lasting noise is kept from one row to the next. */
	#noiseOf(meter: 'feed_flow' | 'return_flow' | 'feed_density' | 'return_density') {
		const errors = this.#meters.errors[meter];
		const kept = Math.max(0, 1 - this.#plan.loggerInterval_s / errors.lasts_s);
		return { ...errors, kept, fresh: Math.sqrt(1 - kept * kept) };
	}
}

function roomFor(rows: number, side: boolean) {
	return {
		time_s: new Float64Array(rows),
		mode: new Uint8Array(rows),
		/** Grid point of each row. */
		point: new Int32Array(rows),
		feedFlow_m3_h: new Float64Array(rows),
		feedDensity_t_m3: new Float64Array(rows),
		returnFlow_m3_h: new Float64Array(rows),
		returnDensity_t_m3: new Float64Array(rows),
		chamberLevel_m: new Float64Array(rows),
		sideFlow_m3_h: side ? new Float64Array(rows) : null,
	};
}
