import type { BypassWindow, PairComparison } from '../../calc/circuit/bypass.ts';
import { METERS } from '../../calc/circuit/settings.ts';
import type { Fault } from '../../calc/fault/fault.ts';
import { meterPapers } from '../../calc/sheet/checkinputs.ts';
import { type DriftFit, driftAt } from '../../calc/trust/drift.ts';
import type { CheckedWindow, PairCheck, Quantity } from '../../calc/trust/metercheck.ts';
import type { Compared, MeterChecks, PairCheckShown } from '../contract/meterchecks.ts';
import type { DriveModel } from './drivemodel.ts';
import type { MadeCheck } from './meterchecking.ts';

const PER_HOUR = 3600;
const HALF_LIFE_YEAR_S = 365.25 * 86_400;

/** Factor from the check's unit of a difference (relative, kg/m³) to the one shown (%, kg/m³). */
const SHOWN: Readonly<Record<Quantity, number>> = { flow: 100, density: 1 };
/** Factor from SI to the unit a value is shown in: m³/h, t/m³. */
const VALUE: Readonly<Record<Quantity, number>> = { flow: PER_HOUR, density: 1e-3 };

/** What a check found, as the page is shown it. `ringAt`: the ring whose advance had begun last at a time. */
export function meterChecksView(
	model: DriveModel,
	made: MadeCheck,
	ringAt: (time_s: number) => number | null,
	now_s: number,
	damage: string | null,
): MeterChecks {
	const { correction } = made;
	const notes = correction.faults.map(({ code, message }) => ({ code, message }));
	if (damage !== null)
		notes.push({
			code: 'series_damaged',
			message: `The logger's series beside the project cannot be read whole (${damage}); the windows found earlier are used.`,
		});
	return {
		correction: made.side ?? 'none',
		windows: made.windows.map(({ window, source }, at) => ({
			from_s: window.from_s,
			to_s: window.to_s,
			ring: ringAt(window.from_s),
			source,
			flow: compared(made, window, 'flow', correction.flowWindows[at]!),
			density: compared(made, window, 'density', correction.densityWindows[at]!),
		})),
		flow: pairShown(model, made, 'flow', correction.flow, ringAt),
		density: pairShown(model, made, 'density', correction.density, ringAt),
		anchor: anchorShown(made, ringAt),
		notes,
		reminders: reminders(model, now_s),
	};
}

function compared(
	made: MadeCheck,
	window: BypassWindow,
	quantity: Quantity,
	checked: CheckedWindow,
): Compared {
	const pair: PairComparison | Fault = window[quantity];
	const held = made.decisions.find(
		(one) => one.quantity === quantity && one.from_s === window.from_s,
	);
	const shown = (value: number | null): number | null =>
		value === null ? null : value * SHOWN[quantity];
	return {
		...('code' in pair
			? { feed: null, return: null, count: 0 }
			: {
					feed: pair.feed * VALUE[quantity],
					return: pair.return * VALUE[quantity],
					count: pair.count,
				}),
		difference: shown(checked.difference),
		u: shown(checked.u),
		residual: shown(checked.residual),
		standardised: checked.standardised,
		verdict: checked.verdict,
		reason: checked.reason,
		decision:
			held === undefined ? null : { row: held.row, decision: held.verdict, why: held.reason },
	};
}

function pairShown(
	model: DriveModel,
	made: MadeCheck,
	quantity: Quantity,
	check: PairCheck | null,
	ringAt: (time_s: number) => number | null,
): PairCheckShown | null {
	if (check === null) return null;
	const by = SHOWN[quantity];
	const { limits, beyondLimitAccepted } = made.ask;
	const limit = quantity === 'flow' ? limits.flowScale_rel : limits.densityOffset_kg_m3;
	return {
		line: lineOf(check.drift, model).map(({ time_s, value, u, stretch }) => ({
			time_s,
			value: value * by,
			u: u * by,
			stretch,
		})),
		steps: check.drift.steps.map((step) => ({
			after_s: step.after_s,
			before_s: step.before_s,
			at_s: step.at_s,
			called_s: step.called_s,
			ring: ringAt(step.called_s),
			size: step.size * by,
			u: step.u * by,
		})),
		reference: check.reference * VALUE[quantity],
		secondTerm:
			check.line.u === null
				? null
				: {
						value: check.line.value * (quantity === 'flow' ? PER_HOUR : 1),
						u: check.line.u * (quantity === 'flow' ? PER_HOUR : 1),
					},
		limit: limit === null ? null : limit * by,
		largest: check.largest * by,
		heldBack: check.heldBack,
		accepted: beyondLimitAccepted[quantity],
		inForce: made.side !== null && !check.heldBack,
	};
}

/** Points of the smoothed line: every window used and the middle between two, from the first ring to the last. */
function lineOf(
	drift: DriftFit,
	model: DriveModel,
): { time_s: number; value: number; u: number; stretch: number }[] {
	const first_s = model.rings[0]?.input.advanceStart_s;
	const last_s = model.rings.at(-1)?.input.advanceEnd_s;
	return drift.stretches.flatMap((nodes, stretch) => {
		const times: number[] = [];
		nodes.forEach(({ time_s }, k) => {
			const before = nodes[k - 1];
			if (before !== undefined) times.push((before.time_s + time_s) / 2);
			times.push(time_s);
		});
		if (stretch === 0 && first_s !== undefined && first_s < times[0]!) times.unshift(first_s);
		const isLast = stretch === drift.stretches.length - 1;
		if (isLast && last_s !== undefined && last_s > times.at(-1)!) times.push(last_s);
		return times.map((time_s) => {
			const { value, u } = driftAt(drift, time_s);
			return { time_s, value, u, stretch };
		});
	});
}

function anchorShown(
	made: MadeCheck,
	ringAt: (time_s: number) => number | null,
): MeterChecks['anchor'] {
	const { mudBalance, anchored } = made.ask;
	if (mudBalance.length === 0) return null;
	const { anchor } = made.correction;
	return {
		value: anchor?.value ?? null,
		u: anchor?.u ?? null,
		applied: anchored,
		samples: mudBalance.map(({ time_s, balance_kg_m3, meter_kg_m3 }) => ({
			time_s,
			ring: ringAt(time_s),
			balance: balance_kg_m3 / 1000,
			meter: meter_kg_m3 / 1000,
			difference: balance_kg_m3 - meter_kg_m3,
		})),
	};
}

/**
 * When each meter in use was standardised and is due again, and how much of its source is left:
 * A/A₀ = 2^(−t/T½). The papers in force now count, those of before where they say nothing newer.
 */
function reminders(model: DriveModel, now_s: number): MeterChecks['reminders'] {
	const papers = meterPapers(model.meterRows);
	return METERS.flatMap((meter) => {
		const own = papers.filter((paper) => paper.meter === meter && paper.validFrom_s <= now_s);
		const inForce = own.at(-1);
		if (inForce === undefined) return [];
		// A row that names another instrument begins its papers anew.
		const sameInstrument = own.filter(
			(paper) => paper.instrument === null || paper.instrument === inForce.instrument,
		);
		const latest = <K extends 'standardised_s' | 'standardiseEvery_s' | 'halfLife_years'>(key: K) =>
			sameInstrument.findLast((paper) => paper[key] !== null)?.[key] ?? null;
		const standardised_s = latest('standardised_s');
		const every_s = latest('standardiseEvery_s');
		const halfLife_years = latest('halfLife_years');
		if (standardised_s === null && every_s === null && halfLife_years === null) return [];
		const due_s =
			every_s === null ? null : standardised_s === null ? null : standardised_s + every_s;
		return {
			meter,
			instrument: inForce.instrument,
			standardised_s,
			due_s,
			overdue: every_s !== null && (due_s === null || due_s < now_s),
			activityLeft:
				halfLife_years === null || standardised_s === null
					? null
					: 2 ** (-Math.max(0, now_s - standardised_s) / (halfLife_years * HALF_LIFE_YEAR_S)),
			halfLife_years,
		};
	});
}
