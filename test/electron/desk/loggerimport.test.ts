import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import type { LoggerLayout } from '../../../electron/contract/loggerimport.ts';
import type { Answer } from '../../../electron/contract/verbs.ts';
import { scratchFolder } from '../store/smalldrive.ts';
import { FIRST_START_S, RING_S, startOf, TestDesk, writeInventedFolder } from './invented.ts';

const folder = scratchFolder();
const RINGS = 4;
const FROM_S = FIRST_START_S - 3_600;
const TO_S = startOf(4) - 1_200;

/** The record of another make: semicolons, decimal commas, local time without offset, L/s. One row every ten seconds. */
function exported(
	from_s: number,
	to_s: number,
	change: (row: string, n: number) => string = (row) => row,
) {
	const lines = [
		'Zeitstempel time;Circuit state;Feed flow [m³/h];Feed density [kg/m³];Return flow [m³/h];Return density [kg/m³];Chamber level [m]',
	];
	for (let t = FROM_S; t < to_s; t += 10) {
		const n = (t - FROM_S) / 10;
		if (t < from_s) continue;
		const inRing = (((t - FIRST_START_S) % RING_S) + RING_S) % RING_S;
		const advancing = t >= FIRST_START_S && inRing <= 2_700;
		const local = new Date((t + 3600) * 1000).toISOString();
		const stamp = `${local.slice(8, 10)}.${local.slice(5, 7)}.${local.slice(0, 4)} ${local.slice(11, 19)}`;
		const figures = [
			`${1000 + (n % 9)},${n % 10}`,
			1080 + (n % 5),
			(advancing ? 1155 : 1000) + (n % 4),
			advancing ? 1190 : 1085,
			`5,0${n % 6}`,
		];
		lines.push(change([stamp, advancing ? 'Advancing' : 'Bypass', ...figures].join(';'), n));
	}
	return `${lines.join('\r\n')}\r\n`;
}

const MIDDLE_S = startOf(3) - 600;
/** Begins before the other ends, as exports of whole shifts do. */
const OVERLAP_S = startOf(2) + 1_000;

beforeAll(() => {
	writeInventedFolder(join(folder, 'demo'), { rings: RINGS });
	writeFileSync(join(folder, 'whole.csv'), exported(FROM_S, TO_S));
	writeFileSync(join(folder, 'first.csv'), exported(FROM_S, MIDDLE_S));
	writeFileSync(join(folder, 'second.csv'), exported(OVERLAP_S, TO_S));
});

const rowsIn = (from_s: number, to_s: number): number => Math.ceil((to_s - from_s) / 10);

function seriesDigest(name: string): string {
	const hash = createHash('sha256');
	const series = join(folder, `${name}.series`);
	const days = readdirSync(series).filter((day) => day.startsWith('day='));
	for (const day of days.sort()) {
		const files = readdirSync(join(series, day));
		expect(files).toHaveLength(1);
		hash.update(day).update(readFileSync(join(series, day, files[0] ?? '')));
	}
	return hash.digest('hex');
}

/** All there is of a project, its series included, by name and content. */
function everything(name: string): string {
	const hash = createHash('sha256');
	const entries = readdirSync(join(folder, `${name}.series`), {
		recursive: true,
		withFileTypes: true,
	});
	for (const entry of entries
		.filter((one) => one.isFile())
		.sort((a, b) => (a.parentPath + a.name < b.parentPath + b.name ? -1 : 1)))
		hash.update(entry.name).update(readFileSync(join(entry.parentPath, entry.name)));
	return hash.digest('hex');
}

async function guessed(
	desk: TestDesk,
	...files: string[]
): Promise<{ places: string[]; look: Answer<'logger.inspect'> }> {
	const places = await Promise.all(files.map((file) => desk.placeOf(file)));
	return { places, look: await desk.must('logger.inspect', { files: places }) };
}

/** The stamps carry no offset; they were written at +01:00. */
const at = (layout: LoggerLayout): LoggerLayout => ({
	...layout,
	time: { ...layout.time, zone: '+01:00' },
});

const ledgerOf = async (desk: TestDesk) =>
	(await desk.must('sheet.rows', { sheet: 'ledger' })).rows;

describe('files of another make, imported into an open project', () => {
	it('are looked at, confirmed, kept as a profile, and balanced; again and overlapping they add only what is new', async () => {
		const desk = new TestDesk(folder);
		await desk.create('demo', 'once');
		const once = await guessed(desk, 'whole.csv');
		expect(once.look).toMatchObject({
			notYet: null,
			profile: null,
			files: [{ importedBefore: false }],
		});
		expect(once.look.time.doubts.join()).toMatch(/offset/u);
		const whole = await desk.must('logger.import', {
			files: once.places,
			layout: at(once.look.layout),
			conflicts: 'refuse',
		});
		expect(whole).toMatchObject({
			outcome: 'done',
			rows: rowsIn(FROM_S, TO_S),
			added: rowsIn(FROM_S, TO_S),
			duplicates: 0,
			conflicts: 0,
			overlap: null,
			rings: 3,
			first_s: FROM_S,
		});
		const ledger = await ledgerOf(desk);
		expect(ledger.map((row) => row.cells.source)).toEqual([
			'logger',
			'logger',
			'logger',
			'readings',
		]);

		await desk.create('demo', 'steps');
		const before = (await desk.must('desk.state', {})).document;
		expect(before?.hasLogger).toBe(false);
		const first = await guessed(desk, 'first.csv');
		desk.events.length = 0;
		await desk.must('logger.import', {
			files: first.places,
			layout: at(first.look.layout),
			saveAs: 'Site logger',
			conflicts: 'refuse',
		});
		const after = (await desk.must('desk.state', {})).document;
		expect(after).toMatchObject({ hasLogger: true, journalEntries: before!.journalEntries + 1 });
		expect(desk.events.map(({ event }) => event)).toContain('changed');
		expect(await desk.must('logger.profiles', {})).toEqual([
			{ name: 'Site logger', layout: at(first.look.layout), usedAt_s: desk.now_s },
		]);
		expect((await ledgerOf(desk)).map((row) => row.cells.source)).toEqual([
			'logger',
			'logger',
			'readings',
			'readings',
		]);

		// The same file once more is known by its hash, and every row of it is there already.
		const again = await guessed(desk, 'first.csv');
		expect(again.look).toMatchObject({ profile: 'Site logger', files: [{ importedBefore: true }] });
		const standing = everything('steps');
		expect(
			await desk.must('logger.import', {
				files: again.places,
				layout: again.look.layout,
				conflicts: 'refuse',
			}),
		).toMatchObject({
			outcome: 'done',
			added: 0,
			duplicates: rowsIn(FROM_S, MIDDLE_S),
			conflicts: 0,
			rings: 0,
		});
		expect(everything('steps')).toBe(standing);

		const second = await guessed(desk, 'second.csv');
		expect(second.look.profile).toBe('Site logger');
		expect(
			await desk.must('logger.import', {
				files: second.places,
				layout: second.look.layout,
				conflicts: 'refuse',
			}),
		).toMatchObject({
			outcome: 'done',
			added: rowsIn(MIDDLE_S, TO_S),
			duplicates: rowsIn(OVERLAP_S, MIDDLE_S),
			overlap: { from_s: OVERLAP_S, to_s: MIDDLE_S - 10 },
		});
		expect(seriesDigest('steps')).toBe(seriesDigest('once'));
		expect(await ledgerOf(desk)).toEqual(ledger);
		expect(
			(await desk.must('logger.sources', {})).map(({ file, rows, first_s }) => [
				file,
				rows,
				first_s,
			]),
		).toEqual([
			['first.csv', rowsIn(FROM_S, MIDDLE_S), FROM_S],
			['second.csv', rowsIn(OVERLAP_S, TO_S), OVERLAP_S],
		]);

		await desk.create('demo', 'both');
		const both = await guessed(desk, 'second.csv', 'first.csv');
		expect(
			await desk.must('logger.import', {
				files: both.places,
				layout: at(both.look.layout),
				conflicts: 'refuse',
			}),
		).toMatchObject({
			outcome: 'done',
			added: rowsIn(FROM_S, TO_S),
			duplicates: rowsIn(OVERLAP_S, MIDDLE_S),
		});
		expect(await ledgerOf(desk)).toEqual(ledger);

		// Opened again, and by the full check, all is as it was left.
		await desk.must('project.close', {});
		await desk.open('steps.slurrybook');
		expect(await ledgerOf(desk)).toEqual(ledger);
		expect(
			(await desk.must('project.check', {})).findings.filter(({ weight }) => weight === 'stop'),
		).toEqual([]);
		desk.handle.close();
	}, 240_000);

	it('that differ from what is there are refused with both figures, or taken by choice', async () => {
		const desk = new TestDesk(folder);
		await desk.create('demo', 'differs');
		const first = await guessed(desk, 'first.csv');
		const layout = at(first.look.layout);
		await desk.must('logger.import', { files: first.places, layout, conflicts: 'refuse' });
		const ledger = await ledgerOf(desk);
		const standing = everything('differs');
		writeFileSync(
			join(folder, 'other.csv'),
			exported(OVERLAP_S, TO_S, (row, n) =>
				n === 1020 ? row.replace(/;1\d{3};/u, ';1100;') : row,
			),
		);
		const files = [await desk.placeOf('other.csv')];
		const refused = await desk.must('logger.import', { files, layout, conflicts: 'refuse' });
		const [conflict] = refused.conflictList;
		expect(refused).toMatchObject({ outcome: 'refused', conflicts: 1 });
		expect(conflict).toEqual({
			time_s: FROM_S + 10_200,
			column: 'feed_density_t_m3',
			before: '1.08',
			file: '1.1',
			kept: 'before',
		});
		expect(everything('differs')).toBe(standing);
		expect(await ledgerOf(desk)).toEqual(ledger);

		const kept = await desk.must('logger.import', { files, layout, conflicts: 'keepBefore' });
		expect(kept).toMatchObject({ outcome: 'done', added: rowsIn(MIDDLE_S, TO_S), conflicts: 1 });
		expect((await ledgerOf(desk))[0]).toEqual(ledger[0]);
		const taken = await desk.must('logger.import', { files, layout, conflicts: 'takeFile' });
		expect(taken).toMatchObject({
			outcome: 'done',
			added: 0,
			conflicts: 1,
			conflictList: [{ kept: 'file' }],
		});
		expect(await desk.must('logger.import', { files, layout, conflicts: 'refuse' })).toMatchObject({
			outcome: 'done',
			conflicts: 0,
			added: 0,
		});
		desk.handle.close();
	}, 240_000);

	it('with faults are refused whole, or taken without the rows that have them', async () => {
		const desk = new TestDesk(folder);
		await desk.create('demo', 'faulty');
		const first = await guessed(desk, 'first.csv');
		const layout = at(first.look.layout);
		writeFileSync(
			join(folder, 'torn.csv'),
			exported(FROM_S, MIDDLE_S, (row, n) => (n === 50 ? 'torn' : row)),
		);
		const files = [await desk.placeOf('torn.csv')];
		const refused = await desk.must('logger.import', {
			files,
			layout,
			conflicts: 'refuse',
			saveAs: 'never',
		});
		expect(refused).toMatchObject({
			outcome: 'refused',
			faults: [{ code: 'fields_number', where: { row: 52 } }],
		});
		expect(readdirSync(folder)).not.toContain('faulty.series');
		expect(await desk.must('logger.profiles', {})).toEqual([]);
		const taken = await desk.must('logger.import', {
			files,
			layout,
			conflicts: 'refuse',
			take: 'goodRows',
		});
		expect(taken).toMatchObject({ outcome: 'done', rows: rowsIn(FROM_S, MIDDLE_S) - 1 });
		desk.handle.close();
	}, 120_000);

	it('can be broken off, leave the project as it was, and go on where they stopped', async () => {
		const desk = new TestDesk(folder);
		await desk.create('demo', 'broken');
		const first = await guessed(desk, 'first.csv');
		const layout = at(first.look.layout);
		expect(await desk.must('logger.cancel', {})).toEqual({ cancelled: false });
		await desk.must('logger.import', { files: first.places, layout, conflicts: 'refuse' });
		const ledger = await ledgerOf(desk);
		const standing = everything('broken');
		writeFileSync(join(folder, 'long.csv'), exported(FROM_S, FROM_S + 40 * 86_400));
		const files = [await desk.placeOf('long.csv')];
		const importing = desk.must('logger.import', { files, layout, conflicts: 'refuse' });
		const note = join(folder, 'broken.series.unfinished', 'unfinished.json');
		while (!existsSync(note)) await new Promise((resolve) => setTimeout(resolve, 2));
		expect(await desk.must('logger.cancel', {})).toEqual({ cancelled: true });
		expect(await importing).toMatchObject({ outcome: 'cancelled' });
		expect(everything('broken')).toBe(standing);
		expect(await ledgerOf(desk)).toEqual(ledger);
		const left = await desk.must('logger.unfinished', {});
		expect(left).toMatchObject({ files: ['long.csv'], notNow: null });
		expect(left!.read).toBeGreaterThan(0);

		// Another series than the one it was to go into: nothing to go on with.
		renameSync(join(folder, 'broken.series'), join(folder, 'aside'));
		expect(await desk.must('logger.unfinished', {})).toMatchObject({
			notNow: expect.stringContaining('has changed since'),
		});
		expect(await desk.call('logger.goOn', {})).toMatchObject({ ok: false, code: 'cannot_go_on' });
		renameSync(join(folder, 'aside'), join(folder, 'broken.series'));

		// Another file under its name, and none.
		const path = join(folder, 'long.csv');
		const text = readFileSync(path, 'utf8');
		writeFileSync(path, text.replace(';1080;', ';1081;'));
		const changed = await desk.call('logger.goOn', {});
		expect(changed).toMatchObject({ ok: false, code: 'files_changed' });
		expect(changed.ok ? '' : changed.message).toContain('long.csv is not what it was');
		renameSync(path, `${path}.gone`);
		expect(await desk.must('logger.unfinished', {})).toMatchObject({
			notNow: 'long.csv is not where it was when the import began.',
		});
		writeFileSync(path, text);

		// Going on also after the desk was closed, and to the same series and ledger as in one go.
		await desk.must('project.close', {});
		await desk.open('broken.slurrybook');
		const whole = await desk.must('logger.goOn', {});
		expect(whole).toMatchObject({
			outcome: 'done',
			rows: 40 * 8_640,
			duplicates: rowsIn(FROM_S, MIDDLE_S),
		});
		expect(readdirSync(folder).filter((name) => name.includes('unfinished'))).toEqual([]);
		expect(await desk.must('logger.unfinished', {})).toBeNull();
		expect(await desk.call('logger.goOn', {})).toMatchObject({ code: 'nothing_unfinished' });
		const ledgerNow = await ledgerOf(desk);
		await desk.must('project.close', {});
		await desk.create('demo', 'in one go');
		await desk.must('logger.import', { files: first.places, layout, conflicts: 'refuse' });
		await desk.must('logger.import', { files, layout, conflicts: 'refuse' });
		expect(await ledgerOf(desk)).toEqual(ledgerNow);
		expect(everything('in one go')).toBe(everything('broken'));
		desk.handle.close();
	}, 240_000);

	it('that were broken off can be discarded, and begin anew', async () => {
		const desk = new TestDesk(folder);
		await desk.create('demo', 'discarded');
		const { layout } = (await guessed(desk, 'first.csv')).look;
		const files = [await desk.placeOf('long.csv')];
		const ask = { files, layout: at(layout), conflicts: 'refuse' } as const;
		const importing = desk.must('logger.import', ask);
		const note = join(folder, 'discarded.series.unfinished', 'unfinished.json');
		while (!existsSync(note)) await new Promise((resolve) => setTimeout(resolve, 2));
		await desk.must('logger.cancel', {});
		await importing;
		expect(await desk.must('logger.unfinished', {})).not.toBeNull();
		expect(await desk.must('logger.discard', {})).toEqual({ discarded: true });
		expect(await desk.must('logger.discard', {})).toEqual({ discarded: false });
		expect(await desk.must('logger.unfinished', {})).toBeNull();
		expect(readdirSync(folder).filter((name) => name.startsWith('discarded.series'))).toEqual([]);
		expect(await desk.must('logger.import', ask)).toMatchObject({ outcome: 'done', duplicates: 0 });
		desk.handle.close();
	}, 240_000);

	it('are refused where the project may not be changed, and where the layout makes no sense', async () => {
		const writer = new TestDesk(folder);
		await writer.create('demo', 'held');
		const reader = new TestDesk(folder);
		await reader.open('held.slurrybook');
		const { places, look } = await guessed(reader, 'first.csv');
		const ask = { files: places, layout: at(look.layout), conflicts: 'refuse' } as const;
		expect(await reader.call('logger.import', ask)).toMatchObject({ ok: false, code: 'read_only' });
		reader.handle.close();
		const odd = { ...look.layout, time: { ...look.layout.time, zone: 'Nowhere/Land' } };
		expect(
			await writer.must('logger.inspect', {
				files: [await writer.placeOf('first.csv')],
				layout: odd,
			}),
		).toMatchObject({
			notYet: 'The time zone Nowhere/Land is not known here.',
		});
		const files = [await writer.placeOf('first.csv')];
		expect(await writer.call('logger.import', { ...ask, files, layout: odd })).toMatchObject({
			ok: false,
			code: 'bad_layout',
		});
		expect(await writer.call('logger.inspect', { files, profile: 'gone' })).toMatchObject({
			ok: false,
			code: 'profile_unknown',
		});
		expect(await writer.call('logger.inspect', { files: ['nonsense'] })).toMatchObject({
			ok: false,
			code: 'unknown_place',
		});
		writer.handle.close();
	}, 120_000);
});
