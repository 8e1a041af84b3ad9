/**
 * The latest so many numbers, and their median and smallest on demand.
 *
 * @example
 * const latest = new RecentValues(3);
 * for (const value of [9, 1, 5, 3]) latest.add(value);
 * [latest.count, latest.median(), latest.smallest()] // => [3, 3, 1]
 */
export class RecentValues {
	readonly #kept: Float64Array;
	#at = 0;
	#count = 0;

	constructor(most: number) {
		this.#kept = new Float64Array(most);
	}

	get count(): number {
		return this.#count;
	}

	add(value: number): void {
		this.#kept[this.#at] = value;
		this.#at = (this.#at + 1) % this.#kept.length;
		if (this.#count < this.#kept.length) this.#count++;
	}

	/** NaN without values; of an even number the lower of the two in the middle. */
	median(): number {
		if (this.#count === 0) return Number.NaN;
		return this.#kept.slice(0, this.#count).sort()[(this.#count - 1) >> 1]!;
	}

	/** Infinity without values. */
	smallest(): number {
		let least = Number.POSITIVE_INFINITY;
		for (let i = 0; i < this.#count; i++) least = Math.min(least, this.#kept[i]!);
		return least;
	}
}
