import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Papa from 'papaparse';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { MODES } from '../../../calc/circuit/samples.ts';
import { recordDecimals } from '../../../calc/drive/rounding.ts';
import { simulateDrive } from '../../../calc/drive/simulate.ts';
import { TRUTH_COLUMNS } from '../../../calc/drive/truth.ts';
import { isoTime, parseTime } from '../../../calc/quantity/time.ts';
import { LoggerText } from '../../../electron/command/loggertext.ts';
import { readSimulateWords, simulate, writeSimulated } from '../../../electron/command/simulate.ts';
import { readFolder } from '../../../electron/folder/read.ts';

let folder: string;
beforeAll(async () => {
	folder = await mkdtemp(join(tmpdir(), 'simulate-'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

/** Streams that keep what is written to them. */
function ears() {
	const heard = { out: '', err: '' };
	return {
		heard,
		streams: {
			out: (text: string) => {
				heard.out += text;
			},
			err: (text: string) => {
				heard.err += text;
			},
		},
	};
}

describe('writeSimulated', () => {
	it('writes a plain folder that is read back without a stop fault, cell by cell', async () => {
		const place = join(folder, 'small');
		const asked = { seed: 3, rings: 4, lineGrowth: 'during_thrust' } as const;
		const written = await writeSimulated(place, asked);
		expect([...written.files].sort()).toEqual((await readdir(place)).sort());
		const drive = simulateDrive(asked);
		expect(written).toMatchObject({ rings: 4, readings: drive.readings.length });

		const content = await readFolder(place);
		expect(content.faults.filter((fault) => fault.weight === 'stop')).toEqual([]);
		expect(content.invented).toBe(true);
		expect(content.utcOffset_min).toBe(60);
		expect(content.drive).toEqual(drive.drive);
		expect(content.rings).toEqual(drive.rings);
		expect(content.ground).toEqual(drive.ground);
		expect(content.meters).toEqual(drive.meters);
		expect(content.readings).toHaveLength(drive.readings.length);
		content.readings.forEach((row, i) => {
			expect(row).toMatchObject(drive.readings[i]!);
		});
		expect(content.loggerFiles).toEqual([join(place, 'logger.csv')]);
	});

	it('writes the logger record another reader reads back to the last digit', async () => {
		const asked = { seed: 3, rings: 4, lineGrowth: 'during_thrust' } as const;
		const text = await readFile(join(folder, 'small', 'logger.csv'), 'utf8');
		const read = Papa.parse<Record<string, string>>(text.trimEnd(), { header: true });
		expect(read.errors).toEqual([]);
		let row = 0;
		let wrong = 0;
		for (const batch of simulateDrive(asked).logger()) {
			for (let i = 0; i < batch.count; i++, row++) {
				const line = read.data[row]!;
				const time = parseTime(line.time ?? '', { utcOffset_min: null });
				const same =
					time.kind === 'time' &&
					time.time_s === batch.time_s[i] &&
					line.mode === MODES[batch.mode[i]!] &&
					Number(line.feed_flow_m3_h) === batch.feedFlow_m3_h[i] &&
					Number(line.feed_density_t_m3) === batch.feedDensity_t_m3[i] &&
					Number(line.return_flow_m3_h) === batch.returnFlow_m3_h[i] &&
					Number(line.return_density_t_m3) === batch.returnDensity_t_m3[i] &&
					Number(line.chamber_level_m) === batch.chamberLevel_m[i] &&
					Number(line.side_flow_m3_h) === batch.sideFlow_m3_h?.[i];
				if (!same) wrong++;
			}
		}
		expect(row).toBe(read.data.length);
		expect(row).toBeGreaterThan(15_000);
		expect(wrong).toBe(0);
	});

	it('writes the truth with a documented column each', async () => {
		const text = await readFile(join(folder, 'small', 'truth.csv'), 'utf8');
		const read = Papa.parse<Record<string, string>>(text.trimEnd(), { header: true });
		expect(read.meta.fields).toEqual(TRUTH_COLUMNS.map((column) => column.heading));
		for (const column of TRUTH_COLUMNS) expect(column.help).toMatch(/\.$/u);
		const { truth } = simulateDrive({ seed: 3, rings: 4, lineGrowth: 'during_thrust' });
		expect(read.data.map((row) => Number(row.volume_apparent_m3))).toEqual(
			truth.map((ring) => Number(ring.volumeApparent_m3.toFixed(4))),
		);
		expect(read.data[0]?.dry_solids_by_stratum_t).toMatch(/^[a-z ]+ \d+\.\d{4}/u);
	});

	it('leaves out what was not asked for and never touches a folder that holds something', async () => {
		const place = join(folder, 'few');
		const written = await writeSimulated(place, {
			seed: 1,
			rings: 1,
			logger: false,
			readings: false,
			meters: 'perfect',
		});
		expect(written.files).toEqual(['drive.json', 'rings.csv', 'ground.csv', 'truth.csv']);
		expect(written.loggerRows).toBe(0);
		const taken = join(folder, 'taken');
		await writeSimulated(taken, { seed: 1, rings: 1, logger: false });
		await writeFile(join(taken, 'mine.txt'), 'keep');
		const before = await readFile(join(taken, 'rings.csv'), 'utf8');
		const { heard, streams } = ears();
		expect(await simulate([taken, '--seed', '2', '--rings', '1'], streams)).toBe(1);
		expect(heard.err).toContain('[folder_not_empty]');
		expect(await readFile(join(taken, 'rings.csv'), 'utf8')).toBe(before);
	});
});

describe('LoggerText', () => {
	it('writes numbers as toFixed does, stamps as isoTime does, and missing values empty', () => {
		const values = [0, 0.05, 9.95, 99.95, 1100, 1234.5, 0.1, 19999.9];
		const count = values.length;
		const start = Date.UTC(2026, 2, 2, 23, 59, 57) / 1000;
		for (const utcOffset_min of [0, 60, -210]) {
			const text = new LoggerText(recordDecimals(false), utcOffset_min);
			const column = Float64Array.from(values, (value) => Math.round(value * 10) / 10);
			const density = Float64Array.from(values, (_, i) => (i === 3 ? Number.NaN : 1 + i / 1000));
			const pieces = text.pieces({
				ring: 1,
				count,
				time_s: Float64Array.from(values, (_, i) => start + i),
				mode: Uint8Array.from(values, (_, i) => i % 4),
				feedFlow_m3_h: column,
				feedDensity_t_m3: density,
				returnFlow_m3_h: column,
				returnDensity_t_m3: density,
				chamberLevel_m: Float64Array.from(values, () => 4.5),
				sideFlow_m3_h: null,
			});
			const lines = Buffer.concat(Array.from(pieces, (piece) => Buffer.from(piece)))
				.toString('utf8')
				.split('\n');
			expect(lines.pop()).toBe('');
			expect(lines).toEqual(
				values.map((_, i) => {
					const d = Number.isNaN(density[i]!) ? '' : density[i]!.toFixed(4);
					const q = column[i]!.toFixed(1);
					return `${isoTime(start + i, utcOffset_min)},${MODES[i % 4]},${q},${d},${q},${d},4.500`;
				}),
			);
		}
	});
});

describe('readSimulateWords', () => {
	it('reads every option', () => {
		const words =
			'out --seed 7 --rings 40 --diameter 9.5 --advance 1.8 --speed 28 --feed-flow 1500 --feed-density 1.09 --side-flow 0 --distance 900 --growth 1.8 --lines during_thrust --meters perfect --counter-capacity 50000 --events none --readings-every 120 --logger-every 10 --maintenance-every 0 --bypass-check-every 8 --steady --no-pauses --no-weekends --no-logger --no-readings';
		expect(readSimulateWords(words.split(' '))).toEqual({
			kind: 'ask',
			folder: 'out',
			ask: {
				seed: 7,
				rings: 40,
				diameter_m: 9.5,
				advance_m: 1.8,
				advanceSpeed_mm_min: 28,
				feedFlow_m3_h: 1500,
				feedDensity_t_m3: 1.09,
				sideFlow_m3_h: 0,
				returnMeterDistance_m: 900,
				lineGrowth_m_per_ring: 1.8,
				lineGrowth: 'during_thrust',
				meters: 'perfect',
				totaliserCapacity_m3: 50_000,
				events: 'none',
				readingInterval_s: 120,
				loggerInterval_s: 10,
				maintenanceEvery_rings: 0,
				checkBypassEvery_rings: 8,
				steady: true,
				pauses: false,
				weekendStop: false,
				logger: false,
				readings: false,
			},
		});
	});

	it.each([
		['--seed 1 --rings 2', 'Name one folder'],
		['a b --seed 1 --rings 2', 'Name one folder'],
		['a --rings 2', '--seed'],
		['a --seed 1', '--rings'],
		['a --seed x --rings 2', '--seed: This is not a number. (x)'],
		['a --seed 1 --rings 1,180', '--rings: This is not a number. (1,180)'],
		['a --seed 1 --rings 0x10', '--rings: This is not a number. (0x10)'],
		['a --seed 1 --rings 0', '--rings'],
		['a --seed 1 --rings 2 --diameter 40', 'from 2 to 20'],
		['a --seed 1 --rings 2 --meters broken', 'certified or perfect or uncorrected'],
		['a --seed 1 --rings 2 --frobnicate', 'frobnicate'],
	])('refuses "%s" with exit code 2 and says why', async (words, why) => {
		const { heard, streams } = ears();
		expect(await simulate(words.split(' '), streams)).toBe(2);
		expect(heard.err).toContain(why);
		expect(heard.err).toContain('simulate FOLDER --seed N --rings N');
		expect(heard.out).toBe('');
	});
});

describe('simulate --help', () => {
	it('lists the options and ends well', async () => {
		const { heard, streams } = ears();
		expect(await simulate(['--help'], streams)).toBe(0);
		for (const option of ['--seed', '--meters', '--no-logger', '--lines'])
			expect(heard.out).toContain(option);
	});
});

describe('the demo drive', () => {
	it('is what its command gives, file by file', async () => {
		const examples = join(import.meta.dirname, '../../../examples');
		const readme = await readFile(join(examples, 'README.md'), 'utf8');
		const command = /npm run --silent desk -- simulate (examples\/demo-drive .*)/u.exec(
			readme,
		)?.[1];
		const read = readSimulateWords((command ?? '').split(' '));
		if (read.kind === 'wrong') throw new Error(`the command in examples/README.md: ${command}`);
		const made = join(folder, 'demo');
		const written = await writeSimulated(made, read.ask);
		const demo = join(examples, 'demo-drive');
		expect((await readdir(demo)).sort()).toEqual([...written.files].sort());
		let bytes = 0;
		for (const name of written.files) {
			const text = await readFile(join(demo, name), 'utf8');
			bytes += Buffer.byteLength(text);
			expect(text === (await readFile(join(made, name), 'utf8')), name).toBe(true);
		}
		expect(bytes).toBeLessThan(1_000_000);
		const { events } = simulateDrive(read.ask).plan;
		expect(new Set(events.map((event) => event.kind)).size).toBe(5);
		expect(readme).toContain('invented');
	});
});
