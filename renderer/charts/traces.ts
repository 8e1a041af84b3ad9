import type { Timeline } from '../../electron/contract/verbs.ts';

/** The measured signals of a ring's timeline, in the order they are drawn. */
export const SIGNALS = [
	{ key: 'feed_flow_m3_h', panel: 'flow', line: 'feed', heading: 'Feed', decimals: 0 },
	{ key: 'return_flow_m3_h', panel: 'flow', line: 'return', heading: 'Return', decimals: 0 },
	{ key: 'feed_density_t_m3', panel: 'density', line: 'feed', heading: 'Feed', decimals: 3 },
	{ key: 'return_density_t_m3', panel: 'density', line: 'return', heading: 'Return', decimals: 3 },
	{ key: 'chamber_level_m', panel: 'level', line: 'level', heading: 'Level', decimals: 2 },
] as const;

export type Signal = (typeof SIGNALS)[number];
export type SignalKey = Signal['key'];
export type PanelId = Signal['panel'];

/**
 * Stacked panels, top to bottom, with the unit on their axis. `least` is the height in px under which
 * the legend beside a panel would not fit; room beyond that is given out by `share`.
 */
export const PANELS: readonly {
	id: PanelId;
	heading: string;
	unit: string;
	share: number;
	least: number;
}[] = [
	{ id: 'flow', heading: 'Flow', unit: 'm³/h', share: 5, least: 48 },
	{ id: 'density', heading: 'Density', unit: 't/m³', share: 5, least: 48 },
	{ id: 'level', heading: 'Chamber level', unit: 'm', share: 4, least: 26 },
];

export interface Span {
	readonly from_s: number;
	readonly to_s: number;
}

/** Stamps and signals with a break set into every stretch without data, so that no line crosses it. */
export interface Traces {
	/** Unix seconds, ascending. */
	readonly time_s: readonly number[];
	/** One column a signal in trade units; null = nothing measured, the line breaks. */
	readonly columns: Readonly<Record<SignalKey, readonly (number | null)[]>>;
	/** Entry of `timeline.time_s` behind each stamp, −1 for a break. */
	readonly stampOf: readonly number[];
}

/**
 * Lines drawn from stamp to stamp would bridge a stretch in which nothing was recorded. Between any
 * two stamps with a stretch of `modes` without data between them a break is put.
 */
export function tracesOf(timeline: Timeline): Traces {
	const stamps = timeline.time_s;
	const time_s: number[] = [];
	const stampOf: number[] = [];
	const columns: Record<SignalKey, (number | null)[]> = {
		feed_flow_m3_h: [],
		return_flow_m3_h: [],
		feed_density_t_m3: [],
		return_density_t_m3: [],
		chamber_level_m: [],
	};
	const silent = timeline.modes.filter((stretch) => stretch.mode === null);
	let next = 0;
	const takeBreak = (at_s: number) => {
		time_s.push(at_s);
		stampOf.push(-1);
		for (const signal of SIGNALS) columns[signal.key].push(null);
	};
	for (let i = 0; i < stamps.length; i++) {
		const stamp = stamps[i] as number;
		for (; next < silent.length; next++) {
			const stretch = silent[next] as Span;
			if (stretch.from_s >= stamp) break;
			const before = i === 0 ? Number.NEGATIVE_INFINITY : (stamps[i - 1] as number);
			const from_s = Math.max(stretch.from_s, before);
			const to_s = Math.min(stretch.to_s, stamp);
			if (i > 0 && to_s > from_s) takeBreak((from_s + to_s) / 2);
			if (stretch.to_s > stamp) break;
		}
		time_s.push(stamp);
		stampOf.push(i);
		for (const signal of SIGNALS) {
			columns[signal.key].push(timeline[signal.key][i] ?? null);
		}
	}
	return { time_s, columns, stampOf };
}

/** All of the ring that can be shown: samples, advance window and the windows the meters see. */
export function fullSpan(timeline: Timeline): Span {
	const ends: Span[] = [timeline.advanceWindow, ...timeline.modes];
	if (timeline.feedWindow) ends.push(timeline.feedWindow);
	if (timeline.returnWindow) ends.push(timeline.returnWindow);
	let from_s = Number.POSITIVE_INFINITY;
	let to_s = Number.NEGATIVE_INFINITY;
	for (const end of ends) {
		from_s = Math.min(from_s, end.from_s);
		to_s = Math.max(to_s, end.to_s);
	}
	const first = timeline.time_s[0];
	const last = timeline.time_s.at(-1);
	if (first !== undefined) from_s = Math.min(from_s, first);
	if (last !== undefined) to_s = Math.max(to_s, last);
	return { from_s, to_s };
}

export interface SignalSummary {
	readonly signal: Signal;
	readonly count: number;
	readonly missing: number;
	/** null when the signal was never measured in the shown span. */
	readonly min: number | null;
	readonly max: number | null;
}

/** What each signal holds, in words' reach: for the spoken table and the legend at rest. */
export function summarise(timeline: Timeline): readonly SignalSummary[] {
	return SIGNALS.map((signal) => {
		let count = 0;
		let min: number | null = null;
		let max: number | null = null;
		for (const value of timeline[signal.key]) {
			if (value === null) continue;
			count++;
			if (min === null || value < min) min = value;
			if (max === null || value > max) max = value;
		}
		return { signal, count, missing: timeline.time_s.length - count, min, max };
	});
}

/** Panels that have something to show; the level panel only where a level is kept. */
export function panelsShown(timeline: Timeline): readonly (typeof PANELS)[number][] {
	return PANELS.filter(
		(panel) => panel.id !== 'level' || timeline.chamber_level_m.some((value) => value !== null),
	);
}

/** Entry whose stamp is nearest to `at_s`; −1 for an empty list. Stamps ascend. */
export function nearest(time_s: readonly number[], at_s: number): number {
	if (time_s.length === 0) return -1;
	let low = 0;
	let high = time_s.length - 1;
	while (high - low > 1) {
		const middle = (low + high) >> 1;
		if ((time_s[middle] as number) <= at_s) low = middle;
		else high = middle;
	}
	const before = Math.abs(at_s - (time_s[low] as number));
	const after = Math.abs((time_s[high] as number) - at_s);
	return after < before ? high : low;
}
