import { describe, expect, it } from 'vitest';
import { driveCycles } from '../../../calc/drive/cycle.ts';
import { type DrivePlan, drivePlan } from '../../../calc/drive/plan.ts';
import type { RingTruth } from '../../../calc/drive/truth.ts';

/**
 * The closed-form ring worked by hand: D = 6.6 m, L = 1.4 m, v = 40 mm/min, n = 0.40, grains 2650,
 * water 1000, feed 10 m³/min of 1100 kg/m³. In steady flow Qr = Qf + A·v and
 * ρr = (Qf·ρf + A·v·ρsat)/Qr. Mass conservation, no published source.
 */
const AREA_M2 = 34.211944;
const RETURN_M3_MIN = 11.3684778;
const RETURN_KG_M3 = 1207.13353;
const RING_M3 = 47.896722;
const RING_DRY_T = 76.155787;

const sand = {
	stratum: 'sand',
	grainDensity_t_m3: 2.65,
	dryDensity_t_m3: 0.6 * 2.65,
	d10_mm: 0.1,
	passing_pct: [],
	speed: 1,
};

const plan: DrivePlan = {
	...drivePlan({
		seed: 1,
		rings: 2,
		diameter_m: 6.6,
		advance_m: 1.4,
		advanceSpeed_mm_min: 40,
		feedFlow_m3_h: 600,
		feedDensity_t_m3: 1.1,
		sideFlow_m3_h: 0,
		chamberMixedVolume_m3: 30,
		returnMeterDistance_m: 100,
		cutRamp_s: 1,
		steady: true,
		meters: 'perfect',
		events: 'none',
		ground: [{ fromRing: 1, toRing: 2, shares: [{ stratum: sand, faceFraction: 1 }] }],
	}),
	waterDensity_kg_m3: 1000,
};

function firstRing(): {
	truth: RingTruth;
	flowLate: number;
	densityLate: number;
	density: (s: number) => number;
} {
	for (const cycle of driveCycles(plan)) {
		const [truth] = cycle.finished;
		if (!truth) throw new Error('the first ring was not finished in its own cycle');
		const { grid, advanceStart } = cycle;
		const late = advanceStart + 34 * 60;
		const excess = grid.returnExcess_kg_m3.slice(0, grid.count);
		return {
			truth,
			flowLate: grid.returnFlow_m3_s[late]! * 60,
			densityLate: 1000 + excess[late]!,
			density: (s) => 1000 + excess[advanceStart + s]!,
		};
	}
	throw new Error('no cycle');
}

describe('a steady ring', () => {
	const { truth, flowLate, densityLate, density } = firstRing();

	it('has the flow and the density of the closed form once the chamber has settled', () => {
		expect(flowLate).toBeCloseTo(RETURN_M3_MIN, 6);
		expect(densityLate).toBeCloseTo(RETURN_KG_M3, 3);
	});

	it('gives the volume and the dry solids of the closed form', () => {
		// The wheel stops at a whole second, at most a second of advance beyond 1.4 m.
		expect(truth.advance_m).toBeGreaterThanOrEqual(1.4 - 1e-9);
		expect(truth.advance_m).toBeLessThan(1.4 + 0.04 / 60 + 1e-9);
		const nominal = 1.4 / truth.advance_m;
		expect(truth.volumeExcavated_m3 * nominal).toBeCloseTo(RING_M3, 5);
		expect((truth.drySolids_kg / 1000) * nominal).toBeCloseTo(RING_DRY_T, 5);
		expect(truth.volumeExcavated_m3 / truth.advance_m).toBeCloseTo(AREA_M2, 5);
	});

	it('passes 10 m³ of feed a minute, and the chamber holds back what it mixes', () => {
		const minutes = (truth.advanceEnd_s - truth.advanceStart_s) / 60;
		expect(minutes).toBeCloseTo(35, 1);
		expect(truth.feedVolume_m3).toBeCloseTo(10 * minutes, 6);
		// Excess that entered with the ground = what came back + what the chamber gained.
		const gained = truth.chamberExcessEnd_kg - truth.chamberExcessStart_kg;
		expect(truth.chamberExcessStart_kg).toBeCloseTo(30 * 100, 6);
		// End: 30 m³ at the steady excess, less the last second of the wheel's stop.
		expect(gained).toBeCloseTo(30 * (RETURN_KG_M3 - 1100), -2);
	});

	it('rises at the return meter by the exponential of a mixed chamber, one line later', () => {
		// V·dc/dt = Qf·cf + X − Qr·c with the ramp of 1 s centred half a second late.
		const lag_s = (100 * plan.returnLineArea_m2 * 60) / RETURN_M3_MIN;
		const settled = RETURN_KG_M3 - 1000;
		for (const after of [60, 120, 240, 600]) {
			const rest = Math.exp((-(after - 0.5) * RETURN_M3_MIN) / (60 * 30));
			const expected = 1000 + settled - (settled - 100) * rest;
			const at = lag_s + after;
			const low = density(Math.floor(at));
			const high = density(Math.ceil(at));
			expect(low + (high - low) * (at - Math.floor(at))).toBeCloseTo(expected, 1);
		}
	});

	it('takes the return line one volume at the flow after the ring to be emptied', () => {
		expect(truth.lag_s).toBeCloseTo((100 * plan.returnLineArea_m2) / (10 / 60), 1);
	});
});
