/**
 * A running total whose rounding error does not grow with the number of terms
 * (Neumaier 1974, an improvement of Kahan's compensated summation). One missing term (NaN) makes
 * the total NaN: whoever may skip missing terms must say so before adding.
 *
 * @example
 * const total = new CompensatedSum();
 * total.add(1e16);
 * total.add(1);
 * total.add(-1e16);
 * total.value // => 1
 */
export class CompensatedSum {
	#sum = 0;
	#lost = 0;

	/** Adds one term, in the unit of all others. */
	add(term: number): void {
		const next = this.#sum + term;
		this.#lost +=
			Math.abs(this.#sum) >= Math.abs(term) ? this.#sum - next + term : term - next + this.#sum;
		this.#sum = next;
	}

	/** The total so far, 0 before the first term. */
	get value(): number {
		return this.#sum + this.#lost;
	}
}

/**
 * Compensated total of all terms; 0 for none, NaN if one is missing.
 *
 * @example
 * sumOf([0.1, 0.2, 0.3, -0.6]) // => 2.7755575615628914e-17
 * sumOf([1e100, 1, -1e100]) // => 1
 */
export function sumOf(terms: Iterable<number>): number {
	const total = new CompensatedSum();
	for (const term of terms) total.add(term);
	return total.value;
}
