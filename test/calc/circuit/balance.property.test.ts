import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { balanceRing, type RingBalanceAsk } from '../../../calc/circuit/balance.ts';
import type { RingBalance } from '../../../calc/circuit/ringbalance.ts';
import type { Samples } from '../../../calc/circuit/samples.ts';
import { orderSamples } from '../../../calc/circuit/series.ts';
import type { DriveSettings } from '../../../calc/circuit/settings.ts';
import { BARE_SETTINGS, flat, steadyRing } from './steadyring.ts';

const CIRCUIT: DriveSettings = {
	...BARE_SETTINGS,
	workingChamberArea_m2: 12,
	chamberMixedVolume_m3: 40,
	feedLineDiameter_m: 0.3,
	returnLineDiameter_m: 0.3,
	returnMeterDistance_m: 700,
	lineGrowth_m_per_ring: 1.5,
};

interface History {
	readonly samples: Samples;
	readonly start_s: number;
	readonly middle_s: number;
	readonly end_s: number;
	readonly levels: readonly [number, number, number];
}

/** A generated circuit history at irregular stamps: long run-in, an advance, long run-out; any densities and flows, one regime. */
const history: fc.Arbitrary<History> = fc
	.record({
		steps: fc.array(fc.integer({ min: 1, max: 40 }), { minLength: 90, maxLength: 120 }),
		feed: fc.array(fc.double({ min: 0.2, max: 0.4, noNaN: true }), {
			minLength: 121,
			maxLength: 121,
		}),
		back: fc.array(fc.double({ min: 0.2, max: 0.45, noNaN: true }), {
			minLength: 121,
			maxLength: 121,
		}),
		df: fc.array(fc.double({ min: 1010, max: 1150, noNaN: true }), {
			minLength: 121,
			maxLength: 121,
		}),
		dr: fc.array(fc.double({ min: 1020, max: 1350, noNaN: true }), {
			minLength: 121,
			maxLength: 121,
		}),
		levels: fc.tuple(
			fc.double({ min: 3, max: 5, noNaN: true }),
			fc.double({ min: 3, max: 5, noNaN: true }),
			fc.double({ min: 3, max: 5, noNaN: true }),
		),
	})
	.map(({ steps, feed, back, df, dr, levels }) => {
		const time = [0];
		for (const step of steps) time.push(time.at(-1)! + step);
		const n = time.length;
		const third = Math.floor(n / 3);
		return {
			samples: flat({
				time_s: time,
				feedFlow: feed.slice(0, n),
				feedDensity: df.slice(0, n),
				returnFlow: back.slice(0, n),
				returnDensity: dr.slice(0, n),
			}),
			start_s: time[third]!,
			middle_s: time[third + Math.floor(third / 2)]!,
			end_s: time[2 * third]!,
			levels,
		};
	});

function ask(
	h: History,
	from_s: number,
	to_s: number,
	levels: readonly [number, number],
): RingBalanceAsk {
	const base = steadyRing({ samples: h.samples, settings: CIRCUIT, gapLimit_s: 60 });
	return {
		...base,
		referenceLevel_m: 4,
		ring: {
			...base.ring,
			advanceStart_s: from_s,
			advanceEnd_s: to_s,
			chamberLevelStart_m: levels[0],
			chamberLevelEnd_m: levels[1],
		},
	};
}

const near = (a: number, b: number, scale: number): void => {
	expect(Math.abs(a - b)).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(scale)));
};
const value = (balance: RingBalance, key: 'volumeApparent_m3' | 'drySolids_kg'): number =>
	balance[key].value ?? Number.NaN;

/** Trapezoids written a second time, straight over the samples, for windows that begin and end at stamps. */
function plain(s: Samples, from_s: number, to_s: number, of: (i: number) => number): number {
	let sum = 0;
	for (let i = 1; i < s.count; i++) {
		const a = s.time_s[i - 1]!;
		const b = s.time_s[i]!;
		if (a >= from_s && b <= to_s) sum += ((of(i - 1) + of(i)) / 2) * (b - a);
	}
	return sum;
}

/** Value between stamps. */
function linear(s: Samples, column: Float64Array, t: number): number {
	let i = 0;
	while (i + 2 < s.count && s.time_s[i + 1]! < t) i++;
	const a = s.time_s[i]!;
	return column[i]! + ((column[i + 1]! - column[i]!) * (t - a)) / (s.time_s[i + 1]! - a);
}

/** ∫ f dt by Simpson's rule on each stretch between stamps. */
function simpson(s: Samples, from_s: number, to_s: number, f: (t: number) => number): number {
	const cuts = [from_s, ...[...s.time_s].filter((t) => t > from_s && t < to_s), to_s];
	let sum = 0;
	for (let i = 1; i < cuts.length; i++) {
		const a = cuts[i - 1]!;
		const b = cuts[i]!;
		sum += ((b - a) / 6) * (f(a) + 4 * f((a + b) / 2) + f(b));
	}
	return sum;
}

/** Time at which the volume has passed since (+1) or had still to pass until (−1) a moment, by bisection. */
function bisect(
	s: Samples,
	flow: (t: number) => number,
	at_s: number,
	volume_m3: number,
	direction: 1 | -1,
): number {
	let low = at_s;
	let high = direction > 0 ? s.time_s[s.count - 1]! : s.time_s[0]!;
	for (let i = 0; i < 70; i++) {
		const mid = (low + high) / 2;
		const passed = direction > 0 ? simpson(s, at_s, mid, flow) : simpson(s, mid, at_s, flow);
		if (passed < volume_m3) low = mid;
		else high = mid;
	}
	return (low + high) / 2;
}

describe('any circuit history', () => {
	test('volume closes: apparent = returned − fed + stored in the chamber, to 1e-9', () => {
		fc.assert(
			fc.property(history, (h) => {
				const b = balanceRing(ask(h, h.start_s, h.end_s, [h.levels[0], h.levels[2]]));
				const back = plain(h.samples, h.start_s, h.end_s, (i) => h.samples.returnFlow_m3_s[i]!);
				const feed = plain(h.samples, h.start_s, h.end_s, (i) => h.samples.feedFlow_m3_s[i]!);
				const stored = 12 * (h.levels[2] - h.levels[0]);
				near(value(b, 'volumeApparent_m3'), back - feed + stored, back);
				near(b.returnVolume_m3.value!, back, back);
			}),
			{ seed: 11, numRuns: 200 },
		);
	});

	test('splitting a ring in two and adding gives the whole, volume to 1e-9', () => {
		fc.assert(
			fc.property(history, (h) => {
				const whole = balanceRing(ask(h, h.start_s, h.end_s, [h.levels[0], h.levels[2]]));
				const first = balanceRing(ask(h, h.start_s, h.middle_s, [h.levels[0], h.levels[1]]));
				const second = balanceRing(ask(h, h.middle_s, h.end_s, [h.levels[1], h.levels[2]]));
				near(
					value(first, 'volumeApparent_m3') + value(second, 'volumeApparent_m3'),
					value(whole, 'volumeApparent_m3'),
					whole.returnVolume_m3.value!,
				);
			}),
			{ seed: 12, numRuns: 200 },
		);
	});

	test('splitting a ring adds up in solids to 1e-9 where the stream keeps its density at the split', () => {
		// At the split the chamber is read from both sides; a density that stands still there reads alike.
		fc.assert(
			fc.property(history, fc.double({ min: 1020, max: 1350, noNaN: true }), (h, density) => {
				const still: History = {
					...h,
					samples: {
						...h.samples,
						returnDensity_kg_m3: new Float64Array(h.samples.count).fill(density),
					},
				};
				const whole = balanceRing(ask(still, h.start_s, h.end_s, [h.levels[0], h.levels[2]]));
				const first = balanceRing(ask(still, h.start_s, h.middle_s, [h.levels[0], h.levels[1]]));
				const second = balanceRing(ask(still, h.middle_s, h.end_s, [h.levels[1], h.levels[2]]));
				near(
					value(first, 'drySolids_kg') + value(second, 'drySolids_kg'),
					value(whole, 'drySolids_kg'),
					whole.returnExcess_kg.value!,
				);
			}),
			{ seed: 13, numRuns: 200 },
		);
	});

	test('mass closes: the passages of both lines and the chamber, found a second way, to 1e-9', () => {
		fc.assert(
			fc.property(history, (h) => {
				const s = h.samples;
				const b = balanceRing(ask(h, h.start_s, h.end_s, [h.levels[0], h.levels[2]]));
				const { lag } = b;
				fc.pre(lag.returnTo_s !== null && lag.feedFrom_s !== null && lag.feedTo_s !== null);
				const water = b.waterDensity_kg_m3;
				const qr = (t: number) => linear(s, s.returnFlow_m3_s, t);
				const qf = (t: number) => linear(s, s.feedFlow_m3_s, t);
				const volume = lag.returnLineVolumeStart_m3!;
				// Lag by bisection on the volume that has passed.
				near(bisect(s, qr, h.start_s, volume, 1), lag.returnFrom_s!, 1e3);
				near(bisect(s, qr, h.end_s, volume, 1), lag.returnTo_s!, 1e3);
				near(bisect(s, qf, h.start_s, volume, -1), lag.feedFrom_s!, 1e3);
				// Mass by Simpson's rule between stamps, exact for the product of two linear signals.
				const feed = simpson(
					s,
					lag.feedFrom_s!,
					lag.feedTo_s!,
					(t) => qf(t) * (linear(s, s.feedDensity_kg_m3, t) - water),
				);
				near(b.feedExcess_kg.value!, feed, feed);
				const firstWhole = [...s.time_s].find((t) => t > lag.returnFrom_s!)!;
				const lastWhole = [...s.time_s].filter((t) => t < lag.returnTo_s!).at(-1)!;
				const er = (t: number): number => linear(s, s.returnDensity_kg_m3, t) - water;
				const back =
					er(firstWhole) * simpson(s, lag.returnFrom_s!, firstWhole, qr) +
					simpson(s, firstWhole, lastWhole, (t) => qr(t) * er(t)) +
					er(lastWhole) * simpson(s, lastWhole, lag.returnTo_s!, qr);
				near(b.returnExcess_kg.value!, back, back);
				const factor = 2650 / (2650 - water);
				near(
					b.drySolids_kg.value!,
					factor * (back - feed + b.chamberExcessChange_kg.value!),
					back * factor,
				);
			}),
			{ seed: 14, numRuns: 200 },
		);
	});

	test('permuting the rows changes nothing, to the bit', () => {
		fc.assert(
			fc.property(history, fc.integer({ min: 1, max: 1e9 }), (h, seed) => {
				const s = h.samples;
				const order = Array.from({ length: s.count }, (_, i) => i);
				let state = seed;
				for (let i = order.length - 1; i > 0; i--) {
					state = (state * 48271) % 2147483647;
					const j = state % (i + 1);
					[order[i], order[j]] = [order[j]!, order[i]!];
				}
				const pick = (c: Float64Array): Float64Array => Float64Array.from(order, (i) => c[i]!);
				const shuffled: Samples = {
					...s,
					time_s: pick(s.time_s),
					mode: Uint8Array.from(order, (i) => s.mode[i]!),
					feedFlow_m3_s: pick(s.feedFlow_m3_s),
					feedDensity_kg_m3: pick(s.feedDensity_kg_m3),
					returnFlow_m3_s: pick(s.returnFlow_m3_s),
					returnDensity_kg_m3: pick(s.returnDensity_kg_m3),
				};
				const one = balanceRing(ask(h, h.start_s, h.end_s, [4, 4]));
				const two = balanceRing(
					ask({ ...h, samples: orderSamples(shuffled) }, h.start_s, h.end_s, [4, 4]),
				);
				expect(two).toEqual(one);
			}),
			{ seed: 15, numRuns: 100 },
		);
	});

	test('only the span counts: cutting the record down to it changes nothing, to the bit', () => {
		fc.assert(
			fc.property(history, (h) => {
				const full = balanceRing(ask(h, h.start_s, h.end_s, [4, 4.2]));
				const s = h.samples;
				const keep = Array.from({ length: s.count }, (_, i) => i).filter(
					(i) => s.time_s[i]! >= full.looksFrom_s && s.time_s[i]! <= full.looksTo_s,
				);
				const pick = (c: Float64Array): Float64Array => Float64Array.from(keep, (i) => c[i]!);
				const cut: Samples = {
					...s,
					count: keep.length,
					time_s: pick(s.time_s),
					mode: Uint8Array.from(keep, (i) => s.mode[i]!),
					feedFlow_m3_s: pick(s.feedFlow_m3_s),
					feedDensity_kg_m3: pick(s.feedDensity_kg_m3),
					returnFlow_m3_s: pick(s.returnFlow_m3_s),
					returnDensity_kg_m3: pick(s.returnDensity_kg_m3),
				};
				const again = balanceRing(ask({ ...h, samples: cut }, h.start_s, h.end_s, [4, 4.2]));
				const { looksFrom_s: _a, looksTo_s: _b, ...figures } = again;
				const { looksFrom_s: _c, looksTo_s: _d, ...expected } = full;
				expect(figures).toEqual(expected);
			}),
			{ seed: 16, numRuns: 200 },
		);
	});
});
