import {
	DENSITY_DRIFT_RULES,
	type DriftFit,
	type DriftPoint,
	driftAt,
	FLOW_DRIFT_RULES,
	fitDrift,
} from '../../../calc/trust/drift.ts';
import type {
	BypassWindowShown,
	Compared,
	MeterChecks,
	PairCheckShown,
} from '../../../electron/contract/meterchecks.ts';

/** First window of the made-up checks, Unix s (2031-03-03 06:00 UTC). */
export const FIRST_S = 1_930_284_000;
const EVERY_S = 3 * 3600;
const LENGTH_S = 240;
/** The made densitometer jumps here, and one flow window stands apart. */
export const STEP_AT = 22;
export const ODD_AT = 9;
export const SHORT_AT = 4;

export interface MadeChecksAsk {
	readonly count: number;
	readonly correction: MeterChecks['correction'];
	readonly accepted: 'none' | 'flow' | 'density' | 'both';
	readonly level: 'meters' | 'mud_balance';
	/** Decisions by the beginning of their window. */
	readonly decisions: readonly {
		readonly row: number;
		readonly from_s: number;
		readonly quantity: 'flow' | 'density' | null;
		readonly decision: 'accept' | 'reject';
		readonly why: string;
	}[];
	readonly byHand: boolean;
}

/** Scatter that looks like one and is the same every time. */
const scatter = (k: number): number => Math.sin(12.9898 * k) + 0.6 * Math.sin(78.233 * k + 1);

/** Bypass windows every three hours: 0.8 % between the flows, 9 kg/m³ and then a step between the densities. */
export function madeChecks(ask: MadeChecksAsk): MeterChecks {
	const times = Array.from({ length: ask.count }, (_, k) => FIRST_S + k * EVERY_S);
	const u = ask.byHand ? { flow: null, density: null } : { flow: 0.03, density: 0.35 };
	const value = {
		flow: (k: number) => 0.8 + 0.004 * k + 0.02 * scatter(k) + (k === ODD_AT ? 1.4 : 0),
		density: (k: number) => 9 + 0.25 * scatter(k + 7) + (k >= STEP_AT ? 10 : 0),
	};
	const spoken = (k: number, quantity: 'flow' | 'density') =>
		ask.decisions.find(
			(one) => one.from_s === times[k] && (one.quantity === null || one.quantity === quantity),
		) ?? null;
	const check = (quantity: 'flow' | 'density') => {
		const inFit = times.flatMap((_, k) =>
			(quantity === 'density' && k === SHORT_AT) || spoken(k, quantity)?.decision === 'reject'
				? []
				: k,
		);
		const per = quantity === 'flow' ? 100 : 1;
		const points = inFit.map((k): DriftPoint => {
			const own = u[quantity];
			return {
				time_s: (times[k] as number) + LENGTH_S / 2,
				value: value[quantity](k) / per,
				u: own === null ? null : own / per,
				count: ask.byHand ? 1 : LENGTH_S,
				accepted: spoken(k, quantity)?.decision === 'accept',
			};
		});
		const rules = quantity === 'flow' ? FLOW_DRIFT_RULES : DENSITY_DRIFT_RULES;
		return { inFit, per, fit: fitDrift(points, [], rules) };
	};
	const made = { flow: check('flow'), density: check('density') };

	const compared = (k: number, quantity: 'flow' | 'density'): Compared => {
		const decision = spoken(k, quantity);
		const said = decision && { row: decision.row, decision: decision.decision, why: decision.why };
		if (quantity === 'density' && k === SHORT_AT) {
			return {
				feed: null,
				return: null,
				difference: null,
				u: null,
				count: 0,
				residual: null,
				standardised: null,
				verdict: 'unusable',
				reason: 'The bypass ended before its suspension had reached the return meters.',
				decision: said,
			};
		}
		const { inFit, per, fit } = made[quantity];
		const point = fit?.points[inFit.indexOf(k)];
		const difference = value[quantity](k);
		const feed = quantity === 'flow' ? 1020 : 1.08;
		return {
			feed,
			return: quantity === 'flow' ? feed * (1 + difference / 100) : feed + difference / 1000,
			difference,
			u: u[quantity],
			count: ask.byHand ? 1 : LENGTH_S,
			residual: point ? point.residual * per : null,
			standardised: point ? point.standardised : null,
			verdict: point ? point.verdict : 'rejected',
			reason:
				said?.why ??
				(point && point.verdict !== 'used'
					? `Stands apart, ${Math.abs(point.standardised).toFixed(1)} standard deviations from its neighbours, and the next window does not confirm it.`
					: null),
			decision: said,
		};
	};
	const windows = times.map(
		(from_s, k): BypassWindowShown => ({
			from_s,
			to_s: from_s + LENGTH_S,
			ring: 41 + Math.floor(k / 2),
			source: ask.byHand ? 'readings' : 'logger',
			flow: compared(k, 'flow'),
			density: compared(k, 'density'),
		}),
	);
	const shown = (quantity: 'flow' | 'density', limit: number): PairCheckShown | null => {
		const { fit, per } = made[quantity];
		if (fit === null) return null;
		const accepted = ask.accepted === 'both' || ask.accepted === quantity;
		const line = lineOf(fit, per);
		const largest = Math.max(...line.map((node) => Math.abs(node.value)));
		const heldBack = largest > limit && !accepted;
		return {
			line,
			steps: fit.steps.map((step) => ({
				...step,
				ring: 41 + Math.floor((step.called_s - FIRST_S) / EVERY_S / 2),
				size: step.size * per,
				u: step.u * per,
			})),
			reference: quantity === 'flow' ? 1020 : 1.08,
			secondTerm: null,
			limit,
			largest,
			heldBack,
			accepted,
			inForce: ask.correction !== 'none' && !heldBack,
		};
	};
	const flow = shown('flow', 1.2);
	const density = shown('density', 12);
	return {
		correction: ask.correction,
		windows,
		flow,
		density,
		anchor: {
			value: 3.1,
			u: 1.2,
			applied: ask.level === 'mud_balance',
			samples: [1, 4, 8, 13, 17, 25].map((k) => ({
				time_s: FIRST_S + k * EVERY_S + 1800,
				ring: 41 + Math.floor(k / 2),
				balance: 1.08 + (k % 2) * 0.01,
				meter: 1.078 + (k % 3) * 0.002,
				difference: 2 + (k % 2) * 10 - (k % 3) * 2,
			})),
		},
		notes: (density?.steps ?? []).map((step) => ({
			code: 'meter_step',
			message: `The difference of the two densitometers changed at once by ${step.size.toFixed(1)} kg/m³ between two bypass windows: one of them was knocked, coated, cleaned or set anew.`,
		})),
		reminders: [
			{
				meter: 'feed_density',
				instrument: 'Gauge 0417',
				standardised_s: FIRST_S - 400 * 86_400,
				due_s: FIRST_S - 35 * 86_400,
				overdue: true,
				activityLeft: 0.9751,
				halfLife_years: 30.05,
			},
			{
				meter: 'return_density',
				instrument: 'Gauge 0418',
				standardised_s: FIRST_S - 100 * 86_400,
				due_s: FIRST_S + 265 * 86_400,
				overdue: false,
				activityLeft: 0.9937,
				halfLife_years: 30.05,
			},
		],
	};
}

function lineOf(fit: DriftFit, per: number): PairCheckShown['line'] {
	return fit.stretches.flatMap((nodes, stretch) =>
		nodes.flatMap((node, i) => {
			const next = nodes[i + 1];
			const times = next ? [node.time_s, (node.time_s + next.time_s) / 2] : [node.time_s];
			return times.map((time_s) => {
				const { value, u } = driftAt(fit, time_s);
				return { time_s, value: value * per, u: u * per, stretch };
			});
		}),
	);
}
