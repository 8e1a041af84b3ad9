import { CompensatedSum } from '../quantity/sum.ts';
import type { UnitId } from '../quantity/unit.ts';
import { columnsOf } from './catalogue.ts';
import type { CellValue, Column, SheetId } from './column.ts';

/**
 * What is said of a group of rows, column by column: quantities that add up are summed, states are
 * averaged, ratios are worked out from the sums, and of everything else nothing is said.
 */
export type GroupRule =
	| { readonly how: 'sum' }
	| { readonly how: 'mean' }
	/** Sum of one column over sum of another, both of the same rows. */
	| { readonly how: 'ratio'; readonly of: string; readonly over: string };

const SUM: GroupRule = { how: 'sum' };
const MEAN: GroupRule = { how: 'mean' };

/** What a quantity of this unit is, where its column is not named below. */
const BY_UNIT: Readonly<Partial<Record<UnitId, GroupRule>>> = {
	m3: SUM,
	t: SUM,
	s: SUM,
	min: SUM,
	't/m3': MEAN,
	'kg/m3': MEAN,
	'g/L': MEAN,
	'm3/h': MEAN,
	't/h': MEAN,
	'mm/min': MEAN,
	bar: MEAN,
	'%': MEAN,
	degC: MEAN,
	Pa: MEAN,
	mL: MEAN,
	's/quart': MEAN,
};

/** Columns whose unit alone does not say it. */
const BY_COLUMN: Readonly<Partial<Record<SheetId, Readonly<Record<string, GroupRule | null>>>>> = {
	rings: {
		line_extension_m: SUM,
		chamber_level_start_m: MEAN,
		chamber_level_end_m: MEAN,
	},
	readings: {
		chamber_level_m: MEAN,
		// Counters: what they stand at adds up to nothing.
		feed_total_m3: null,
		return_total_m3: null,
	},
	ledger: {
		advance_m: SUM,
		lag_min: MEAN,
		// Rings share their meters, so their uncertainties neither add nor average.
		volume_apparent_u_m3: null,
		dry_solids_u_t: null,
		ratio_volume: { how: 'ratio', of: 'volume_apparent_m3', over: 'volume_expected_m3' },
		ratio_solids: { how: 'ratio', of: 'dry_solids_t', over: 'dry_solids_expected_t' },
	},
};

/**
 * How the figure of a group is made of a column's values; null where none makes sense. A column that
 * is not in the catalogue may itself be a running total, so it is averaged or left out, never summed.
 *
 * @example
 * groupRule({ sheet: 'readings', id: 'feed_density_t_m3', heading: 'Feed density', unit: 't/m3', kind: 'entered', type: 'number', required: true, decimals: 3, help: '' }) // => { "how": "mean" }
 * groupRule({ sheet: 'readings', id: 'feed_total_m3', heading: 'Feed total', unit: 'm3', kind: 'entered', type: 'number', required: false, decimals: 1, help: '' }) // => null
 */
export function groupRule(column: Column): GroupRule | null {
	if (column.type !== 'number') return null;
	const named = BY_COLUMN[column.sheet]?.[column.id];
	if (named !== undefined) return named;
	const rule = column.unit === null ? undefined : BY_UNIT[column.unit];
	if (rule === undefined) return null;
	if (rule.how === 'mean') return rule;
	return columnsOf(column.sheet).some((known) => known.id === column.id) ? rule : null;
}

/** The figure of a group in one column. */
export interface GroupFigure {
	readonly how: GroupRule['how'];
	/** In the column's unit; null where no row has a value. */
	readonly value: number | null;
	/** Rows that are in it. */
	readonly of: number;
	/** Rows of the group that are not, because they have no value. */
	readonly missing: number;
}

type Cells = Readonly<Record<string, CellValue>>;

/**
 * Figures of a group of rows by column id, for the columns that have one. A missing value is left out
 * and counted, never taken as 0; sums are compensated.
 *
 * @example
 * groupFigures([{ sheet: 'ledger', id: 'dry_solids_t', heading: 'Dry solids', unit: 't', kind: 'computed', type: 'number', required: false, decimals: 2, help: '' }], [{ dry_solids_t: 120.5 }, { dry_solids_t: null }, { dry_solids_t: 99.5 }]) // => { "dry_solids_t": { "how": "sum", "value": 220, "of": 2, "missing": 1 } }
 */
export function groupFigures(
	columns: readonly Column[],
	rows: readonly Cells[],
): Readonly<Record<string, GroupFigure>> {
	const figures: Record<string, GroupFigure> = {};
	for (const column of columns) {
		const rule = groupRule(column);
		if (rule === null) continue;
		figures[column.id] =
			rule.how === 'ratio'
				? ratioFigure(rule.of, rule.over, rows)
				: plainFigure(rule.how, column.id, rows);
	}
	return figures;
}

function plainFigure(how: 'sum' | 'mean', id: string, rows: readonly Cells[]): GroupFigure {
	const total = new CompensatedSum();
	let of = 0;
	for (const cells of rows) {
		const value = cells[id];
		if (typeof value !== 'number') continue;
		total.add(value);
		of += 1;
	}
	const value = of === 0 ? null : how === 'sum' ? total.value : total.value / of;
	return { how, value, of, missing: rows.length - of };
}

function ratioFigure(ofId: string, overId: string, rows: readonly Cells[]): GroupFigure {
	const above = new CompensatedSum();
	const below = new CompensatedSum();
	let of = 0;
	for (const cells of rows) {
		const top = cells[ofId];
		const bottom = cells[overId];
		if (typeof top !== 'number' || typeof bottom !== 'number') continue;
		above.add(top);
		below.add(bottom);
		of += 1;
	}
	const value = of === 0 || below.value === 0 ? null : above.value / below.value;
	return { how: 'ratio', value, of, missing: rows.length - of };
}
