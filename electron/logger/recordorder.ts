import type { LoggerBatch } from './batch.ts';

/** Files that reach over each other are one record only when they have been put together. */
export class RecordOrder {
	#reached_s = Number.NEGATIVE_INFINITY;
	#isOne = true;

	/** No batch so far begins before the end of the one before it. */
	get isOne(): boolean {
		return this.#isOne;
	}

	follows({ time_s, count }: LoggerBatch): boolean {
		this.#isOne &&= time_s[0]! > this.#reached_s;
		this.#reached_s = time_s[count - 1]!;
		return this.#isOne;
	}
}
