import { formatNumber, type NumberMarks } from '../../../calc/quantity/format.ts';
import { dateTime, isoTime } from '../../../calc/quantity/time.ts';
import type {
	BypassWindowShown,
	Compared,
	MeterChecks,
	PairCheckShown,
} from '../../../electron/contract/meterchecks.ts';
import { type PairId, pairOf, signed } from '../../charts/checktraces.ts';

/** What the check of the meters says in words. */

export type Correction = MeterChecks['correction'];
export type Accepted = 'none' | PairId | 'both';

/** State of one pair in one window. */
export function stateWords({ verdict, decision }: Compared): string {
	if (verdict === 'used') return decision?.decision === 'accept' ? 'accepted' : 'in use';
	return {
		outlier: 'set aside',
		pending: 'waits for the next',
		rejected: 'rejected',
		unusable: 'not comparable',
	}[verdict];
}

/** What each choice of meters to be corrected does to the figures. */
export const CORRECTIONS: readonly {
	readonly id: Correction;
	readonly label: string;
	readonly says: string;
}[] = [
	{
		id: 'none',
		label: 'No meters',
		says: 'Readings count as their certificates leave them. Whatever the two meters of a pair differ by goes into every ring in full.',
	},
	{
		id: 'return',
		label: 'The return meters',
		says: 'Feed readings stay. Return flow and return density are moved by the smoothed difference of their moment, so that in bypass they read what the feed meters read.',
	},
	{
		id: 'feed',
		label: 'The feed meters',
		says: 'Return readings stay. Feed flow and feed density are moved by the smoothed difference of their moment, so that in bypass they read what the return meters read.',
	},
	{
		id: 'both',
		label: 'Both, each by half',
		says: 'Feed and return readings are moved towards each other, each by half of the smoothed difference of their moment.',
	},
];

/** Holds whichever side is corrected. */
export const WHAT_BYPASS_TELLS =
	'Bypass tells what two meters differ by, not which of them is right: the excavated volume and the dry solids live on the difference. The ledger shows the figures with and without the correction side by side.';

/** The smoothed difference of a pair where the drive ends, and the largest there was. */
export function differenceWords(check: PairCheckShown, pair: PairId, marks: NumberMarks): string {
	const { unit, decimals } = pairOf(pair);
	const last = check.line.at(-1);
	const figure = (value: number) => `${signed(value, decimals, marks)} ${unit}`;
	const now =
		last === undefined
			? ''
			: `${figure(last.value)} ± ${formatNumber(2 * last.u, decimals, marks)} ${unit} at the end; `;
	return `${now}never more than ${formatNumber(check.largest, decimals, marks)} ${unit}.`;
}

/** The second parameter of a pair, or that it cannot be told. */
export function secondTermWords(check: PairCheckShown, pair: PairId, marks: NumberMarks): string {
	const { secondTerm } = check;
	if (pair === 'flow') {
		return secondTerm === null
			? 'The bypass flows are too alike to tell a zero error from a scale error: all of it counts as scale.'
			: `Zero error between the two: ${signed(secondTerm.value, 2, marks)} ± ${formatNumber(2 * secondTerm.u, 2, marks)} m³/h.`;
	}
	return secondTerm === null
		? 'The bypass densities are too alike to tell a slope from an offset: all of it counts as offset.'
		: `Slope between the two: ${signed(100 * secondTerm.value, 2, marks)} ± ${formatNumber(200 * secondTerm.u, 2, marks)} % of the density's change.`;
}

/** A change at once: how much, when, and in which ring it was called. */
export function stepWords(
	step: PairCheckShown['steps'][number],
	pair: PairId,
	utcOffset_min: number,
	marks: NumberMarks,
): string {
	const { unit, decimals } = pairOf(pair);
	const clock = (time_s: number) => dateTime(Math.round(time_s), utcOffset_min).slice(0, 16);
	const when =
		step.at_s === null
			? `between ${clock(step.after_s)} and ${clock(step.before_s)}`
			: `on ${clock(step.at_s)}`;
	const called = step.ring === null ? '' : `, called in ring ${step.ring}`;
	return `Step of ${signed(step.size, decimals, marks)} ± ${formatNumber(2 * step.u, decimals, marks)} ${unit} ${when}${called}: a meter was knocked, coated, cleaned or set anew.`;
}

/** Whether the figures of the drive carry the correction of a pair, and why not. */
export function inForceWords(correction: Correction, check: PairCheckShown | null): string {
	if (check === null) return 'no window to tell it from';
	if (check.inForce) return check.accepted ? 'in use beyond the limit' : 'in use';
	if (check.heldBack) return 'held back: beyond the limit';
	return correction === 'none' ? 'not in use' : 'held back';
}

/** The choice `correction_accepted` with one pair put in or taken out. */
export function acceptedWith(checks: MeterChecks, pair: PairId, on: boolean): Accepted {
	const holds = (id: PairId): boolean => (id === pair ? on : checks[id]?.accepted === true);
	const flow = holds('flow');
	const density = holds('density');
	return flow && density ? 'both' : flow ? 'flow' : density ? 'density' : 'none';
}

/**
 * Cells of a new row of `bypass_decisions` for one window: whole seconds that hold its middle.
 * `quantity` null: both pairs.
 */
export function decisionCells(
	window: Pick<BypassWindowShown, 'from_s' | 'to_s'>,
	quantity: PairId | null,
	decision: 'accept' | 'reject',
	why: string,
	utcOffset_min: number,
): Record<string, string> {
	const from_s = Math.floor(window.from_s);
	return {
		from_time: isoTime(from_s, utcOffset_min),
		to_time: isoTime(Math.max(Math.ceil(window.to_s), from_s + 1), utcOffset_min),
		decision,
		...(quantity === null ? {} : { quantity }),
		why: why.trim(),
	};
}
