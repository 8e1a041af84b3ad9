import type { FaultList } from './faultlist.ts';
import { type FaultRules, type FaultSignal, spanText } from './faultrules.ts';

/** Values a signal must have shown before its absence tells anything. */
const FEWEST_VALUES = 20;
/** Values its usual distance is told from. */
const USUAL_OVER = 256;

/**
 * Watches one signal for values that are missing while rows go on. A signal that is recorded more
 * seldom than the others is measured by its own usual distance.
 *
 * @example
 * import { FaultList } from './faultlist.ts';
 * const list = new FaultList();
 * const level = new MissingWatch('chamberLevel_m', { time_s: 10, times: 3 }, list);
 * for (let t = 0; t < 100; t++) level.take(t, t >= 60 && t < 80 ? NaN : 4.5, t === 0 ? 0 : 1);
 * level.end();
 * list.sorted() // => [{ "kind": "dropout", "signal": "chamberLevel_m", "from_s": 60, "to_s": 79, "count": 20, "rule": "no value for 21 s; limit 10 s" }]
 */
export class MissingWatch {
	readonly #signal: FaultSignal;
	readonly #rules: FaultRules['dropout'];
	readonly #list: FaultList;
	#seen = 0;
	#usual_s = 0;
	#since_s = 0;
	#from_s = 0;
	#to_s = 0;
	#rows = 0;

	constructor(signal: FaultSignal, rules: FaultRules['dropout'], list: FaultList) {
		this.#signal = signal;
		this.#rules = rules;
		this.#list = list;
	}

	/** `dt`: time since the row before, 0 where something was lost between. */
	take(t: number, value: number, dt: number): void {
		this.#since_s += dt;
		if (Number.isNaN(value)) {
			if (this.#rows === 0) this.#from_s = t;
			this.#rows++;
			this.#to_s = t;
			return;
		}
		if (!this.#judge() && dt > 0) {
			const over = Math.min(this.#seen + 1, USUAL_OVER);
			this.#usual_s += (this.#since_s - this.#usual_s) / over;
		}
		this.#seen++;
		this.#since_s = 0;
		this.#rows = 0;
	}

	/** The record ends here, or something was lost. */
	end(): void {
		this.#judge();
		this.#rows = 0;
		this.#since_s = 0;
	}

	#judge(): boolean {
		const { time_s, times } = this.#rules;
		if (this.#rows === 0 || this.#seen < FEWEST_VALUES) return false;
		const limit = Math.max(time_s, times * this.#usual_s);
		if (this.#since_s <= limit) return false;
		this.#list.add({
			kind: 'dropout',
			signal: this.#signal,
			from_s: this.#from_s,
			to_s: this.#to_s,
			count: this.#rows,
			rule: `no value for ${spanText(this.#since_s)}; limit ${spanText(limit)}`,
		});
		return true;
	}
}
