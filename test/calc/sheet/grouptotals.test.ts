import fc from 'fast-check';
import * as math from 'mathjs';
import { describe, expect, it } from 'vitest';
import { columnsOf } from '../../../calc/sheet/catalogue.ts';
import { groupFigures, groupRule } from '../../../calc/sheet/grouptotals.ts';
import { shiftOf } from '../../../calc/sheet/shift.ts';

const LEDGER = columnsOf('ledger');
const READINGS = columnsOf('readings');

describe('what is said of a group', () => {
	it('sums volumes and masses, averages densities and flows, leaves counters and uncertainties out', () => {
		const rule = (columns: typeof LEDGER, id: string) => {
			const column = columns.find((one) => one.id === id);
			if (!column) throw new Error(id);
			return groupRule(column)?.how ?? null;
		};
		expect(rule(LEDGER, 'volume_apparent_m3')).toBe('sum');
		expect(rule(LEDGER, 'dry_solids_t')).toBe('sum');
		expect(rule(LEDGER, 'advance_m')).toBe('sum');
		expect(rule(LEDGER, 'ratio_volume')).toBe('ratio');
		expect(rule(LEDGER, 'volume_apparent_u_m3')).toBeNull();
		expect(rule(LEDGER, 'ring')).toBeNull();
		expect(rule(READINGS, 'return_density_t_m3')).toBe('mean');
		expect(rule(READINGS, 'feed_flow_m3_h')).toBe('mean');
		expect(rule(READINGS, 'return_total_m3')).toBeNull();
		expect(rule(READINGS, 'ph')).toBeNull();
	});

	it('never sums a column that is not of the catalogue: it may be a running total', () => {
		const [known] = LEDGER.filter(({ id }) => id === 'volume_apparent_m3');
		if (!known) throw new Error('the column is gone');
		expect(groupRule({ ...known, id: 'volume_so_far' })).toBeNull();
		expect(groupRule({ ...known, id: 'own_density', unit: 't/m3' })).toEqual({ how: 'mean' });
	});

	it('agrees with a general library on sums and means, leaving out and counting what is missing', () => {
		const values = fc.array(
			fc.option(fc.double({ min: -1e4, max: 1e4, noNaN: true }), { nil: null }),
			{ minLength: 1, maxLength: 60 },
		);
		fc.assert(
			fc.property(values, (list) => {
				const rows = list.map((value) => ({
					dry_solids_t: value,
					advance_speed_mm_min: value,
				}));
				const figures = groupFigures(LEDGER, rows);
				const there = list.filter((value) => value !== null);
				const { dry_solids_t: sum, advance_speed_mm_min: mean } = figures;
				expect(sum?.of).toBe(there.length);
				expect(sum?.missing).toBe(list.length - there.length);
				if (there.length === 0) {
					expect(sum?.value).toBeNull();
					expect(mean?.value).toBeNull();
					return;
				}
				expect(sum?.value).toBeCloseTo(math.sum(there), 7);
				expect(mean?.value).toBeCloseTo(math.mean(there), 7);
			}),
			{ seed: 7, numRuns: 200 },
		);
	});

	it('works a ratio out from the sums of the rows that have both', () => {
		const { ratio_volume } = groupFigures(LEDGER, [
			{ volume_apparent_m3: 60, volume_expected_m3: 50 },
			{ volume_apparent_m3: 30, volume_expected_m3: 50 },
			{ volume_apparent_m3: null, volume_expected_m3: 50 },
		]);
		// By hand: (60 + 30)/(50 + 50).
		expect(ratio_volume).toEqual({ how: 'ratio', value: 0.9, of: 2, missing: 1 });
	});
});

describe('a shift', () => {
	it('holds every moment it is told for, and the next one begins where it ends', () => {
		const starts = fc
			.uniqueArray(fc.integer({ min: 0, max: 1439 }), { minLength: 1, maxLength: 8 })
			.map((list) => list.sort((a, b) => a - b));
		fc.assert(
			fc.property(
				fc.double({ min: 0, max: 4e9, noNaN: true }),
				starts,
				fc.integer({ min: -720, max: 840 }),
				(time_s, starts_min, offset_min) => {
					const shift = shiftOf(time_s, starts_min, offset_min);
					expect(shift.start_s).toBeLessThanOrEqual(time_s);
					expect(shift.end_s).toBeGreaterThan(time_s);
					expect(shift.end_s - shift.start_s).toBeLessThanOrEqual(86_400);
					expect(shiftOf(shift.end_s, starts_min, offset_min).start_s).toBe(shift.end_s);
					expect(shiftOf(shift.start_s, starts_min, offset_min)).toEqual(shift);
				},
			),
			{ seed: 8, numRuns: 400 },
		);
	});
});
