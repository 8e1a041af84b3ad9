import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { passesChamber } from '../../../calc/circuit/samples.ts';
import type { Crossing, DriveAudit } from '../../../calc/drive/audit.ts';
import type { DriveOptions } from '../../../calc/drive/plan.ts';
import { simulateDrive } from '../../../calc/drive/simulate.ts';

const between = (min: number, max: number) => fc.double({ min, max, noNaN: true });

/** Any drive a person could ask for, short enough to be run many times. */
const options: fc.Arbitrary<DriveOptions> = fc.record({
	seed: fc.nat(),
	rings: fc.integer({ min: 1, max: 5 }),
	diameter_m: between(3, 15),
	overcut_mm: fc.option(between(0, 60), { nil: null }),
	advance_m: between(0.8, 2.2),
	advanceSpeed_mm_min: between(15, 60),
	feedFlow_m3_h: between(500, 2600),
	feedDensity_t_m3: between(1.03, 1.2),
	feedBentoniteShare: between(0, 1),
	chamberMixedVolume_m3: between(20, 300),
	workingChamberArea_m2: between(4, 60),
	feedLineDiameter_m: between(0.2, 0.5),
	returnLineDiameter_m: between(0.2, 0.5),
	returnMeterDistance_m: between(50, 3000),
	lineGrowth_m_per_ring: between(0, 3),
	lineGrowth: fc.constantFrom('after_thrust' as const, 'during_thrust' as const),
	sideFlow_m3_h: between(0, 40),
	steady: fc.boolean(),
	meters: fc.constant('perfect' as const),
	events: fc.constant([
		{ kind: 'over_excavation' as const, ring: 1, fraction: 0.1 },
		{ kind: 'water_inflow' as const, ring: 1, flow_m3_h: 25 },
		{ kind: 'suspension_loss' as const, ring: 1, flow_m3_h: 20 },
	]),
});

const IN = ['feed', 'ground', 'inflow', 'side', 'pipes'] as const;
const OUT = ['back', 'loss'] as const;
const KINDS: readonly (keyof Crossing)[] = ['volume_m3', 'excess_kg', 'bentonite_kg'];

function leftOver(audit: DriveAudit, kind: keyof Crossing): number {
	const sum = (keys: readonly (keyof DriveAudit)[]): number =>
		keys.reduce((total, key) => total + audit[key][kind], 0);
	return sum(IN) - sum(OUT) - (audit.heldAtEnd[kind] - audit.heldAtStart[kind]);
}

describe('the simulated loop', () => {
	it('closes in volume, excess mass and bentonite to 1e-9 of what went through', () => {
		fc.assert(
			fc.property(options, (asked) => {
				const { audit } = simulateDrive(asked);
				for (const kind of KINDS) {
					expect(Math.abs(leftOver(audit, kind))).toBeLessThanOrEqual(
						1e-9 * Math.max(audit.feed[kind], 1),
					);
				}
			}),
			{ seed: 20260303, numRuns: 12 },
		);
	});

	it('records what perfect meters must show: ring by ring the volume balance holds on the grid', () => {
		fc.assert(
			fc.property(options, (asked) => {
				const drive = simulateDrive(asked);
				const rows: { t: number; mode: number; difference: number; level: number }[] = [];
				for (const batch of drive.logger())
					for (let i = 0; i < batch.count; i++)
						rows.push({
							t: batch.time_s[i]!,
							mode: batch.mode[i]!,
							difference:
								(batch.returnFlow_m3_h[i]! -
									batch.feedFlow_m3_h[i]! -
									(batch.sideFlow_m3_h?.[i] ?? 0)) /
								3600,
							level: batch.chamberLevel_m[i]!,
						});
				const { feedLineArea_m2, returnLineArea_m2, workingChamberArea_m2 } = drive.plan;
				drive.truth.forEach((truth, ring) => {
					const from = rows.findIndex((row) => row.t === truth.advanceStart_s);
					const to = rows.findIndex((row) => row.t === truth.advanceEnd_s);
					let volume = workingChamberArea_m2 * (rows[to]!.level - rows[from]!.level);
					const extension = drive.rings[ring]?.line_extension_m;
					if (typeof extension === 'number')
						volume += (feedLineArea_m2 + returnLineArea_m2) * extension;
					for (let i = from; i < to; i++)
						if (passesChamber(rows[i]!.mode))
							volume += (rows[i]!.difference + rows[i + 1]!.difference) / 2;
					// Three columns rounded to 0.001 m³/h, in a steady drive the same way all along; levels to 1e-6 m.
					const rounding = (3 * 5e-4 * (to - from)) / 3600 + 2e-6 * workingChamberArea_m2;
					expect(Math.abs(volume - truth.volumeApparent_m3)).toBeLessThanOrEqual(rounding + 1e-5);
				});
			}),
			{ seed: 20260304, numRuns: 6 },
		);
	});

	it('keeps the parts of the truth together', () => {
		const { truth } = simulateDrive({ seed: 11, rings: 20 });
		for (const ring of truth) {
			const byMeters =
				ring.returnVolume_m3 -
				ring.feedVolume_m3 -
				ring.sideVolume_m3 +
				ring.chamberVolumeChange_m3 +
				ring.lineVolumeChange_m3;
			expect(byMeters).toBeCloseTo(ring.volumeApparent_m3, 8);
			expect(ring.volumeExcavated_m3 - ring.overExcavation_m3).toBeCloseTo(
				ring.volumeExpected_m3,
				9,
			);
			const strata = ring.drySolidsByStratum.reduce((sum, part) => sum + part.drySolids_kg, 0);
			expect(strata).toBeCloseTo(ring.drySolids_kg, 6);
		}
	});
});
