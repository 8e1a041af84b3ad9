import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { GroundShare } from '../../../calc/circuit/settings.ts';
import { faceMix } from '../../../calc/ground/facemix.ts';

const share = (stratum: string, faceFraction: number, grain: number, dry: number): GroundShare => ({
	fromRing: 10,
	toRing: 20,
	stratum,
	faceFraction,
	grainDensity_kg_m3: grain,
	dryDensity_kg_m3: dry,
});
const mixed = (shares: GroundShare[]) => {
	const mix = faceMix(shares, 15);
	if (mix.kind === 'fault') throw new Error(mix.fault.message);
	return mix;
};

const face = fc
	.array(
		fc.tuple(
			fc.double({ min: 0.05, max: 1, noNaN: true }),
			fc.double({ min: 2000, max: 3000, noNaN: true }),
			fc.double({ min: 800, max: 1900, noNaN: true }),
		),
		{ minLength: 1, maxLength: 6 },
	)
	.map((parts) => {
		const all = parts.reduce((sum, [part]) => sum + part, 0);
		return parts.map(([part, grain, dry], i) => share(`s${i}`, part / all, grain, dry));
	});

test('the mixed grain density meets the excess mass of the strata in any liquid', () => {
	fc.assert(
		fc.property(face, fc.double({ min: 985, max: 1035, noNaN: true }), (shares, rw) => {
			const mix = mixed(shares);
			const masses = shares.map((s) => s.faceFraction * s.dryDensity_kg_m3);
			const mass = masses.reduce((a, b) => a + b, 0);
			const excess = shares.reduce(
				(sum, s, i) => sum + (masses[i] ?? 0) * (1 - rw / s.grainDensity_kg_m3),
				0,
			);
			expect(Math.abs(mass * (1 - rw / mix.grainDensity_kg_m3) - excess)).toBeLessThan(1e-9 * mass);
			expect(Math.abs(mix.dryDensity_kg_m3 - mass)).toBeLessThan(1e-9 * mass);
		}),
		{ seed: 2200, numRuns: 500 },
	);
});

test('the order of the strata changes nothing', () => {
	fc.assert(
		fc.property(face, (shares) => {
			const there = mixed(shares);
			const back = mixed([...shares].reverse());
			expect(back.grainDensity_kg_m3).toBeCloseTo(there.grainDensity_kg_m3, 9);
			expect(back.dryDensity_kg_m3).toBeCloseTo(there.dryDensity_kg_m3, 9);
		}),
		{ seed: 2201, numRuns: 300 },
	);
});

test('one stratum is itself', () => {
	expect(mixed([share('sand', 1, 2650, 1600)])).toEqual({
		kind: 'mix',
		strata: [{ stratum: 'sand', faceFraction: 1 }],
		grainDensity_kg_m3: 2650,
		dryDensity_kg_m3: 1600,
	});
});

test('shares rounded to three decimals are scaled to the whole face', () => {
	const mix = mixed(['a', 'b', 'c'].map((name) => share(name, 0.333, 2650, 1600)));
	expect(mix.dryDensity_kg_m3).toBeCloseTo(1600, 9);
	expect(mix.strata.reduce((sum, s) => sum + s.faceFraction, 0)).toBeCloseTo(1, 12);
});

test.each([
	['no share for the ring', [{ ...share('sand', 1, 2650, 1600), toRing: 14 }], 'ground_missing'],
	['shares that do not add up', [share('sand', 0.99, 2650, 1600)], 'face_fraction_sum'],
	['a share that is not a number', [share('sand', Number.NaN, 2650, 1600)], 'face_fraction_sum'],
	['ground denser than its grains', [share('sand', 1, 2650, 2650)], 'dry_density_not_below_grain'],
	['ground without mass', [share('sand', 1, 2650, 0)], 'dry_density_not_below_grain'],
])('%s is a fault of that ring', (_, shares, code) => {
	const mix = faceMix(shares, 15);
	if (mix.kind !== 'fault') throw new Error('a mix was made');
	expect(mix.fault).toMatchObject({ code, weight: 'stop', where: { ring: 15 } });
});
