import { spawn } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { fileURLToPath } from 'node:url';
import Papa from 'papaparse';
import { beforeAll, describe, expect, it } from 'vitest';
import { columnsOf } from '../../../calc/sheet/catalogue.ts';
import { runCommand } from '../../../electron/command/desk.ts';
import { TestDesk, writeInventedFolder } from '../desk/invented.ts';
import { scratchFolder } from '../store/smalldrive.ts';

const folder = scratchFolder();
const at = (name: string) => join(folder, name);
const caller = { person: 'Script', now_s: 1_780_000_000, appVersion: '0.0.0' };

async function run(...args: string[]) {
	let out = '';
	let err = '';
	const code = await runCommand(args, caller, {
		out: (text) => {
			out += text;
		},
		err: (text) => {
			err += text;
		},
	});
	return { code, out, err };
}

beforeAll(async () => {
	writeInventedFolder(at('demo'), { rings: 6 });
	expect(await run('new', at('made.slurrybook'), '--from', at('demo'))).toMatchObject({
		code: 0,
		err: '',
	});
});

describe('the headless command', () => {
	it('ends with 2 and its usage for anything it does not know', async () => {
		for (const args of [
			[],
			['nonsense'],
			['new', at('x')],
			['new', '--from', at('demo')],
			['rings'],
			['rings', at('made.slurrybook'), '--json', '--csv'],
			['rings', at('made.slurrybook'), '--xml'],
			['rings', at('made.slurrybook'), 'more'],
			['export', at('made.slurrybook')],
			['check'],
			['report', at('made.slurrybook'), 'out'],
		]) {
			const { code, out, err } = await run(...args);
			expect(code, args.join(' ')).toBe(2);
			expect(out).toBe('');
			expect(err).toContain('rings PROJECT');
		}
		const help = await run('help');
		expect(help).toMatchObject({ code: 0, err: '' });
		expect(help.out).not.toContain('report');
	});

	it('prints the rings with the keys others script against', async () => {
		const { code, out } = await run('rings', at('made.slurrybook'), '--json');
		expect(code).toBe(0);
		const rings = JSON.parse(out);
		expect(rings).toHaveLength(6);
		// The agreed keys of the interface; more may be there, none may be gone.
		for (const ring of rings)
			for (const key of [
				'ring',
				'mode_seconds',
				'missing_seconds',
				'advance_m',
				'volume_expected_m3',
				'volume_apparent_m3',
				'volume_apparent_u_m3',
				'dry_solids_t',
				'dry_solids_u_t',
				'dry_solids_expected_t',
				'volume_from_solids_m3',
				'ratio_volume',
				'ratio_solids',
				'flags',
			]) {
				expect(ring).toHaveProperty(key);
				if (ring[key] === null) expect(ring.flags.join(' ')).toContain(key);
			}
	});

	it('adds the correction and the figures without it where one is in use', async () => {
		writeInventedFolder(at('checked'), { rings: 6 });
		const drive = JSON.parse(readFileSync(at('checked/drive.json'), 'utf8'));
		writeFileSync(
			at('checked/drive.json'),
			JSON.stringify({ ...drive, meter_correction: 'return' }),
		);
		const made = await run('new', at('checked.slurrybook'), '--from', at('checked'));
		expect(made).toMatchObject({ code: 0, err: '' });
		const plain = JSON.parse((await run('rings', at('made.slurrybook'), '--json')).out);
		const rings = JSON.parse((await run('rings', at('checked.slurrybook'), '--json')).out);
		expect(rings).toHaveLength(plain.length);
		for (const [n, ring] of rings.entries()) {
			expect(ring.volume_uncorrected_m3).toBe(plain[n].volume_apparent_m3);
			expect(ring.dry_solids_uncorrected_t).toBe(plain[n].dry_solids_t);
			expect(ring.volume_apparent_m3).not.toBe(plain[n].volume_apparent_m3);
			expect(ring.correction.side).toBe('return');
			// In bypass the return meter of this drive shows 0.2 % less than the certified feed meter.
			expect(ring.correction.flow_scale_pct).toBeGreaterThan(-0.35);
			expect(ring.correction.flow_scale_pct).toBeLessThan(-0.05);
			expect(plain[n]).not.toHaveProperty('correction');
		}
		const csv = Papa.parse<Record<string, string>>(
			(await run('rings', at('checked.slurrybook'), '--csv')).out.trim(),
			{ header: true },
		);
		expect(Number(csv.data[2]!.volume_uncorrected_m3)).toBe(plain[2].volume_apparent_m3);
	});

	it('takes a project of an older version, bringing it forward with a copy beside it', async () => {
		const old = new URL('../store/fixtures/version-1.sqlite', import.meta.url).pathname;
		cpSync(old, at('older.slurrybook'));
		const { code, out } = await run('rings', at('older.slurrybook'), '--json');
		expect(code).toBe(0);
		expect(JSON.parse(out)).toHaveLength(3);
		expect(readFileSync(at('older.slurrybook.version-1.bak')).equals(readFileSync(old))).toBe(true);
		expect((await run('check', at('older.slurrybook'))).code).toBe(0);
	});

	it('prints the same ledger as JSON, as CSV and on screen', async () => {
		const json = JSON.parse((await run('rings', at('made.slurrybook'), '--json')).out);
		const csv = Papa.parse<Record<string, string>>(
			(await run('rings', at('made.slurrybook'), '--csv')).out.trim(),
			{ header: true },
		);
		expect(csv.errors).toEqual([]);
		expect(csv.meta.fields).toEqual(columnsOf('ledger').map((column) => column.id));
		const desk = new TestDesk(folder);
		await desk.open('made.slurrybook');
		const screen = (await desk.must('sheet.rows', { sheet: 'ledger' })).rows;
		desk.handle.close();
		expect(screen).toHaveLength(json.length);
		for (const [n, row] of screen.entries())
			for (const key of Object.keys(row.cells)) {
				const value = row.cells[key] ?? null;
				if (key in json[n] && key !== 'flags') expect(json[n][key], key).toEqual(value);
				if (typeof value === 'number' && key !== 'advance_start')
					expect(Number(csv.data[n]![key]), key).toBe(value);
				if (value === null) expect(csv.data[n]![key], key).toBe('');
			}
		expect(json[0].mode_seconds.advance).toBeCloseTo(
			Number(screen[0]!.cells.mode_seconds_advance) * 60,
			9,
		);
		const table = (await run('rings', at('made.slurrybook'))).out;
		for (const row of screen)
			expect(table).toContain(Number(row.cells.volume_apparent_m3).toFixed(2));
	});

	it('works beside a desk that has the project open', async () => {
		const desk = new TestDesk(folder);
		await desk.open('made.slurrybook');
		expect((await run('rings', at('made.slurrybook'), '--json')).code).toBe(0);
		expect((await desk.must('desk.state', {})).document?.readOnly).toBe(false);
		desk.handle.close();
	});

	it('goes round: an exported folder makes the same ledger, and the same folder again', async () => {
		expect((await run('export', at('made.slurrybook'), at('out'))).out.split('\n')).toContain(
			'rings.csv',
		);
		expect((await run('new', at('second'), '--from', at('out'))).code).toBe(0);
		const rings = async (name: string) => (await run('rings', at(name), '--json')).out;
		expect(await rings('second.slurrybook')).toBe(await rings('made.slurrybook'));
		expect((await run('export', at('second.slurrybook'), at('out again'))).code).toBe(0);
		for (const file of ['drive.json', 'rings.csv', 'ground.csv', 'readings.csv', 'meters.csv'])
			expect(readFileSync(join(at('out again'), file), 'utf8'), file).toBe(
				readFileSync(join(at('out'), file), 'utf8'),
			);
	});

	it('overwrites nothing', async () => {
		const before = readFileSync(at('made.slurrybook'));
		expect(await run('new', at('made.slurrybook'), '--from', at('demo'))).toMatchObject({
			code: 1,
			out: '',
		});
		expect(readFileSync(at('made.slurrybook')).equals(before)).toBe(true);
		mkdirSync(at('full'));
		writeFileSync(join(at('full'), 'mine.txt'), 'mine');
		expect((await run('export', at('made.slurrybook'), at('full'))).code).toBe(1);
		expect(readFileSync(join(at('full'), 'mine.txt'), 'utf8')).toBe('mine');
	});

	it('lists every fault of a folder with file, row, column, value and what was expected, and makes nothing', async () => {
		writeInventedFolder(at('faulty'), { rings: 3 });
		const path = join(at('faulty'), 'readings.csv');
		const lines = readFileSync(path, 'utf8').split('\n');
		lines[4] = lines[4]!.replace('bypass', 'drilling');
		lines[6] = lines[6]!.replace(/,1\.08\d,/, ',-3,');
		writeFileSync(path, lines.join('\n'));
		const refused = await run('new', at('faulty'), '--from', at('faulty'));
		expect(refused.code).toBe(1);
		const faults = refused.err.trim().split('\n');
		expect(
			faults.some((line) =>
				/^readings\.csv row 5, column mode, value "drilling": .* Expected advance, .*\[\w+\]$/.test(
					line,
				),
			),
		).toBe(true);
		expect(
			faults.some((line) =>
				line.startsWith('readings.csv row 7, column feed_density_t_m3, value "-3"'),
			),
		).toBe(true);
		expect(existsSync(at('faulty.slurrybook'))).toBe(false);
		// The logger's faults are listed together with those of the sheets.
		const wide = '2026-03-02T06:00:00+01:00,drilling,900,1.08,960,1.19';
		cpSync(at('faulty'), at('both'), { recursive: true });
		writeFileSync(
			at('both/logger.csv'),
			`time,mode,feed_flow_m3_h,feed_density_t_m3,return_flow_m3_h,return_density_t_m3\n${wide}\n`,
		);
		const both = await run('new', at('both'), '--from', at('both'));
		expect(both.code).toBe(1);
		expect(both.err).toContain('readings.csv row 5, column mode, value "drilling"');
		expect(both.err).toContain('logger.csv row 2, column mode, value "drilling"');
		const taken = await run('new', at('faulty'), '--from', at('faulty'), '--good-rows');
		expect(taken.code).toBe(0);
		expect(taken.out).toContain('2 rows with faults left out');
		expect((await run('new', at('nowhere'), '--from', at('not there'))).code).toBe(1);
	});

	it('says why a project cannot be made where the folder has nothing but notes', async () => {
		cpSync(at('demo'), at('noted'), { recursive: true });
		writeFileSync(at('noted/other.csv'), 'a,b\n');
		writeFileSync(
			at('noted/logger.csv'),
			'time,mode,feed_flow_m3_h,feed_density_t_m3,return_flow_m3_h,return_density_t_m3\n2026-03-02T06:00:00+01:00,advance,900,1.08,960,1.19\n',
		);
		mkdirSync(at('noted.series'));
		const made = await run('new', at('noted'), '--from', at('noted'));
		expect(made.code).toBe(1);
		expect(made.err).toContain('other.csv: This file is not part of the plain folder');
		expect(made.err).toContain('The project could not be made');
		expect(existsSync(at('noted.slurrybook'))).toBe(false);
	});

	it('checks: nothing wrong, or what and where', async () => {
		const sound = await run('check', at('made.slurrybook'));
		expect(sound).toMatchObject({ code: 0, err: '' });
		expect(sound.out).toContain('hash chain');
		const db = new DatabaseSync(at('second.slurrybook'));
		db.exec('UPDATE readings SET return_flow_m3_h = return_flow_m3_h + 1 WHERE id = 3');
		db.close();
		const spoilt = await run('check', at('second.slurrybook'));
		expect(spoilt.code).toBe(1);
		expect(spoilt.err).toContain('readings row 1');
		expect(spoilt.err).toContain('[rows_not_as_imported]');
		writeFileSync(at('text.slurrybook'), 'hello '.repeat(40));
		expect(await run('check', at('text.slurrybook'))).toMatchObject({ code: 1, out: '' });
		expect(await run('check', at('none.slurrybook'))).toMatchObject({ code: 1, out: '' });
	});

	it('dispatches to the simulator, whose folder becomes a project', async () => {
		expect((await run('simulate', at('simulated'), '--seed', '5', '--rings', '3')).code).toBe(0);
		expect((await run('new', at('simulated'), '--from', at('simulated'))).code).toBe(0);
		const rings = JSON.parse((await run('rings', at('simulated.slurrybook'), '--json')).out);
		expect(rings.map((ring: { source: string }) => ring.source)).toEqual([
			'logger',
			'logger',
			'logger',
		]);
		expect((await run('simulate', at('x'), '--rings', 'many')).code).toBe(2);
	});

	it('as a process: exit code, no noise on either output, and no complaint when its reader leaves', async () => {
		const command = fileURLToPath(new URL('../../../electron/command/desk.ts', import.meta.url));
		const child = (...args: string[]) =>
			spawn(process.execPath, [command, ...args], { stdio: ['ignore', 'pipe', 'pipe'] });
		const ended = (process_: ReturnType<typeof child>) =>
			new Promise<{ code: number | null; out: string; err: string }>((resolve) => {
				let out = '';
				let err = '';
				process_.stdout.on('data', (data) => {
					out += data;
				});
				process_.stderr.on('data', (data) => {
					err += data;
				});
				process_.on('close', (code) => resolve({ code, out, err }));
			});
		const whole = await ended(child('rings', at('made.slurrybook'), '--json'));
		expect(whole).toMatchObject({ code: 0, err: '' });
		expect(JSON.parse(whole.out)).toHaveLength(6);
		expect((await ended(child('nonsense'))).code).toBe(2);
		const leaving = child('rings', at('made.slurrybook'), '--json');
		leaving.stdout.destroy();
		expect(await ended(leaving)).toMatchObject({ code: 0, err: '' });
	});
});
