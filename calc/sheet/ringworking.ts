import type { Figure } from '../circuit/figure.ts';
import type { BudgetLine, RingBalance } from '../circuit/ringbalance.ts';
import type { DriveSettings, GroundShare, RingInput } from '../circuit/settings.ts';
import { formatQuantity, type NumberMarks } from '../quantity/format.ts';
import { clockTime, dateTime } from '../quantity/time.ts';
import type { UnitId } from '../quantity/unit.ts';
import { findColumn } from './catalogue.ts';
import { LEDGER_FIGURES, lagReason, ledgerFigure, ledgerRow } from './ledger.ts';
import { FIGURE_CAUTIONS, type Working, type WorkingLine } from './working.ts';

/** What the workings of a ring show besides the balance itself. */
export interface RingContext {
	readonly ring: RingInput;
	readonly settings: DriveSettings;
	readonly ground: readonly GroundShare[];
	readonly utcOffset_min: number;
	readonly marks: NumberMarks;
}

/** A listed fact of a ring. */
export interface RingFact {
	readonly group: string;
	readonly heading: string;
	readonly value: string;
	/** Ledger column whose working can be asked for, or null. */
	readonly column: string | null;
	readonly reasons: readonly string[];
}

const BLANK = 'blank';

/** How a computed cell of the ledger came about. */
export function ledgerWorking(
	columnId: string,
	balance: RingBalance,
	context: RingContext,
): Working {
	const column = findColumn('ledger', columnId);
	if (column === undefined) throw new RangeError(`the ledger has no column ${columnId}`);
	const show = shower(context);
	const recipe = RECIPES[columnId]?.(balance, context, show) ?? { lines: [], withNumbers: '' };
	const figure = LEDGER_FIGURES[columnId] === undefined ? null : ledgerFigure(columnId, balance);
	const value =
		figure === null
			? (ledgerRow(0, balance, context.ground).cells[columnId] ?? null)
			: figure.value;
	const cellReasons =
		figure?.reasons ?? ledgerRow(0, balance, context.ground).flags?.[columnId] ?? [];
	const shown =
		value === null
			? BLANK
			: column.type === 'time'
				? dateTime(Number(value), context.utcOffset_min)
				: typeof value === 'string' || column.unit === null
					? String(value)
					: formatQuantity(value, column.unit as UnitId, column.decimals + 1, context.marks);
	const u =
		LEDGER_FIGURES[columnId]?.part === 'value' ? uncertaintyText(columnId, balance, context) : '';
	return {
		heading: column.heading,
		result: `${shown}${value === null ? '' : u}`,
		reasons: cellReasons,
		formula: column.formula ?? '',
		withNumbers: value === null ? '' : recipe.withNumbers,
		lines: recipe.lines,
		source: column.source ?? '',
		budget: budgetOf(columnId, balance, context),
		cautions: [...FIGURE_CAUTIONS],
	};
}

/** Everything to be known of a ring, grouped, in the order it is read. */
export function ringFacts(balance: RingBalance, context: RingContext): RingFact[] {
	const show = shower(context);
	const row = ledgerRow(0, balance, context.ground);
	const fact = (
		group: string,
		heading: string,
		value: string,
		column: string | null = null,
		reasons: readonly string[] = [],
	): RingFact => ({ group, heading, value, column, reasons });
	const ledger = (group: string, columnId: string): RingFact => {
		const column = findColumn('ledger', columnId)!;
		const value = row.cells[columnId] ?? null;
		const text =
			value === null
				? BLANK
				: typeof value === 'string' || column.unit === null
					? String(value)
					: formatQuantity(value, column.unit as UnitId, column.decimals, context.marks);
		const u =
			LEDGER_FIGURES[columnId]?.part === 'value' ? uncertaintyText(columnId, balance, context) : '';
		return fact(
			group,
			column.heading,
			value === null ? text : `${text}${u}`,
			columnId,
			row.flags?.[columnId] ?? [],
		);
	};
	const figure = (group: string, heading: string, of: Figure, unit: UnitId, perSi = 1): RingFact =>
		fact(group, heading, show(of.value, unit, 2, perSi), null, of.value === null ? texts(of) : []);
	const { lag } = balance;
	const clock = (t: number | null): string =>
		t === null ? BLANK : clockTime(Math.round(t), context.utcOffset_min);
	const geometry = 'Geometry and ground';
	const volume = 'Volume method';
	const solids = 'Dry-solids method';
	const meters = 'Bypass correction in force';
	const lines = 'Lag and lines';
	const time = 'Time';
	return [
		ledger(geometry, 'advance_m'),
		ledger(geometry, 'volume_expected_m3'),
		ledger(geometry, 'stratum'),
		ledger(geometry, 'dry_solids_expected_t'),
		fact(geometry, 'Grain density', show(balance.grainDensity_kg_m3, 't/m3', 3, 1e-3)),
		fact(geometry, 'In-situ dry density', show(balance.dryDensity_kg_m3, 't/m3', 3, 1e-3)),
		figure(volume, 'Return through the chamber', balance.returnVolume_m3, 'm3'),
		figure(volume, 'Feed through the chamber', balance.feedVolume_m3, 'm3'),
		figure(volume, 'Side streams', balance.sideVolume_m3, 'm3'),
		figure(volume, 'Stored by the chamber level', balance.chamberVolumeChange_m3, 'm3'),
		figure(volume, 'Stored by line growth', balance.lineVolumeChange_m3, 'm3'),
		ledger(volume, 'volume_apparent_m3'),
		ledger(volume, 'ratio_volume'),
		figure(solids, 'Excess mass at the return meters', balance.returnExcess_kg, 't', 1e-3),
		figure(solids, 'Excess mass at the feed meters', balance.feedExcess_kg, 't', 1e-3),
		figure(solids, 'Excess mass stored in the chamber', balance.chamberExcessChange_kg, 't', 1e-3),
		ledger(solids, 'dry_solids_t'),
		ledger(solids, 'volume_from_solids_m3'),
		ledger(solids, 'ratio_solids'),
		...correctionLines(balance, context).map(({ heading, value }) => fact(meters, heading, value)),
		...(balance.uncorrected
			? [ledger(meters, 'volume_uncorrected_m3'), ledger(meters, 'dry_solids_uncorrected_t')]
			: []),
		fact(lines, 'Feed line volume', show(lag.feedLineVolume_m3, 'm3', 1)),
		fact(lines, 'Return line volume', show(lag.returnLineVolumeEnd_m3, 'm3', 1)),
		fact(lines, 'Ring at the feed meters', `${clock(lag.feedFrom_s)} – ${clock(lag.feedTo_s)}`),
		fact(
			lines,
			'Ring at the return meters',
			`${clock(lag.returnFrom_s)} – ${clock(lag.returnTo_s)}`,
		),
		ledger(lines, 'lag_min'),
		fact(
			time,
			'Advance window',
			`${dateTime(balance.advanceStart_s, context.utcOffset_min)} – ${clock(balance.advanceEnd_s)}`,
		),
		ledger(time, 'advance_speed_mm_min'),
		ledger(time, 'mode_seconds_advance'),
		fact(time, 'Bypass time', show(balance.modeSeconds.bypass, 'min', 1, 1 / 60)),
		fact(time, 'Back-flush time', show(balance.modeSeconds.back_flush, 'min', 1, 1 / 60)),
		fact(time, 'Stop time', show(balance.modeSeconds.stop, 'min', 1, 1 / 60)),
		ledger(time, 'missing_seconds'),
		fact(
			time,
			'Missing time could hide',
			balance.hiddenVolume_m3 === null ? 'nothing missing' : show(balance.hiddenVolume_m3, 'm3', 1),
		),
		fact(time, 'Samples', `${balance.sampleCount} from ${SOURCES[balance.source]}`),
		figure(time, 'Feed totaliser', balance.feedTotaliser_m3, 'm3'),
		figure(time, 'Return totaliser', balance.returnTotaliser_m3, 'm3'),
	];
}

const SOURCES = { logger: 'the logger', readings: 'shift readings', none: 'nothing' } as const;

type Show = (value: number | null, unit: UnitId, decimals: number, perSi?: number) => string;

function shower(context: RingContext): Show {
	return (value, unit, decimals, perSi = 1) =>
		value === null ? BLANK : formatQuantity(value * perSi, unit, decimals, context.marks);
}

function texts(figure: Figure): string[] {
	return figure.notes.map((fault) => fault.message);
}

interface Recipe {
	readonly lines: readonly WorkingLine[];
	readonly withNumbers: string;
}

type RecipeOf = (balance: RingBalance, context: RingContext, show: Show) => Recipe;

const line = (symbol: string, name: string, value: string, from: string): WorkingLine => ({
	symbol,
	name,
	value,
	from,
});

const RECIPES: Readonly<Record<string, RecipeOf>> = {
	advance_m: (_balance, { ring }, show) => {
		const start = show(ring.strokeStart_m, 'mm', 0, 1000);
		const end = show(ring.strokeEnd_m, 'mm', 0, 1000);
		return {
			lines: [
				line('s₀', 'stroke at advance start', start, 'rings sheet'),
				line('s₁', 'stroke at advance end', end, 'rings sheet'),
			],
			withNumbers: `${end} − ${start}`,
		};
	},
	advance_speed_mm_min: (balance, context, show) => {
		const length = show(balance.advance_m.value, 'mm', 0, 1000);
		const time = show(balance.advanceEnd_s - balance.advanceStart_s, 'min', 1, 1 / 60);
		return {
			lines: [
				line('L', 'advance', length, 'computed from the strokes'),
				line(
					'T',
					'advance window',
					time,
					`rings sheet, ${dateTime(balance.advanceStart_s, context.utcOffset_min)}`,
				),
			],
			withNumbers: `${length} / ${time}`,
		};
	},
	volume_expected_m3: (balance, { settings }, show) => {
		const diameter = show(settings.excavatedDiameter_m, 'm', 3);
		const length = show(balance.advance_m.value, 'm', 3);
		const lines = [
			line('De', 'excavated diameter', diameter, 'drive settings'),
			line('L', 'advance', length, 'computed from the strokes'),
		];
		if (settings.overcut_m === null || settings.overcut_m === 0) {
			return { lines, withNumbers: `π/4 · (${diameter})² · ${length}` };
		}
		const reach = show(settings.overcut_m, 'mm', 0, 1000);
		const angle = show(settings.overcutAngle_rad ?? 2 * Math.PI, 'deg', 0, 180 / Math.PI);
		return {
			lines: [
				...lines,
				line('o', 'overcut', reach, 'drive settings'),
				line(
					'θ',
					'overcut angle',
					angle,
					settings.overcutAngle_rad === null ? 'not given: full circle' : 'drive settings',
				),
			],
			withNumbers: `π/4 · (${diameter})² · ${length} + ½ · ${angle} · ((R + ${reach})² − R²) · ${length}`,
		};
	},
	volume_apparent_m3: (balance, _context, show) => {
		const back = show(balance.returnVolume_m3.value, 'm3', 2);
		const feed = show(balance.feedVolume_m3.value, 'm3', 2);
		const side = show(balance.sideVolume_m3.value, 'm3', 2);
		const chamber = show(balance.chamberVolumeChange_m3.value, 'm3', 2);
		const grown = show(balance.lineVolumeChange_m3.value, 'm3', 2);
		const from = `integrated from ${SOURCES[balance.source]}, meter certificates applied`;
		return {
			lines: [
				line('∫Qr dt', 'return through the chamber', back, from),
				line('∫Qf dt', 'feed through the chamber', feed, from),
				line('∫Qj dt', 'side streams', side, from),
				line(
					'ΔV chamber',
					'stored by the chamber level',
					chamber,
					chamber === BLANK
						? texts(balance.chamberVolumeChange_m3).join(' ')
						: 'levels × working chamber area',
				),
				line('ΔV lines', 'stored by line growth', grown, 'rings sheet'),
			],
			withNumbers: `${back} − ${feed} − ${side}${chamber === BLANK ? '' : ` + (${chamber})`} + ${grown}`,
		};
	},
	dry_solids_t: (balance, context, show) => solidsRecipe(balance, context, show),
	dry_solids_expected_t: (balance, _context, show) => {
		const density = show(balance.dryDensity_kg_m3, 't/m3', 3, 1e-3);
		const volume = show(balance.volumeExpected_m3.value, 'm3', 2);
		return {
			lines: [
				line('Σ fᵢ·ρd,ᵢ', 'in-situ dry density of the face', density, 'ground sheet'),
				line('V expected', 'expected volume', volume, 'computed from the geometry'),
			],
			withNumbers: `${density} · ${volume}`,
		};
	},
	volume_from_solids_m3: (balance, _context, show) => {
		const dry = show(balance.drySolids_kg.value, 't', 2, 1e-3);
		const density = show(balance.dryDensity_kg_m3, 't/m3', 3, 1e-3);
		return {
			lines: [
				line('M dry', 'dry solids', dry, 'computed by the dry-solids method'),
				line('ρd', 'in-situ dry density of the face', density, 'ground sheet'),
			],
			withNumbers: `${dry} / ${density}`,
		};
	},
	ratio_volume: (balance, _context, show) => {
		const found = show(balance.volumeApparent_m3.value, 'm3', 2);
		const planned = show(balance.volumeExpected_m3.value, 'm3', 2);
		return {
			lines: [
				line('V apparent', 'apparent volume', found, 'computed by the volume method'),
				line('V expected', 'expected volume', planned, 'computed from the geometry'),
			],
			withNumbers: `${found} / ${planned}`,
		};
	},
	ratio_solids: (balance, _context, show) => {
		const found = show(balance.drySolids_kg.value, 't', 2, 1e-3);
		const planned = show(balance.drySolidsExpected_kg.value, 't', 2, 1e-3);
		return {
			lines: [
				line('M dry', 'dry solids', found, 'computed by the dry-solids method'),
				line('M expected', 'expected dry solids', planned, 'computed from geometry and ground'),
			],
			withNumbers: `${found} / ${planned}`,
		};
	},
	volume_apparent_u_m3: (balance, _context, show) =>
		rootOfSquares(balance.volumeBudget, (v) => show(v, 'm3', 2)),
	dry_solids_u_t: (balance, _context, show) =>
		rootOfSquares(balance.solidsBudget, (v) => show(v, 't', 2, 1e-3)),
	volume_uncorrected_m3: (balance, context, show) =>
		uncorrectedRecipe(balance, context, {
			symbol: 'V apparent',
			name: 'apparent volume, corrected',
			corrected: show(balance.volumeApparent_m3.value, 'm3', 2),
			without: show(balance.uncorrected?.volumeApparent_m3.value ?? null, 'm3', 2),
		}),
	dry_solids_uncorrected_t: (balance, context, show) =>
		uncorrectedRecipe(balance, context, {
			symbol: 'M dry',
			name: 'dry solids, corrected',
			corrected: show(balance.drySolids_kg.value, 't', 2, 1e-3),
			without: show(balance.uncorrected?.drySolids_kg.value ?? null, 't', 2, 1e-3),
		}),
	lag_min: (balance, context, show) => {
		const volume = show(balance.lag.returnLineVolumeEnd_m3, 'm3', 1);
		const { lag } = balance;
		const clock = (t: number | null) =>
			t === null ? BLANK : clockTime(Math.round(t), context.utcOffset_min);
		return {
			lines: [
				line(
					'V line',
					'return line volume at ring end',
					volume,
					'drive settings: diameter, distance, growth',
				),
				line('t₁', 'advance end', clock(balance.advanceEnd_s), 'rings sheet'),
				line(
					"t₁'",
					'end of the ring at the return meters',
					clock(lag.returnTo_s),
					lag.returnTo_s === null ? lagReason(balance) : 'integrated return flow',
				),
			],
			withNumbers: `∫ Qr dt from ${clock(balance.advanceEnd_s)} to ${clock(lag.returnTo_s)} = ${volume}`,
		};
	},
	mode_seconds_advance: (balance, _context, show) => modeRecipe(balance, show),
	missing_seconds: (balance, _context, show) => modeRecipe(balance, show),
};

function uncorrectedRecipe(
	balance: RingBalance,
	context: RingContext,
	of: {
		readonly symbol: string;
		readonly name: string;
		readonly corrected: string;
		readonly without: string;
	},
): Recipe {
	const from = `computed from ${SOURCES[balance.source]}`;
	return {
		lines: [
			line('', 'with the meter certificates alone', of.without, from),
			line(of.symbol, of.name, of.corrected, `${from}, bypass correction applied`),
			...correctionLines(balance, context).map(({ heading, value }) =>
				line('', heading, value, 'bypass checks'),
			),
		],
		withNumbers: of.without,
	};
}

/** The bypass correction in force for a ring, as means over it; empty where none is in use. */
function correctionLines(
	{ correction }: RingBalance,
	{ marks }: RingContext,
): { heading: string; value: string }[] {
	if (!correction) return [];
	const pm = (value: string, u: number | null, unit: UnitId, decimals: number): string =>
		u === null ? value : `${value} ± ${formatQuantity(u, unit, decimals, marks)} (u, k = 1)`;
	const lines: { heading: string; value: string }[] = [
		{ heading: 'Meters corrected', value: CORRECTED[correction.side] },
	];
	const { flowScale_rel: scale, densityOffset_kg_m3: offset } = correction;
	lines.push({
		heading: 'Return over feed flow in bypass',
		value:
			scale === null
				? 'not corrected'
				: pm(
						formatQuantity(100 * scale, '%', 3, marks),
						correction.uFlowScale_rel === null ? null : 100 * correction.uFlowScale_rel,
						'%',
						3,
					),
	});
	if (correction.flowZero_m3_s !== 0)
		lines.push({
			heading: 'Zero between the flow meters',
			value: formatQuantity(correction.flowZero_m3_s * 3600, 'm3/h', 2, marks),
		});
	lines.push({
		heading: 'Return less feed density in bypass',
		value:
			offset === null
				? 'not corrected'
				: pm(
						formatQuantity(offset, 'kg/m3', 2, marks),
						correction.uDensityOffset_kg_m3,
						'kg/m3',
						2,
					),
	});
	if (correction.densitySlope !== 0)
		lines.push({
			heading: 'Slope between the densitometers',
			value: formatQuantity(correction.densitySlope, '1', 4, marks),
		});
	if (correction.densityAnchor_kg_m3 !== 0)
		lines.push({
			heading: 'Both densities to the mud balance',
			value: formatQuantity(correction.densityAnchor_kg_m3, 'kg/m3', 2, marks),
		});
	return lines;
}

const CORRECTED = {
	return: 'the return meters, to agree with the feed',
	feed: 'the feed meters, to agree with the return',
	both: 'both sides, each by half',
} as const;

function modeRecipe(balance: RingBalance, show: Show): Recipe {
	const m = balance.modeSeconds;
	const min = (s: number): string => show(s, 'min', 1, 1 / 60);
	const from = `modes of ${SOURCES[balance.source]}`;
	return {
		lines: [
			line('', 'advance', min(m.advance), from),
			line('', 'bypass', min(m.bypass), from),
			line('', 'back-flush', min(m.back_flush), from),
			line('', 'stop', min(m.stop), from),
			line('', 'missing', min(balance.missingSeconds), 'stretches beyond the gap limit'),
			line('', 'advance window', min(balance.advanceEnd_s - balance.advanceStart_s), 'rings sheet'),
		],
		withNumbers: `${min(m.advance)} + ${min(m.bypass)} + ${min(m.back_flush)} + ${min(m.stop)} + ${min(balance.missingSeconds)} = ${min(balance.advanceEnd_s - balance.advanceStart_s)}`,
	};
}

function solidsRecipe(balance: RingBalance, context: RingContext, show: Show): Recipe {
	const grain = show(balance.grainDensity_kg_m3, 't/m3', 3, 1e-3);
	const water = show(balance.waterDensity_kg_m3, 't/m3', 4, 1e-3);
	const back = show(balance.returnExcess_kg.value, 't', 2, 1e-3);
	const feed = show(balance.feedExcess_kg.value, 't', 2, 1e-3);
	const chamber = show(balance.chamberExcessChange_kg.value, 't', 2, 1e-3);
	const { lag } = balance;
	const clock = (t: number | null): string =>
		t === null ? BLANK : clockTime(Math.round(t), context.utcOffset_min);
	const seen = (from: number | null, to: number | null): string =>
		from === null && to === null ? 'taken without lag' : `${clock(from)} to ${clock(to)}`;
	return {
		lines: [
			line('ρs', 'grain density of the ground', grain, 'ground sheet'),
			line(
				'ρw',
				'water density',
				water,
				context.settings.waterTemperature_c === null
					? 'taken at 15 °C'
					: 'water temperature and salinity of the drive',
			),
			line(
				'∫Qr(ρr − ρw) dt',
				'excess mass at the return meters',
				back,
				seen(lag.returnFrom_s, lag.returnTo_s),
			),
			line(
				'∫Qf(ρf − ρw) dt',
				'excess mass at the feed meters',
				feed,
				seen(lag.feedFrom_s, lag.feedTo_s),
			),
			line(
				'Δ chamber',
				'excess mass stored in the chamber',
				chamber,
				chamber === BLANK
					? texts(balance.chamberExcessChange_kg).join(' ')
					: 'mixed volume × excess density at ring end and start',
			),
		],
		withNumbers: `${grain} / (${grain} − ${water}) · [${back} − ${feed}${chamber === BLANK ? '' : ` + (${chamber})`}]`,
	};
}

function rootOfSquares(budget: readonly BudgetLine[], show: (v: number) => string): Recipe {
	return {
		lines: budget.map((one) => line('', one.input, show(one.contribution), 'contribution |c·u|')),
		withNumbers: `√(${budget.map((one) => `(${show(one.contribution)})²`).join(' + ')})`,
	};
}

const BUDGETS: Readonly<
	Record<string, { of: (b: RingBalance) => readonly BudgetLine[]; unit: UnitId; perSi: number }>
> = {
	volume_apparent_m3: { of: (b) => b.volumeBudget, unit: 'm3', perSi: 1 },
	volume_apparent_u_m3: { of: (b) => b.volumeBudget, unit: 'm3', perSi: 1 },
	dry_solids_t: { of: (b) => b.solidsBudget, unit: 't', perSi: 1e-3 },
	dry_solids_u_t: { of: (b) => b.solidsBudget, unit: 't', perSi: 1e-3 },
};

/** Input units of a budget as shown: the site thinks of flow zeros in m³/h and of scales in percent. */
const SHOWN_INPUT: Readonly<Record<string, { unit: UnitId; perSi: number; decimals: number }>> = {
	'1': { unit: '%', perSi: 100, decimals: 2 },
	'm3/s': { unit: 'm3/h', perSi: 3600, decimals: 2 },
	'kg/m3': { unit: 'kg/m3', perSi: 1, decimals: 2 },
	m: { unit: 'm', perSi: 1, decimals: 3 },
	m3: { unit: 'm3', perSi: 1, decimals: 3 },
	kg: { unit: 't', perSi: 1e-3, decimals: 3 },
};

function budgetOf(columnId: string, balance: RingBalance, context: RingContext): Working['budget'] {
	const known = BUDGETS[columnId];
	if (known === undefined) return [];
	const budget = known.of(balance);
	const variance = budget.reduce((sum, one) => sum + one.contribution * one.contribution, 0);
	return budget.map((one) => {
		const shown = SHOWN_INPUT[one.inputUnit];
		if (shown === undefined) throw new RangeError(`no shown unit for ${one.inputUnit}`);
		return {
			input: one.input,
			inputU: formatQuantity(one.u * shown.perSi, shown.unit, shown.decimals, context.marks),
			contribution: formatQuantity(one.contribution * known.perSi, known.unit, 2, context.marks),
			sharePct: variance > 0 ? (100 * one.contribution * one.contribution) / variance : 0,
		};
	});
}

function uncertaintyText(columnId: string, balance: RingBalance, context: RingContext): string {
	const known = LEDGER_FIGURES[columnId]!;
	const { u } = known.figure(balance);
	const column = findColumn('ledger', columnId)!;
	if (u === null || column.unit === null) return '';
	return ` ± ${formatQuantity(u * known.perSi, column.unit as UnitId, column.decimals, context.marks)} (u, k = 1)`;
}
