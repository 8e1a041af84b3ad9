import { blank, type Figure } from '../circuit/figure.ts';
import type { AppliedCorrection, RingBalance } from '../circuit/ringbalance.ts';
import type { Mode } from '../circuit/samples.ts';
import type { GroundShare } from '../circuit/settings.ts';
import { type Fault, noteFault } from '../fault/fault.ts';
import { faceMix } from '../ground/facemix.ts';
import type { CellValue, SheetRow } from './column.ts';

/** Figure behind each computed ledger column, and the factor from SI to the column's unit. */
interface LedgerFigure {
	readonly figure: (balance: RingBalance) => Figure;
	/** `value` shows the figure, `u` its standard uncertainty. */
	readonly part: 'value' | 'u';
	readonly perSi: number;
}

/** One table for screen, export and `rings --json`: a figure is looked up in one place only. */
export const LEDGER_FIGURES: Readonly<Record<string, LedgerFigure>> = {
	advance_m: { figure: (b) => b.advance_m, part: 'value', perSi: 1 },
	volume_expected_m3: { figure: (b) => b.volumeExpected_m3, part: 'value', perSi: 1 },
	volume_apparent_m3: { figure: (b) => b.volumeApparent_m3, part: 'value', perSi: 1 },
	volume_apparent_u_m3: { figure: (b) => b.volumeApparent_m3, part: 'u', perSi: 1 },
	ratio_volume: { figure: (b) => b.ratioVolume, part: 'value', perSi: 1 },
	dry_solids_t: { figure: (b) => b.drySolids_kg, part: 'value', perSi: 1e-3 },
	dry_solids_u_t: { figure: (b) => b.drySolids_kg, part: 'u', perSi: 1e-3 },
	dry_solids_expected_t: { figure: (b) => b.drySolidsExpected_kg, part: 'value', perSi: 1e-3 },
	ratio_solids: { figure: (b) => b.ratioSolids, part: 'value', perSi: 1 },
	volume_from_solids_m3: { figure: (b) => b.volumeFromSolids_m3, part: 'value', perSi: 1 },
	volume_uncorrected_m3: {
		figure: (b) => b.uncorrected?.volumeApparent_m3 ?? notCorrected(b),
		part: 'value',
		perSi: 1,
	},
	dry_solids_uncorrected_t: {
		figure: (b) => b.uncorrected?.drySolids_kg ?? notCorrected(b),
		part: 'value',
		perSi: 1e-3,
	},
};

const notCorrected = (balance: RingBalance): Figure =>
	blank(
		noteFault(
			'no_correction_in_use',
			'No bypass correction is in use: the figures stand with the meter certificates alone.',
			{ ring: balance.ring },
		),
	);

/**
 * A ledger figure in its column's unit with the reasons of its blank or flags.
 */
export function ledgerFigure(
	columnId: string,
	balance: RingBalance,
): { readonly value: number | null; readonly reasons: readonly string[] } {
	const known = LEDGER_FIGURES[columnId];
	if (known === undefined) throw new RangeError(`${columnId} is not a figure of the ledger`);
	const figure = known.figure(balance);
	const si = known.part === 'value' ? figure.value : figure.u;
	const reasons = figure.notes.map((fault) => fault.message);
	if (si !== null) return { value: si * known.perSi, reasons };
	// A figure that is there without its u lacks only what the site states of its meters.
	if (figure.value === null && reasons.length > 0) return { value: null, reasons };
	return {
		value: null,
		reasons: ['The uncertainty of the meters is not stated in the drive settings.'],
	};
}

/** One row of the ledger as the screen shows it; `id` is the id of the ring's own row. */
export function ledgerRow(
	id: number,
	balance: RingBalance,
	ground: readonly GroundShare[],
): SheetRow {
	const cells: Record<string, CellValue> = {
		ring: balance.ring,
		advance_start: balance.advanceStart_s,
	};
	const flags: Record<string, readonly string[]> = {};
	const mix = faceMix(ground, balance.ring);
	if (mix.kind === 'fault') {
		cells.stratum = null;
		flags.stratum = [mix.fault.message];
	} else cells.stratum = strataText(mix.strata);

	for (const columnId of Object.keys(LEDGER_FIGURES)) {
		const { value, reasons } = ledgerFigure(columnId, balance);
		cells[columnId] = value;
		if (reasons.length > 0 && value === null) flags[columnId] = reasons;
	}
	const window_min = (balance.advanceEnd_s - balance.advanceStart_s) / 60;
	if (balance.advance_m.value === null || !(window_min > 0)) {
		cells.advance_speed_mm_min = null;
		flags.advance_speed_mm_min = balance.advance_m.notes.map((fault) => fault.message);
	} else cells.advance_speed_mm_min = (balance.advance_m.value * 1000) / window_min;
	cells.mode_seconds_advance = balance.modeSeconds.advance / 60;
	cells.missing_seconds = balance.missingSeconds;
	cells.lag_min = balance.lag.lag_s === null ? null : balance.lag.lag_s / 60;
	if (cells.lag_min === null) flags.lag_min = [lagReason(balance)];
	cells.source = balance.source;
	cells.flags = balance.notes.length === 0 ? null : balance.notes.map(noteText).join('; ');
	if (balance.notes.length > 0) flags.flags = balance.notes.map((fault) => fault.message);
	return { id, cells, flags };
}

/**
 * Strata of a face in words.
 *
 * @example
 * strataText([{ stratum: 'Grey sand', faceFraction: 0.7 }, { stratum: 'Silt', faceFraction: 0.3 }]) // => "Grey sand 70 %, Silt 30 %"
 * strataText([{ stratum: 'Silt', faceFraction: 1 }]) // => "Silt"
 */
export function strataText(
	strata: readonly { readonly stratum: string; readonly faceFraction: number }[],
): string {
	const inFace = strata.filter((one) => one.faceFraction > 0);
	if (inFace.length === 1) return inFace[0]!.stratum;
	return inFace.map((one) => `${one.stratum} ${Math.round(one.faceFraction * 100)} %`).join(', ');
}

/** One object of `rings --json`: figures in the units of their keys, null with the reason among the flags. */
export interface RingRecord {
	readonly ring: number;
	readonly mode_seconds: Readonly<Record<Mode, number>>;
	readonly missing_seconds: number;
	readonly advance_m: number | null;
	readonly volume_expected_m3: number | null;
	readonly volume_apparent_m3: number | null;
	readonly volume_apparent_u_m3: number | null;
	readonly dry_solids_t: number | null;
	readonly dry_solids_u_t: number | null;
	readonly dry_solids_expected_t: number | null;
	readonly volume_from_solids_m3: number | null;
	readonly ratio_volume: number | null;
	readonly ratio_solids: number | null;
	readonly lag_seconds: number | null;
	readonly source: string;
	/** The bypass correction the figures carry, as means over the ring; absent where none is in use, as are the two below. */
	readonly correction?: {
		/** Which meters are corrected. */
		readonly side: string;
		/** return = zero + (1 + scale) · feed in bypass; null: the flows are not corrected. */
		readonly flow_scale_pct: number | null;
		readonly flow_scale_u_pct: number | null;
		readonly flow_zero_m3_h: number;
		/** return − feed in bypass; null: the densities are not corrected. */
		readonly density_offset_kg_m3: number | null;
		readonly density_offset_u_kg_m3: number | null;
		readonly density_slope: number;
		/** Added to both densities to meet the mud balance. */
		readonly density_level_kg_m3: number;
	};
	/** The figures without that correction. */
	readonly volume_uncorrected_m3?: number | null;
	readonly dry_solids_uncorrected_t?: number | null;
	/** `code: column: message`, stable in its code; every null figure above has one. */
	readonly flags: readonly string[];
}

/** The ring as scripts read it. */
export function ringRecord(balance: RingBalance): RingRecord {
	const flags = balance.notes.map((fault) => `${fault.code}: ${noteText(fault)}`);
	const figure = (columnId: string): number | null => {
		const { value, reasons } = ledgerFigure(columnId, balance);
		if (value === null) flags.push(`blank: ${columnId}: ${reasons.join(' ')}`);
		return value;
	};
	const record = {
		ring: balance.ring,
		mode_seconds: balance.modeSeconds,
		missing_seconds: balance.missingSeconds,
		advance_m: figure('advance_m'),
		volume_expected_m3: figure('volume_expected_m3'),
		volume_apparent_m3: figure('volume_apparent_m3'),
		volume_apparent_u_m3: figure('volume_apparent_u_m3'),
		dry_solids_t: figure('dry_solids_t'),
		dry_solids_u_t: figure('dry_solids_u_t'),
		dry_solids_expected_t: figure('dry_solids_expected_t'),
		volume_from_solids_m3: figure('volume_from_solids_m3'),
		ratio_volume: figure('ratio_volume'),
		ratio_solids: figure('ratio_solids'),
		lag_seconds: balance.lag.lag_s,
		source: balance.source,
		...(balance.correction && balance.uncorrected
			? {
					correction: correctionRecord(balance.correction),
					volume_uncorrected_m3: figure('volume_uncorrected_m3'),
					dry_solids_uncorrected_t: figure('dry_solids_uncorrected_t'),
				}
			: {}),
	};
	if (record.lag_seconds === null) flags.push(`blank: lag_seconds: ${lagReason(balance)}`);
	return { ...record, flags };
}

function correctionRecord(correction: AppliedCorrection): NonNullable<RingRecord['correction']> {
	const percent = (value: number | null): number | null => (value === null ? null : 100 * value);
	return {
		side: correction.side,
		flow_scale_pct: percent(correction.flowScale_rel),
		flow_scale_u_pct: percent(correction.uFlowScale_rel),
		flow_zero_m3_h: correction.flowZero_m3_s * 3600,
		density_offset_kg_m3: correction.densityOffset_kg_m3,
		density_offset_u_kg_m3: correction.uDensityOffset_kg_m3,
		density_slope: correction.densitySlope,
		density_level_kg_m3: correction.densityAnchor_kg_m3,
	};
}

function noteText(fault: Fault): string {
	return fault.where.column === undefined
		? fault.message
		: `${fault.message} (${fault.where.column})`;
}

/** Why a ring has no lag. */
export function lagReason(balance: RingBalance): string {
	if (balance.lag.returnLineVolumeEnd_m3 === null) {
		return 'Line diameters or the distance of the meters are missing.';
	}
	if (balance.drySolids_kg.value === null && balance.source === 'none') {
		return 'No reading or logger sample falls in the advance window.';
	}
	return "The end of this ring's suspension has not passed the return meters in the record.";
}
