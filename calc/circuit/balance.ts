import type { RingBalance, SampleSource } from './ringbalance.ts';
import type { Samples } from './samples.ts';
import type { DriveSettings, GroundShare, MeterCertificate, RingInput } from './settings.ts';

/** Everything one ring's balance is made from. */
export interface RingBalanceAsk {
	readonly ring: RingInput;
	/**
	 * Raw samples in time order. May be the whole record or any part of it that reaches far enough:
	 * back until the feed line has been filled once before advance start, forward until the return
	 * line has been emptied once after advance end. The balance finds its own way in by time.
	 */
	readonly samples: Samples;
	readonly source: SampleSource;
	readonly settings: DriveSettings;
	readonly ground: readonly GroundShare[];
	readonly meters: readonly MeterCertificate[];
	/** Two stamps farther apart than this are a gap; nothing is bridged over it. */
	readonly gapLimit_s: number;
	/** Working-chamber level at which the mixed volume is stated (the first ring's start level); null if unknown. */
	readonly referenceLevel_m: number | null;
}

export type BalanceRing = (ask: RingBalanceAsk) => RingBalance;
