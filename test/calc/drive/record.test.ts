import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { totaliserPassage } from '../../../calc/circuit/totaliser.ts';
import { checkDriveOptions, type DriveOptions } from '../../../calc/drive/plan.ts';
import { type SimulatedDrive, simulateDrive } from '../../../calc/drive/simulate.ts';
import { columnsOf, findColumn } from '../../../calc/sheet/catalogue.ts';
import type { EnteredSheetId } from '../../../calc/sheet/column.ts';
import { checkRow, checkSheet } from '../../../calc/sheet/rules.ts';

const sheets = (drive: SimulatedDrive) => ({
	drive: [drive.drive],
	rings: drive.rings,
	ground: drive.ground,
	readings: drive.readings,
	meters: drive.meters,
});

function loggerHash(drive: SimulatedDrive): string {
	const hash = createHash('sha256');
	for (const batch of drive.logger()) {
		hash.update(batch.mode.subarray(0, batch.count));
		for (const column of [
			batch.time_s,
			batch.feedFlow_m3_h,
			batch.feedDensity_t_m3,
			batch.returnFlow_m3_h,
			batch.returnDensity_t_m3,
			batch.chamberLevel_m,
		])
			hash.update(new Uint8Array(column.buffer, column.byteOffset, batch.count * 8));
	}
	return hash.digest('hex');
}

const textHash = (drive: SimulatedDrive): string =>
	createHash('sha256')
		.update(JSON.stringify([sheets(drive), drive.truth]))
		.digest('hex');

describe('the same seed', () => {
	it('gives the same sheets, truth and logger record to the last bit', () => {
		const asked = { seed: 42, rings: 4 };
		const [a, b] = [simulateDrive(asked), simulateDrive(asked)];
		expect(textHash(b)).toBe(textHash(a));
		expect(loggerHash(b)).toBe(loggerHash(a));
		expect(loggerHash(a)).toBe(loggerHash(a));
		expect(textHash(simulateDrive({ seed: 43, rings: 4 }))).not.toBe(textHash(a));
	});

	it('gives the drive it has always given', () => {
		// A change here changes every drive made so far: the demo must then be made anew.
		const drive = simulateDrive({ seed: 42, rings: 4 });
		expect(textHash(drive)).toBe(GOLDEN_SHEETS);
		expect(loggerHash(drive)).toBe(GOLDEN_LOGGER);
	});

	it('gives the same truth whatever is recorded of it, and by whom', () => {
		const { truth } = simulateDrive({ seed: 42, rings: 4, dryDensityScatter_rel: 0.01 });
		for (const other of [
			{ loggerInterval_s: 10 },
			{ readingInterval_s: 60 },
			{ meters: 'perfect' },
			{ meters: 'uncorrected' },
			{ totaliserCapacity_m3: 5000 },
		] satisfies Partial<DriveOptions>[])
			expect(
				simulateDrive({ seed: 42, rings: 4, dryDensityScatter_rel: 0.01, ...other }).truth,
			).toEqual(truth);
	});
});

const GOLDEN_SHEETS = '01335156a140d798e687f133fcf7a565aea4ca4365266bf2dc850780766405d7';
const GOLDEN_LOGGER = '0b4fbdbba018680db8b36eacb0ce5e0591f91b367996903bf77eadeb1010352f';

describe('the sheets', () => {
	const drive = simulateDrive({ seed: 9, rings: 45, totaliserCapacity_m3: 20_000 });

	it('bear the columns of the catalogue, hold every required cell and break no rule', () => {
		for (const [sheet, rows] of Object.entries(sheets(drive)) as [
			EnteredSheetId,
			readonly Record<string, unknown>[],
		][]) {
			const required = columnsOf(sheet).filter((column) => column.required);
			const broken = rows.flatMap((row) => [
				...Object.keys(row).filter((id) => !findColumn(sheet, id)),
				...required
					.filter(({ id }) => row[id] === undefined || row[id] === null)
					.map(({ id }) => id),
				...Object.entries(row)
					.filter(([id, value]) => {
						const column = findColumn(sheet, id);
						if (!column || typeof value !== 'number') return false;
						const { min, max, plausibleMin, plausibleMax } = column;
						return (
							value < Math.max(min ?? -Infinity, plausibleMin ?? -Infinity) ||
							value > Math.min(max ?? Infinity, plausibleMax ?? Infinity)
						);
					})
					.map(([id, value]) => `${id} ${value}`),
				...checkRow(sheet, row as never).map((fault) => fault.code),
			]);
			expect(broken).toEqual([]);
			expect(checkSheet(sheet, rows as never)).toEqual([]);
		}
	});

	it('say which shift read, hold laboratory figures about twice a shift and a few notes', () => {
		const { readings } = drive;
		const hours = (Number(readings.at(-1)!.time) - Number(readings[0]!.time)) / 3600;
		const lab = readings.filter((row) => row.marsh_s_per_quart !== undefined);
		expect(lab.length / (hours / 12)).toBeGreaterThan(1);
		expect(lab.length / (hours / 12)).toBeLessThan(2.5);
		for (const row of readings) {
			const hour = Math.floor((Number(row.time) + 3600) / 3600) % 24;
			expect(row.entered_by).toBe(hour >= 6 && hour < 18 ? 'day shift' : 'night shift');
		}
		expect(readings.filter((row) => row.note !== undefined).length).toBeGreaterThan(4);
	});

	it('leave out what was not recorded instead of writing nothings', () => {
		const gap = drive.truth.find((ring) =>
			ring.events.some((event) => event.startsWith('no record')),
		);
		const times = drive.readings
			.map((row) => Number(row.time))
			.filter((time) => time >= gap!.advanceStart_s && time <= gap!.advanceEnd_s);
		const steps = times.slice(1).map((time, i) => time - times[i]!);
		expect(Math.max(...steps)).toBeGreaterThan(17 * 60);
		for (const row of drive.readings) expect(Object.values(row)).not.toContain(null);
		const logged: number[] = [];
		for (const batch of drive.logger())
			if (batch.ring === gap!.ring) logged.push(...batch.time_s.slice(0, batch.count));
		const jumps = logged.slice(1).map((time, i) => time - logged[i]!);
		expect(jumps.filter((jump) => jump !== 1)).toEqual([17 * 60 + 1]);
	});
});

/** Value = offset + slope · reading, as a certificate has it. */
const corrected = (
	drive: SimulatedDrive,
	meter: string,
	reading: number,
	time_s: number,
): number => {
	const valid = drive.meters.filter(
		(row) => row.meter === meter && Number(row.valid_from) <= time_s,
	);
	const last = valid.at(-1);
	return last ? Number(last.offset) + Number(last.slope) * reading : reading;
};

describe('the meters', () => {
	const asked = { seed: 21, rings: 30 } as const;
	const perfect = [...simulateDrive({ ...asked, meters: 'perfect', events: 'usual' }).logger()]
		.length;
	const pairs = [
		['feed_flow', 'feedFlow_m3_h'],
		['return_flow', 'returnFlow_m3_h'],
		['feed_density', 'feedDensity_t_m3'],
		['return_density', 'returnDensity_t_m3'],
	] as const;

	/** Mean over each ring of (corrected or raw reading − truth), flowing only, by meter. */
	function deviations(state: 'certified' | 'uncorrected') {
		const drive = simulateDrive({ ...asked, meters: state });
		const truth = simulateDrive({
			...asked,
			meters: 'perfect',
			events: drive.plan.events,
			dryDensityScatter_rel: 0.008,
		});
		const rings: Record<string, { ring: number; mean: number; sd: number }[]> = {};
		const record = drive.logger();
		for (const exact of truth.logger()) {
			const shown = record.next().value!;
			for (const [meter, column] of pairs) {
				let n = 0;
				let sum = 0;
				let squares = 0;
				for (let i = 0; i < shown.count; i++) {
					if (shown.time_s[i] !== exact.time_s[i]) throw new Error('the records differ in time');
					if (exact.feedFlow_m3_h[i]! < 500) continue;
					const off =
						corrected(drive, meter, shown[column][i]!, shown.time_s[i]!) - exact[column][i]!;
					n++;
					sum += off;
					squares += off * off;
				}
				rings[meter] ??= [];
				rings[meter].push({
					ring: shown.ring,
					mean: sum / n,
					sd: Math.sqrt(squares / n - (sum / n) ** 2),
				});
			}
		}
		return { drive, rings };
	}

	it('are near the truth after their certificates, off without them', () => {
		expect(perfect).toBe(30);
		const certified = deviations('certified').rings;
		const raw = deviations('uncorrected');
		expect(raw.drive.meters).toEqual([]);
		const within = {
			feed_flow: 2.5,
			return_flow: 2.5,
			feed_density: 0.0012,
			return_density: 0.0012,
		};
		for (const [meter] of pairs) {
			// Between the step of the densitometer and its next certificate it is meant to be off.
			const sound = certified[meter]!.filter(({ ring }) => ring < 24 || ring >= 28);
			for (const { mean } of sound) expect(Math.abs(mean)).toBeLessThan(within[meter]);
			const worst = Math.max(...raw.rings[meter]!.map(({ mean }) => Math.abs(mean)));
			expect(worst).toBeGreaterThan(Math.max(...sound.map(({ mean }) => Math.abs(mean))));
		}
		const stepped = certified.return_density!.filter(({ ring }) => ring >= 24 && ring < 28);
		expect(stepped.length).toBe(4);
		for (const { mean } of stepped) expect(Math.abs(mean - 0.006)).toBeLessThan(0.0012);
	});

	it('scatter by as much as was set: flows about 0.2 %, densities about 0.5 and 1.1 kg/m³', () => {
		const { rings } = deviations('certified');
		const spread = (meter: string) =>
			rings[meter]!.reduce((sum, ring) => sum + ring.sd, 0) / rings[meter]!.length;
		// √(0.15² + 0.10²) % of 1,100 m³/h, √(0.4² + 0.3²) and √(0.8² + 0.8²) kg/m³.
		expect(spread('feed_flow')).toBeGreaterThan(1.7);
		expect(spread('feed_flow')).toBeLessThan(2.3);
		expect(spread('feed_density') * 1000).toBeGreaterThan(0.4);
		expect(spread('feed_density') * 1000).toBeLessThan(0.6);
		expect(spread('return_density') * 1000).toBeGreaterThan(0.95);
		expect(spread('return_density') * 1000).toBeLessThan(1.3);
	});

	it('count what they show, through the end of the counter', () => {
		const capacity = 4000;
		const drive = simulateDrive({
			seed: 3,
			rings: 6,
			meters: 'perfect',
			totaliserCapacity_m3: capacity,
		});
		for (const [total, crossing] of [
			['feed_total_m3', drive.audit.feed],
			['return_total_m3', drive.audit.back],
		] as const) {
			const passage = totaliserPassage(
				drive.readings.map((row) => Number(row[total])),
				capacity,
			);
			if (passage.kind === 'fault') throw new Error(passage.fault.message);
			expect(passage.rollOvers).toBeGreaterThan(1);
			expect(passage.volume_m3).toBeCloseTo(crossing.volume_m3, 2);
		}
	});
});

describe('checkDriveOptions', () => {
	it('names every option that cannot be, with what can', () => {
		const faults = checkDriveOptions({
			seed: -1,
			rings: 2.5,
			diameter_m: 40,
			readingInterval_s: Number.NaN,
			events: [{ kind: 'record_gap', ring: 9, minutes: 5 }],
		});
		expect(faults.map((fault) => fault.where.column)).toEqual([
			'seed',
			'rings',
			'diameter_m',
			'readingInterval_s',
			'events',
		]);
		for (const fault of faults) expect(fault.where.expected).toMatch(/from .* to /u);
		expect(() => simulateDrive({ seed: 1, rings: 0 })).toThrow(RangeError);
	});
});
