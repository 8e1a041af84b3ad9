import { type Fault, noteFault } from '../fault/fault.ts';
import { FaultList } from './faultlist.ts';
import {
	FAULT_KINDS,
	FAULT_RULES,
	FAULT_SIGNALS,
	type FaultKind,
	type FaultRules,
	type FaultSignal,
	type SignalFault,
	spanText,
} from './faultrules.ts';
import { HeldWatch } from './heldwatch.ts';
import { MissingWatch } from './missingwatch.ts';
import { MODE_MISSING, passesChamber, type Samples } from './samples.ts';
import type { RingInput } from './settings.ts';
import { SpikeWatch } from './spikewatch.ts';
import { StampWatch } from './stampwatch.ts';

/** Signals of the feed line have the return flow for a witness, and the other way round. */
const LINES = {
	feedFlow_m3_s: 'feed',
	feedTotal_m3: 'feed',
	returnFlow_m3_s: 'return',
	returnTotal_m3: 'return',
} as const satisfies Partial<Record<FaultSignal, 'feed' | 'return'>>;

/** All that is watched of one signal. */
interface Watched {
	readonly signal: FaultSignal;
	readonly line: 'feed' | 'return' | null;
	/** Nothing moves it while the stream goes past the chamber. */
	readonly ofChamber: boolean;
	readonly held: HeldWatch;
	readonly spike: SpikeWatch | null;
	readonly missing: MissingWatch;
	/** The signal in the rows being taken. */
	column: Float64Array | null;
	/** The column has been kept at some time. */
	known: boolean;
	/** Value in the row before. */
	last: number;
}

/**
 * Finds faults of a record as it streams by, in the order of its rows and before anything is sorted,
 * corrected or left out. Where batches are cut does not matter; memory does not grow but with findings.
 *
 * @example
 * const n = 40;
 * const time_s = Float64Array.from({ length: n }, (_, i) => (i < 20 ? i : i + 600));
 * const of = (v) => new Float64Array(n).fill(v);
 * const watch = new SignalFaultWatch();
 * watch.push({ count: n, time_s, mode: new Uint8Array(n), feedFlow_m3_s: of(0.3), feedDensity_kg_m3: of(1080), returnFlow_m3_s: of(0.3), returnDensity_kg_m3: of(1090), sideFlow_m3_s: null, chamberLevel_m: null, feedTotal_m3: null, returnTotal_m3: null });
 * watch.end() // => [{ "kind": "dropout", "signal": null, "from_s": 19, "to_s": 620, "count": 600, "rule": "no rows for 10 min 1 s; gap limit 10 s" }]
 */
export class SignalFaultWatch {
	readonly #rules: FaultRules;
	readonly #list = new FaultList();
	readonly #stamps: StampWatch;
	readonly #watched: readonly Watched[];
	#last_s = Number.NaN;
	/** Made once: it is filled for every value. */
	readonly #state = { dt: 0, through: true, moving: false, still: false, passed_m3: 0 };
	/** Rows that are the row before once more. */
	readonly #same = { since_s: Number.NaN, from_s: 0, to_s: 0, rows: 0, moving_s: 0 };

	constructor(rules: FaultRules = FAULT_RULES) {
		this.#rules = rules;
		this.#stamps = new StampWatch(rules.stamps, this.#list);
		this.#watched = FAULT_SIGNALS.map((signal) => ({
			signal,
			line: signal in LINES ? LINES[signal as keyof typeof LINES] : null,
			ofChamber: signal === 'chamberLevel_m' || signal === 'sideFlow_m3_s',
			held: new HeldWatch(signal, rules, this.#list),
			spike: SpikeWatch.of(signal, rules.spike, this.#list),
			missing: new MissingWatch(signal, rules.dropout, this.#list),
			column: null,
			known: false,
			last: Number.NaN,
		}));
	}

	/** Takes the next rows, as the logger wrote them. */
	push(samples: Samples): void {
		for (const watched of this.#watched) watched.column = samples[watched.signal];
		for (let i = 0; i < samples.count; i++) {
			const step = this.#stamps.take(samples, i);
			if (step === 'again') continue;
			const t = samples.time_s[i]!;
			if (step === 'break') this.#break();
			const dt = step === 'break' || Number.isNaN(this.#last_s) ? 0 : t - this.#last_s;
			this.#last_s = t;
			this.#row(samples, i, t, dt);
		}
	}

	/** The record is over: all faults, in order of time. */
	end(): SignalFault[] {
		const explainedFrom_s = this.#endSame();
		for (const { held, spike, missing } of this.#watched) {
			held.break(explainedFrom_s);
			held.end();
			spike?.forget();
			missing.end();
		}
		return this.#list.sorted();
	}

	#break(): void {
		const explainedFrom_s = this.#endSame();
		for (const watched of this.#watched) {
			watched.held.break(explainedFrom_s);
			watched.spike?.forget();
			watched.missing.end();
			watched.last = Number.NaN;
		}
	}

	#row(samples: Samples, i: number, t: number, dt: number): void {
		const { movingFlow_m3_s } = this.#rules;
		const feed = Math.abs(samples.feedFlow_m3_s[i]!);
		const back = Math.abs(samples.returnFlow_m3_s[i]!);
		const feedMoves = feed > movingFlow_m3_s;
		const backMoves = back > movingFlow_m3_s;
		const feedStill = feed <= movingFlow_m3_s / 5;
		const backStill = back <= movingFlow_m3_s / 5;
		const mode = samples.mode[i]!;
		const through = mode === MODE_MISSING || passesChamber(mode);
		const explainedFrom_s = this.#watchSame(i, t, dt, feedMoves || backMoves);
		const moves = feedMoves || backMoves;
		for (const watched of this.#watched) {
			const { column } = watched;
			// A column that was never kept has nothing to lose.
			if (column === null && !watched.known) continue;
			watched.known = true;
			const value = column === null ? Number.NaN : column[i]!;
			watched.last = value;
			watched.missing.take(t, value, dt);
			watched.spike?.take(t, value);
			const { line } = watched;
			const state = this.#state;
			state.dt = dt;
			state.through = through;
			state.passed_m3 = 0;
			if (line === null) {
				state.moving = moves && (through || !watched.ofChamber);
				state.still = feedStill && backStill;
			} else {
				state.moving = line === 'feed' ? backMoves : feedMoves;
				state.still = line === 'feed' ? backStill : feedStill;
				const own = line === 'feed' ? feed : back;
				if (own > 0) state.passed_m3 = own * dt;
			}
			watched.held.take(t, value, state, explainedFrom_s);
		}
	}

	/** Follows rows that repeat the one before; where a stretch of them ends here, since when it was. */
	#watchSame(i: number, t: number, dt: number, moving: boolean): number {
		const same = this.#same;
		if (dt > 0 && this.#repeats(i)) {
			if (same.rows === 0) {
				same.since_s = t - dt;
				same.from_s = t;
			}
			same.rows++;
			same.to_s = t;
			if (moving) same.moving_s += dt;
			return Number.NaN;
		}
		return this.#endSame();
	}

	/** Every signal recorded, at least two of them, is what it was in the row before. */
	#repeats(i: number): boolean {
		let recorded = 0;
		for (const { column, last } of this.#watched) {
			const value = column === null ? Number.NaN : column[i]!;
			if (value === last) recorded++;
			else if (!(Number.isNaN(value) && Number.isNaN(last))) return false;
		}
		return recorded >= 2;
	}

	/** Ends a stretch of repeated rows; gives since when the values held if it is a fault, else NaN. */
	#endSame(): number {
		const same = this.#same;
		const { since_s, from_s, to_s, rows, moving_s } = same;
		same.rows = 0;
		same.moving_s = 0;
		const { repeated, habit } = this.#rules;
		if (rows < repeated.rows || moving_s < repeated.time_s) return Number.NaN;
		const unusual = this.#watched.some(
			({ held }) => moving_s >= habit.times * held.longestUsualRun_s(),
		);
		if (!unusual) return Number.NaN;
		this.#list.add({
			kind: 'repeated_rows',
			signal: null,
			from_s,
			to_s,
			count: rows,
			rule: `every signal the same to the last digit; limit ${spanText(repeated.time_s)} of a moving circuit`,
		});
		return since_s;
	}
}

/**
 * Faults of a whole record; see {@link SignalFaultWatch}.
 *
 * @example
 * const n = 100;
 * const noisy = (mean, by) => Float64Array.from({ length: n }, (_, i) => mean + by * ((i * 7919) % 13));
 * const record = { count: n, time_s: Float64Array.from({ length: n }, (_, i) => i), mode: new Uint8Array(n), feedFlow_m3_s: noisy(0.3, 0.0002), feedDensity_kg_m3: noisy(1080, 0.1), returnFlow_m3_s: noisy(0.32, 0.0002), returnDensity_kg_m3: noisy(1150, 0.2), sideFlow_m3_s: null, chamberLevel_m: null, feedTotal_m3: null, returnTotal_m3: null };
 * signalFaults(record) // => []
 * record.returnDensity_kg_m3[50] = 1400;
 * signalFaults(record)[0] // => { "kind": "spike", "signal": "returnDensity_kg_m3", "from_s": 50, "to_s": 50, "count": 1, "rule": "a jump beyond 8 robust deviations and back within 3 rows" }
 */
export function signalFaults(samples: Samples, rules: FaultRules = FAULT_RULES): SignalFault[] {
	const watch = new SignalFaultWatch(rules);
	watch.push(samples);
	return watch.end();
}

/** Faults that touch one ring's advance window. */
export interface RingFaults {
	readonly faults: readonly SignalFault[];
	/** Stretches of each kind. */
	readonly stretches: Readonly<Record<FaultKind, number>>;
}

/**
 * The faults that touch a ring's window from advance start to advance end, both included.
 *
 * @example
 * const spike = (from_s) => ({ kind: 'spike', signal: 'feedFlow_m3_s', from_s, to_s: from_s + 2, count: 3, rule: 'r' });
 * faultsOfRing([spike(10), spike(98), spike(201)], { advanceStart_s: 100, advanceEnd_s: 200 }).stretches.spike // => 1
 */
export function faultsOfRing(
	faults: readonly SignalFault[],
	ring: Pick<RingInput, 'advanceStart_s' | 'advanceEnd_s'>,
): RingFaults {
	const stretches = Object.fromEntries(FAULT_KINDS.map((kind) => [kind, 0])) as Record<
		FaultKind,
		number
	>;
	const touching = faults.filter(
		({ from_s, to_s }) => from_s <= ring.advanceEnd_s && to_s >= ring.advanceStart_s,
	);
	for (const { kind } of touching) stretches[kind]++;
	return { faults: touching, stretches };
}

const KIND_WORDS: Readonly<Record<FaultKind, readonly [string, string]>> = {
	frozen: ['frozen signal', 'frozen signals'],
	spike: ['spike', 'spikes'],
	saturation: ['saturated signal', 'saturated signals'],
	dropout: ['dropout', 'dropouts'],
	clock_jump: ['clock jump', 'clock jumps'],
	daylight_saving: ['daylight-saving change', 'daylight-saving changes'],
	repeated_rows: ['stretch of repeated rows', 'stretches of repeated rows'],
};

/**
 * One note for a ring's row, or null where no fault touches the ring.
 *
 * @example
 * const frozen = { kind: 'frozen', signal: 'feedFlow_m3_s', from_s: 120, to_s: 180, count: 60, rule: 'r' };
 * ringFaultNote([frozen, { ...frozen, kind: 'spike' }, { ...frozen, kind: 'spike', from_s: 150 }], { ring: 7, advanceStart_s: 100, advanceEnd_s: 200 }).message // => "The record of this ring has 1 frozen signal and 2 spikes."
 * ringFaultNote([], { ring: 7, advanceStart_s: 100, advanceEnd_s: 200 }) // => null
 */
export function ringFaultNote(
	faults: readonly SignalFault[],
	ring: Pick<RingInput, 'ring' | 'advanceStart_s' | 'advanceEnd_s'>,
): Fault | null {
	const { stretches } = faultsOfRing(faults, ring);
	const parts = FAULT_KINDS.filter((kind) => stretches[kind] > 0).map(
		(kind) => `${stretches[kind]} ${KIND_WORDS[kind][stretches[kind] === 1 ? 0 : 1]}`,
	);
	const last = parts.pop();
	if (last === undefined) return null;
	const list = parts.length === 0 ? last : `${parts.join(', ')} and ${last}`;
	return noteFault('signal_faults', `The record of this ring has ${list}.`, { ring: ring.ring });
}
