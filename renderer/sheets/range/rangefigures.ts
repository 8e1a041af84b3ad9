import { CompensatedSum } from '../../../calc/quantity/sum.ts';
import type { UnitId } from '../../../calc/quantity/unit.ts';
import type { CellValue, Column } from '../../../calc/sheet/column.ts';
import { groupRule } from '../../../calc/sheet/grouptotals.ts';

/** What is said of several chosen cells. */
export interface RangeFigures {
	readonly rows: number;
	readonly columns: number;
	/** Cells that hold something. */
	readonly filled: number;
	/** Of those, numbers and times. */
	readonly numbers: number;
	readonly figures: Figures | null;
	/** Why no figures are given although there are numbers. */
	readonly why: string | null;
}

export type Figures =
	| {
			readonly kind: 'numbers';
			/** Of all columns; null where they have none. */
			readonly unit: UnitId | null;
			/** Most decimals any of the columns shows. */
			readonly decimals: number;
			/** null where adding the values makes no sense. */
			readonly sum: number | null;
			readonly mean: number | null;
			readonly min: number;
			readonly max: number;
	  }
	/** Unix seconds. */
	| { readonly kind: 'times'; readonly from_s: number; readonly to_s: number };

type Kind = 'number' | 'time' | 'other';
const kindOf = (column: Column): Kind =>
	column.type === 'number' || column.type === 'integer'
		? 'number'
		: column.type === 'time'
			? 'time'
			: 'other';

/** Columns whose figures may be put together: of one unit, or one and the same column. */
const sortOf = (column: Column): string =>
	kindOf(column) === 'time' ? 'time' : (column.unit ?? `column ${column.id}`);

/**
 * Counts, and where all numbers are of one unit their figures. Sums only where every column's values
 * add up to something, means only where they may be averaged; sums are compensated. Missing cells are
 * left out, never taken as 0.
 */
export function rangeFigures(
	columns: readonly Column[],
	rows: Iterable<Readonly<Record<string, CellValue>>>,
): RangeFigures {
	const kinds = columns.map(kindOf);
	const seen = new Set<number>();
	const total = new CompensatedSum();
	let count = 0;
	let filled = 0;
	let numbers = 0;
	let min = Number.POSITIVE_INFINITY;
	let max = Number.NEGATIVE_INFINITY;
	for (const cells of rows) {
		count += 1;
		for (let at = 0; at < columns.length; at += 1) {
			const value = cells[(columns[at] as Column).id];
			if (value === null || value === undefined) continue;
			filled += 1;
			if (typeof value !== 'number' || kinds[at] === 'other') continue;
			numbers += 1;
			seen.add(at);
			total.add(value);
			if (value < min) min = value;
			if (value > max) max = value;
		}
	}
	const counted = { rows: count, columns: columns.length, filled, numbers };
	const told = [...seen].map((at) => columns[at] as Column);
	const [first] = told;
	if (first === undefined) return { ...counted, figures: null, why: null };
	if (new Set(told.map(sortOf)).size > 1)
		return { ...counted, figures: null, why: 'different units: no sum, no mean' };
	if (kindOf(first) === 'time')
		return { ...counted, figures: { kind: 'times', from_s: min, to_s: max }, why: null };
	const rules = told.map(groupRule);
	const averages = rules.every((rule) => rule !== null);
	return {
		...counted,
		figures: {
			kind: 'numbers',
			unit: first.unit,
			decimals: Math.max(...told.map((column) => column.decimals)),
			sum: rules.every((rule) => rule?.how === 'sum') ? total.value : null,
			mean: averages ? total.value / numbers : null,
			min,
			max,
		},
		why: null,
	};
}
