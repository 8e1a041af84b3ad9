import type { BypassWindow } from '../circuit/bypass.ts';
import type { ModeOverride } from '../circuit/modeoverrides.ts';
import { MODES, type Mode } from '../circuit/samples.ts';
import type { MeterId } from '../circuit/settings.ts';
import type {
	CorrectedSide,
	CorrectionLimits,
	Quantity,
	StepDecision,
	WindowDecision,
} from '../trust/metercheck.ts';
import type { CellValue } from './column.ts';

/** What the sheets say of the meter checks, as the check takes it (SI). Cells are already validated against the catalogue. */

type Cells = Readonly<Record<string, CellValue>>;

const number = (cells: Cells, id: string): number | null => {
	const value = cells[id];
	return typeof value === 'number' ? value : null;
};
const text = (cells: Cells, id: string): string | null => {
	const value = cells[id];
	return typeof value === 'string' ? value : null;
};

/** What a person has chosen for the drive. */
export interface CheckChoices {
	/** Meters that are corrected; null: none. */
	readonly side: CorrectedSide | null;
	readonly beyondLimitAccepted: { readonly flow: boolean; readonly density: boolean };
	/** The mud balance sets the common level of the densities. */
	readonly anchored: boolean;
}

/**
 * The choices of the drive sheet.
 *
 * @example
 * checkChoices({ meter_correction: 'return', correction_accepted: 'flow' }) // => { side: 'return', beyondLimitAccepted: { flow: true, density: false }, anchored: false }
 * checkChoices({ meter_correction: 'none', density_level: 'mud_balance' }).side // => null
 */
export function checkChoices(drive: Cells): CheckChoices {
	const side = text(drive, 'meter_correction');
	const accepted = text(drive, 'correction_accepted');
	return {
		side: side === 'return' || side === 'feed' || side === 'both' ? side : null,
		beyondLimitAccepted: {
			flow: accepted === 'flow' || accepted === 'both',
			density: accepted === 'density' || accepted === 'both',
		},
		anchored: text(drive, 'density_level') === 'mud_balance',
	};
}

/** A row of a sheet with the number it goes by. */
export interface NumberedRow {
	readonly row: number;
	readonly cells: Cells;
}

/** A mode a person has set, with the row it stands in. */
export interface SetMode extends ModeOverride {
	readonly row: number;
}

/**
 * Modes that were set, in the order in which the later one holds: by their beginning, then as entered.
 * A stretch that does not end after it begins is left out.
 *
 * @example
 * const set = (row, from_time, mode) => ({ row, cells: { from_time, to_time: 90, mode, why: 'seen' } });
 * modeOverrides([set(1, 60, 'stop'), set(2, 0, 'bypass')]).map((one) => [one.row, one.mode]) // => [[2, "bypass"], [1, "stop"]]
 */
export function modeOverrides(rows: readonly NumberedRow[]): SetMode[] {
	return rows
		.flatMap(({ row, cells }) => {
			const from_s = number(cells, 'from_time');
			const to_s = number(cells, 'to_time');
			const mode = MODES.find((one) => one === cells.mode) as Mode | undefined;
			const why = text(cells, 'why')?.trim() ?? '';
			if (from_s === null || to_s === null || to_s <= from_s) return [];
			return mode === undefined || why === '' ? [] : [{ row, from_s, to_s, mode, why }];
		})
		.sort((a, b) => a.from_s - b.from_s || a.row - b.row);
}

/** Decision in force for one pair of meters in one window. */
export interface DecisionInForce extends WindowDecision {
	readonly row: number;
}

/**
 * For every window the decisions that hold: a row speaks of each window whose middle lies within its
 * times, and of two for the same pair of meters the one that begins later holds, of equals the later
 * entered.
 *
 * @example
 * const windows = [{ from_s: 0, to_s: 60 }, { from_s: 100, to_s: 160 }];
 * const rows = [{ row: 4, cells: { from_time: 0, to_time: 200, decision: 'reject', why: 'valve leaking' } }, { row: 5, cells: { from_time: 100, to_time: 160, decision: 'accept', quantity: 'flow', why: 'seen' } }];
 * decisionsOn(windows, rows).map((one) => [one.from_s, one.quantity, one.verdict, one.row]) // => [[0, "flow", "reject", 4], [0, "density", "reject", 4], [100, "flow", "accept", 5], [100, "density", "reject", 4]]
 */
export function decisionsOn(
	windows: readonly Pick<BypassWindow, 'from_s' | 'to_s'>[],
	rows: readonly NumberedRow[],
): DecisionInForce[] {
	const said = rows
		.flatMap(({ row, cells }) => {
			const from_s = number(cells, 'from_time');
			const to_s = number(cells, 'to_time');
			const verdict = text(cells, 'decision');
			if (from_s === null || to_s === null) return [];
			if (verdict !== 'accept' && verdict !== 'reject') return [];
			return {
				row,
				from_s,
				to_s,
				verdict: verdict as WindowDecision['verdict'],
				of: text(cells, 'quantity'),
				reason: text(cells, 'why') ?? '',
			};
		})
		.sort((a, b) => a.from_s - b.from_s || a.row - b.row);
	if (said.length === 0) return [];
	return windows.flatMap((window) => {
		const middle = (window.from_s + window.to_s) / 2;
		return (['flow', 'density'] as const).flatMap((quantity) => {
			const held = said.findLast(
				(one) =>
					one.from_s <= middle && middle <= one.to_s && (one.of === null || one.of === quantity),
			);
			if (held === undefined) return [];
			const { row, verdict, reason } = held;
			return { quantity, from_s: window.from_s, verdict, reason, row };
		});
	});
}

/** What the papers of a meter say from a time on, SI. */
export interface MeterPaper {
	readonly meter: MeterId;
	readonly validFrom_s: number;
	readonly slope: number;
	readonly offset: number;
	readonly instrument: string | null;
	/** Largest correction without acceptance: relative for flow meters, kg/m³ for densitometers. */
	readonly limit: number | null;
	readonly standardised_s: number | null;
	readonly standardiseEvery_s: number | null;
	readonly halfLife_years: number | null;
}

const isFlow = (meter: MeterId): boolean => meter === 'feed_flow' || meter === 'return_flow';

/**
 * Papers of the meters in order of their validity.
 *
 * @example
 * meterPapers([{ meter: 'return_flow', valid_from: 0, slope: 1, offset: 0, correction_limit: 0.5, standardise_every_days: 90 }]).map((one) => [one.limit, one.standardiseEvery_s]) // => [[0.005, 7776000]]
 */
export function meterPapers(rows: readonly Cells[]): MeterPaper[] {
	return rows
		.map((cells) => {
			const meter = text(cells, 'meter') as MeterId;
			const limit = number(cells, 'correction_limit');
			const days = number(cells, 'standardise_every_days');
			return {
				meter,
				validFrom_s: number(cells, 'valid_from') ?? 0,
				slope: number(cells, 'slope') ?? 1,
				offset: number(cells, 'offset') ?? 0,
				instrument: text(cells, 'instrument'),
				limit: limit === null ? null : isFlow(meter) ? limit / 100 : limit * 1000,
				standardised_s: number(cells, 'standardised_on'),
				standardiseEvery_s: days === null ? null : days * 86_400,
				halfLife_years: number(cells, 'half_life_years'),
			};
		})
		.sort((a, b) => a.validFrom_s - b.validFrom_s);
}

/**
 * Moments at which a meter's reading changed at once by what its papers say: it was replaced, or its
 * certificate gives another line than before.
 *
 * @example
 * const row = (valid_from, offset, instrument) => ({ meter: 'return_density', valid_from, slope: 1, offset, instrument });
 * meterSteps(meterPapers([row(0, 0, 'A'), row(50, 0, 'A'), row(90, 0, 'B'), row(120, -0.01, 'B')])).map((step) => [step.quantity, step.at_s]) // => [["density", 90], ["density", 120]]
 */
export function meterSteps(papers: readonly MeterPaper[]): StepDecision[] {
	const before = new Map<MeterId, MeterPaper>();
	return papers.flatMap((paper): StepDecision[] => {
		const last = before.get(paper.meter);
		before.set(paper.meter, paper);
		const sameLine = paper.slope === (last?.slope ?? 1) && paper.offset === (last?.offset ?? 0);
		const replaced =
			last !== undefined &&
			last.instrument !== null &&
			paper.instrument !== null &&
			last.instrument !== paper.instrument;
		if (sameLine && !replaced) return [];
		return [
			{
				quantity: isFlow(paper.meter) ? 'flow' : 'density',
				at_s: paper.validFrom_s,
				reason: replaced ? 'the meter was replaced' : 'another certificate',
			},
		];
	});
}

/**
 * Largest differences the papers allow to be corrected on the side chosen: the strictest that any row
 * of its meter states. Where each side takes half, the difference may be twice what the stricter takes.
 *
 * @example
 * const papers = meterPapers([{ meter: 'return_flow', valid_from: 0, correction_limit: 0.5 }, { meter: 'feed_flow', valid_from: 0, correction_limit: 0.4 }]);
 * correctionLimits(papers, 'return') // => { flowScale_rel: 0.005, densityOffset_kg_m3: null }
 * correctionLimits(papers, 'both') // => { flowScale_rel: 0.008, densityOffset_kg_m3: null }
 */
export function correctionLimits(
	papers: readonly MeterPaper[],
	side: CorrectedSide,
): CorrectionLimits {
	const strictest = (meters: readonly MeterId[]): number | null => {
		const stated = papers.flatMap(({ meter, limit }) =>
			limit === null || !meters.includes(meter) ? [] : [limit],
		);
		return stated.length === 0 ? null : Math.min(...stated);
	};
	const of = (quantity: Quantity): number | null => {
		const feed = `feed_${quantity}` as const;
		const back = `return_${quantity}` as const;
		if (side !== 'both') return strictest([side === 'return' ? back : feed]);
		const each = strictest([feed, back]);
		return each === null ? null : 2 * each;
	};
	return { flowScale_rel: of('flow'), densityOffset_kg_m3: of('density') };
}
