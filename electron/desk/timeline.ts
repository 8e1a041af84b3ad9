import type { SignalFault } from '../../calc/circuit/faultrules.ts';
import { overrideAt } from '../../calc/circuit/modeoverrides.ts';
import type { RingBalance } from '../../calc/circuit/ringbalance.ts';
import { MODES, type Samples } from '../../calc/circuit/samples.ts';
import type { SetMode } from '../../calc/sheet/checkinputs.ts';
import type { Timeline } from '../contract/verbs.ts';
import type { RuleStretch } from '../logger/layout/rulestretch.ts';

/** What a timeline shows besides the samples, whose modes are already those a person has set. */
export interface BesidesSamples {
	readonly overrides: readonly SetMode[];
	/** Of the logger's signals, in order of time. */
	readonly faults: readonly SignalFault[];
	/** Which rule told the logger's modes, in order of time; where none is named they were recorded. */
	readonly rules: readonly RuleStretch[];
}

/** What is drawn before and after the ring's windows, as a share of their span. */
const MARGIN = 0.08;
const LEAST_MARGIN_S = 120;

/** Span of time a ring's timeline shows: its advance window, the ring as both meter pairs see it, and a margin. */
export function timelineSpan(balance: RingBalance): { from_s: number; to_s: number } {
	const { lag } = balance;
	const from_s = Math.min(balance.advanceStart_s, lag.feedFrom_s ?? balance.advanceStart_s);
	const to_s = Math.max(balance.advanceEnd_s, lag.returnTo_s ?? balance.advanceEnd_s);
	const margin = Math.max(LEAST_MARGIN_S, MARGIN * (to_s - from_s));
	return { from_s: from_s - margin, to_s: to_s + margin };
}

const perHour = (value: number): number | null => (Number.isNaN(value) ? null : value * 3600);
const tonnes = (value: number): number | null => (Number.isNaN(value) ? null : value / 1000);
const asIs = (value: number): number | null => (Number.isNaN(value) ? null : value);

/**
 * The samples of a span as columns to draw, in the trade's units. With more samples than `points`
 * the span is cut into stretches of equally many stamps, each drawn by its least and greatest value
 * in the order they came; a stretch never reaches over a gap. A gap is drawn as a break.
 */
export function ringTimeline(
	balance: RingBalance,
	samples: Samples,
	gapLimit_s: number,
	points: number,
	besides: BesidesSamples,
): Timeline {
	const { from_s, to_s } = timelineSpan(balance);
	const first = firstAtOrAfter(samples, from_s);
	const end = firstAtOrAfter(samples, to_s + 1e-9);
	const columns = [
		{ from: samples.feedFlow_m3_s, show: perHour, out: [] as (number | null)[] },
		{ from: samples.returnFlow_m3_s, show: perHour, out: [] as (number | null)[] },
		{ from: samples.feedDensity_kg_m3, show: tonnes, out: [] as (number | null)[] },
		{ from: samples.returnDensity_kg_m3, show: tonnes, out: [] as (number | null)[] },
		{ from: samples.chamberLevel_m, show: asIs, out: [] as (number | null)[] },
	];
	const time_s: number[] = [];
	const isGapAfter = (i: number): boolean =>
		i + 1 < end && samples.time_s[i + 1]! - samples.time_s[i]! > gapLimit_s;
	const stretch = end - first <= points ? 1 : Math.ceil((2 * (end - first)) / points);
	for (let at = first; at < end; ) {
		let stop = at + 1;
		while (stop < end && stop - at < stretch && !isGapAfter(stop - 1)) stop++;
		time_s.push(samples.time_s[at]!);
		if (stop - at > 1) time_s.push(samples.time_s[stop - 1]!);
		for (const column of columns) {
			if (stop - at === 1)
				column.out.push(column.from === null ? null : column.show(column.from[at]!));
			else column.out.push(...extremes(column.from, at, stop).map(column.show));
		}
		if (isGapAfter(stop - 1)) {
			time_s.push((samples.time_s[stop - 1]! + samples.time_s[stop]!) / 2);
			for (const column of columns) column.out.push(null);
		}
		at = stop;
	}
	const window = (from: number | null, to: number | null) =>
		from === null || to === null ? null : { from_s: from, to_s: to };
	return {
		ring: balance.ring,
		source: end > first ? (balance.source === 'logger' ? 'logger' : 'readings') : 'none',
		time_s,
		feed_flow_m3_h: columns[0]!.out,
		return_flow_m3_h: columns[1]!.out,
		feed_density_t_m3: columns[2]!.out,
		return_density_t_m3: columns[3]!.out,
		chamber_level_m: columns[4]!.out,
		modes: modeStretches(samples, from_s, to_s, gapLimit_s, {
			overrides: besides.overrides,
			rules:
				balance.source === 'logger'
					? besides.rules.filter((one) => one.from_s <= to_s && one.to_s >= from_s)
					: [],
		}),
		advanceWindow: { from_s: balance.advanceStart_s, to_s: balance.advanceEnd_s },
		feedWindow: window(balance.lag.feedFrom_s, balance.lag.feedTo_s),
		returnWindow: window(balance.lag.returnFrom_s, balance.lag.returnTo_s),
		lag_s: balance.lag.lag_s,
		thinned: stretch > 1,
		signalFaults:
			balance.source === 'logger'
				? besides.faults
						.filter((fault) => fault.from_s <= to_s && fault.to_s >= from_s)
						.map((fault) => ({ ...fault }))
				: [],
	};
}

/** Least and greatest value of a stretch in the order they came; NaN twice if the meter gave nothing. */
function extremes(column: Float64Array | null, from: number, to: number): [number, number] {
	if (column === null) return [Number.NaN, Number.NaN];
	let least = -1;
	let greatest = -1;
	for (let i = from; i < to; i++) {
		const value = column[i]!;
		if (Number.isNaN(value)) continue;
		if (least < 0 || value < column[least]!) least = i;
		if (greatest < 0 || value > column[greatest]!) greatest = i;
	}
	if (least < 0) return [Number.NaN, Number.NaN];
	return least <= greatest
		? [column[least]!, column[greatest]!]
		: [column[greatest]!, column[least]!];
}

/** Stretches of one mode, for one reason, covering the span; a mode holds from its stamp to the next, but not over a gap. */
function modeStretches(
	samples: Samples,
	from_s: number,
	to_s: number,
	gapLimit_s: number,
	by: Pick<BesidesSamples, 'overrides' | 'rules'>,
): Timeline['modes'] {
	const stretches: Timeline['modes'] = [];
	const put = (
		start: number,
		stop: number,
		mode: Timeline['modes'][number]['mode'],
		set: SetMode | null = null,
		rule: RuleStretch | null = null,
	) => {
		const from = Math.max(start, from_s);
		const to = Math.min(stop, to_s);
		if (to <= from) return;
		const last = stretches.at(-1);
		const override = set?.row;
		const why = set?.why ?? rule?.why;
		if (
			last !== undefined &&
			last.mode === mode &&
			last.override === override &&
			last.why === why
		) {
			last.to_s = to;
			return;
		}
		stretches.push({
			from_s: from,
			to_s: to,
			mode,
			...(mode === null
				? {}
				: set !== null
					? { decidedBy: 'override' as const, why: set.why, override: set.row }
					: rule !== null
						? { decidedBy: 'rule' as const, why: rule.why }
						: { decidedBy: 'record' as const }),
		});
	};
	let at = Math.max(0, firstAtOrAfter(samples, from_s) - 1);
	if (at >= samples.count) {
		put(from_s, to_s, null);
		return stretches;
	}
	put(from_s, samples.time_s[at]!, null);
	for (; at < samples.count && samples.time_s[at]! < to_s; at++) {
		const start = samples.time_s[at]!;
		const next = at + 1 < samples.count ? samples.time_s[at + 1]! : Number.POSITIVE_INFINITY;
		const holds = next - start <= gapLimit_s;
		const mode = holds ? (MODES[samples.mode[at]!] ?? null) : null;
		const rule = by.rules.find((one) => one.from_s <= start && start <= one.to_s);
		put(
			start,
			next,
			mode,
			overrideAt(by.overrides, start),
			rule !== undefined && rule.mode === mode ? rule : null,
		);
	}
	return stretches;
}

/** Index of the first stamp at or after a time; `count` if there is none. */
export function firstAtOrAfter(samples: Samples, time_s: number): number {
	let low = 0;
	let high = samples.count;
	while (low < high) {
		const middle = (low + high) >> 1;
		if (samples.time_s[middle]! < time_s) low = middle + 1;
		else high = middle;
	}
	return low;
}
