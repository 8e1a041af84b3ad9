import type { MeterId } from '../circuit/settings.ts';
import type { CycleGrid } from './grid.ts';
import { type DriveMeters, LOW_FLOW_CUTOFF_M3_H } from './meters.ts';

/** Counter of a flow meter: adds up what the meter shows, noise apart, and starts anew at its capacity. */
export class Totaliser {
	readonly #meters: DriveMeters;
	readonly #meter: Extract<MeterId, 'feed_flow' | 'return_flow'>;
	readonly #capacity_m3: number | null;
	#total_m3 = 0;
	#before_m3_h = 0;

	constructor(
		meters: DriveMeters,
		meter: Extract<MeterId, 'feed_flow' | 'return_flow'>,
		capacity_m3: number | null,
	) {
		this.#meters = meters;
		this.#meter = meter;
		this.#capacity_m3 = capacity_m3;
	}

	/** Counts through a cycle and returns the totals at the wanted grid points, which ascend. */
	through(grid: CycleGrid, wanted: readonly number[]): number[] {
		const flow = this.#meter === 'feed_flow' ? grid.feedFlow_m3_s : grid.returnFlow_m3_s;
		const { slope, offset } = this.#meters.errors[this.#meter];
		const drift = this.#meters.driftAt(this.#meter, grid.start_s);
		const zero = offset - drift;
		const totals: number[] = [];
		let next = 0;
		for (let i = 0; i < grid.count; i++) {
			const true_m3_h = flow[i]! * 3600;
			const silent = !this.#meters.perfect && true_m3_h < LOW_FLOW_CUTOFF_M3_H;
			const shown = silent ? 0 : (true_m3_h - zero) / slope;
			this.#total_m3 += (this.#before_m3_h + shown) / 7200;
			this.#before_m3_h = shown;
			if (this.#capacity_m3 !== null && this.#total_m3 >= this.#capacity_m3)
				this.#total_m3 -= this.#capacity_m3;
			if (wanted[next] === i) {
				totals.push(this.#total_m3);
				next++;
			}
		}
		return totals;
	}
}
