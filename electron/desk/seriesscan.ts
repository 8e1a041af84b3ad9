import { FAULT_RULES, type SignalFault } from '../../calc/circuit/faultrules.ts';
import { MODES, type Samples } from '../../calc/circuit/samples.ts';
import { SignalFaultWatch } from '../../calc/circuit/signalfaults.ts';
import type { LoggerSeries, Progress } from './loggerseries.ts';

/** First and last stamp of a stretch of the record. */
export interface Stretch {
	readonly from_s: number;
	readonly to_s: number;
}

const BYPASS = MODES.indexOf('bypass');

/** Finds the unbroken stretches of bypass of a record as it streams by: consecutive stamps in that mode, no gap between. */
export class BypassFinder {
	readonly #gapLimit_s: number;
	readonly #found: Stretch[] = [];
	#from_s: number | null = null;
	#last_s = Number.NEGATIVE_INFINITY;

	constructor(gapLimit_s: number) {
		this.#gapLimit_s = gapLimit_s;
	}

	push({ count, time_s, mode }: Pick<Samples, 'count' | 'time_s' | 'mode'>): void {
		for (let i = 0; i < count; i++) {
			const t = time_s[i]!;
			const inside = mode[i] === BYPASS;
			if (this.#from_s !== null && (!inside || t - this.#last_s > this.#gapLimit_s)) this.#close();
			if (inside) this.#from_s ??= t;
			this.#last_s = t;
		}
	}

	end(): Stretch[] {
		this.#close();
		return this.#found;
	}

	#close(): void {
		if (this.#from_s === null) return;
		this.#found.push({ from_s: this.#from_s, to_s: this.#last_s });
		this.#from_s = null;
	}
}

export interface SeriesScan {
	/** Bypass as it was recorded. */
	readonly stretches: Stretch[];
	readonly faults: SignalFault[];
}

/** Reads the whole series once, day by day. Rejects with `SeriesDamaged` if a day is gone or altered. */
export async function scanSeries(series: LoggerSeries, progress: Progress): Promise<SeriesScan> {
	const finder = new BypassFinder(series.gapLimit_s);
	// The series keeps stamps as they are in UTC, in order: what clocks did was judged when it was read.
	const watch = new SignalFaultWatch({
		...FAULT_RULES,
		stamps: { are: 'absolute', gapLimit_s: series.gapLimit_s },
	});
	let done = 0;
	for (const day of series.days) {
		progress('looking through the logger', done, series.days.length);
		const samples = await series.span(day.from_s, day.to_s);
		finder.push(samples);
		watch.push(samples);
		done++;
	}
	return { stretches: finder.end(), faults: watch.end() };
}
