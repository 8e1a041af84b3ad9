import { correctColumn, meterLines } from './meter.ts';
import { STEP_LIMIT_S } from './polyline.ts';
import type { Samples } from './samples.ts';
import type { MeterCertificate, RingInput } from './settings.ts';

/** Index range [from, to) of the samples one ring's balance looks at. */
export interface RingSpan {
	readonly from: number;
	readonly to: number;
	/** The record begins before the feed line has been filled once: an earlier sample would matter. */
	readonly ranOutBefore: boolean;
	/** The record ends before the return line has been emptied once: a later sample would matter. */
	readonly ranOutAfter: boolean;
}

export interface RingSpanAsk {
	readonly samples: Samples;
	readonly ring: Pick<RingInput, 'advanceStart_s' | 'advanceEnd_s'>;
	readonly meters: readonly MeterCertificate[];
	/** Volumes that must pass before advance start / after advance end; null or 0: only the margin. */
	readonly feedLine_m3: number | null;
	readonly returnLine_m3: number | null;
	readonly gapLimit_s: number;
}

/**
 * Which samples a ring needs: back until the feed line has been filled once before advance start,
 * forward until the return line has been emptied once after advance end, and on each side one gap
 * limit more. Whoever streams a long record keeps at least this much of it.
 *
 * @example
 * const t = Float64Array.from({ length: 101 }, (_, i) => i * 10);
 * const one = new Float64Array(101).fill(0.5);
 * const s = { count: 101, time_s: t, mode: new Uint8Array(101), feedFlow_m3_s: one, feedDensity_kg_m3: one, returnFlow_m3_s: one, returnDensity_kg_m3: one, sideFlow_m3_s: null, chamberLevel_m: null, feedTotal_m3: null, returnTotal_m3: null };
 * ringSpan({ samples: s, ring: { advanceStart_s: 400, advanceEnd_s: 600 }, meters: [], feedLine_m3: 50, returnLine_m3: 100, gapLimit_s: 30 }) // => { "from": 27, "to": 84, "ranOutBefore": false, "ranOutAfter": false }
 */
export function ringSpan(ask: RingSpanAsk): RingSpan {
	const { samples, ring, gapLimit_s } = ask;
	const { time_s: time, count } = samples;
	if (count === 0) return { from: 0, to: 0, ranOutBefore: true, ranOutAfter: true };
	const back = passed(
		samples,
		samples.feedFlow_m3_s,
		meterLines(ask.meters, 'feed_flow'),
		Math.max(0, firstAfter(time, count, ring.advanceStart_s) - 1),
		-1,
		ask.feedLine_m3 ?? 0,
	);
	const ahead = passed(
		samples,
		samples.returnFlow_m3_s,
		meterLines(ask.meters, 'return_flow'),
		Math.min(count - 1, firstAtOrAfter(time, count, ring.advanceEnd_s)),
		1,
		ask.returnLine_m3 ?? 0,
	);
	let from = back.at;
	const early = Math.min(time[back.at]!, ring.advanceStart_s) - gapLimit_s;
	while (from > 0 && time[from]! > early) from--;
	let to = ahead.at;
	const late = Math.max(time[ahead.at]!, ring.advanceEnd_s) + gapLimit_s;
	while (to < count - 1 && time[to]! < late) to++;
	return {
		from,
		to: to + 1,
		ranOutBefore: back.ranOut || time[from]! > early,
		ranOutAfter: ahead.ranOut || time[to]! < late,
	};
}

/**
 * First index with time ≥ t, or count.
 *
 * @example
 * firstAtOrAfter([0, 5, 10], 3, 5) // => 1
 */
export function firstAtOrAfter(time_s: ArrayLike<number>, count: number, t: number): number {
	let low = 0;
	let high = count;
	while (low < high) {
		const mid = (low + high) >> 1;
		if (time_s[mid]! < t) low = mid + 1;
		else high = mid;
	}
	return low;
}

/**
 * First index with time > t, or count.
 *
 * @example
 * firstAfter([0, 5, 10], 3, 5) // => 2
 */
export function firstAfter(time_s: ArrayLike<number>, count: number, t: number): number {
	let low = 0;
	let high = count;
	while (low < high) {
		const mid = (low + high) >> 1;
		if (time_s[mid]! <= t) low = mid + 1;
		else high = mid;
	}
	return low;
}

/** Walks until at least the volume has passed, counting the least each step can have held. */
function passed(
	samples: Samples,
	flow: Float64Array,
	lines: ReturnType<typeof meterLines>,
	start: number,
	step: 1 | -1,
	volume_m3: number,
): { at: number; ranOut: boolean } {
	const { time_s: time, mode, count } = samples;
	let at = start;
	let sum = 0;
	let block: Float64Array = new Float64Array(0);
	let blockFrom = 0;
	const corrected = (i: number): number => {
		if (i < blockFrom || i >= blockFrom + block.length) {
			blockFrom = step > 0 ? i : Math.max(0, i - 511);
			block = correctColumn(flow, time, lines, blockFrom, Math.min(count, blockFrom + 512));
		}
		const q = block[i - blockFrom]!;
		return Number.isNaN(q) ? 0 : Math.max(q, 0);
	};
	while (sum < volume_m3) {
		const next = at + step;
		if (next < 0 || next >= count) return { at, ranOut: true };
		const dt = Math.abs(time[next]! - time[at]!);
		const a = corrected(at);
		const b = corrected(next);
		const stepped = mode[at] !== mode[next] && dt > STEP_LIMIT_S;
		sum += stepped ? Math.min(a, b) * dt : ((a + b) / 2) * dt;
		at = next;
	}
	return { at, ranOut: false };
}
