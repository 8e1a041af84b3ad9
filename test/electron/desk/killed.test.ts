import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { OpenDocument } from '../../../electron/desk/document.ts';
import { checkFile } from '../../../electron/store/checkfile.ts';
import { openForWriting, scratchFolder } from '../store/smalldrive.ts';
import { chanceFrom } from './chance.ts';
import { TestDesk, writeInventedFolder } from './invented.ts';

const folder = scratchFolder();
const KILLS = 12;

/** Runs the edit loop until it has said `lines` lines, lets it go on for a moment, and kills it. Gives what it said. */
function runAndKill(
	path: string,
	from: number,
	lines: number,
	moment_ms: number,
): Promise<string[]> {
	return new Promise((resolve, reject) => {
		const loop = spawn(
			process.execPath,
			[fileURLToPath(new URL('./editloop.ts', import.meta.url)), path, String(from)],
			{ stdio: ['ignore', 'pipe', 'pipe'] },
		);
		let said = '';
		let failed = '';
		let dying = false;
		loop.stderr.on('data', (data) => {
			failed += data;
		});
		loop.stdout.on('data', (data) => {
			said += data;
			if (dying || said.split('\n').length <= lines) return;
			dying = true;
			setTimeout(() => loop.kill('SIGKILL'), moment_ms);
		});
		loop.on('close', () =>
			dying ? resolve(said.split('\n').slice(0, -1)) : reject(new Error(failed)),
		);
	});
}

it('keeps every confirmed edit, and a sound file, however often the desk is killed in the middle of editing', async () => {
	writeInventedFolder(join(folder, 'demo'), { rings: 5 });
	const desk = new TestDesk(folder);
	await desk.create('demo', 'killed');
	desk.handle.close();
	const path = join(folder, 'killed.slurrybook');
	const chance = chanceFrom(20_260_309);
	let next = 1;
	let confirmedInAll = 0;
	for (let kill = 0; kill < KILLS; kill++) {
		const said = await runAndKill(path, next, 3 + Math.floor(chance() * 25), chance() * 12);
		const file = openForWriting(path);
		expect(file.readOnly).toBe(false);
		expect(checkFile(file).findings).toEqual([]);
		const written = file.database
			.prepare("SELECT DISTINCT new AS note FROM journal WHERE kind = 'edit'")
			.all()
			.map((row) => String(row.note));
		const undone = new Set(
			file.database
				.prepare("SELECT DISTINCT old AS note FROM journal WHERE kind = 'undo'")
				.all()
				.map((row) => String(row.note)),
		);
		for (const line of said) {
			if (line.startsWith('undone ')) expect(undone.has(`edit ${line.slice(7)}`), line).toBe(true);
			else expect(written.includes(`edit ${line}`), line).toBe(true);
			confirmedInAll++;
		}
		// A paste is there as a whole or not at all.
		const sizes = file.database
			.prepare(
				"SELECT new AS note, count(*) AS cells FROM journal WHERE kind = 'edit' GROUP BY gesture",
			)
			.all();
		for (const { note, cells } of sizes) {
			const n = Number(String(note).slice(5));
			expect(cells).toBe(n % 5 === 0 ? 8 : 1);
		}
		next = Math.max(...written.map((note) => Number(note.slice(5)))) + 1;
		const opened = await OpenDocument.open(file, () => {});
		expect(opened.ok).toBe(true);
		if (opened.ok) opened.value.close();
	}
	expect(confirmedInAll).toBeGreaterThan(KILLS * 3);
}, 180_000);
