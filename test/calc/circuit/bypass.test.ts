import { describe, expect, test } from 'vitest';
import {
	type BypassRules,
	bypassStretches,
	bypassWindows,
	certifiedWindow,
	compareInBypass,
	LOGGER_BYPASS_RULES,
	type PairComparison,
	READINGS_BYPASS_RULES,
} from '../../../calc/circuit/bypass.ts';
import { besideMudBalance } from '../../../calc/circuit/mudbalance.ts';
import { MODES, type Mode, type Samples } from '../../../calc/circuit/samples.ts';
import { Chance } from '../../../calc/drive/chance.ts';
import type { Fault } from '../../../calc/fault/fault.ts';

const LINES = { feed_m3: 40, return_m3: 30 };
const Q = 0.3;

interface Second {
	readonly mode: Mode;
	readonly flow: number;
	readonly feed: number;
	readonly back: number;
}

/** A record second by second; the return meters show 0.8 % and 9 kg/m³ more. */
function record(seconds: readonly Second[], step_s = 1): Samples {
	const column = (of: (s: Second) => number) => Float64Array.from(seconds, of);
	return {
		count: seconds.length,
		time_s: Float64Array.from(seconds, (_, i) => step_s * i),
		mode: Uint8Array.from(seconds, (s) => MODES.indexOf(s.mode)),
		feedFlow_m3_s: column((s) => s.flow),
		returnFlow_m3_s: column((s) => 1.008 * s.flow),
		feedDensity_kg_m3: column((s) => s.feed),
		returnDensity_kg_m3: column((s) => s.back + 9),
		sideFlow_m3_s: null,
		chamberLevel_m: null,
		feedTotal_m3: null,
		returnTotal_m3: null,
	};
}

/** Advance, then bypass: the loop holds what the feed had one loop volume earlier, the return line first the chamber's. */
function afterAdvance(bypass_s: number, feedAt: (t: number) => number, before_s = 600): Second[] {
	const loop_s = Math.round((LINES.feed_m3 + LINES.return_m3) / Q);
	const sweep_s = Math.round(LINES.return_m3 / Q);
	return Array.from({ length: before_s + bypass_s }, (_, i) => {
		const swept = i >= before_s + sweep_s;
		return {
			mode: i < before_s ? 'advance' : 'bypass',
			flow: Q,
			feed: feedAt(i),
			back: swept ? feedAt(i - loop_s) : 1150,
		};
	});
}

const good = (pair: PairComparison | Fault): PairComparison => {
	if ('code' in pair) throw new Error(`not compared: ${pair.code}`);
	return pair;
};
const why = (pair: PairComparison | Fault): string => ('code' in pair ? pair.code : 'compared');
const onlyWindow = (samples: Samples, rules: BypassRules = LOGGER_BYPASS_RULES) => {
	const windows = bypassWindows(samples, () => LINES, rules, 10);
	expect(windows).toHaveLength(1);
	return windows[0]!;
};

describe('windows of a logger', () => {
	test('flows from the moment the valves have settled; densities once the return line is swept', () => {
		const { flow, density } = onlyWindow(record(afterAdvance(400, () => 1080)));
		expect(good(flow).from_s).toBe(630);
		expect(good(flow).to_s).toBe(984);
		expect(good(flow).return / good(flow).feed).toBeCloseTo(1.008, 12);
		// 30 m³ at 1.008 · 0.3 m³/s as the return meter counts them, then 30 s to settle.
		expect(good(density).from_s).toBe(600 + 100 + 30);
		expect(good(density).difference).toBeCloseTo(9, 12);
	});

	test('densities are paired suspension by suspension: a moving feed does not matter', () => {
		const ramp = (t: number): number => 1080 + 0.02 * t;
		const { density } = onlyWindow(record(afterAdvance(400, ramp)));
		// At the same moment they would differ by 0.02 · 233 s = 4.7 kg/m³ more.
		expect(Math.abs(good(density).difference - 9)).toBeLessThan(0.05);
	});

	test('too short, not swept, not steady, lines unknown: each says so', () => {
		const short = onlyWindow(record(afterAdvance(80, () => 1080)));
		expect(why(short.flow)).toBe('window_too_short');
		expect(why(short.density)).toBe('line_not_swept');
		const barely = onlyWindow(record(afterAdvance(150, () => 1080)));
		expect(why(barely.flow)).toBe('compared');
		expect(why(barely.density)).toBe('window_too_short');
		const rough = afterAdvance(400, (t) => 1080 + (t % 40 < 20 ? 12 : -12));
		expect(why(onlyWindow(record(rough)).density)).toBe('window_not_steady');
		const pumping = afterAdvance(400, () => 1080).map((s, i) => ({
			...s,
			flow: Q * (1 + 0.1 * Math.sin(i / 30)),
		}));
		expect(why(onlyWindow(record(pumping)).flow)).toBe('window_not_steady');
		const samples = record(afterAdvance(400, () => 1080));
		expect(why(bypassWindows(samples, () => null, LOGGER_BYPASS_RULES, 10)[0]!.density)).toBe(
			'lag_unknown',
		);
	});

	test('pumps running down before a stop are left out', () => {
		const seconds = afterAdvance(400, () => 1080).map((s, i, list) =>
			i > list.length - 40 ? { ...s, flow: (Q * (list.length - i)) / 40 } : s,
		);
		const { flow } = onlyWindow(record(seconds));
		expect(good(flow).feed).toBeGreaterThan(0.98 * Q);
		expect(good(flow).return / good(flow).feed).toBeCloseTo(1.008, 12);
	});

	const stopped = (stop_s: number): Second[] => {
		const first = afterAdvance(150, () => 1080);
		const still: Second = { mode: 'stop', flow: 0, feed: 1080, back: 1080 };
		const again: Second = { mode: 'bypass', flow: Q, feed: 1080, back: 1080 };
		return [
			...first,
			...Array.from({ length: stop_s }, () => still),
			...Array.from({ length: 110 }, () => again),
		];
	};

	test('a stop leaves the lines as they were; a long one begins anew', () => {
		const windows = (stop_s: number) =>
			bypassWindows(record(stopped(stop_s)), () => LINES, LOGGER_BYPASS_RULES, 10);
		expect(windows(1200).map((w) => why(w.density))).toEqual(['window_too_short', 'compared']);
		expect(windows(12_000).map((w) => why(w.density))).toEqual([
			'window_too_short',
			'window_too_short',
		]);
	});

	test('a slice that reaches back far enough gives the same as the whole record', () => {
		const samples = record(stopped(1200));
		const whole = bypassWindows(samples, () => LINES, LOGGER_BYPASS_RULES, 10)[1]!;
		const from = 300;
		const part: Samples = {
			...samples,
			count: samples.count - from,
			time_s: samples.time_s.slice(from),
			mode: samples.mode.slice(from),
			feedFlow_m3_s: samples.feedFlow_m3_s.slice(from),
			returnFlow_m3_s: samples.returnFlow_m3_s.slice(from),
			feedDensity_kg_m3: samples.feedDensity_kg_m3.slice(from),
			returnDensity_kg_m3: samples.returnDensity_kg_m3.slice(from),
		};
		const stretch = bypassStretches(part, 10).at(-1)!;
		expect(compareInBypass(part, stretch, LINES, LOGGER_BYPASS_RULES)).toEqual(whole);
	});

	test('u by batch means holds for noise that lasts: within a third of its theory', () => {
		// First-order noise of correlation 1 − 1/15 a second: var of a mean over T is 2·14.5·σ²/T.
		let squares = 0;
		const runs = 60;
		for (let seed = 1; seed <= runs; seed++) {
			const chance = new Chance(seed, 'noise');
			let lasting = 0;
			const seconds = afterAdvance(1200, () => 1080);
			const samples = record(seconds);
			for (let i = 0; i < samples.count; i++) {
				lasting = (14 / 15) * lasting + Math.sqrt(1 - (14 / 15) ** 2) * chance.normal();
				samples.returnFlow_m3_s[i] = samples.returnFlow_m3_s[i]! + 0.001 * lasting;
			}
			squares += good(onlyWindow(samples).flow).u! ** 2;
		}
		const theory = 0.001 * Math.sqrt((2 * 14.5) / 1155);
		expect(Math.sqrt(squares / runs) / theory).toBeGreaterThan(0.75);
		expect(Math.sqrt(squares / runs) / theory).toBeLessThan(1.25);
	});

	test('a missing reading is left out, not taken as 0', () => {
		const samples = record(afterAdvance(400, () => 1080));
		for (let i = 700; i < 760; i++) samples.returnFlow_m3_s[i] = Number.NaN;
		const { flow } = onlyWindow(samples);
		expect(good(flow).return / good(flow).feed).toBeCloseTo(1.008, 12);
		expect(good(flow).count).toBe(355 - 60);
	});
});

describe('paired readings by hand', () => {
	const reading = (mode: Mode, feed = 1080, back = 1080): Second => ({
		mode,
		flow: mode === 'stop' ? 0 : Q,
		feed,
		back,
	});

	test('one pair is a comparison without a scatter', () => {
		const samples = record([...Array(4).fill(reading('advance')), reading('bypass')], 300);
		const [window] = bypassWindows(samples, () => LINES, READINGS_BYPASS_RULES, 900);
		expect(good(window!.flow)).toMatchObject({ count: 1, u: null });
		expect(why(window!.density)).toBe('line_not_swept');
	});

	test('a second pair after the return line is swept compares the densities too', () => {
		const samples = record(
			[
				...Array(4).fill(reading('advance', 1080, 1150)),
				reading('bypass', 1080, 1150),
				reading('bypass'),
			],
			300,
		);
		const [window] = bypassWindows(samples, () => LINES, READINGS_BYPASS_RULES, 900);
		expect(good(window!.density)).toMatchObject({ count: 1, u: null });
		expect(good(window!.density).difference).toBeCloseTo(9, 9);
	});
});

describe('certificates and the mud balance', () => {
	test('a window is certified as its readings would have been', () => {
		const window = onlyWindow(record(afterAdvance(400, () => 1080)));
		const made = certifiedWindow(window, [
			{ meter: 'return_density', validFrom_s: -10, slope: 1.01, offset_si: -20, certificate: 'a' },
			{ meter: 'return_density', validFrom_s: 5000, slope: 2, offset_si: 0, certificate: 'later' },
			{ meter: 'feed_flow', validFrom_s: -10, slope: 1.008, offset_si: 0, certificate: 'b' },
		]);
		expect(good(made.density).return).toBeCloseTo(1.01 * 1089 - 20, 9);
		expect(good(made.flow).difference).toBeCloseTo(0, 12);
		expect(window).not.toEqual(made);
	});

	test('a sample takes the mean of the feed readings about it; none about it, none taken', () => {
		const samples = record(afterAdvance(400, (t) => 1080 + t / 10));
		const weighed = [100, 5000].map((time_s) => ({ time_s, density_kg_m3: 1100 }));
		const certificates = [
			{ meter: 'feed_density' as const, validFrom_s: 0, slope: 1, offset_si: 2, certificate: 'a' },
		];
		expect(besideMudBalance(samples, weighed, certificates, 30)).toEqual([
			{ time_s: 100, balance_kg_m3: 1100, meter_kg_m3: 1092 },
		]);
	});
});
