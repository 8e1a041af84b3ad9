import type { UnitId } from '../../../calc/quantity/unit.ts';
import { columnsOf, passingSize_mm } from '../../../calc/sheet/catalogue.ts';
import type { Column } from '../../../calc/sheet/column.ts';

/** Headings under which the columns of a sheet are listed, in this order. */
export const COLUMN_GROUPS = [
	'Ring, time and mode',
	'Flow and volume',
	'Density and solids',
	'Ratios',
	'Advance and levels',
	'Suspension',
	'Grain sizes',
	'Spoil',
	'Own columns',
	'Remarks and names',
] as const;
export type ColumnGroup = (typeof COLUMN_GROUPS)[number];

const BY_UNIT: Readonly<Partial<Record<UnitId, ColumnGroup>>> = {
	s: 'Ring, time and mode',
	min: 'Ring, time and mode',
	'm3/h': 'Flow and volume',
	m3: 'Flow and volume',
	'kg/m3': 'Density and solids',
	't/m3': 'Density and solids',
	'g/L': 'Density and solids',
	't/h': 'Density and solids',
	t: 'Density and solids',
	'1': 'Ratios',
	m: 'Advance and levels',
	mm: 'Advance and levels',
	'mm/min': 'Advance and levels',
	bar: 'Advance and levels',
};

/** Where a column is listed. */
export function columnGroup(column: Column): ColumnGroup {
	const { id, sheet, type, unit } = column;
	if (passingSize_mm(id) !== null || id === 'd10_mm') return 'Grain sizes';
	if (!columnsOf(sheet).some((known) => known.id === id)) return 'Own columns';
	if (id.startsWith('spoil_')) return 'Spoil';
	if (type === 'time' || type === 'integer' || type === 'choice') return 'Ring, time and mode';
	if (type === 'text') return 'Remarks and names';
	return (unit === null ? undefined : BY_UNIT[unit]) ?? 'Suspension';
}
