import { describe, expect, test } from 'vitest';
import { balanceRing } from '../../../calc/circuit/balance.ts';
import { mixedChamber } from '../../../calc/circuit/chamber.ts';
import { totaliserPassage } from '../../../calc/circuit/totaliser.ts';
import { BARE_SETTINGS, flat, steadyRing } from './steadyring.ts';

const ADVANCE = 0;
const BYPASS = 1;
const STOP = 3;
const codes = (notes: readonly { code: string }[]): string[] => notes.map((note) => note.code);
const window = (from_s: number, to_s: number) => ({
	...steadyRing().ring,
	advanceStart_s: from_s,
	advanceEnd_s: to_s,
});

describe('readings by hand around a switch of the circuit', () => {
	// Bypass reading, cutting starts at 100 s, first advance reading at 300 s, last at 2700 s,
	// cutting ends at 3000 s, next bypass reading at 3300 s.
	const samples = flat({
		time_s: [-300, 300, 1500, 2700, 3300],
		mode: [BYPASS, ADVANCE, ADVANCE, ADVANCE, BYPASS],
		feedFlow: [0.25, 0.3, 0.3, 0.3, 0.25],
		feedDensity: 1100,
		returnFlow: [0.25, 0.32, 0.32, 0.32, 0.25],
		returnDensity: 1200,
	});

	test('each reading holds up to the switch at advance start and end, so no time is lost', () => {
		const b = balanceRing({
			...steadyRing({ samples, gapLimit_s: 1300 }),
			ring: window(100, 3000),
		});
		expect(b.modeSeconds.advance).toBeCloseTo(2900, 9);
		expect(b.missingSeconds).toBe(0);
		expect(b.volumeApparent_m3.value).toBeCloseTo(0.02 * 2900, 9);
	});

	test('a bypass pause between two readings holds until the next stamp', () => {
		const paused = flat({
			time_s: [0, 600, 1200, 1800, 2400],
			mode: [ADVANCE, BYPASS, ADVANCE, ADVANCE, ADVANCE],
			feedFlow: 0.3,
			feedDensity: 1100,
			returnFlow: [0.32, 0.3, 0.32, 0.32, 0.32],
			returnDensity: 1200,
		});
		const b = balanceRing({ ...steadyRing({ samples: paused }), ring: window(0, 2400) });
		expect(b.modeSeconds.bypass).toBe(600);
		expect(b.modeSeconds.advance).toBe(1800);
		expect(b.volumeApparent_m3.value).toBeCloseTo(0.02 * 1800, 9);
	});
});

describe('missing is missing', () => {
	const minute = Array.from({ length: 61 }, (_, i) => 60 * i);
	const hour = {
		time_s: minute,
		feedFlow: 0.3,
		feedDensity: 1100,
		returnFlow: 0.32,
		returnDensity: 1200,
	};

	test('a gap longer than the limit is counted, noted with what it could hide, and widens u', () => {
		const kept = minute.filter((t) => t <= 1200 || t >= 1800);
		const gappy = flat({ ...hour, time_s: kept });
		const stated = {
			...BARE_SETTINGS,
			uncertainty: { ...BARE_SETTINGS.uncertainty, flowScale_rel: 0.002 },
		};
		const ask = { gapLimit_s: 120, settings: stated };
		const whole = balanceRing({
			...steadyRing({ ...ask, samples: flat(hour) }),
			ring: window(0, 3600),
		});
		const b = balanceRing({ ...steadyRing({ ...ask, samples: gappy }), ring: window(0, 3600) });
		expect(b.missingSeconds).toBe(600);
		expect(b.hiddenVolume_m3).toBeCloseTo(600 * 0.02, 9);
		expect(codes(b.notes)).toContain('missing_time');
		// Uniform between nothing and twice what was bridged: u = 12 m³/√3 on top of the meters.
		expect(b.volumeApparent_m3.u).toBeCloseTo(
			Math.hypot(whole.volumeApparent_m3.u!, 12 / Math.sqrt(3)),
			6,
		);
	});

	test('more than half the window missing leaves the figure blank with the reason', () => {
		const kept = minute.filter((t) => t <= 900 || t >= 3000);
		const b = balanceRing({
			...steadyRing({ samples: flat({ ...hour, time_s: kept }), gapLimit_s: 120 }),
			ring: window(0, 3600),
		});
		expect(b.volumeApparent_m3.value).toBeNull();
		expect(codes(b.volumeApparent_m3.notes)).toContain('too_much_missing');
		expect(b.ratioVolume.value).toBeNull();
	});

	test('no sample in the window: every measured figure blank, the expected ones given', () => {
		const b = balanceRing({ ...steadyRing(), ring: window(1e6, 1e6 + 2100) });
		expect(b.source).toBe('none');
		expect(b.volumeApparent_m3.value).toBeNull();
		expect(b.drySolids_kg.value).toBeNull();
		expect(b.volumeExpected_m3.value).toBeCloseTo(47.896722, 6);
		expect(b.missingSeconds).toBe(2100);
		expect(codes(b.notes)).toContain('no_samples');
	});

	test('a density column without values blanks the solids, not the volume', () => {
		const b = balanceRing({
			...steadyRing({ samples: flat({ ...hour, returnDensity: Number.NaN }) }),
			ring: window(0, 3600),
		});
		expect(b.volumeApparent_m3.value).toBeCloseTo(72, 9);
		expect(b.drySolids_kg.value).toBeNull();
		expect(codes(b.drySolids_kg.notes)).toContain('density_missing');
	});

	test('a chamber area with no level blanks the volume: what was stored is unknown', () => {
		const b = balanceRing({
			...steadyRing({
				samples: flat(hour),
				settings: { ...BARE_SETTINGS, workingChamberArea_m2: 12 },
			}),
			ring: window(0, 3600),
		});
		expect(b.volumeApparent_m3.value).toBeNull();
		expect(codes(b.volumeApparent_m3.notes)).toContain('chamber_level_missing');
	});

	test('levels of the readings stand in for levels the ring does not have', () => {
		const b = balanceRing({
			...steadyRing({
				samples: flat({ ...hour, level: minute.map((t) => 4 + t / 3600) }),
				settings: { ...BARE_SETTINGS, workingChamberArea_m2: 12 },
			}),
			ring: window(0, 3600),
		});
		expect(b.volumeApparent_m3.value).toBeCloseTo(72 + 12, 9);
	});

	test('a ring with no stratum keeps its volume and blanks what needs the ground', () => {
		const b = balanceRing({
			...steadyRing({ samples: flat(hour), ground: [] }),
			ring: window(0, 3600),
		});
		expect(b.volumeApparent_m3.value).toBeCloseTo(72, 9);
		expect(b.drySolids_kg.value).toBeNull();
		expect(b.drySolidsExpected_kg.value).toBeNull();
		expect(codes(b.notes)).toContain('ground_missing');
	});

	test('impossible readings are left out, counted and bridged', () => {
		const density = minute.map((_t, i) => (i === 30 ? 950 : 1200));
		const flowBack = minute.map((_t, i) => (i === 40 ? -0.5 : 0.32));
		const b = balanceRing({
			...steadyRing({
				samples: flat({ ...hour, returnDensity: density, returnFlow: flowBack }),
				gapLimit_s: 180,
			}),
			ring: window(0, 3600),
		});
		expect(b.volumeApparent_m3.value).toBeCloseTo(72, 9);
		expect(codes(b.notes)).toEqual(
			expect.arrayContaining(['flow_negative', 'density_below_water']),
		);
	});

	test('a stroke that goes backwards blanks what is expected', () => {
		const base = steadyRing();
		const b = balanceRing({ ...base, ring: { ...base.ring, strokeEnd_m: 0.1 } });
		expect(b.advance_m.value).toBeNull();
		expect(codes(b.advance_m.notes)).toEqual(['stroke_backwards']);
	});
});

describe('lag and lines', () => {
	const settings = {
		...BARE_SETTINGS,
		feedLineDiameter_m: 0.3,
		returnLineDiameter_m: 0.3,
		returnMeterDistance_m: 2000,
	};
	const minute = Array.from({ length: 181 }, (_, i) => 60 * (i - 60));
	const steady = {
		time_s: minute,
		feedFlow: 1200 / 3600,
		feedDensity: 1100,
		returnFlow: 1200 / 3600,
		returnDensity: 1200,
	};

	test('2000 m of DN300 at 1200 m³/h: 7.0686 min', () => {
		const b = balanceRing({
			...steadyRing({ samples: flat(steady), settings }),
			ring: window(0, 2400),
		});
		expect(b.lag.lag_s! / 60).toBeCloseTo(7.0686, 4);
		expect((b.advanceStart_s - b.lag.feedFrom_s!) / 60).toBeCloseTo(7.0686, 4);
	});

	test('a stop lengthens the lag by its own time', () => {
		const mode = minute.map((t) => (t >= 2460 && t < 3060 ? STOP : ADVANCE));
		const flow = minute.map((t) => (t >= 2460 && t < 3060 ? 0 : 1200 / 3600));
		const b = balanceRing({
			...steadyRing({
				samples: flat({ ...steady, mode, feedFlow: flow, returnFlow: flow }),
				settings,
			}),
			ring: window(0, 2400),
		});
		expect(b.lag.lag_s! / 60).toBeGreaterThan(7.0686 + 9.9);
		expect(b.lag.lag_s! / 60).toBeLessThan(7.0686 + 12.1);
	});

	test('a record that ends before the line is cleared gives a provisional figure that says so', () => {
		const cut = minute.filter((t) => t <= 2460);
		const b = balanceRing({
			...steadyRing({ samples: flat({ ...steady, time_s: cut }), settings }),
			ring: window(0, 2400),
		});
		expect(b.drySolids_kg.value).not.toBeNull();
		expect(b.lag.lag_s).toBeNull();
		expect(codes(b.drySolids_kg.notes)).toContain('line_not_cleared');
		expect(b.looksTo_s).toBe(1e12);
	});

	test('a record that ends before the ring reaches the return meters leaves the solids blank', () => {
		const cut = minute.filter((t) => t <= 240);
		const b = balanceRing({
			...steadyRing({ samples: flat({ ...steady, time_s: cut }), settings }),
			ring: window(0, 240),
		});
		expect(b.drySolids_kg.value).toBeNull();
		expect(codes(b.drySolids_kg.notes)).toContain('line_not_reached');
	});

	test('lines that grow within the window add what fills them', () => {
		const base = steadyRing({ samples: flat(steady), settings });
		const b = balanceRing({ ...base, ring: { ...window(0, 2400), lineExtension_m: 1.5 } });
		expect(b.lineVolumeChange_m3.value).toBeCloseTo(2 * (Math.PI / 4) * 0.09 * 1.5, 9);
	});

	test('meter certificates hold from their date', () => {
		const b = balanceRing({
			...steadyRing({
				samples: flat(steady),
				meters: [
					{ meter: 'return_flow', validFrom_s: 1200, slope: 1.05, offset_si: 0, certificate: 'A' },
				],
			}),
			ring: window(0, 2400),
		});
		// The step falls between two samples a minute apart and is taken linearly there.
		expect(b.volumeApparent_m3.value).toBeCloseTo(0.05 * (1200 / 3600) * (1200 + 30), 6);
	});
});

describe('totalisers', () => {
	test("a ring's counter is compared with the integral, its meter's certificate applied", () => {
		const minute = Array.from({ length: 41 }, (_, i) => 60 * i);
		const base = flat({
			time_s: minute,
			feedFlow: 0.3,
			feedDensity: 1100,
			returnFlow: 0.32,
			returnDensity: 1200,
		});
		const counted = (rate: number) =>
			Float64Array.from(minute, (t) => (99_800 + rate * t) % 100_000);
		const meters = [
			{
				meter: 'return_flow' as const,
				validFrom_s: -1,
				slope: 1.02,
				offset_si: 0,
				certificate: 'A',
			},
		];
		const good = balanceRing({
			...steadyRing({ samples: { ...base, returnTotal_m3: counted(0.32) }, meters }),
			ring: window(0, 2400),
		});
		expect(good.returnTotaliser_m3.value).toBeCloseTo(1.02 * 0.32 * 2400, 6);
		expect(codes(good.returnTotaliser_m3.notes)).toEqual(['totaliser_rolled_over']);
		expect(codes(good.notes)).not.toContain('totaliser_differs');
		expect(good.feedTotaliser_m3.value).toBeNull();
		const off = balanceRing({
			...steadyRing({ samples: { ...base, returnTotal_m3: counted(0.33) }, meters }),
			ring: window(0, 2400),
		});
		expect(codes(off.notes)).toContain('totaliser_differs');
	});

	test('a counter that falls with no known end is a fault naming the total', () => {
		const passage = totaliserPassage([500, 620, 40], null);
		expect(passage.kind).toBe('fault');
		if (passage.kind === 'fault') expect(passage.fault.where.value).toBe('40');
	});

	test('a fall too deep for a roll-over is a reset', () => {
		expect(totaliserPassage([99_000, 70_000], 100_000).kind).toBe('fault');
	});

	test('missing totals are passed over, one total is too few', () => {
		expect(totaliserPassage([10, Number.NaN, 40], null)).toMatchObject({ volume_m3: 30 });
		expect(totaliserPassage([Number.NaN, 40], null).kind).toBe('fault');
	});
});

describe('the mixed chamber', () => {
	test('settles at inflow + source / flow and keeps the mass on the way', () => {
		const step = { start: 100, inflow: 60, flow_m3_s: 0.3, volume_m3: 40, source: 30, time_s: 1e6 };
		expect(mixedChamber(step)).toBeCloseTo(160, 9);
		// d(Vc) = ∫(Q·c_in + source − Q·c) dt over small steps
		let c = 100;
		let out = 0;
		const dt = 0.05;
		for (let t = 0; t < 200; t += dt) {
			const next = mixedChamber({ ...step, start: c, time_s: dt });
			out += (0.3 * dt * (c + next)) / 2;
			c = next;
		}
		expect(40 * (c - 100)).toBeCloseTo(200 * (0.3 * 60 + 30) - out, 3);
	});

	test('a chamber without volume or flow is refused', () => {
		expect(() =>
			mixedChamber({ start: 1, inflow: 1, flow_m3_s: 0.3, volume_m3: 0, source: 0, time_s: 1 }),
		).toThrow(/volume/);
		expect(() =>
			mixedChamber({ start: 1, inflow: 1, flow_m3_s: 0, volume_m3: 1, source: 0, time_s: 1 }),
		).toThrow(/flow/);
	});
});
