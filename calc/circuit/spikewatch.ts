import type { FaultList } from './faultlist.ts';
import type { FaultRules, FaultSignal } from './faultrules.ts';
import { RecentValues } from './recentvalues.ts';

/** Changes the usual one is told from, and how many are needed. */
const CHANGES = 61;
const FEWEST_CHANGES = 16;
/** Standard deviation of a signal over the median size of its changes, for normal noise: 1.4826 / √2. */
const DEVIATION = 1.4826 / Math.SQRT2;

/**
 * Watches one signal for spikes: values that leave the last one on one side by more than so many robust
 * deviations, and are back within a few rows. A step or a ramp does not come back.
 *
 * @example
 * import { FaultList } from './faultlist.ts';
 * import { FAULT_RULES } from './faultrules.ts';
 * const list = new FaultList();
 * const density = SpikeWatch.of('feedDensity_kg_m3', FAULT_RULES.spike, list);
 * for (let t = 0; t < 60; t++) density.take(t, 1080 + (t % 3) / 10 + (t === 40 || t === 41 ? 300 : 0));
 * list.sorted().map((fault) => [fault.kind, fault.from_s, fault.to_s, fault.count]) // => [["spike", 40, 41, 2]]
 * SpikeWatch.of('feedTotal_m3', FAULT_RULES.spike, list) // => null
 */
export class SpikeWatch {
	readonly #signal: FaultSignal;
	readonly #rules: FaultRules['spike'];
	readonly #smallest: number;
	readonly #list: FaultList;
	readonly #rule: string;
	#changes = new RecentValues(CHANGES);
	/** Changes that are not nothing: the smallest is taken for the signal's resolution. */
	readonly #steps = new RecentValues(CHANGES);
	#last = Number.NaN;
	#last_s = Number.NaN;
	/** Values that have jumped and may come back. */
	#away: { readonly t: number; readonly value: number }[] = [];
	#jump = 0;

	/** null: the signal has no smallest jump and is not judged. */
	static of(signal: FaultSignal, rules: FaultRules['spike'], list: FaultList): SpikeWatch | null {
		const smallest = rules.smallest[signal];
		return smallest === null ? null : new SpikeWatch(signal, rules, smallest, list);
	}

	private constructor(
		signal: FaultSignal,
		rules: FaultRules['spike'],
		smallest: number,
		list: FaultList,
	) {
		this.#signal = signal;
		this.#rules = rules;
		this.#smallest = smallest;
		this.#list = list;
		this.#rule = `a jump beyond ${rules.deviations} robust deviations and back within ${rules.rows} rows`;
	}

	take(t: number, value: number): void {
		if (Number.isNaN(value)) {
			this.#stay();
			return;
		}
		if (this.#away.length > 0 && this.#goesOn(t, value)) return;
		const change = Math.abs(value - this.#last);
		if (change > this.#smallest && change > this.#limit()) {
			this.#away = [{ t, value }];
			this.#jump = value - this.#last;
			return;
		}
		this.#accept(t, value);
	}

	/** Nothing after a break is compared with what was before. */
	forget(): void {
		this.#stay();
		this.#last = Number.NaN;
		this.#changes = new RecentValues(CHANGES);
	}

	/** Smallest change that is a jump; infinite while the signal's own noise is not known. */
	#limit(): number {
		if (this.#changes.count < FEWEST_CHANGES) return Number.POSITIVE_INFINITY;
		return Math.max(
			this.#rules.deviations * DEVIATION * this.#changes.median(),
			this.#rules.smallestChanges * this.#steps.smallest(),
		);
	}

	/** A value after a jump: true if it is still away. */
	#goesOn(t: number, value: number): boolean {
		const first = this.#away[0]!;
		const last = this.#away.at(-1)!;
		const away = value - this.#last;
		const inTime = t - this.#last_s <= this.#rules.time_s;
		if (inTime && Math.abs(away) <= this.#rules.left * Math.abs(this.#jump)) {
			this.#list.add({
				kind: 'spike',
				signal: this.#signal,
				from_s: first.t,
				to_s: last.t,
				count: this.#away.length,
				rule: this.#rule,
			});
			this.#away = [];
			return false;
		}
		const sameSide = away * this.#jump > 0 && Math.abs(away) > this.#smallest;
		if (inTime && sameSide && this.#away.length < this.#rules.rows) {
			this.#away.push({ t, value });
			return true;
		}
		this.#stay();
		return false;
	}

	/** What jumped did not come back: it is a step, and the values stand. */
	#stay(): void {
		for (const { t, value } of this.#away) this.#accept(t, value);
		this.#away = [];
	}

	#accept(t: number, value: number): void {
		const change = Math.abs(value - this.#last);
		if (!Number.isNaN(change)) this.#changes.add(change);
		if (change > 0) this.#steps.add(change);
		this.#last = value;
		this.#last_s = t;
	}
}
