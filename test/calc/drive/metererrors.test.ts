import { describe, expect, test } from 'vitest';
import { checkDriveOptions } from '../../../calc/drive/plan.ts';
import { simulateDrive } from '../../../calc/drive/simulate.ts';

const given = { return_flow: { slope: 1 / 1.008, offset: 0 } };

describe('meter errors that are told', () => {
	test("only the meter told is changed, by just that: noise, drift and all else stay the seed's", () => {
		const options = { seed: 3, rings: 2, meters: 'uncorrected' as const };
		const seeds = simulateDrive({
			...options,
			meterErrors: { return_flow: { slope: 1, offset: 0 } },
		}).readings;
		const told = simulateDrive({ ...options, meterErrors: given }).readings;
		expect(told).toHaveLength(seeds.length);
		let flowing = 0;
		told.forEach((row, i) => {
			const before = seeds[i]!;
			expect({ ...row, return_flow_m3_h: 0, return_total_m3: 0 }).toEqual({
				...before,
				return_flow_m3_h: 0,
				return_total_m3: 0,
			});
			const flow = before.return_flow_m3_h as number;
			if (flow < 100) return;
			flowing++;
			// Both are rounded to 0.1 m³/h.
			expect(Math.abs((row.return_flow_m3_h as number) - 1.008 * flow)).toBeLessThan(0.11);
		});
		expect(flowing).toBeGreaterThan(20);
	});

	test('certificates state them', () => {
		const { meters } = simulateDrive({ seed: 3, rings: 1, meterErrors: given });
		expect(meters.find((row) => row.meter === 'return_flow')).toMatchObject({ slope: 1 / 1.008 });
	});

	test("none told: the seed's own, as without the option", () => {
		const plain = simulateDrive({ seed: 3, rings: 2 });
		const none = simulateDrive({ seed: 3, rings: 2, meterErrors: null });
		expect(none.readings).toEqual(plain.readings);
		expect(none.meters).toEqual(plain.meters);
	});

	test('beyond all sense they are refused', () => {
		for (const slope of [0.8, Number.NaN, 1.2]) {
			const faults = checkDriveOptions({
				seed: 1,
				rings: 2,
				meterErrors: { feed_density: { slope, offset: 0 } },
			});
			expect(faults.map((f) => f.where.column)).toEqual(['meterErrors']);
		}
	});
});
