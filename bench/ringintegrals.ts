import { createHash } from 'node:crypto';
import { stepIntegral, stepProductIntegral } from '../calc/circuit/integrate.ts';
import type { LoggerBatch } from '../electron/logger/batch.ts';

/** Per ring: ∫Qf dt, ∫Qr dt (m³) and ∫Qf·ρf dt, ∫Qr·ρr dt (t). */
export const INTEGRALS = 4;

/** The four integrals of every ring from batches as they come: the kernel's steps and nothing else. */
export class RingIntegrals {
	readonly #from: Float64Array;
	readonly #to: Float64Array;
	readonly sums: Float64Array;
	#ring = 0;
	#t = Number.NaN;
	#qf = 0;
	#rf = 0;
	#qr = 0;
	#rr = 0;

	constructor(windows: readonly { from_s: number; to_s: number }[]) {
		this.#from = Float64Array.from(windows, (window) => window.from_s);
		this.#to = Float64Array.from(windows, (window) => window.to_s);
		this.sums = new Float64Array(windows.length * INTEGRALS);
	}

	push({ count, time_s, numbers }: LoggerBatch): void {
		const column = (id: string): Float64Array => {
			const found = numbers.find((each) => each.id === id);
			if (found === undefined) throw new RangeError(`the record has no ${id}`);
			return found.values;
		};
		const feedFlow = column('feed_flow_m3_h');
		const feedDensity = column('feed_density_t_m3');
		const returnFlow = column('return_flow_m3_h');
		const returnDensity = column('return_density_t_m3');
		const { sums } = this;
		for (let i = 0; i < count; i++) {
			const t = time_s[i]!;
			const qf = feedFlow[i]! / 3600;
			const rf = feedDensity[i]!;
			const qr = returnFlow[i]! / 3600;
			const rr = returnDensity[i]!;
			while (this.#ring < this.#to.length && t > this.#to[this.#ring]!) this.#ring++;
			if (this.#ring < this.#to.length && this.#t >= this.#from[this.#ring]!) {
				const at = this.#ring * INTEGRALS;
				const dt = t - this.#t;
				sums[at]! += stepIntegral(dt, this.#qf, qf);
				sums[at + 1]! += stepIntegral(dt, this.#qr, qr);
				sums[at + 2]! += stepProductIntegral(dt, this.#qf, qf, this.#rf, rf);
				sums[at + 3]! += stepProductIntegral(dt, this.#qr, qr, this.#rr, rr);
			}
			this.#t = t;
			this.#qf = qf;
			this.#rf = rf;
			this.#qr = qr;
			this.#rr = rr;
		}
	}
}

/** Same bits, same digest. */
export function digestOf(sums: Float64Array): string {
	return createHash('sha256').update(new Uint8Array(sums.buffer)).digest('hex').slice(0, 16);
}
