import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';
import type { NewOrigin, NewRows } from '../../../electron/store/newfile.ts';
import { ProjectFile } from '../../../electron/store/projectfile.ts';

/** A folder that is gone when the test file ends. */
export function scratchFolder(): string {
	const folder = mkdtempSync(join(tmpdir(), 'slurry-'));
	afterAll(() => rmSync(folder, { recursive: true, force: true }));
	return folder;
}

/** An invented drive of two rings and 600 readings, enough for several digest blocks. */
export function smallDrive(change: Partial<NewRows & NewOrigin> = {}): NewRows & NewOrigin {
	return {
		drive: { title: 'Invented drive', excavated_diameter_m: 9.2, nominal_advance_m: 1.8 },
		rings: [1, 2].map((ring) => ({
			ring,
			advance_start: ring * 10_000,
			advance_end: ring * 10_000 + 3_000,
			stroke_start_mm: 0,
			stroke_end_mm: 1_800,
		})),
		ground: [
			{
				from_ring: 1,
				to_ring: 2,
				stratum: 'sand',
				face_fraction: 1,
				grain_density_t_m3: 2.65,
				dry_density_t_m3: 1.7,
				'passing_0.063_mm': 7.5,
				passing_2_mm: 98,
			},
		],
		readings: Array.from({ length: 600 }, (_, i) => ({
			time: 9_000 + i * 30,
			mode: i % 100 < 80 ? 'advance' : 'stop',
			feed_flow_m3_h: 1_000 + (i % 7),
			feed_density_t_m3: 1.05,
			return_flow_m3_h: 1_060 + (i % 5),
			return_density_t_m3: 1.15,
			...(i % 50 === 0 ? { note: 'ünïcode, "quotes"', ph: 9.5 } : {}),
		})),
		meters: [{ meter: 'feed_flow', valid_from: 0, slope: 1.001, offset: 0.1, certificate: 'A-1' }],
		bypass_decisions: [
			{
				from_time: 9_100,
				to_time: 9_400,
				decision: 'reject',
				quantity: 'flow',
				why: 'valve leaking',
			},
		],
		mode_overrides: [{ from_time: 9_500, to_time: 9_530, mode: 'stop', why: 'pump tripped' }],
		formulas: [
			{
				sheet: 'ledger',
				column_id: 'volume_loss',
				heading: 'Volume loss',
				unit: 'm3',
				decimals: 1,
				expression: 'volume_expected_m3 - volume_apparent_m3',
			},
		],
		limits: [
			{ sheet: 'ledger', column_id: 'volume_loss', low: -2.5, high: 4, unit: 'm3', why: 'agreed' },
		],
		facts: {
			utcOffset_min: 60,
			invented: true,
			created_s: 1_700_000_000.5,
			appVersion: '0.1.0',
			hasLogger: false,
		},
		sources: [
			{
				file: 'readings.csv',
				sha256: 'ab'.repeat(32),
				bytes: 10,
				rows: 600,
				firstTime_s: 9_000,
				lastTime_s: 26_970,
			},
		],
		balances: [],
		person: 'Operator A',
		label: 'import of a folder',
		kind: 'import',
		leftOutRows: 0,
		...change,
	};
}

export function openForWriting(path: string): ProjectFile {
	const opened = ProjectFile.open({
		path,
		for: 'write',
		person: 'Engineer B',
		now_s: 1_700_000_100,
	});
	if (!opened.ok) throw new Error(`${opened.code}: ${opened.message}`);
	return opened.value;
}
