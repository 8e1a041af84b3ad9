import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import Papa from 'papaparse';
import { beforeAll, describe, expect, it } from 'vitest';
import { balanceRing } from '../../../calc/circuit/balance.ts';
import { READINGS_GAP_LIMIT_S } from '../../../calc/circuit/gap.ts';
import type { RingBalance } from '../../../calc/circuit/ringbalance.ts';
import {
	driveSettings,
	groundShare,
	meterCertificate,
	ringInput,
} from '../../../calc/sheet/inputs.ts';
import { samplesFromReadings } from '../../../calc/sheet/samples.ts';
import { readFolder } from '../../../electron/folder/read.ts';

// What examples/README.md says the demo shows, held against the truth beside it.

const DEMO = join(import.meta.dirname, '../../../examples/demo-drive');

interface Outcome {
	readonly balance: RingBalance;
	readonly truth: Readonly<Record<string, string>>;
}
const byRing = new Map<number, Outcome>();

beforeAll(async () => {
	const content = await readFolder(DEMO);
	expect(content.faults.filter((fault) => fault.weight === 'stop')).toEqual([]);
	const text = await readFile(join(DEMO, 'truth.csv'), 'utf8');
	const truth = Papa.parse<Record<string, string>>(text.trimEnd(), { header: true }).data;
	const samples = samplesFromReadings(content.readings);
	const rings = content.rings.map(ringInput);
	rings.forEach((ring, i) => {
		byRing.set(ring.ring, {
			truth: truth[i]!,
			balance: balanceRing({
				ring,
				samples,
				source: 'readings',
				settings: driveSettings(content.drive),
				ground: content.ground.map(groundShare),
				meters: content.meters.map(meterCertificate),
				gapLimit_s: READINGS_GAP_LIMIT_S,
				referenceLevel_m: rings[0]!.chamberLevelStart_m,
			}),
		});
	});
});

const of = (ring: number): Outcome => byRing.get(ring)!;
const volume = (ring: number): number => of(ring).balance.ratioVolume.value!;
const solids = (ring: number): number => of(ring).balance.ratioSolids.value!;

const near = (ratio: number, expected: number): void =>
	expect(Math.abs(ratio - expected)).toBeLessThan(0.02);

describe('the demo drive', () => {
	it('shows the over-excavation in both ratios', () => {
		near(volume(12), 1.09);
		near(solids(12), 1.09);
	});

	it('shows the inflow in the volume only', () => {
		near(volume(18), 1.14);
		near(solids(18), 1);
	});

	it('shows the loss in the volume, and hardly in the solids', () => {
		near(volume(28), 0.88);
		near(solids(28), 0.99);
	});

	it('shows the densitometer in the solids only, until it is certified anew', () => {
		for (const ring of [32, 33, 34, 35]) {
			expect(solids(ring)).toBeGreaterThan(1.08);
			near(volume(ring), 1);
		}
		near(solids(31), 1);
		near(solids(36), 1);
	});

	it('says what is missing in ring 23 and is less sure of it', () => {
		const { balance } = of(23);
		expect(balance.missingSeconds).toBeGreaterThan(17 * 60 - 1);
		expect(balance.notes.map((note) => note.code)).toContain('missing_time');
		expect(balance.volumeApparent_m3.u!).toBeGreaterThan(3 * of(22).balance.volumeApparent_m3.u!);
		for (const [ring, { balance: other }] of byRing)
			if (ring !== 23) expect(other.missingSeconds).toBe(0);
	});

	it('comes within 2 % of the true volume and 3 % of the true solids in every sound ring', () => {
		expect(byRing.size).toBe(40);
		for (const [ring, { balance, truth }] of byRing) {
			if (ring === 23) continue;
			const apparent = balance.volumeApparent_m3.value! / Number(truth.volume_apparent_m3);
			expect(Math.abs(apparent - 1)).toBeLessThan(0.02);
			if (ring === 28 || (ring >= 32 && ring <= 35)) continue;
			const dry = balance.drySolids_kg.value! / 1000 / Number(truth.dry_solids_t);
			expect(Math.abs(dry - 1)).toBeLessThan(0.03);
		}
	});

	it('finds the lag the truth has, to a second', () => {
		for (const { balance, truth } of byRing.values())
			expect(Math.abs(balance.lag.lag_s! - Number(truth.lag_s))).toBeLessThan(1);
	});
});
