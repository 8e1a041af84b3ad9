import { describe, expect, it } from 'vitest';
import { findColumn } from '../../../../calc/sheet/catalogue.ts';
import type { SheetRow } from '../../../../calc/sheet/column.ts';
import {
	limitsOf,
	outsideWords,
	sideOf,
	takesLimits,
} from '../../../../renderer/sheets/limits/columnlimits.ts';

const MARKS = { decimal: '.', utcOffset_min: 0 } as const;
const row = (id: number, cells: SheetRow['cells']): SheetRow => ({ id, cells });
const inReadings = (id: string) => findColumn('readings', id);
const of = (...rows: SheetRow[]) => limitsOf('readings', rows, inReadings);
const DENSITY = 'return_density_t_m3';

describe('limits of columns', () => {
	it('hold for their own sheet and for columns with figures alone', () => {
		const limits = of(
			row(1, { sheet: 'readings', column_id: DENSITY, low: 1.05, unit: 't/m3' }),
			row(2, { sheet: 'ledger', column_id: 'ratio_volume', high: 1.1 }),
			row(3, { sheet: 'readings', column_id: 'mode', high: 1 }),
			row(4, { sheet: 'readings', column_id: 'gone', high: 1 }),
		);
		expect([...limits.keys()]).toEqual([DENSITY]);
		const note = findColumn('readings', 'note');
		expect(note && takesLimits('readings', note)).toBe(false);
	});

	it('mark what lies outside and leave what lies on them', () => {
		const limits = of(
			row(1, { sheet: 'readings', column_id: DENSITY, low: 1.05, high: 1.3, unit: 't/m3' }),
		).get(DENSITY);
		expect(sideOf(1.049, limits)).toBe('below');
		expect(sideOf(1.05, limits)).toBeNull();
		expect(sideOf(1.3, limits)).toBeNull();
		expect(sideOf(1.301, limits)).toBe('above');
		for (const none of [null, undefined, 'x']) expect(sideOf(none, limits)).toBeNull();
		expect(sideOf(9, undefined)).toBeNull();
	});

	it('are told in the unit of the column, whichever they were set in', () => {
		const limits = of(
			row(1, { sheet: 'readings', column_id: DENSITY, high: 1180, unit: 'kg/m3', why: 'plan' }),
		).get(DENSITY);
		const column = findColumn('readings', DENSITY);
		// 1 t/m³ = 1000 kg/m³ by definition of the prefixes.
		expect(sideOf(1.181, limits)).toBe('above');
		expect(sideOf(1.179, limits)).toBeNull();
		expect(column && outsideWords(column, 1.2, limits, MARKS)).toBe(
			'Above the high limit 1.18\u00a0t/m³ (plan)',
		);
		expect(column && outsideWords(column, 1.1, limits, MARKS)).toBeNull();
	});

	it('mark nothing where the unit is of another kind, and say so', () => {
		const limits = of(row(1, { sheet: 'readings', column_id: DENSITY, high: 1, unit: 'm3' }));
		expect(limits.get(DENSITY)).toMatchObject({ low: null, high: null, misfit: 'm³' });
		expect(sideOf(5, limits.get(DENSITY))).toBeNull();
	});
});
