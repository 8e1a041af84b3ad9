import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, expect, it } from 'vitest';
import { runCommand } from '../../../electron/command/desk.ts';
import { scratchFolder } from '../store/smalldrive.ts';

const folder = scratchFolder();
const at = (name: string): string => join(folder, name);
const caller = { person: 'Script', now_s: 1_900_000_000, appVersion: '0.0.0' };

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

const project = () => at('drive.slurrybook');

beforeAll(async () => {
	expect(await run('new', project(), '--from', 'examples/demo-drive')).toMatchObject({ code: 0 });
});

it('writes a sheet by the ending of the file, and nothing over another', async () => {
	for (const ending of ['csv', 'xlsx', 'parquet']) {
		const made = await run('export-sheet', project(), 'rings', at(`rings.${ending}`));
		expect(made).toMatchObject({ code: 0, err: '' });
		expect(made.out).toMatch(new RegExp(`^rings\\.${ending}: 40 rows, \\d+ columns\\.\\n$`, 'u'));
	}
	expect(readFileSync(at('rings.csv'), 'utf8')).toContain('Stroke at start [mm]');
	expect([...readFileSync(at('rings.parquet')).subarray(0, 4)]).toEqual([...Buffer.from('PAR1')]);
	expect(await run('export-sheet', project(), 'rings', at('rings.csv'))).toMatchObject({ code: 1 });
	expect(await run('export-sheet', project(), 'rings', at('rings.txt'))).toMatchObject({ code: 2 });
	expect(await run('export-sheet', project(), 'drive', at('d.csv'))).toMatchObject({ code: 2 });
});

it('takes rows of a file into a sheet, says what became of them, and tells every fault', async () => {
	const again = await run('import-sheet', project(), 'rings', at('rings.xlsx'));
	expect(again).toEqual({
		code: 0,
		err: '',
		out: '40 rows read: 0 new, 0 updated, 40 there already, 0 skipped, 0 left out.\n',
	});
	writeFileSync(at('spoil.csv'), 'Ring;Spoil weighed [kg]\n1;101500,5\n2;a lot\n');
	const refused = await run('import-sheet', project(), 'rings', at('spoil.csv'));
	expect(refused).toMatchObject({ code: 1, out: '' });
	expect(refused.err).toContain('spoil.csv row 3, column spoil_wet_t, value "a lot": ');
	expect(refused.err).toContain('1 row has faults; nothing was taken.');
	const good = await run('import-sheet', project(), 'rings', at('spoil.csv'), '--good-rows');
	expect(good.out).toBe('2 rows read: 0 new, 1 updated, 0 there already, 0 skipped, 1 left out.\n');
	await run('export-sheet', project(), 'rings', at('after.csv'));
	expect(readFileSync(at('after.csv'), 'utf8')).toMatch(/^1,.*,101\.5005\b/mu);
});

it('reads a file as a person has said it is to be read', async () => {
	writeFileSync(at('odd.csv'), 'n;w\n3;99,5\n');
	const seen = await run('import-sheet', project(), 'rings', at('odd.csv'), '--look');
	expect(seen.code).toBe(1);
	expect(seen.err).toContain('No field fills Ring, ');
	const reading = JSON.parse(seen.out);
	reading.fields = [
		{ field: 0, column: 'ring', unit: null },
		{ field: 1, column: 'spoil_wet_t', unit: 't' },
	];
	reading.decimal = ',';
	writeFileSync(at('odd.json'), JSON.stringify(reading));
	const taken = await run(
		'import-sheet',
		project(),
		'rings',
		at('odd.csv'),
		'--read',
		at('odd.json'),
	);
	expect(taken).toMatchObject({ code: 0, err: '' });
	expect(taken.out).toContain('1 updated');
	writeFileSync(at('wrong.json'), '{"decimal": "x"}');
	expect(
		await run('import-sheet', project(), 'rings', at('odd.csv'), '--read', at('wrong.json')),
	).toMatchObject({ code: 1 });
});
