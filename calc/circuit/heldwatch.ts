import type { FaultList } from './faultlist.ts';
import {
	type FaultRules,
	type FaultSignal,
	type MeterRange,
	type SignalFault,
	spanText,
} from './faultrules.ts';
import { RecentValues } from './recentvalues.ts';

/** What the circuit does at a row, as far as this signal is concerned. */
export interface RowState {
	/** Time since the row before, 0 where something was lost between. */
	readonly dt: number;
	/** The stream passes the chamber, or the mode is not known. */
	readonly through: boolean;
	/** By the other line's flow for a flow, by either for the rest. */
	readonly moving: boolean;
	readonly still: boolean;
	/** Volume that passed the signal's own line since the row before. */
	readonly passed_m3: number;
}

/** Time in a moving circuit after which the habit of a signal weighs half, s. */
const HABIT_HALVES_S = 7200;
const CHANGES = 64;

interface Run {
	value: number;
	from_s: number;
	to_s: number;
	rows: number;
	/** Time in a moving circuit with the stream through the chamber, and past it. */
	through_s: number;
	past_s: number;
	still_s: number;
	passed_m3: number;
}

/** What is known of a signal's runs of one value in one state of the circuit. */
interface Habit {
	time_s: number;
	timeSquared: number;
	readonly changes: RecentValues;
}
const noHabit = (): Habit => ({ time_s: 0, timeSquared: 0, changes: new RecentValues(CHANGES) });

/**
 * Watches one signal for values it holds too long: frozen, or pinned at the end of its range. What is
 * too long is measured by the signal's own habit, so that a coarse or slow signal is not blamed for it:
 * the mean length of its runs of one value, weighed by their time, while the circuit moves; one habit
 * with the stream through the chamber, one with it past.
 *
 * @example
 * import { FaultList } from './faultlist.ts';
 * import { FAULT_RULES } from './faultrules.ts';
 * const list = new FaultList();
 * const total = new HeldWatch('feedTotal_m3', FAULT_RULES, list);
 * for (let t = 0; t <= 300; t++) total.take(t, 7150, { dt: t === 0 ? 0 : 1, through: true, moving: true, still: false, passed_m3: t === 0 ? 0 : 0.3 }, NaN);
 * total.end();
 * list.sorted() // => [{ "kind": "frozen", "signal": "feedTotal_m3", "from_s": 0, "to_s": 300, "count": 301, "rule": "the total stayed while 90 m³ passed; limit 50 m³" }]
 */
export class HeldWatch {
	readonly signal: FaultSignal;
	readonly #rules: FaultRules;
	readonly #list: FaultList;
	readonly #range: MeterRange | null;
	readonly #isFlow: boolean;
	readonly #isTotal: boolean;
	readonly #run: Run = noRun();
	readonly #through = noHabit();
	readonly #past = noHabit();
	#highest = Number.NEGATIVE_INFINITY;
	/** Runs at the highest value so far; `frozen` is what they count as if a higher one comes. */
	#atHighest: { readonly fault: SignalFault; readonly frozen: SignalFault | null }[] = [];
	/** The latest stretch at an end of a known range. */
	#pinned = { from_s: Number.NaN, to_s: Number.NaN };
	readonly #pin = { end: '', from_s: 0, to_s: 0, rows: 0, time_s: 0 };

	constructor(signal: FaultSignal, rules: FaultRules, list: FaultList) {
		this.signal = signal;
		this.#rules = rules;
		this.#list = list;
		this.#range = rules.saturation.ranges[signal] ?? null;
		this.#isFlow = signal === 'feedFlow_m3_s' || signal === 'returnFlow_m3_s';
		this.#isTotal = signal === 'feedTotal_m3' || signal === 'returnTotal_m3';
	}

	/** `explainedFrom_s`: a run begun since then that ends here is explained by other means; NaN: none is. */
	take(t: number, value: number, row: RowState, explainedFrom_s: number): void {
		const run = this.#run;
		this.#watchPin(t, value, row);
		if (value === run.value) {
			run.rows++;
			run.to_s = t;
			if (row.moving) {
				if (row.through) run.through_s += row.dt;
				else run.past_s += row.dt;
			}
			if (row.still) run.still_s += row.dt;
			run.passed_m3 += row.passed_m3;
			return;
		}
		const change = Math.abs(value - run.value);
		if (row.moving && row.through) this.#endRun(row.dt, 0, explainedFrom_s);
		else this.#endRun(0, row.moving ? row.dt : 0, explainedFrom_s);
		if (Number.isNaN(value)) return;
		if (row.moving && change > 0) (row.through ? this.#through : this.#past).changes.add(change);
		if (value > this.#highest) {
			this.#highest = value;
			this.#atHighest = [];
		}
		run.value = value;
		run.from_s = t;
		run.to_s = t;
		run.rows = 1;
		run.through_s = 0;
		run.past_s = 0;
		run.still_s = 0;
		run.passed_m3 = 0;
	}

	/** Something was lost: runs end here. */
	break(explainedFrom_s = Number.NaN): void {
		this.#endPin();
		this.#endRun(0, 0, explainedFrom_s);
	}

	end(): void {
		this.break();
		for (const { fault, frozen } of this.#atHighest) {
			if (frozen !== null) this.#list.remove(frozen);
			this.#list.add(fault);
		}
		this.#atHighest = [];
	}

	/** The longer of the usual lengths of a run that are known, s; NaN if neither is. */
	longestUsualRun_s(): number {
		const known = [this.#through, this.#past]
			.map((habit) => this.#usualRun_s(habit))
			.filter((usual) => !Number.isNaN(usual));
		return known.length === 0 ? Number.NaN : Math.max(...known);
	}

	/** Usual length of a run of one value, s; NaN while it is not known or too coarse to tell anything. */
	#usualRun_s({ time_s, timeSquared, changes }: Habit): number {
		const needed = this.#rules.habit;
		if (this.#isTotal || time_s < needed.time_s || changes.count < needed.changes)
			return Number.NaN;
		// A difference of two rounded numbers is not quite the last digit.
		const fine = changes.median() >= needed.smallestChanges * changes.smallest() * (1 - 1e-6);
		return fine ? timeSquared / time_s : Number.NaN;
	}

	/** How long the run has lasted in a state of the circuit and what its limit is there, if it is beyond. */
	#tooLong(shortest_s: number): { readonly lasted_s: number; readonly limit_s: number } | null {
		const { through_s, past_s } = this.#run;
		for (const [lasted_s, habit] of [
			[through_s, this.#through],
			[past_s, this.#past],
		] as const) {
			if (lasted_s < shortest_s) continue;
			const limit_s = Math.max(shortest_s, this.#rules.habit.times * this.#usualRun_s(habit));
			if (lasted_s >= limit_s) return { lasted_s, limit_s };
		}
		return null;
	}

	#endRun(throughUntil_s: number, pastUntil_s: number, explainedFrom_s: number): void {
		const run = this.#run;
		if (Number.isNaN(run.value)) return;
		const explained = run.from_s >= explainedFrom_s;
		const found = !explained && run.rows > 1 && this.#judge();
		if (!found && !explained) {
			learn(this.#through, run.through_s + throughUntil_s);
			learn(this.#past, run.past_s + pastUntil_s);
		}
		run.value = Number.NaN;
	}

	/** True if the run is a fault and so no part of the signal's habit. */
	#judge(): boolean {
		const { from_s, to_s, rows, value } = this.#run;
		if (this.#pin.end !== '' && this.#pin.from_s <= from_s) return true;
		if (this.#pinned.from_s <= from_s && to_s <= this.#pinned.to_s) return true;
		const { saturation } = this.#rules;
		const frozenBy = this.#frozenBy();
		const span = { signal: this.signal, from_s, to_s, count: rows };
		const frozen =
			frozenBy === null ? null : this.#list.add({ ...span, kind: 'frozen', rule: frozenBy });
		const knownEnd = this.#range?.high !== undefined;
		if (value === this.#highest && !knownEnd && rows >= saturation.rows) {
			const tooLong = this.#tooLong(saturation.time_s);
			if (tooLong !== null) {
				const rule = `the record's highest value, held to the last digit for ${spanText(tooLong.lasted_s)} of a moving circuit; limit ${spanText(tooLong.limit_s)}`;
				this.#atHighest.push({ fault: { ...span, kind: 'saturation', rule }, frozen });
				return true;
			}
		}
		return frozen !== null;
	}

	/** Why the run is frozen, or null. */
	#frozenBy(): string | null {
		const { frozen } = this.#rules;
		const { rows, through_s, past_s, still_s, passed_m3 } = this.#run;
		const moving_s = through_s + past_s;
		if (this.#isTotal) {
			if (passed_m3 < frozen.total_m3) return null;
			return `the total stayed while ${passed_m3.toFixed(0)} m³ passed; limit ${frozen.total_m3} m³`;
		}
		if (rows < frozen.rows) return null;
		const never = frozen.never_s[this.signal];
		const held = 'the same value to the last digit';
		if (this.#isFlow && Math.min(moving_s, still_s) >= frozen.throughStop_s)
			return `${held} while the other line moved for ${spanText(moving_s)} and stood still for ${spanText(still_s)}`;
		const tooLong = this.#tooLong(frozen.time_s);
		if (tooLong !== null)
			return `${held} for ${spanText(tooLong.lasted_s)} of a moving circuit; limit ${spanText(tooLong.limit_s)}`;
		if (never !== null && moving_s >= never)
			return `${held} for ${spanText(moving_s)} of a moving circuit, whatever its resolution; limit ${spanText(never)}`;
		return null;
	}

	#watchPin(t: number, value: number, row: RowState): void {
		const range = this.#range;
		if (range === null) return;
		const pin = this.#pin;
		const high = range.high !== undefined && value >= range.high;
		// A flow of nothing is the low end too: only a moving circuit makes it a fault.
		const low = range.low !== undefined && value <= range.low && row.moving;
		const end = high ? 'high' : low ? 'low' : '';
		if (end !== pin.end) this.#endPin();
		if (end === '') return;
		if (pin.end === '') Object.assign(pin, { end, from_s: t, rows: 0, time_s: -row.dt });
		pin.rows++;
		pin.time_s += row.dt;
		pin.to_s = t;
	}

	#endPin(): void {
		const { end, from_s, to_s, rows, time_s } = this.#pin;
		const { saturation } = this.#rules;
		this.#pin.end = '';
		if (end === '' || rows < saturation.rows || time_s < saturation.time_s) return;
		this.#pinned = { from_s, to_s };
		this.#list.add({
			kind: 'saturation',
			signal: this.signal,
			from_s,
			to_s,
			count: rows,
			rule: `at the ${end} end of its range for ${spanText(time_s)}; limit ${spanText(saturation.time_s)}`,
		});
	}
}

const noRun = (): Run => ({
	value: Number.NaN,
	from_s: 0,
	to_s: 0,
	rows: 0,
	through_s: 0,
	past_s: 0,
	still_s: 0,
	passed_m3: 0,
});

function learn(habit: Habit, length_s: number): void {
	habit.time_s += length_s;
	habit.timeSquared += length_s * length_s;
	if (habit.time_s <= HABIT_HALVES_S) return;
	habit.time_s /= 2;
	habit.timeSquared /= 2;
}
