import { describe, expect, test } from 'vitest';
import type { BypassWindow } from '../../../calc/circuit/bypass.ts';
import { applyCorrection } from '../../../calc/circuit/correction.ts';
import { Chance } from '../../../calc/drive/chance.ts';
import {
	checkMeters,
	correctionAt,
	METER_CHECK_RULES,
	type MeterCheckAsk,
	type MeterCorrection,
} from '../../../calc/trust/metercheck.ts';
import { askOf } from './checkeddrive.ts';

interface Meters {
	readonly scale: number;
	readonly zero: number;
	readonly offset: number;
	readonly slope: number;
	readonly noise: number;
}
const METERS: Meters = { scale: 0.008, zero: 0, offset: 9, slope: 0, noise: 1 };

/** A window an hour; the return meters differ from the feed meters as told, about 1080 kg/m³. */
function windows(
	count: number,
	of: Partial<Meters> = {},
	feedAt: (k: number) => { flow: number; density: number } = () => ({ flow: 0.3, density: 1080 }),
): BypassWindow[] {
	const m = { ...METERS, ...of };
	const chance = new Chance(count, 'windows');
	return Array.from({ length: count }, (_, k) => {
		const { flow, density } = feedAt(k);
		const pair = (feed: number, back: number, u: number) => ({
			from_s: 3600 * k,
			to_s: 3600 * k + 300,
			count: 300,
			feed,
			return: back,
			difference: back - feed,
			u,
		});
		const flowNoise = 1e-4 * m.noise * chance.normal();
		const densityNoise = 0.4 * m.noise * chance.normal();
		return {
			from_s: 3600 * k,
			to_s: 3600 * k + 300,
			flow: pair(flow, m.zero + (1 + m.scale) * flow + flowNoise, 1e-4),
			density: pair(density, density + m.offset + m.slope * (density - 1080) + densityNoise, 0.4),
		};
	});
}
const made = (ask: Partial<MeterCheckAsk> & { windows: BypassWindow[] }): MeterCorrection =>
	checkMeters({ ...askOf(ask.windows), ...ask });
const codes = (correction: MeterCorrection): string[] => correction.faults.map((f) => f.code);

describe('which side is corrected', () => {
	test.each(['return', 'feed', 'both'] as const)('%s: both sides agree in bypass', (side) => {
		const seen = windows(40, { zero: 0.004, slope: 0.02, noise: 0 }, (k) => ({
			flow: 0.2 + 0.01 * (k % 20),
			density: 1040 + 4 * (k % 20),
		}));
		const correction = made({ windows: seen, side });
		for (const window of seen) {
			if ('code' in window.flow || 'code' in window.density) throw new Error('not compared');
			const columns = {
				feedFlow: Float64Array.of(window.flow.feed),
				returnFlow: Float64Array.of(window.flow.return),
				feedDensity: Float64Array.of(window.density.feed),
				returnDensity: Float64Array.of(window.density.return),
			};
			applyCorrection(correction, [window.from_s + 150], columns);
			expect(columns.returnFlow[0]).toBeCloseTo(columns.feedFlow[0]!, 9);
			expect(columns.returnDensity[0]).toBeCloseTo(columns.feedDensity[0]!, 6);
			if (side === 'return') expect(columns.feedFlow[0]).toBe(window.flow.feed);
			if (side === 'feed') expect(columns.returnDensity[0]).toBe(window.density.return);
			if (side === 'both') {
				const { feed, return: back } = window.flow;
				expect(columns.feedFlow[0]).toBeGreaterThan(Math.min(feed, back));
				expect(columns.feedFlow[0]).toBeLessThan(Math.max(feed, back));
			}
		}
	});

	test('a missing value stays missing and a line at rest stays at rest', () => {
		const correction = made({ windows: windows(10), side: 'both' });
		const columns = {
			feedFlow: Float64Array.of(0, Number.NaN),
			returnFlow: Float64Array.of(0, 0.3),
			feedDensity: Float64Array.of(Number.NaN, 1080),
			returnDensity: Float64Array.of(1089, Number.NaN),
		};
		applyCorrection(correction, [100, 200], columns);
		expect(columns.feedFlow[0]).toBe(0);
		expect(columns.returnFlow[0]).toBe(0);
		expect(columns.feedFlow[1]).toBeNaN();
		expect(columns.feedDensity[0]).toBeNaN();
		expect(columns.returnDensity[1]).toBeNaN();
	});
});

describe('scale and zero, offset and slope', () => {
	test('flows alike: scale only, and it says so', () => {
		const correction = made({ windows: windows(30) });
		const { flow, density } = correctionAt(correction, 50_000);
		expect(codes(correction)).toEqual(['flow_scale_only', 'density_offset_only']);
		expect(flow).toMatchObject({ zero_m3_s: 0, uZero_m3_s: null, covariance: -0 });
		expect(Math.abs(flow!.scale_rel - 0.008)).toBeLessThan(3 * flow!.uScale_rel);
		expect(Math.abs(density!.offset_kg_m3 - 9)).toBeLessThan(3 * density!.uOffset_kg_m3);
		expect(density!.uOffset_kg_m3).toBeLessThan(0.4);
	});

	test('flows that span enough tell the zero; scale and zero pull against each other', () => {
		const correction = made({
			windows: windows(60, { zero: 0.002 }, (k) => ({
				flow: 0.2 + 0.005 * (k % 30),
				density: 1080,
			})),
		});
		const { flow } = correctionAt(correction, 100_000);
		expect(codes(correction)).toEqual(['density_offset_only']);
		expect(Math.abs(flow!.zero_m3_s - 0.002)).toBeLessThan(3 * flow!.uZero_m3_s!);
		expect(flow!.uZero_m3_s).toBeLessThan(0.0005);
		expect(Math.abs(flow!.scale_rel - 0.008)).toBeLessThan(3 * flow!.uScale_rel);
		expect(flow!.covariance).toBeLessThan(0);
		// At the mean bypass flow the two errors cancel: the sum is surer than the scale alone.
		const q = correction.flow!.reference;
		const together = Math.sqrt(
			flow!.uScale_rel ** 2 + (flow!.uZero_m3_s! / q) ** 2 + (2 * flow!.covariance) / q,
		);
		expect(together).toBeLessThan(0.5 * flow!.uScale_rel);
	});

	test('densities that span enough tell the slope', () => {
		const correction = made({
			windows: windows(60, { slope: 0.03 }, (k) => ({ flow: 0.3, density: 1050 + 2 * (k % 30) })),
		});
		const { density } = correctionAt(correction, 100_000);
		expect(codes(correction)).toEqual(['flow_scale_only']);
		expect(Math.abs(density!.slope - 0.03)).toBeLessThan(3 * density!.uSlope!);
		const at1080 = density!.offset_kg_m3 + density!.slope * (1080 - density!.reference_kg_m3);
		expect(Math.abs(at1080 - 9)).toBeLessThan(3 * density!.uOffset_kg_m3);
	});
});

describe('decisions and reasons', () => {
	test('a window rejected by hand takes no part and keeps its reason', () => {
		const seen = windows(20).map((one, k) =>
			k === 7 && !('code' in one.density)
				? { ...one, density: { ...one.density, difference: 10.5 } }
				: one,
		);
		const decision = {
			quantity: 'density' as const,
			from_s: 7 * 3600,
			verdict: 'reject' as const,
			reason: 'screens were being flushed',
		};
		const with_ = made({ windows: seen, decisions: [decision] });
		expect(with_.densityWindows[7]).toMatchObject({
			verdict: 'rejected',
			reason: 'screens were being flushed',
			residual: null,
		});
		expect(with_.flowWindows[7]!.verdict).toBe('used');
		expect(with_.density!.drift.points).toHaveLength(19);
	});

	test('outliers, unusable windows and steps say why', () => {
		const seen = windows(20).map((one, k) => {
			if (k === 5) {
				const fault = {
					code: 'window_too_short',
					message: 'Too short.',
					where: {},
					weight: 'note' as const,
				};
				return { ...one, flow: fault };
			}
			if ('code' in one.density) return one;
			const more = k === 9 ? 20 : k >= 15 ? -10 : 0;
			return { ...one, density: { ...one.density, difference: one.density.difference + more } };
		});
		const correction = made({ windows: seen });
		expect(correction.flowWindows[5]).toMatchObject({ verdict: 'unusable', reason: 'Too short.' });
		expect(correction.densityWindows[9]!.verdict).toBe('outlier');
		expect(correction.densityWindows[9]!.reason).toMatch(/Stands apart/u);
		expect(correction.density!.drift.steps).toHaveLength(1);
		expect(codes(correction)).toContain('meter_step');
		const between = correctionAt(correction, 14.6 * 3600);
		expect(between.notes.map((f) => f.code)).toEqual(['step_moment_unknown']);
		const step = { quantity: 'density' as const, at_s: 14.6 * 3600, reason: 'hose knocked it' };
		const told = made({ windows: seen, steps: [step] });
		expect(correctionAt(told, 14.61 * 3600).notes).toEqual([]);
		expect(correctionAt(told, 14.61 * 3600).density!.offset_kg_m3).toBeLessThan(0);
		expect(correctionAt(told, 14.59 * 3600).density!.offset_kg_m3).toBeGreaterThan(8);
	});

	test('no window at all: no correction, and said', () => {
		const correction = made({ windows: [] });
		expect(correction.flow).toBeNull();
		expect(codes(correction)).toEqual(['no_bypass_window', 'no_bypass_window']);
		expect(correctionAt(correction, 0)).toMatchObject({ flow: null, density: null, notes: [] });
	});

	test('beyond the certificate: warned, and held back until a person accepts it', () => {
		const limits = { flowScale_rel: 0.005, densityOffset_kg_m3: 20 };
		const held = made({ windows: windows(10), limits });
		expect(codes(held)).toContain('correction_beyond_certificate');
		expect(held.flow!.heldBack).toBe(true);
		expect(correctionAt(held, 5000).flow).toBeNull();
		expect(correctionAt(held, 5000).density!.offset_kg_m3).toBeCloseTo(9, 0);
		const accepted = made({
			windows: windows(10),
			limits,
			beyondLimitAccepted: { flow: true, density: false },
		});
		expect(codes(accepted)).toContain('correction_beyond_certificate');
		expect(correctionAt(accepted, 5000).flow!.scale_rel).toBeCloseTo(0.008, 3);
		const notStated = made({ windows: windows(10) });
		expect(codes(notStated)).not.toContain('correction_beyond_certificate');
	});
});

describe('mud balance', () => {
	/** A feed between 1070 and 1090 weighed to 10 kg/m³; the feed meter shows 4 kg/m³ too little. */
	const weighed = (count: number, seed: number) => {
		const chance = new Chance(seed, 'balance');
		return Array.from({ length: count }, (_, k) => {
			const truth = chance.between(1070, 1090);
			return {
				time_s: 1800 * k,
				balance_kg_m3: 10 * Math.round(truth / 10),
				meter_kg_m3: truth - 4,
			};
		});
	};

	test('anchor: mean difference with the u its resolution leaves, over many seeds', () => {
		let inside = 0;
		for (let seed = 1; seed <= 100; seed++) {
			const { anchor } = made({
				windows: windows(10),
				mudBalance: weighed(30, seed),
				anchored: true,
			});
			expect(anchor!.u).toBeGreaterThanOrEqual(10 / Math.sqrt(12) / Math.sqrt(30));
			if (Math.abs(anchor!.value - 4) <= 2 * anchor!.u) inside++;
		}
		expect(inside).toBeGreaterThanOrEqual(90);
	});

	test('a suspension that never changes gives no false certainty: a single reading repeated is no scatter of 0', () => {
		const same = Array.from({ length: 12 }, (_, k) => ({
			time_s: 600 * k,
			balance_kg_m3: 1080,
			meter_kg_m3: 1078,
		}));
		const { anchor } = made({ windows: windows(10), mudBalance: same });
		expect(anchor!.u).toBeCloseTo(10 / Math.sqrt(12 * 12), 12);
	});

	test('applied to both densities alike, whichever side is corrected', () => {
		for (const side of ['return', 'feed', 'both'] as const) {
			const correction = made({
				windows: windows(10, { noise: 0 }),
				mudBalance: weighed(40, 3),
				anchored: true,
				side,
			});
			const columns = {
				feedFlow: Float64Array.of(0.3),
				returnFlow: Float64Array.of(0.3024),
				feedDensity: Float64Array.of(1076),
				returnDensity: Float64Array.of(1085),
			};
			applyCorrection(correction, [6000], columns);
			// The truth is 1080, whatever the meters show.
			expect(Math.abs(columns.feedDensity[0]! - 1080)).toBeLessThan(1.5);
			expect(columns.returnDensity[0]).toBeCloseTo(columns.feedDensity[0]!, 6);
		}
		const shown = made({ windows: windows(10), mudBalance: weighed(40, 3), anchored: false });
		expect(shown.anchor!.applied).toBe(false);
		expect(correctionAt(shown, 0).anchor_kg_m3).toBe(0);
	});

	test('too few samples anchor nothing', () => {
		const few = made({ windows: windows(10), mudBalance: weighed(4, 1), anchored: true });
		expect(few.anchor).toBeNull();
		expect(codes(few)).toContain('too_few_balance_samples');
		expect(METER_CHECK_RULES.anchorSamples).toBe(5);
	});
});
