import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeAll, expect, it } from 'vitest';
import { runCommand } from '../../../electron/command/desk.ts';
import type { LoggerLayout } from '../../../electron/contract/loggerimport.ts';
import { FIRST_START_S, iso, RING_S, startOf, writeInventedFolder } from '../desk/invented.ts';
import { scratchFolder } from '../store/smalldrive.ts';

const folder = scratchFolder();
const at = (name: string): string => join(folder, name);
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

/** One row every ten seconds over ring 1, as the plain dialect has it and as another logger would. */
function records(): { plain: string; foreign: string; rows: number } {
	const plain = ['time,mode,feed_flow_m3_h,feed_density_t_m3,return_flow_m3_h,return_density_t_m3'];
	const foreign = [
		'Stamp;Mode;Feed flow (l/s);Feed density (kg/m3);Return flow (l/s);Return density (kg/m3)',
	];
	for (let t = FIRST_START_S - 600; t < startOf(2); t += 10) {
		const advancing = t >= FIRST_START_S && (t - FIRST_START_S) % RING_S <= 2_700;
		const mode = advancing ? 'advance' : 'bypass';
		plain.push([iso(t), mode, 900, 1.08, advancing ? 1080 : 900, 1.09].join(','));
		foreign.push([iso(t), mode, 250, 1080, advancing ? 300 : 250, 1090].join(';'));
	}
	return { plain: plain.join('\n'), foreign: foreign.join('\n'), rows: plain.length - 1 };
}

const ring1 = async (project: string) =>
	(
		JSON.parse((await run('rings', at(project), '--json')).out) as {
			source?: string;
			volume_apparent_m3: number;
		}[]
	)[0];

beforeAll(async () => {
	writeInventedFolder(at('demo'), { rings: 2 });
	for (const name of ['plain', 'foreign'])
		expect((await run('new', at(`${name}.slurrybook`), '--from', at('demo'))).code).toBe(0);
	const { plain, foreign } = records();
	writeFileSync(at('plain.csv'), plain);
	writeFileSync(at('foreign.csv'), foreign);
});

it('imports the plain dialect as it is, and another layout once someone has said how it is read', async () => {
	const { rows } = records();
	const own = await run('import', at('plain.slurrybook'), at('plain.csv'));
	expect(own).toMatchObject({ code: 0, err: '' });
	expect(own.out).toBe(
		`${rows} rows read, ${rows} new, 0 there already, 0 figures that differ; 1 rings balanced anew.\n`,
	);

	const guess = await run('import', at('foreign.slurrybook'), at('foreign.csv'));
	expect(guess).toMatchObject({ code: 1, out: '' });
	expect(guess.err).toMatch(/--look/u);
	const look = await run('import', at('foreign.slurrybook'), at('foreign.csv'), '--look');
	expect(look.code).toBe(0);
	const layout = JSON.parse(look.out) as LoggerLayout;
	expect(layout.columns.map(({ to, unit }) => [to, unit])).toContainEqual([
		'feed_flow_m3_h',
		'L/s',
	]);
	writeFileSync(at('map.json'), look.out);
	const map = ['--map', at('map.json'), '--save', 'other logger'];
	expect(await run('import', at('foreign.slurrybook'), at('foreign.csv'), ...map)).toMatchObject({
		code: 0,
		err: '',
	});
	// 250 L/s are 900 m³/h, and so on: the same record.
	expect((await ring1('foreign.slurrybook'))?.volume_apparent_m3).toBe(
		(await ring1('plain.slurrybook'))?.volume_apparent_m3,
	);

	const again = await run(
		'import',
		at('foreign.slurrybook'),
		at('foreign.csv'),
		'--profile',
		'other logger',
	);
	expect(again.out).toBe(
		`${rows} rows read, 0 new, ${rows} there already, 0 figures that differ; 0 rings balanced anew.\n`,
	);
}, 120_000);

it('ends with 1 and both figures where they differ, and with 2 for wrong use', async () => {
	writeFileSync(at('other.csv'), records().plain.replace('900,1.08', '905,1.08'));
	const differs = await run('import', at('plain.slurrybook'), at('other.csv'));
	expect(differs.code).toBe(1);
	expect(differs.err).toMatch(/feed_flow_m3_h: the project has 900, the file 905/u);
	for (const args of [
		['import', at('plain.slurrybook')],
		['import', at('plain.slurrybook'), at('plain.csv'), '--conflicts', 'maybe'],
		['import', at('plain.slurrybook'), at('plain.csv'), '--profile', 'a', '--map', 'b'],
	])
		expect((await run(...args)).code).toBe(2);
	expect(await run('import', at('plain.slurrybook'), at('gone.csv'))).toMatchObject({ code: 1 });
	writeFileSync(at('bad.json'), '{"format":"csv"}');
	expect(
		(await run('import', at('plain.slurrybook'), at('plain.csv'), '--map', at('bad.json'))).err,
	).toMatch(/holds no layout/u);
}, 120_000);

it('refuses another import while one that was broken off waits, goes on with it, or discards it', async () => {
	const { plain, rows } = records();
	const [head, ...lines] = plain.split('\n');
	const later = Array.from({ length: 1_000_000 }, (_, n) =>
		[iso(startOf(2) + 10 + 10 * n), 'bypass', 900, 1.08, 900, 1.09].join(','),
	);
	writeFileSync(at('long.csv'), [head, ...lines, ...later].join('\n'));
	expect(await run('import', at('plain.slurrybook'), '--go-on')).toMatchObject({
		code: 1,
		err: 'There is no import that was broken off.\n',
	});
	const note = join(at('plain.series.unfinished'), 'unfinished.json');
	const breakOff = async () => {
		const import_ = spawn(
			process.execPath,
			[
				fileURLToPath(new URL('./importlong.ts', import.meta.url)),
				at('plain.slurrybook'),
				at('long.csv'),
				note,
			],
			{ stdio: 'ignore' },
		);
		const over = once(import_, 'close');
		while (!existsSync(note) && import_.exitCode === null)
			await new Promise((resolve) => setTimeout(resolve, 2));
		import_.kill('SIGKILL');
		await over;
	};
	await breakOff();
	const other = await run('import', at('plain.slurrybook'), at('plain.csv'));
	expect(other).toMatchObject({ code: 1, out: '' });
	expect(other.err).toBe(
		'An import of long.csv was broken off. Go on with it by --go-on, or remove what it has left by --discard.\n',
	);
	expect((await run('import', at('plain.slurrybook'), at('plain.csv'), '--go-on')).code).toBe(2);
	expect(await run('import', at('plain.slurrybook'), '--discard')).toMatchObject({
		code: 0,
		err: '',
	});
	expect(existsSync(at('plain.series.unfinished'))).toBe(false);
	await breakOff();
	const whole = await run('import', at('plain.slurrybook'), '--go-on');
	expect(whole).toMatchObject({ code: 0, err: '' });
	expect(whole.out).toMatch(
		new RegExp(
			`^${rows + later.length} rows read, ${later.length} new, ${rows} there already`,
			'u',
		),
	);
}, 240_000);
