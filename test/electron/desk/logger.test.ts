import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { readFolder } from '../../../electron/folder/read.ts';
import { scratchFolder } from '../store/smalldrive.ts';
import { FIRST_START_S, iso, RING_S, startOf, TestDesk, writeInventedFolder } from './invented.ts';

const folder = scratchFolder();
const RINGS = 4;

/** One sample every ten seconds over rings 1 to 3; ring 4 has only shift readings. */
function loggerCsv(): string {
	const lines = [
		'time,mode,feed_flow_m3_h,feed_density_t_m3,return_flow_m3_h,return_density_t_m3,chamber_level_m',
	];
	for (let t = FIRST_START_S - 3_600, n = 0; t < startOf(4) - 1_200; t += 10, n++) {
		const inRing = (((t - FIRST_START_S) % RING_S) + RING_S) % RING_S;
		const advancing = t >= FIRST_START_S && inRing <= 2_700;
		lines.push(
			[
				iso(t),
				advancing ? 'advance' : 'bypass',
				1000 + (n % 9),
				(1.08 + (n % 5) / 1000).toFixed(3),
				(advancing ? 1155 : 1000) + (n % 4),
				advancing ? 1.19 : 1.085,
				(5 + (n % 6) / 100).toFixed(2),
			].join(','),
		);
	}
	return `${lines.join('\n')}\n`;
}

beforeAll(() => {
	writeInventedFolder(join(folder, 'demo'), { rings: RINGS });
	writeFileSync(join(folder, 'demo', 'logger.csv'), loggerCsv());
});

describe('a drive with a logger', () => {
	it('is balanced from the logger where it reaches, and the same again when balanced from the series', async () => {
		const desk = new TestDesk(folder);
		await desk.create('demo', 'logged');
		expect(existsSync(join(folder, 'logged.series'))).toBe(true);
		const state = await desk.must('desk.state', {});
		expect(state.document).toMatchObject({ hasLogger: true, rings: RINGS });
		const first = await desk.must('sheet.rows', { sheet: 'ledger' });
		expect(first.rows.map((row) => row.cells.source)).toEqual([
			'logger',
			'logger',
			'logger',
			'readings',
		]);

		// A changed setting balances every ring from the series; taken back, it must give what the import gave.
		const edited = await desk.must('sheet.edit', {
			sheet: 'drive',
			edits: [{ row: 1, column: 'water_temperature_c', text: '20' }],
			typed: { decimal: '.' },
		});
		const moved = edited.changes!.sheets.ledger!.rows;
		expect(moved).toHaveLength(RINGS);
		for (const row of moved) {
			const before = first.rows.find((one) => one.id === row.id)!;
			expect(row.cells.source).toBe(before.cells.source);
			expect(row.cells.dry_solids_t).not.toBe(before.cells.dry_solids_t);
		}
		await desk.must('history.undo', {});
		expect((await desk.must('sheet.rows', { sheet: 'ledger' })).rows).toEqual(first.rows);

		// Opened again, the kept balances give the same without reading the series.
		await desk.must('project.close', {});
		await desk.open('logged.slurrybook');
		expect((await desk.must('sheet.rows', { sheet: 'ledger' })).rows).toEqual(first.rows);
		desk.handle.close();
	});

	it('shows the faults of the logger with the others before anything is made, and makes nothing of them', async () => {
		writeInventedFolder(join(folder, 'torn'), { rings: 2 });
		const lines = loggerCsv().split('\n');
		lines[7] = lines[7]!.replace('bypass', 'drilling');
		writeFileSync(join(folder, 'torn', 'logger.csv'), lines.join('\n'));
		const desk = new TestDesk(folder);
		const root = (await desk.must('places.list', {})).placeId;
		const folderId = await desk.placeOf('torn');
		const summary = await desk.must('project.inspectFolder', { folderId });
		expect(summary.loggerRows).toBeGreaterThan(1_000);
		expect(summary.faults).toContainEqual(
			expect.objectContaining({
				weight: 'stop',
				where: expect.objectContaining({
					file: 'logger.csv',
					row: 8,
					column: 'mode',
					value: 'drilling',
				}),
			}),
		);
		const ask = { folderId, intoId: root, name: 'torn' } as const;
		const refused = await desk.call('project.create', { ...ask, take: 'all' });
		expect(refused).toMatchObject({ ok: false, code: 'folder_has_faults' });
		expect(refused.ok ? '' : refused.message).toContain('logger.csv row 8');
		expect(readdirSync(folder).filter((name) => name.includes('torn'))).toEqual(['torn']);
		await desk.must('project.create', { ...ask, take: 'goodRows' });
		expect((await desk.must('sheet.rows', { sheet: 'ledger' })).rows[0]!.cells.source).toBe(
			'logger',
		);
		desk.handle.close();
	});

	it('does not ask the logger rings about shift readings', async () => {
		const desk = new TestDesk(folder);
		await desk.open('logged.slurrybook');
		const reading = (await desk.must('sheet.rows', { sheet: 'readings', fromRing: 2, toRing: 2 }))
			.rows[6]!;
		const { changes } = await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: [{ row: reading.id, column: 'return_flow_m3_h', text: '1500' }],
			typed: { decimal: '.' },
		});
		expect(changes?.sheets.ledger?.rows.map((row) => row.cells.ring) ?? []).not.toContain(2);
		await desk.must('history.undo', {});
		desk.handle.close();
	});

	it('draws a ring from the logger, thinned to least and greatest, and from readings where there is no logger', async () => {
		const desk = new TestDesk(folder);
		await desk.open('logged.slurrybook');
		const whole = await desk.must('ring.timeline', { ring: 2, points: 20_000 });
		expect(whole.source).toBe('logger');
		expect(whole.thinned).toBe(false);
		const thin = await desk.must('ring.timeline', { ring: 2, points: 100 });
		expect(thin.thinned).toBe(true);
		expect(thin.time_s.length).toBeLessThanOrEqual(104);
		for (const column of [
			'feed_flow_m3_h',
			'return_flow_m3_h',
			'feed_density_t_m3',
			'chamber_level_m',
		] as const) {
			const values = (from: typeof whole) => from[column].filter((value) => value !== null);
			expect(Math.max(...values(thin))).toBe(Math.max(...values(whole)));
			expect(Math.min(...values(thin))).toBe(Math.min(...values(whole)));
			expect(thin[column]).toHaveLength(thin.time_s.length);
		}
		expect([...thin.time_s].sort((a, b) => a - b)).toEqual(thin.time_s);
		const covered = whole.modes.reduce((sum, mode) => sum + mode.to_s - mode.from_s, 0);
		expect(covered).toBeCloseTo(whole.modes.at(-1)!.to_s - whole.modes[0]!.from_s, 6);
		expect((await desk.must('ring.timeline', { ring: 4, points: 500 })).source).toBe('readings');
		expect(await desk.call('ring.timeline', { ring: 99, points: 500 })).toMatchObject({
			ok: false,
			code: 'no_such_ring',
		});
		desk.handle.close();
	});

	it('exports the logger as it was read, and a folder made so gives the same ledger', async () => {
		const desk = new TestDesk(folder);
		await desk.open('logged.slurrybook');
		const ledger = (await desk.must('sheet.rows', { sheet: 'ledger' })).rows;
		const root = (await desk.must('places.list', {})).placeId;
		const { files } = await desk.must('project.exportFolder', { intoId: root, name: 'out' });
		expect(files).toContain('logger.csv');
		const [given, taken] = await Promise.all([
			readFolder(join(folder, 'demo')),
			readFolder(join(folder, 'out')),
		]);
		for (const sheet of ['drive', 'rings', 'ground', 'readings', 'meters'] as const)
			expect(taken[sheet]).toEqual(given[sheet]);
		await desk.create('out', 'again');
		const again = (await desk.must('sheet.rows', { sheet: 'ledger' })).rows;
		expect(again.map((row) => row.cells)).toEqual(ledger.map((row) => row.cells));
		desk.handle.close();
	});

	it('copies project and series together', async () => {
		const desk = new TestDesk(folder);
		await desk.open('logged.slurrybook');
		const root = (await desk.must('places.list', {})).placeId;
		await desk.must('project.saveCopy', { intoId: root, name: 'copied' });
		expect(await desk.call('project.saveCopy', { intoId: root, name: 'copied' })).toMatchObject({
			ok: false,
			code: 'name_taken',
		});
		const ledger = (await desk.must('sheet.rows', { sheet: 'ledger' })).rows;
		await desk.open('copied.slurrybook');
		expect((await desk.must('sheet.rows', { sheet: 'ledger' })).rows).toEqual(ledger);
		const hash = (file: string) =>
			createHash('sha256')
				.update(readFileSync(join(folder, file)))
				.digest('hex');
		expect(hash('copied.series/series.json')).toBe(hash('logged.series/series.json'));
		desk.handle.close();
	});

	it('keeps its balances without the series, and says so at the first ring it cannot balance again', async () => {
		renameSync(join(folder, 'copied.series'), join(folder, 'elsewhere'));
		const desk = new TestDesk(folder);
		await desk.open('copied.slurrybook');
		const ledger = (await desk.must('sheet.rows', { sheet: 'ledger' })).rows;
		expect(ledger.map((row) => row.cells.source)).toEqual([
			'logger',
			'logger',
			'logger',
			'readings',
		]);
		const { changes } = await desk.must('sheet.edit', {
			sheet: 'rings',
			edits: [{ row: ledger[1]!.id, column: 'stroke_end_mm', text: '1990' }],
			typed: { decimal: '.' },
		});
		const [row] = changes!.sheets.ledger!.rows;
		expect(row!.cells.source).toBe('readings');
		expect(row!.flags!.flags!.join(' ')).toContain('series');
		desk.handle.close();
	});
});
