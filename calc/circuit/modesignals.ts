import { checkModeRules, type ModeCondition, type ModeRule, type ModeSignal } from './moderules.ts';
import { MODE_MISSING, MODES } from './samples.ts';
import { TrailingRate } from './trailingrate.ts';

/** Signals of a record by stamp, SI, ascending time; NaN where missing. A column not kept is absent. */
export interface ModeColumns {
	readonly count: number;
	readonly time_s: Float64Array;
	readonly signals: Readonly<Partial<Record<ModeSignal, Float64Array>>>;
}

/** Number of the deciding rule where none decided. */
export const NO_RULE = 255;

/** Consecutive stamps with one deciding rule. */
export interface ModeRun {
	readonly count: number;
	/** First and last stamp. */
	readonly from_s: number;
	readonly to_s: number;
	/** Index into MODES, or MODE_MISSING. */
	readonly mode: number;
	/** Index into the rules, or NO_RULE. */
	readonly rule: number;
}

/** A condition with its memory. */
interface Watched {
	readonly condition: ModeCondition;
	readonly rate: TrailingRate | null;
	met: boolean;
}

/**
 * Tells the mode of a record as it streams by. At each stamp the rule of the highest priority that is
 * met comes first in rank. When another comes first, it decides once it has stayed so for its
 * debounce time, and then from the stamp at which it came first; if it does not stay, its stamps keep
 * the rule before. When no rule is met the mode is missing at once, and after two stamps farther
 * apart than the gap limit nothing from before is remembered. Holds no stamps back but their number.
 *
 * @example
 * const open = (id, mode, is) => ({ id, mode, when: [{ signal: 'bypassValve_1', is, limit: 0.5, hysteresis: 0 }], debounce_s: 2, priority: 1 });
 * const deriver = new ModeDeriver([open('open', 'bypass', 'above'), open('shut', 'advance', 'below')], 10);
 * const runs = deriver.push({ count: 6, time_s: Float64Array.of(0, 1, 2, 3, 4, 5), signals: { bypassValve_1: Float64Array.of(1, 1, 1, 0, 1, 0) } });
 * [...runs, ...deriver.push({ count: 2, time_s: Float64Array.of(6, 7), signals: { bypassValve_1: Float64Array.of(0, 0) } }), ...deriver.end()].map((run) => [run.from_s, run.to_s, run.rule]) // => [[0, 4, 0], [5, 7, 1]]
 */
export class ModeDeriver {
	readonly rules: readonly ModeRule[];
	readonly #gapLimit_s: number;
	readonly #watched: readonly Watched[][];
	/** Numbers of the rules, highest priority first. */
	readonly #rank: readonly number[];
	/** The stretch that is decided, and the one that waits for its debounce time. */
	#decided = { rule: NO_RULE, count: 0, from_s: Number.NaN, to_s: Number.NaN };
	#waiting = { rule: NO_RULE, count: 0, from_s: Number.NaN, to_s: Number.NaN };
	#last_s = Number.NaN;

	/** Throws RangeError for rules that `checkModeRules` finds fault with. */
	constructor(rules: readonly ModeRule[], gapLimit_s: number) {
		const [fault] = checkModeRules(rules);
		if (fault) throw new RangeError(`ModeDeriver: ${fault.message} ${fault.where.value}`);
		if (!(gapLimit_s > 0)) throw new RangeError(`ModeDeriver: gap limit ${gapLimit_s}`);
		this.rules = rules;
		this.#gapLimit_s = gapLimit_s;
		this.#watched = rules.map(({ when }) =>
			when.map((condition) => ({
				condition,
				rate: condition.over_s === undefined ? null : new TrailingRate(condition.over_s),
				met: false,
			})),
		);
		this.#rank = rules
			.map((_, i) => i)
			.sort((a, b) => rules[b]!.priority - rules[a]!.priority || a - b);
	}

	/**
	 * Runs that are now certain, in order; every stamp comes out in one run of this or a later call.
	 * Throws RangeError when stamps do not ascend.
	 */
	push(columns: ModeColumns): ModeRun[] {
		const runs: ModeRun[] = [];
		for (let i = 0; i < columns.count; i++) {
			const t = columns.time_s[i]!;
			if (t <= this.#last_s || Number.isNaN(t))
				throw new RangeError(`ModeDeriver: stamp ${t} after ${this.#last_s}`);
			if (t - this.#last_s > this.#gapLimit_s) this.#forget(runs);
			this.#last_s = t;
			this.#take(t, this.#first(columns, i, t), runs);
		}
		return runs;
	}

	/** The record is over: the last runs. */
	end(): ModeRun[] {
		const runs: ModeRun[] = [];
		this.#forget(runs);
		this.#last_s = Number.NaN;
		return runs;
	}

	/** Number of the rule that comes first at a stamp. Every condition is looked at: each has a memory. */
	#first(columns: ModeColumns, i: number, t: number): number {
		let first = NO_RULE;
		for (const number of this.#rank) {
			let all = true;
			for (const watched of this.#watched[number]!) {
				const value = columns.signals[watched.condition.signal]?.[i] ?? Number.NaN;
				if (!isMet(watched, t, value)) all = false;
			}
			if (all && first === NO_RULE) first = number;
		}
		return first;
	}

	#take(t: number, first: number, runs: ModeRun[]): void {
		const waiting = this.#waiting;
		if (first === this.#decided.rule) {
			this.#keepBefore();
			extend(this.#decided, t, 1);
			return;
		}
		if (waiting.count > 0 && waiting.rule !== first) this.#keepBefore();
		if (waiting.count === 0) waiting.rule = first;
		extend(waiting, t, 1);
		const needed = first === NO_RULE ? 0 : this.rules[first]!.debounce_s;
		if (t - waiting.from_s < needed) return;
		this.#emit(runs);
		this.#decided = { ...waiting };
		waiting.count = 0;
	}

	/** The stretch that waits did not last: its stamps keep the rule before. */
	#keepBefore(): void {
		const waiting = this.#waiting;
		if (waiting.count === 0) return;
		const { from_s, to_s, count } = waiting;
		extend(this.#decided, from_s, count);
		this.#decided.to_s = to_s;
		waiting.count = 0;
	}

	#emit(runs: ModeRun[]): void {
		const { rule, count, from_s, to_s } = this.#decided;
		if (count === 0) return;
		const mode = rule === NO_RULE ? MODE_MISSING : MODES.indexOf(this.rules[rule]!.mode);
		runs.push({ count, from_s, to_s, mode, rule });
	}

	#forget(runs: ModeRun[]): void {
		this.#keepBefore();
		this.#emit(runs);
		this.#decided = { rule: NO_RULE, count: 0, from_s: Number.NaN, to_s: Number.NaN };
		for (const conditions of this.#watched) {
			for (const watched of conditions) {
				watched.met = false;
				watched.rate?.forget();
			}
		}
	}
}

function extend(
	stretch: { count: number; from_s: number; to_s: number },
	t: number,
	count: number,
): void {
	if (stretch.count === 0) stretch.from_s = t;
	stretch.to_s = t;
	stretch.count += count;
}

/** Whether a condition is met at a stamp; a missing value never meets one and ends its memory. */
function isMet(watched: Watched, t: number, value: number): boolean {
	const { condition, rate } = watched;
	const seen = rate === null ? value : rate.at(t, value);
	const { limit } = condition;
	const slack = watched.met ? condition.hysteresis : 0;
	let met = false;
	switch (condition.is) {
		case 'above':
		case 'rising':
			met = seen > limit - slack;
			break;
		case 'falling':
			met = -seen > limit - slack;
			break;
		case 'beyond':
			met = Math.abs(seen) > limit - slack;
			break;
		case 'below':
			met = seen < limit + slack;
			break;
		case 'within':
			met = Math.abs(seen) < limit + slack;
			break;
	}
	watched.met = met;
	return met;
}

/** Mode and deciding rule of each stamp. */
export interface DerivedModes {
	/** Index into MODES, or MODE_MISSING. */
	readonly mode: Uint8Array;
	/** Index into the rules, or NO_RULE. */
	readonly rule: Uint8Array;
}

/**
 * Mode and deciding rule of every stamp of a whole record; see {@link ModeDeriver}.
 *
 * @example
 * const stop = { id: 'still', mode: 'stop', when: [{ signal: 'feedFlow_m3_s', is: 'within', limit: 0.01, hysteresis: 0.005 }], debounce_s: 0, priority: 1 };
 * const seen = deriveModes({ count: 4, time_s: Float64Array.of(0, 1, 2, 3), signals: { feedFlow_m3_s: Float64Array.of(0.3, 0.002, 0.012, NaN) } }, [stop], 10);
 * seen.mode // => [255, 3, 3, 255]
 * seen.rule // => [255, 0, 0, 255]
 */
export function deriveModes(
	columns: ModeColumns,
	rules: readonly ModeRule[],
	gapLimit_s: number,
): DerivedModes {
	const deriver = new ModeDeriver(rules, gapLimit_s);
	const mode = new Uint8Array(columns.count);
	const rule = new Uint8Array(columns.count);
	let at = 0;
	for (const run of [...deriver.push(columns), ...deriver.end()]) {
		mode.fill(run.mode, at, at + run.count);
		rule.fill(run.rule, at, at + run.count);
		at += run.count;
	}
	return { mode, rule };
}
