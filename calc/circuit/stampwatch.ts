import type { FaultList } from './faultlist.ts';
import { type FaultRules, type SignalFault, spanText } from './faultrules.ts';
import { LOGGER_GAP_FLOOR_S } from './gap.ts';
import { RecentValues } from './recentvalues.ts';
import type { Samples } from './samples.ts';

/** How a row follows the one before: in turn, with the same stamp, or with something lost between. */
export type StampStep = 'next' | 'again' | 'break';

const HOUR_S = 3600;
/** Offsets from UTC are whole quarters of an hour, and clocks are changed on the hour of one. */
const QUARTER_S = 900;
/** Slower records than this are not judged for daylight saving, s. */
const SLOWEST_HOUR_STEP_S = 300;
/** Steps the usual one is told from, and after how many it is told first. */
const STEPS = 64;
const FIRST_STEPS = 8;
/** Rows in even steps after which an uneven one tells of a clock that was set. */
const EVEN_ROWS = 60;

/**
 * Watches the stamps of a record in the order of its rows: the same stamp again, a step back, missing
 * rows, a clock that was set, daylight saving.
 *
 * @example
 * import { FaultList } from './faultlist.ts';
 * const list = new FaultList();
 * const stamps = new StampWatch({ are: 'local', gapLimit_s: null }, list);
 * const row = (t) => ({ count: 1, time_s: Float64Array.of(t), feedFlow_m3_s: Float64Array.of(0.3), returnFlow_m3_s: Float64Array.of(0.3), feedTotal_m3: null, returnTotal_m3: null });
 * const steps = [...Array.from({ length: 20 }, (_, i) => 7180 + i), 3600, 3601, 3601].map((t) => stamps.take(row(t), 0));
 * steps.slice(19) // => ["next", "break", "next", "again"]
 * list.sorted().map((fault) => [fault.kind, fault.from_s, fault.to_s, fault.count]) // => [["daylight_saving", 3600, 7199, 2], ["repeated_rows", 3601, 3601, 1]]
 */
export class StampWatch {
	readonly #rules: FaultRules['stamps'];
	readonly #list: FaultList;
	readonly #steps = new RecentValues(STEPS);
	#sinceTold = 0;
	#usual_s = Number.NaN;
	#even = 0;
	#last_s = Number.NaN;
	#latest_s = Number.NEGATIVE_INFINITY;
	/** Stamps of this fault are being told a second time. */
	#again: { readonly fault: SignalFault; readonly until_s: number } | null = null;
	/** The latest jump ahead that was taken for missing rows. */
	#ahead: { readonly fault: SignalFault; readonly shift_s: number } | null = null;
	/** Feed flow and total, return flow and total, of the row before. */
	readonly #before = new Float64Array(4).fill(Number.NaN);

	constructor(rules: FaultRules['stamps'], list: FaultList) {
		this.#rules = rules;
		this.#list = list;
	}

	take(samples: Samples, i: number): StampStep {
		const t = samples.time_s[i]!;
		if (Number.isNaN(t)) return 'again';
		const dt = t - this.#last_s;
		if (dt === 0) {
			this.#list.add({
				kind: 'repeated_rows',
				signal: null,
				from_s: t,
				to_s: t,
				count: 1,
				rule: 'the same stamp as the row before',
			});
			return 'again';
		}
		let step: StampStep = 'next';
		if (dt < 0) {
			this.#stepBack(t, dt);
			step = 'break';
		} else if (dt > 0) {
			this.#countAgain(t);
			if (dt !== this.#usual_s) step = this.#uneven(samples, i, t, dt);
			else this.#even++;
			this.#learn(dt);
		}
		this.#last_s = t;
		this.#latest_s = Math.max(this.#latest_s, t);
		this.#before[0] = samples.feedFlow_m3_s[i]!;
		this.#before[1] = samples.feedTotal_m3?.[i] ?? Number.NaN;
		this.#before[2] = samples.returnFlow_m3_s[i]!;
		this.#before[3] = samples.returnTotal_m3?.[i] ?? Number.NaN;
		return step;
	}

	get #gapLimit_s(): number {
		return this.#rules.gapLimit_s ?? Math.max(LOGGER_GAP_FLOOR_S, 3 * this.#usual_s);
	}

	#learn(dt: number): void {
		this.#steps.add(dt);
		this.#sinceTold++;
		const enough = Number.isNaN(this.#usual_s) ? FIRST_STEPS : STEPS;
		if (this.#sinceTold < enough) return;
		this.#usual_s = this.#steps.median();
		this.#sinceTold = 0;
	}

	/** The jump is an hour, but for its own step, and ends where clocks are changed. */
	#isHour(t: number, shift_s: number): boolean {
		if (this.#rules.are !== 'local' || !(this.#usual_s <= SLOWEST_HOUR_STEP_S)) return false;
		if (Math.abs(Math.abs(shift_s) - HOUR_S) > Math.max(1, this.#usual_s / 2)) return false;
		const past = t - Math.floor(t / QUARTER_S) * QUARTER_S;
		return Math.min(past, QUARTER_S - past) <= Math.max(1, this.#usual_s);
	}

	#uneven(samples: Samples, i: number, t: number, dt: number): StampStep {
		const usual = this.#usual_s;
		const even = this.#even;
		if (!Number.isNaN(usual)) this.#even = Math.abs(dt - usual) <= 0.02 * usual ? even + 1 : 0;
		const limit = this.#gapLimit_s;
		if (!(dt > limit)) {
			const steps = dt / usual;
			if (even >= EVEN_ROWS && Math.abs(steps - Math.round(steps)) > 0.25)
				this.#list.add({
					kind: 'clock_jump',
					signal: null,
					from_s: this.#last_s,
					to_s: t,
					count: 1,
					rule: `a step of ${spanText(dt)} in a record of even steps of ${spanText(usual)}`,
				});
			return 'next';
		}
		if (Number.isNaN(usual)) return 'break';
		const shift_s = dt - usual;
		const span = { signal: null, from_s: this.#last_s, to_s: t };
		if (this.#isHour(t, shift_s)) {
			this.#list.add({
				...span,
				kind: 'daylight_saving',
				count: 1,
				rule: 'local stamps jump ahead by exactly one hour',
			});
		} else if (this.#noTimeLost(samples, i, dt)) {
			this.#list.add({
				...span,
				kind: 'clock_jump',
				count: 1,
				rule: `stamps jump ahead by ${spanText(shift_s)}, but the totaliser moved by no more than one step's flow`,
			});
		} else {
			const fault = this.#list.add({
				...span,
				kind: 'dropout',
				count: Math.max(1, Math.round(dt / usual) - 1),
				rule: `no rows for ${spanText(dt)}; gap limit ${spanText(limit)}`,
			});
			this.#ahead = { fault, shift_s };
		}
		return 'break';
	}

	/** The stream runs before and after the jump, but the total has hardly moved: only the clock has. */
	#noTimeLost(samples: Samples, i: number, dt: number): boolean {
		const lost = (line: number, flow: number, total: number | undefined): boolean | null => {
			const flowBefore = this.#before[line]!;
			const moved = (total ?? Number.NaN) - this.#before[line + 1]!;
			const usual_m3 = Math.min(flowBefore, flow) * this.#usual_s;
			if (!(moved >= 0) || !(Math.min(flowBefore, flow) * dt >= 5)) return null;
			return moved > 3 * usual_m3 + 0.2 * Math.min(flowBefore, flow) * Math.min(dt, 5);
		};
		const feed = lost(0, samples.feedFlow_m3_s[i]!, samples.feedTotal_m3?.[i]);
		const back = lost(2, samples.returnFlow_m3_s[i]!, samples.returnTotal_m3?.[i]);
		return (feed === false || back === false) && feed !== true && back !== true;
	}

	#stepBack(t: number, dt: number): void {
		const usual = Number.isNaN(this.#usual_s) ? 0 : this.#usual_s;
		const shift_s = dt - usual;
		this.#even = 0;
		const span = { signal: null, from_s: t, to_s: this.#last_s, count: 1 };
		const isHour = this.#isHour(t, shift_s);
		const fault = this.#list.add(
			isHour
				? {
						...span,
						kind: 'daylight_saving',
						rule: 'local stamps step back by exactly one hour; the hour is told twice',
					}
				: {
						...span,
						kind: 'clock_jump',
						rule: `stamps step back: the clock was put back by ${spanText(shift_s)}`,
					},
		);
		this.#again = { fault, until_s: this.#latest_s };
		if (isHour || this.#ahead === null) return;
		if (Math.abs(shift_s + this.#ahead.shift_s) > Math.max(1, usual)) return;
		// What looked like missing rows was a clock that ran ahead until it was put back.
		this.#list.correct(this.#ahead.fault, {
			kind: 'clock_jump',
			count: 1,
			rule: `stamps jump ahead by ${spanText(this.#ahead.shift_s)} and are put back later`,
		});
		this.#ahead = null;
	}

	#countAgain(t: number): void {
		if (this.#again === null) return;
		const { fault, until_s } = this.#again;
		if (t <= until_s) this.#list.correct(fault, { count: fault.count + 1 });
		else this.#again = null;
	}
}
