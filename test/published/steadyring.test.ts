import { describe, expect, test } from 'vitest';
import { balanceRing } from '../../calc/circuit/balance.ts';
import type { RingBalance } from '../../calc/circuit/ringbalance.ts';
import { waterDensity_kg_m3 } from '../../calc/suspension/water.ts';
import { BARE_SETTINGS, flat, NO_UNCERTAINTY, steadyRing } from '../calc/circuit/steadyring.ts';

/**
 * A steady ring in closed form (algebra of mass conservation, no published source): D 6.6 m,
 * L 1.4 m, 40 mm/min, n 0.40, grains 2650 kg/m³, feed 10 m³/min at 1100 kg/m³, water 1000 kg/m³.
 * The balance takes its water from temperature; the table's water of exactly 1000 kg/m³ is met by
 * shifting every density by the difference, which leaves all excess densities as they are.
 */
const WATER = waterDensity_kg_m3(15, 0);
const SHIFT = WATER - 1000;
const MINUTES = Array.from({ length: 36 }, (_, i) => 60 * i);
const FEED = { flow: 10, density: 1100 };
const RETURN = { flow: 11.368477759871734, density: 1207.13353 };
const GRAIN = 2650 + SHIFT;

interface Meters {
	qf?: number;
	qr?: number;
	rf?: number;
	rr?: number;
}

function ring({
	qf = FEED.flow,
	qr = RETURN.flow,
	rf = FEED.density,
	rr = RETURN.density,
}: Meters): RingBalance {
	return balanceRing(
		steadyRing({
			samples: flat({
				time_s: MINUTES,
				feedFlow: qf / 60,
				feedDensity: rf + SHIFT,
				returnFlow: qr / 60,
				returnDensity: rr + SHIFT,
			}),
			ground: [
				{
					fromRing: 1,
					toRing: 1,
					stratum: 'sand',
					faceFraction: 1,
					grainDensity_kg_m3: GRAIN,
					dryDensity_kg_m3: 1590,
				},
			],
		}),
	);
}

/** ρs/(ρs−ρw) scaled so that tonnes compare with water of 1000 and grains of 2650. */
const TO_TABLE = 2650 / GRAIN;
const tonnes = (balance: RingBalance): number =>
	((balance.drySolids_kg.value ?? Number.NaN) / 1000) * TO_TABLE;
const volume = (balance: RingBalance): number => balance.volumeApparent_m3.value ?? Number.NaN;

describe('the steady ring', () => {
	test('cut volume 47.896722 m³, feed 350 m³, return 397.89672 m³, dry solids 76.155787 t', () => {
		const base = ring({});
		expect(base.volumeExpected_m3.value).toBeCloseTo(47.896722, 6);
		expect(base.feedVolume_m3.value).toBeCloseTo(350, 9);
		expect(base.returnVolume_m3.value).toBeCloseTo(397.89672, 5);
		expect(volume(base)).toBeCloseTo(47.896722, 6);
		expect(tonnes(base)).toBeCloseTo(76.155787, 4);
		expect(base.ratioVolume.value).toBeCloseTo(1, 9);
	});

	test.each([
		['return flow reads +0.5 %', { qr: RETURN.flow * 1.005 }, 49.886, 76.818],
		['feed flow reads +0.5 %', { qf: FEED.flow * 1.005 }, 46.147, 75.875],
		['both flows +0.5 %', { qr: RETURN.flow * 1.005, qf: FEED.flow * 1.005 }, 48.136, 76.537],
		['return density reads +5 kg/m³', { rr: RETURN.density + 5 }, 47.897, 79.351],
		['feed density reads +5 kg/m³', { rf: FEED.density + 5 }, 47.897, 73.345],
		['both densities +5', { rr: RETURN.density + 5, rf: FEED.density + 5 }, 47.897, 76.54],
	])('%s: volume %d, solids as in the signature table', (_what, meters, v, m) => {
		const changed = ring(meters);
		expect(Math.abs(volume(changed) - v)).toBeLessThan(6e-4);
		expect(Math.abs(tonnes(changed) - m)).toBeLessThan(6e-4);
	});

	test('groundwater 0.3 m³/min raises the volume by 21.92 % and leaves the solids alone', () => {
		const qr = RETURN.flow + 0.3;
		const rr = 1000 + ((RETURN.density - 1000) * RETURN.flow) / qr;
		const changed = ring({ qr, rr });
		expect(Math.abs(volume(changed) - 58.397)).toBeLessThan(6e-4);
		expect(Math.abs(tonnes(changed) - 76.156)).toBeLessThan(6e-4);
	});

	test('losing 0.3 m³/min of feed suspension lowers the volume by 21.92 % and the solids by 2.21 %', () => {
		const qr = RETURN.flow - 0.3;
		const excess = RETURN.flow * (RETURN.density - 1000) - 0.3 * (FEED.density - 1000);
		const changed = ring({ qr, rr: 1000 + excess / qr });
		expect(Math.abs(volume(changed) - 37.397)).toBeLessThan(6e-4);
		expect(Math.abs(tonnes(changed) - 74.469)).toBeLessThan(6e-4);
	});

	test('5 % over-excavation of saturated ground shows 5 % in both methods', () => {
		const extra = 0.05 * 1.36847776;
		const qr = RETURN.flow + extra;
		const excess = RETURN.flow * (RETURN.density - 1000) + extra * 0.6 * 1650;
		const changed = ring({ qr, rr: 1000 + excess / qr });
		expect(Math.abs(volume(changed) - 50.292)).toBeLessThan(6e-4);
		expect(Math.abs(tonnes(changed) - 79.964)).toBeLessThan(6e-4);
	});

	test('the grain density of the ground alone enters: 2600 / 2700 give 77.054 / 75.311 t', () => {
		for (const [grain, printed] of [
			[2600, 77.054],
			[2700, 75.311],
		] as const) {
			const balance = balanceRing({
				...steadyRing(),
				samples: flat({
					time_s: MINUTES,
					feedFlow: FEED.flow / 60,
					feedDensity: FEED.density + SHIFT,
					returnFlow: RETURN.flow / 60,
					returnDensity: RETURN.density + SHIFT,
				}),
				ground: [
					{
						fromRing: 1,
						toRing: 1,
						stratum: 'sand',
						faceFraction: 1,
						grainDensity_kg_m3: grain + SHIFT,
						dryDensity_kg_m3: 1590,
					},
				],
			});
			const t = ((balance.drySolids_kg.value ?? 0) / 1000) * (grain / (grain + SHIFT));
			expect(Math.abs(t - printed)).toBeLessThan(6e-4);
		}
	});

	test('budget: contributions 3195.231, 2810.606, 661.840, 281.061, 348.340 kg; flow part of the volume 2.64963 m³', () => {
		const balance = balanceRing({
			...steadyRing(),
			settings: {
				...BARE_SETTINGS,
				uncertainty: {
					...NO_UNCERTAINTY,
					flowScale_rel: 0.005,
					densityOffset_kg_m3: 5,
					grainDensity_kg_m3: 20,
				},
			},
			samples: flat({
				time_s: MINUTES,
				feedFlow: FEED.flow / 60,
				feedDensity: FEED.density + SHIFT,
				returnFlow: RETURN.flow / 60,
				returnDensity: RETURN.density + SHIFT,
			}),
			ground: [
				{
					fromRing: 1,
					toRing: 1,
					stratum: 'sand',
					faceFraction: 1,
					grainDensity_kg_m3: GRAIN,
					dryDensity_kg_m3: 1590,
				},
			],
		});
		const part = (input: string): number =>
			(balance.solidsBudget.find((line) => line.input === input)?.contribution ?? Number.NaN) *
			TO_TABLE;
		expect(part('return densitometer, offset')).toBeCloseTo(3195.231, 1);
		expect(part('feed densitometer, offset')).toBeCloseTo(2810.606, 1);
		expect(part('return flow meter, scale')).toBeCloseTo(661.84, 1);
		expect(part('feed flow meter, scale')).toBeCloseTo(281.061, 1);
		// Through ρw/(ρs−ρw)², water and grain shifted alike: within 0.1 %.
		expect(Math.abs(part('grain density of the ground') / 348.34 - 1)).toBeLessThan(2e-3);
		expect(balance.volumeApparent_m3.u).toBeCloseTo(2.64963, 4);
	});
});
