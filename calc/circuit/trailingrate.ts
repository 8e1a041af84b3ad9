/**
 * Rate of a signal over the time just gone: its change since the latest stamp that lies at least
 * `over_s` back, per second. NaN until the signal has been seen that long, where it is missing, and
 * where that stamp lies more than three times as far back. Keeps the stamps of that time only.
 *
 * @example
 * const rate = new TrailingRate(10);
 * [0, 5, 10, 15].map((t) => rate.at(t, 0.002 * t)) // => [NaN, NaN, 0.002, 0.002]
 */
export class TrailingRate {
	readonly #over_s: number;
	#times: number[] = [];
	#values: number[] = [];
	/** First entry still needed; those before are dropped now and then. */
	#from = 0;

	constructor(over_s: number) {
		this.#over_s = over_s;
	}

	/** Takes the value at a stamp, later than all before, and gives the rate there. */
	at(t: number, value: number): number {
		if (Number.isNaN(value)) return Number.NaN;
		this.#times.push(t);
		this.#values.push(value);
		const until = t - this.#over_s;
		while (this.#from + 1 < this.#times.length && this.#times[this.#from + 1]! <= until)
			this.#from++;
		if (this.#from > 256 && this.#from * 2 > this.#times.length) {
			this.#times = this.#times.slice(this.#from);
			this.#values = this.#values.slice(this.#from);
			this.#from = 0;
		}
		const since = t - this.#times[this.#from]!;
		if (since < this.#over_s || since > 3 * this.#over_s) return Number.NaN;
		return (value - this.#values[this.#from]!) / since;
	}

	forget(): void {
		this.#times = [];
		this.#values = [];
		this.#from = 0;
	}
}
