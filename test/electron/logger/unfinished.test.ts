import { spawn } from 'node:child_process';
import {
	appendFileSync,
	cpSync,
	existsSync,
	readdirSync,
	readFileSync,
	rmSync,
	writeFileSync,
} from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import type { LoggerLayout } from '../../../electron/contract/loggerimport.ts';
import { openArchive } from '../../../electron/logger/archive.ts';
import {
	importLogger,
	type LoggerImport,
	type LoggerImportAsk,
} from '../../../electron/logger/import.ts';
import { lookAt } from '../../../electron/logger/layout/look.ts';
import { unfinishedFolder } from '../../../electron/logger/unfinished.ts';
import { unfinishedImport } from '../../../electron/logger/unfinishedreader.ts';
import { chanceFrom } from '../desk/chance.ts';
import { DIALECTS } from './madelayouts.ts';
import { emptyFolder, madeRecord } from './madelogger.ts';

/** Every file of a folder with its content. */
function contentOf(folder: string): Record<string, string> {
	const found: Record<string, string> = {};
	for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true }))
		if (entry.isFile()) {
			const path = join(entry.parentPath, entry.name);
			found[relative(folder, path)] = readFileSync(path).toString('base64');
		}
	return found;
}

const told = ({
	sources,
	rows,
	firstTime_s,
	lastTime_s,
	gapLimit_s,
	faults,
	moreFaults,
	stops,
	growth,
	spanByFile,
	modeRules,
}: LoggerImport) => ({
	sources,
	rows,
	firstTime_s,
	lastTime_s,
	gapLimit_s,
	faults,
	moreFaults,
	stops,
	growth,
	spanByFile,
	modeRules,
});

interface Case {
	readonly name: string;
	/** Writes the files; gives their paths, and of those the ones that are there from before. */
	make(folder: string): { files: string[]; before: string[] };
	readonly take?: 'goodRows';
}

/** More than are on their way between the threads at once. */
const ROWS = 300_000;
const cut = (text: string, from: number, to: number): string => {
	const lines = text.trimEnd().split('\n');
	return `${[lines[0], ...lines.slice(1 + from, 1 + to)].join('\n')}\n`;
};

const CASES: readonly Case[] = [
	{
		name: 'one file in the plain dialect, with faults in it',
		make(folder) {
			const lines = madeRecord(ROWS, 10).split('\n');
			for (let i = 500; i < lines.length; i += 4_111) lines[i] = lines[i]!.replace(/,9\d\d/u, ',x');
			writeFileSync(join(folder, 'a.csv'), lines.join('\n'));
			return { files: [join(folder, 'a.csv')], before: [] };
		},
		take: 'goodRows',
	},
	{
		name: 'three files that reach over each other, into a series that is there',
		make(folder) {
			const all = madeRecord(ROWS, 10);
			const parts = [
				[0, 40_000],
				[30_000, 130_000],
				[110_000, 210_000],
				[205_000, ROWS],
			] as const;
			const files = parts.map(([from, to], at) => {
				const path = join(folder, `part ${9 - at}.csv`);
				writeFileSync(path, cut(all, from, to));
				return path;
			});
			return { files: files.slice(1), before: files.slice(0, 1) };
		},
	},
	{
		name: 'two files of another make',
		make(folder) {
			const all = madeRecord(36_000, 80);
			const write = DIALECTS[0]!.write;
			writeFileSync(join(folder, 'b.csv'), write(cut(all, 0, 14_000)));
			writeFileSync(join(folder, 'a.csv'), write(cut(all, 14_000, 36_000)));
			return { files: [join(folder, 'a.csv'), join(folder, 'b.csv')], before: [] };
		},
	},
];

async function askFor({ make, take }: Case, folder: string) {
	const { files, before } = make(folder);
	const { layout } = await lookAt(files[0]!, null, '+01:00');
	const ask = (seriesFolder: string): LoggerImportAsk & { layout: LoggerLayout } => ({
		files,
		seriesFolder,
		base: existsSync(seriesFolder) ? openArchive(seriesFolder).manifest : null,
		layout,
		onConflict: 'keepBefore',
		inputs: null,
		take: take ?? 'all',
		keepAside: {
			ask: { files, layout, saveAs: null, conflicts: 'keepBefore', take: take ?? 'all' },
			begun_s: 1_780_000_000,
			base: null,
			every_ms: 0,
		},
	});
	const start = async (name: string): Promise<string> => {
		const series = join(folder, name);
		if (before.length > 0)
			await importLogger({
				files: before,
				seriesFolder: series,
				layout,
				inputs: null,
				take: 'all',
			});
		return series;
	};
	return { ask, start };
}

/** Resolves when the note of how to go on says that so many days more are whole; false: the import is over. */
async function daysMore(series: string, days: number, over: () => boolean): Promise<boolean> {
	const from = unfinishedImport(series)?.writer.days.length ?? 0;
	while (!over()) {
		if ((unfinishedImport(series)?.writer.days.length ?? 0) >= from + days) return true;
		await new Promise((resolve) => setTimeout(resolve, 1));
	}
	return false;
}

/** Imports or goes on, broken off when so many days more are whole; null: it was. */
async function brokenOff(ask: LoggerImportAsk, days: number): Promise<LoggerImport | null> {
	const stop = new AbortController();
	const goOn = unfinishedImport(ask.seriesFolder);
	let isOver = false;
	const asked = daysMore(ask.seriesFolder, days, () => isOver).then((reached) => {
		if (reached) stop.abort(new Error('broken off'));
	});
	try {
		return await importLogger({ ...ask, ...(goOn === null ? {} : { goOn }), signal: stop.signal });
	} catch (error) {
		expect((error as Error).message).toBe('broken off');
		return null;
	} finally {
		isOver = true;
		await asked;
	}
}

test.each(CASES)(
	'broken off again and again, $name come out to the byte as in one go',
	async (one) => {
		const folder = await emptyFolder();
		const { ask, start } = await askFor(one, folder);
		const whole = await start('whole.series');
		const inOneGo = await importLogger(ask(whole));
		const chance = chanceFrom(20_260_501);
		let wentOn = 0;
		for (let round = 0; round < 2; round++) {
			const series = await start(`broken ${round}.series`);
			const untouched = existsSync(series) ? contentOf(series) : null;
			let made: LoggerImport | null = null;
			for (let run = 0; made === null; run++) {
				made = await brokenOff(ask(series), run > 3 ? 1_000 : 1 + Math.floor(chance() * 9));
				if (made !== null) break;
				// Nothing of it counts: the series is not there, or as it was.
				expect(existsSync(series) ? contentOf(series) : null).toEqual(untouched);
				expect(unfinishedImport(series)).not.toBeNull();
				wentOn++;
			}
			expect(told(made)).toEqual(told(inOneGo));
			expect(contentOf(series)).toEqual(contentOf(whole));
			expect(existsSync(unfinishedFolder(series))).toBe(false);
		}
		expect(wentOn).toBeGreaterThan(1);
	},
	240_000,
);

test('killed in the middle, again and again, it goes on and comes out to the byte as in one go', async () => {
	const folder = await emptyFolder();
	const { ask, start } = await askFor(CASES[1]!, folder);
	const whole = await start('whole.series');
	await importLogger(ask(whole));
	const chance = chanceFrom(20_260_502);
	let wentOn = 0;
	for (let round = 0; round < 1; round++) {
		const series = await start(`killed ${round}.series`);
		const untouched = contentOf(series);
		writeFileSync(join(folder, 'ask.json'), JSON.stringify(ask(series)));
		for (let run = 0; ; run++) {
			const { isMade, goesOn } = await runAndKill(
				join(folder, 'ask.json'),
				series,
				run > 4 ? null : { days: 1 + Math.floor(chance() * 9), moment_ms: chance() * 8 },
			);
			if (goesOn) wentOn++;
			if (isMade) break;
			// Days may have been put beside those there; the manifest does not name them.
			expect(contentOf(series)).toMatchObject(untouched);
		}
		expect(contentOf(series)).toEqual(contentOf(whole));
		expect(existsSync(unfinishedFolder(series))).toBe(false);
	}
	expect(wentOn).toBeGreaterThan(1);
}, 240_000);

/** Killed a moment after so many days more are whole; null: not at all. */
function runAndKill(
	ask: string,
	series: string,
	kill: { days: number; moment_ms: number } | null,
): Promise<{ isMade: boolean; goesOn: boolean }> {
	return new Promise((resolve, reject) => {
		const once = spawn(
			process.execPath,
			[fileURLToPath(new URL('./importonce.ts', import.meta.url)), ask],
			{ stdio: ['ignore', 'pipe', 'pipe'] },
		);
		let said = '';
		let failed = '';
		let isOver = false;
		once.stderr.on('data', (data) => {
			failed += data;
		});
		once.stdout.on('data', (data) => {
			said += data;
		});
		if (kill !== null)
			daysMore(series, kill.days, () => isOver).then((reached) => {
				if (reached) setTimeout(() => once.kill('SIGKILL'), kill.moment_ms);
			}, reject);
		once.on('close', (code, signal) => {
			isOver = true;
			if (code !== 0 && signal !== 'SIGKILL') reject(new Error(failed));
			else resolve({ isMade: said.includes('made '), goesOn: said.startsWith('goes on') });
		});
	});
}

test('it does not go on with a file whose read part is another, and does with one that has grown', async () => {
	const folder = await emptyFolder();
	const { ask, start } = await askFor(CASES[0]!, folder);
	const series = await start('a.series');
	expect(await brokenOff(ask(series), 3)).toBeNull();
	const [file] = ask(series).files;
	const bytes = readFileSync(file!);
	const other = Uint8Array.from(bytes);
	const at = bytes.indexOf('\n', 5_000) - 1;
	other[at] = other[at] === 0x31 ? 0x32 : 0x31;
	writeFileSync(file!, other);
	const goOn = unfinishedImport(series)!;
	await expect(importLogger({ ...ask(series), goOn })).rejects.toMatchObject({
		name: 'FilesChanged',
		message: 'a.csv is not what it was',
	});
	rmSync(file!);
	await expect(importLogger({ ...ask(series), goOn })).rejects.toMatchObject({
		name: 'FilesChanged',
	});
	// The days kept aside are still there: the file may come back.
	expect(unfinishedImport(series)).toEqual(goOn);

	writeFileSync(file!, bytes);
	const last = bytes.toString().trimEnd().split('\n').at(-1)!;
	const next = last.replace(/^[^,]+/u, (stamp) =>
		new Date(Date.parse(stamp) + 10_000).toISOString().replace('.000Z', 'Z'),
	);
	appendFileSync(file!, `${bytes.toString().endsWith('\n') ? '' : '\n'}${next}\n`);
	cpSync(unfinishedFolder(series), unfinishedFolder(join(folder, 'b.series')), { recursive: true });
	await importLogger({ ...ask(series), goOn });
	const whole = join(folder, 'whole.series');
	await importLogger(ask(whole));
	expect(contentOf(series)).toEqual(contentOf(whole));

	// A note of days that are gone is of no use, and is cleared away.
	const lost = join(folder, 'b.series');
	const [day] = readdirSync(unfinishedFolder(lost)).filter((name) => name.startsWith('day='));
	rmSync(join(unfinishedFolder(lost), day!), { recursive: true });
	await expect(importLogger({ ...ask(lost), goOn })).rejects.toMatchObject({
		name: 'SeriesDamaged',
	});
	expect(existsSync(unfinishedFolder(lost))).toBe(false);
}, 120_000);
