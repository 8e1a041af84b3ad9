import { formatNumber, type NumberMarks } from '../../calc/quantity/format.ts';
import type {
	BypassWindowShown,
	MeterChecks,
	PairCheckShown,
} from '../../electron/contract/meterchecks.ts';
import type { Span } from './traces.ts';

export type PairId = 'flow' | 'density';

/** The two pairs of meters that a bypass window compares, in the order they are drawn. */
export const PAIRS: readonly {
	readonly id: PairId;
	readonly heading: string;
	readonly meters: string;
	/** Unit of the difference and of the readings, and the decimals they are shown with. */
	readonly unit: string;
	readonly decimals: number;
	readonly readingUnit: string;
	readonly readingDecimals: number;
}[] = [
	{
		id: 'flow',
		heading: 'Flow difference',
		meters: 'flow meters',
		unit: '%',
		decimals: 2,
		readingUnit: 'm³/h',
		readingDecimals: 1,
	},
	{
		id: 'density',
		heading: 'Density difference',
		meters: 'densitometers',
		unit: 'kg/m³',
		decimals: 1,
		readingUnit: 't/m³',
		readingDecimals: 4,
	},
];

export type PairShown = (typeof PAIRS)[number];

export const pairOf = (id: PairId): PairShown => PAIRS.find((one) => one.id === id) as PairShown;

/** Bars and bands reach this many standard uncertainties to either side. */
export const REACH = 2;
/** Residuals beyond this many standard deviations are drawn at the edge. */
export const MOST_SIGMAS = 6;

/** How a compared window is drawn. `accepted` and `rejected` are a person's word. */
export type Mark = 'used' | 'accepted' | 'pending' | 'outlier' | 'rejected';

export interface CheckPoint {
	/** Entry of the window among all windows. */
	readonly entry: number;
	readonly time_s: number;
	readonly value: number;
	readonly u: number | null;
	readonly sigmas: number | null;
	readonly mark: Mark;
}

/** The moment a window stands for. */
export const middleOf = (window: Pick<BypassWindowShown, 'from_s' | 'to_s'>): number =>
	(window.from_s + window.to_s) / 2;

/** Windows in which a pair could be compared, in order of time. */
export function pointsOf(windows: readonly BypassWindowShown[], pair: PairId): CheckPoint[] {
	return windows.flatMap((window, entry) => {
		const seen = window[pair];
		if (seen.difference === null || seen.verdict === 'unusable') return [];
		return {
			entry,
			time_s: middleOf(window),
			value: seen.difference,
			u: seen.u,
			sigmas: seen.standardised,
			mark:
				seen.verdict === 'used' && seen.decision?.decision === 'accept' ? 'accepted' : seen.verdict,
		};
	});
}

/** Windows in which a pair could not be compared: only their place in time is known. */
export function unusableAt(windows: readonly BypassWindowShown[], pair: PairId): number[] {
	return windows.flatMap((window) =>
		window[pair].verdict === 'unusable' || window[pair].difference === null ? middleOf(window) : [],
	);
}

/** The smoothed line in its stretches: a step breaks it. */
export function stretchesOf(line: PairCheckShown['line']): PairCheckShown['line'][] {
	const stretches: PairCheckShown['line'][] = [];
	let last: number | null = null;
	for (const node of line) {
		if (node.stretch !== last) stretches.push([]);
		last = node.stretch;
		(stretches.at(-1) as PairCheckShown['line']).push(node);
	}
	return stretches;
}

const STANDS: ReadonlySet<Mark> = new Set(['used', 'accepted', 'pending']);
/** A limit further out than this many times the rest does not stretch the scale. */
const LIMIT_REACH = 2.5;
const MARGIN = 0.08;

/**
 * Scale of a difference panel: the windows in use with their bars, the line with its band, zero, and
 * the limit of the papers on the side the difference lies where it is near. A close-up leaves zero
 * and limit out, to show drift and bars. Windows set aside do not stretch it (they are drawn at the
 * edge), unless there are no others.
 */
export function differenceScale(
	points: readonly CheckPoint[],
	check: PairCheckShown | null,
	closeUp: boolean,
): { readonly min: number; readonly max: number } {
	const standing = points.filter((point) => STANDS.has(point.mark));
	const ends = [...(standing.length > 0 ? standing : points), ...(check?.line ?? [])].flatMap(
		({ value, u }) => [value - REACH * (u ?? 0), value + REACH * (u ?? 0)],
	);
	if (!closeUp || ends.length === 0) ends.push(0);
	let min = Math.min(...ends);
	let max = Math.max(...ends);
	const limit = check?.limit ?? null;
	if (!closeUp && limit !== null && limit <= LIMIT_REACH * Math.max(-min, max)) {
		if (max >= -min) max = Math.max(max, limit);
		else min = Math.min(min, -limit);
	}
	if (min === max) return { min: min - 1, max: max + 1 };
	const margin = MARGIN * (max - min);
	return { min: min - margin, max: max + margin };
}

const LEAST_ROOM_S = 3600;

/** The time all windows and both lines take, with some room at either end. */
export function checkSpan({ windows, flow, density }: MeterChecks): Span {
	const times = [
		...windows.flatMap(({ from_s, to_s }) => [from_s, to_s]),
		...[flow, density].flatMap((check) => (check?.line ?? []).map((node) => node.time_s)),
	];
	const from_s = times.reduce((least, time_s) => Math.min(least, time_s), times[0] ?? 0);
	const to_s = times.reduce((most, time_s) => Math.max(most, time_s), from_s);
	const room = Math.max(LEAST_ROOM_S, 0.02 * (to_s - from_s));
	return { from_s: from_s - room, to_s: to_s + room };
}

/** What the smoothed line has at a window; null where the window says nothing of it. */
export function lineAtWindow(window: BypassWindowShown, pair: PairId): number | null {
	const { difference, residual } = window[pair];
	return difference === null || residual === null ? null : difference - residual;
}

/** A relative flow difference in % as a flow, m³/h, at the flow the window saw. */
export function asFlow(percent: number, feed_m3_h: number): number {
	return (percent / 100) * feed_m3_h;
}

/** Counts of the windows of a pair by what became of them. */
export function tally(
	windows: MeterChecks['windows'],
	pair: PairId,
): {
	readonly used: number;
	readonly aside: number;
	readonly rejected: number;
	readonly unusable: number;
} {
	const count = { used: 0, aside: 0, rejected: 0, unusable: 0 };
	for (const window of windows) {
		const { verdict } = window[pair];
		if (verdict === 'used') count.used++;
		else if (verdict === 'outlier' || verdict === 'pending') count.aside++;
		else count[verdict]++;
	}
	return count;
}

/** A figure with its sign, so that it reads as a difference; nothing left after rounding bears none. */
export function signed(value: number, decimals: number, marks: NumberMarks): string {
	const text = formatNumber(Math.abs(value), decimals, marks);
	return /[1-9]/u.test(text) ? `${value < 0 ? '−' : '+'}${text}` : text;
}
