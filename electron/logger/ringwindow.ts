import { balanceRing } from '../../calc/circuit/balance.ts';
import { loggerGapLimit_s } from '../../calc/circuit/gap.ts';
import { lineVolumes } from '../../calc/circuit/line.ts';
import type { RingBalance } from '../../calc/circuit/ringbalance.ts';
import type {
	DriveSettings,
	GroundShare,
	MeterCertificate,
	RingInput,
} from '../../calc/circuit/settings.ts';
import { type RingSpan, ringSpan } from '../../calc/circuit/span.ts';
import { type RecordPart, SampleBuffer } from './samplebuffer.ts';

/** What the rings of a drive are balanced with. */
export interface DriveInputs {
	readonly rings: readonly RingInput[];
	readonly settings: DriveSettings;
	readonly ground: readonly GroundShare[];
	readonly meters: readonly MeterCertificate[];
	readonly referenceLevel_m: number | null;
}

/** Steps the gap limit is told from. */
const GAP_STEPS = 10_000;
/** Samples are dropped in stretches of at least this many. */
const DROP_ROWS = 65_536;
/** A stop longer than this ends the search for where a line was filled or emptied, s. */
const LONGEST_LOOK_S = 921_600;

/** True if a record from `first_s` to `last_s` reaches over a window, but for one gap limit at each end. */
export function reachesOver(
	record: { readonly first_s: number; readonly last_s: number; readonly gapLimit_s: number },
	from_s: number,
	to_s: number,
): boolean {
	return record.first_s <= from_s + record.gapLimit_s && record.last_s >= to_s - record.gapLimit_s;
}

/**
 * Balances rings from a record as it streams by, each as soon as its return line has been emptied,
 * and keeps only the samples that a ring still to come can need. Rings the record does not reach
 * over are left out. The figures are those of the whole record.
 */
export class RingWindow {
	readonly #inputs: Omit<DriveInputs, 'rings'> | null;
	readonly #waiting: RingInput[];
	readonly #found: RingBalance[] = [];
	readonly #buffer = new SampleBuffer();
	readonly #feedLine_m3: number;
	#gapLimit_s: number | null = null;
	#first_s: number | null = null;
	#last_s = Number.NEGATIVE_INFINITY;
	#dropAt = DROP_ROWS;

	/** null: nothing is balanced, only the gap limit is told; `gapLimit_s`: it is known already. */
	constructor(inputs: DriveInputs | null, gapLimit_s: number | null = null) {
		this.#gapLimit_s = gapLimit_s;
		this.#inputs = inputs;
		this.#waiting = [...(inputs?.rings ?? [])].sort((a, b) => a.advanceStart_s - b.advanceStart_s);
		this.#feedLine_m3 = this.#waiting.reduce(
			(most, ring) => Math.max(most, this.#lines(ring).feed_m3),
			0,
		);
	}

	get #drive(): Omit<DriveInputs, 'rings'> {
		if (this.#inputs === null) throw new RangeError('a ring without a drive');
		return this.#inputs;
	}

	get balances(): readonly RingBalance[] {
		return this.#found;
	}
	/** null until enough of the record is known. */
	get gapLimit_s(): number | null {
		return this.#gapLimit_s;
	}
	/** Samples held at the moment. */
	get held(): number {
		return this.#buffer.count;
	}

	push(part: RecordPart): void {
		if (part.count === 0) return;
		this.#first_s ??= part.time_s[0] ?? null;
		this.#last_s = part.time_s[part.count - 1]!;
		// Without rings to come only the gap limit is still to be told.
		if (this.#waiting.length === 0 && this.#gapLimit_s !== null) return;
		this.#buffer.append(part);
		if (this.#gapLimit_s === null && this.#buffer.count > GAP_STEPS)
			this.#gapLimit_s = loggerGapLimit_s(this.#buffer.time_s);
		if (this.#gapLimit_s === null) return;
		this.#balanceReady(false);
		this.#dropUnneeded();
	}

	/** The record is over: balances the rings that still wait for more of it. */
	end(): void {
		if (this.#first_s === null) return;
		this.#gapLimit_s ??= loggerGapLimit_s(this.#buffer.time_s);
		this.#balanceReady(true);
	}

	#balanceReady(isOver: boolean): void {
		const gapLimit_s = this.#gapLimit_s ?? 0;
		const first_s = this.#first_s ?? 0;
		for (let ring = this.#waiting[0]; ring !== undefined; ring = this.#waiting[0]) {
			const isPast = this.#last_s > ring.advanceEnd_s + gapLimit_s;
			if (!isPast && !isOver) return;
			if (
				reachesOver(
					{ first_s, last_s: this.#last_s, gapLimit_s },
					ring.advanceStart_s,
					ring.advanceEnd_s,
				)
			) {
				const looked = this.#last_s - ring.advanceEnd_s > LONGEST_LOOK_S;
				if (!isOver && !looked && this.#spanOf(ring).ranOutAfter) return;
				this.#found.push(this.#balance(ring));
			}
			this.#waiting.shift();
		}
	}

	#balance(ring: RingInput): RingBalance {
		const { settings, ground, meters, referenceLevel_m } = this.#drive;
		return balanceRing({
			ring,
			samples: this.#buffer.samples(),
			source: 'logger',
			settings,
			ground,
			meters,
			gapLimit_s: this.#gapLimit_s ?? 0,
			referenceLevel_m,
		});
	}

	#lines(ring: RingInput): { feed_m3: number; return_m3: number } {
		const lines = lineVolumes(this.#drive.settings, ring.ring, ring.lineExtension_m);
		return {
			feed_m3: Math.max(lines.feedStart_m3 ?? 0, lines.feedEnd_m3 ?? 0),
			return_m3: Math.max(lines.returnStart_m3 ?? 0, lines.returnEnd_m3 ?? 0),
		};
	}

	#spanOf(ring: RingInput): RingSpan {
		const { feed_m3, return_m3 } = this.#lines(ring);
		return ringSpan({
			samples: this.#buffer.samples(),
			ring,
			meters: this.#drive.meters,
			feedLine_m3: feed_m3,
			returnLine_m3: return_m3,
			gapLimit_s: this.#gapLimit_s ?? 0,
		});
	}

	/** Forgets what lies before the first sample that the next ring, or any after it, looks back to. */
	#dropUnneeded(): void {
		if (this.#buffer.count < this.#dropAt) return;
		const next = this.#waiting[0];
		const from_s = Math.min(this.#last_s, next?.advanceStart_s ?? this.#last_s);
		const span = ringSpan({
			samples: this.#buffer.samples(),
			ring: { advanceStart_s: from_s, advanceEnd_s: from_s },
			meters: this.#inputs?.meters ?? [],
			feedLine_m3: this.#feedLine_m3,
			returnLine_m3: 0,
			gapLimit_s: this.#gapLimit_s ?? 0,
		});
		const time_s = this.#buffer.time_s;
		let from = span.from;
		while (from < time_s.length && time_s[from]! < from_s - LONGEST_LOOK_S) from++;
		// One sample more, so that the balance still sees that the record goes further back.
		this.#buffer.drop(from - 1);
		this.#dropAt = this.#buffer.count + DROP_ROWS;
	}
}
