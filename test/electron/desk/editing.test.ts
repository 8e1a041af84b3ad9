import { existsSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Answer } from '../../../electron/contract/verbs.ts';
import { scratchFolder } from '../store/smalldrive.ts';
import { iso, startOf, TestDesk, writeInventedFolder } from './invented.ts';

const folder = scratchFolder();
const typed = { decimal: '.' } as const;

beforeAll(async () => {
	writeInventedFolder(join(folder, 'demo'), { rings: 6 });
	const desk = new TestDesk(folder);
	await desk.create('demo', 'drive');
	desk.handle.close();
});

async function opened(): Promise<TestDesk> {
	const desk = new TestDesk(folder);
	await desk.open('drive.slurrybook');
	return desk;
}
const readings = async (desk: TestDesk) =>
	(await desk.must('sheet.rows', { sheet: 'readings' })).rows;
const refusedCodes = (answer: Answer<'sheet.edit'>) =>
	answer.refused.map((one) => [one.row, one.column, one.fault.code]);

describe('editing', () => {
	it('keeps an edit and its undo over closing and opening', async () => {
		let desk = await opened();
		const [first] = await readings(desk);
		const ledger = (await desk.must('sheet.rows', { sheet: 'ledger' })).rows;
		const answer = await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: [{ row: first!.id, column: 'feed_density_t_m3', text: '1090 kg/m³' }],
			typed,
			why: 'misread',
		});
		expect(answer.changes?.label).toBe(`edit of feed density, reading ${first!.id}`);
		expect(answer.changes?.document).toMatchObject({ undo: answer.changes?.label, redo: null });
		desk.handle.close();
		desk = await opened();
		expect((await readings(desk))[0]!.cells.feed_density_t_m3).toBe(1.09);
		await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: [{ row: first!.id, column: 'feed_density_t_m3', text: '1.1' }],
			typed,
		});
		await desk.must('history.undo', {});
		desk.handle.close();
		desk = await opened();
		expect((await readings(desk))[0]!.cells.feed_density_t_m3).toBe(1.09);
		await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: [
				{
					row: first!.id,
					column: 'feed_density_t_m3',
					text: String(first!.cells.feed_density_t_m3),
				},
			],
			typed,
		});
		expect((await desk.must('sheet.rows', { sheet: 'ledger' })).rows).toEqual(ledger);
		desk.handle.close();
	});

	it('journals who, when, why, old and new', async () => {
		const db = new DatabaseSync(join(folder, 'drive.slurrybook'), { readOnly: true });
		const entry = db.prepare("SELECT * FROM journal WHERE why = 'misread'").get();
		db.close();
		expect(entry).toMatchObject({
			at_s: 1_780_000_000,
			who: 'Tester',
			kind: 'edit',
			sheet: 'readings',
			column_id: 'feed_density_t_m3',
			old: 1.08,
			new: 1.09,
		});
	});

	it('applies all of a paste or nothing, and names every cell that is refused', async () => {
		const desk = await opened();
		const before = await readings(desk);
		const ids = before.map((row) => row.id);
		const answer = await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: [
				{ row: ids[0]!, column: 'ph', text: '8' },
				{ row: ids[1]!, column: 'ph', text: '88' },
				{ row: ids[2]!, column: 'mode', text: 'drilling' },
				{ row: ids[3]!, column: 'return_flow_m3_h', text: '1,180' },
				{ row: ids[4]!, column: 'feed_flow_m3_h', text: '' },
				{ row: ids[5]!, column: 'solids_rate_t_h', text: '7' },
				{ row: ids[6]!, column: 'nonsense', text: '7' },
				{ row: 999_999, column: 'ph', text: '7' },
				{ row: ids[7]!, column: 'feed_density_t_m3', text: '5 bar' },
			],
			typed,
		});
		expect(answer.changes).toBeNull();
		const codes = refusedCodes(answer);
		expect(codes.map(([row]) => row)).toEqual([
			ids[1],
			ids[2],
			ids[3],
			ids[4],
			ids[5],
			ids[6],
			999_999,
			ids[7],
		]);
		expect(codes[2]).toEqual([ids[3], 'return_flow_m3_h', 'number_ambiguous']);
		expect(answer.refused[2]!.readAs.length).toBeGreaterThanOrEqual(2);
		expect(codes[4]![2]).toBe('column_computed');
		expect(codes[6]![2]).toBe('row_gone');
		expect(await readings(desk)).toEqual(before);
		expect((await desk.must('desk.state', {})).document?.undo).toBeNull();
		// A choice offered for the ambiguous number is taken when it is sent back.
		const choice =
			answer.refused[2]!.readAs.find((one) => one.label.includes('1180')) ??
			answer.refused[2]!.readAs[0]!;
		const again = await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: [{ row: ids[3]!, column: 'return_flow_m3_h', text: choice.text }],
			typed,
		});
		expect(again.refused).toEqual([]);
		await desk.must('history.undo', {});
		desk.handle.close();
	});

	it('makes one step of a paste, and clears what could be redone when something new is typed', async () => {
		const desk = await opened();
		const before = await readings(desk);
		const paste = await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: before
				.slice(0, 24)
				.map((row) => ({ row: row.id, column: 'marsh_s_per_quart', text: '41' })),
			typed,
			label: 'paste of 24 cells',
		});
		expect(paste.changes?.document.undo).toBe('paste of 24 cells');
		expect(paste.changes?.sheets.readings?.rows).toHaveLength(24);
		const undone = await desk.must('history.undo', {});
		expect(undone.changes?.label).toBe('undo of paste of 24 cells');
		expect(undone.changes?.document).toMatchObject({ undo: null, redo: 'paste of 24 cells' });
		expect(await readings(desk)).toEqual(before);
		await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: [{ row: before[0]!.id, column: 'ph', text: '8.8' }],
			typed,
		});
		expect(await desk.call('history.redo', {})).toMatchObject({
			ok: false,
			code: 'nothing_to_redo',
		});
		await desk.must('history.undo', {});
		expect(await readings(desk)).toEqual(before);
		desk.handle.close();
	});

	it('edits and adds rows in one step, holds both against each other, and undoes them together', async () => {
		const desk = await opened();
		const before = await readings(desk);
		const last = before.at(-1)!;
		const later = (minutes: number) => iso((last.cells.time as number) + minutes * 60);
		const row = (minutes: number) => ({
			time: later(minutes),
			mode: 'bypass',
			feed_flow_m3_h: '1100',
			feed_density_t_m3: '1.08',
			return_flow_m3_h: '1100',
			return_density_t_m3: '1.08',
		});
		const pasted = {
			sheet: 'readings' as const,
			edits: [{ row: last.id, column: 'note', text: 'end of the shift' }],
			typed,
			label: 'paste of 13 cells',
		};
		const answer = await desk.must('sheet.edit', { ...pasted, add: [row(10), row(20)] });
		expect(answer.changes?.document).toMatchObject({
			undo: 'paste of 13 cells',
			readings: before.length + 2,
		});
		await desk.must('history.undo', {});
		expect(await readings(desk)).toEqual(before);

		// Source: the sheet's own rule, one reading at a time; here between an edited and an added row.
		const clash = await desk.must('sheet.edit', {
			...pasted,
			edits: [{ row: last.id, column: 'time', text: later(10) }],
			add: [row(10)],
		});
		expect(clash.changes).toBeNull();
		expect(clash.refused.map((one) => one.fault.code)).toContain('reading_twice');
		const short = await desk.must('sheet.edit', { ...pasted, add: [{ time: later(10) }] });
		expect(short.refused.map((one) => [one.row, one.fault.where.row, one.column])).toContainEqual([
			null,
			1,
			'mode',
		]);
		const drive = await desk.handle.handle('sheet.edit', {
			sheet: 'drive',
			edits: [{ row: 1, column: 'title', text: 'Another' }],
			add: [{ title: 'Third' }],
			typed,
		});
		expect(drive).toMatchObject({ ok: false, code: 'no_rows' });
		expect(await readings(desk)).toEqual(before);
		desk.handle.close();
	});

	it('refuses what breaks a rule between rows, and takes a face that is still being entered', async () => {
		const desk = await opened();
		const rings = (await desk.must('sheet.rows', { sheet: 'rings' })).rows;
		const overlap = await desk.must('sheet.edit', {
			sheet: 'rings',
			edits: [{ row: rings[2]!.id, column: 'advance_start', text: iso(startOf(2) + 60) }],
			typed,
		});
		expect(refusedCodes(overlap)).toEqual([[rings[2]!.id, 'advance_start', 'advance_overlap']]);
		const backwards = await desk.must('sheet.edit', {
			sheet: 'rings',
			edits: [{ row: rings[2]!.id, column: 'stroke_end_mm', text: '100' }],
			typed,
		});
		expect(refusedCodes(backwards)).toEqual([[rings[2]!.id, 'stroke_end_mm', 'stroke_backwards']]);
		const rows = await readings(desk);
		const twice = await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: [{ row: rows[4]!.id, column: 'time', text: iso(Number(rows[5]!.cells.time)) }],
			typed,
		});
		expect(twice.refused.map((one) => one.fault.code)).toEqual(['reading_twice']);
		// Two that change places in one gesture are no clash.
		const swap = await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: [
				{ row: rows[4]!.id, column: 'time', text: iso(Number(rows[5]!.cells.time)) },
				{ row: rows[5]!.id, column: 'time', text: iso(Number(rows[4]!.cells.time)) },
			],
			typed,
		});
		expect(swap.refused).toEqual([]);
		await desk.must('history.undo', {});
		const face = await desk.must('sheet.edit', {
			sheet: 'ground',
			edits: [{ row: 1, column: 'face_fraction', text: '0.7' }],
			typed,
		});
		expect(face.refused).toEqual([]);
		const blank = face.changes!.sheets.ledger!.rows[0]!;
		expect(blank.cells.dry_solids_expected_t).toBeNull();
		expect(blank.flags!.dry_solids_expected_t!.length).toBeGreaterThan(0);
		const added = await desk.must('sheet.add', {
			sheet: 'ground',
			rows: [
				{
					from_ring: '1',
					to_ring: '3',
					stratum: 'Gravel',
					face_fraction: '0.3',
					grain_density_t_m3: '2.66',
					dry_density_t_m3: '1.9',
				},
			],
			typed,
		});
		expect(added.changes!.sheets.ledger!.rows[0]!.cells.dry_solids_expected_t).toBeGreaterThan(0);
		await desk.must('history.undo', {});
		await desk.must('history.undo', {});
		desk.handle.close();
	});

	it('names added rows that are refused by their place, and needs what a row cannot do without', async () => {
		const desk = await opened();
		const answer = await desk.must('sheet.add', {
			sheet: 'readings',
			rows: [
				{
					time: '2026-04-01 10:00',
					mode: 'stop',
					feed_flow_m3_h: '0',
					feed_density_t_m3: '1.05',
					return_flow_m3_h: '0',
					return_density_t_m3: '1.05',
				},
				{ time: '2026-04-01 10:05', mode: 'stop' },
			],
			typed,
		});
		expect(answer.changes).toBeNull();
		for (const one of answer.refused)
			expect(one).toMatchObject({ row: null, fault: { code: 'cell_required', where: { row: 2 } } });
		expect(answer.refused.map((one) => one.column).sort()).toEqual([
			'feed_density_t_m3',
			'feed_flow_m3_h',
			'return_density_t_m3',
			'return_flow_m3_h',
		]);
		desk.handle.close();
	});

	it('flags a seldom value beside the cell', async () => {
		const desk = await opened();
		const rows = await readings(desk);
		const { changes } = await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: [{ row: rows[8]!.id, column: 'ph', text: '4' }],
			typed,
		});
		expect(changes!.sheets.readings!.rows[0]!.flags!.ph![0]).toContain('seldom');
		await desk.must('history.undo', {});
		desk.handle.close();
	});

	it('tells every page the same change under one number', async () => {
		const desk = await opened();
		const rows = await readings(desk);
		desk.events.length = 0;
		const answers = await Promise.all(
			[7, 8, 9].map((ph, at) =>
				desk.must('sheet.edit', {
					sheet: 'readings',
					edits: [{ row: rows[at]!.id, column: 'ph', text: String(ph) }],
					typed,
				}),
			),
		);
		const pushed = desk.events.flatMap((event) =>
			event.event === 'changed' ? [event.changes] : [],
		);
		expect(pushed).toEqual(answers.map((answer) => answer.changes));
		expect(pushed.map((one) => one.seq)).toEqual([1, 2, 3]);
		for (let n = 0; n < 3; n++) await desk.must('history.undo', {});
		desk.handle.close();
	});
});

describe('opening', () => {
	it('is for reading only where someone else writes, says who, and follows what they confirm', async () => {
		const writer = await opened();
		const reader = new TestDesk(folder, { person: 'Reader' });
		await reader.open('drive.slurrybook');
		const state = await reader.must('desk.state', {});
		expect(state.document).toMatchObject({ readOnly: true });
		expect(state.document?.readOnlyWhy).toContain('Tester');
		const rows = await readings(reader);
		const edit = {
			sheet: 'readings',
			edits: [{ row: rows[3]!.id, column: 'ph', text: '7.7' }],
			typed,
		} as const;
		expect(await reader.call('sheet.edit', { ...edit, edits: [...edit.edits] })).toMatchObject({
			ok: false,
			code: 'read_only',
		});
		await writer.must('sheet.edit', { ...edit, edits: [...edit.edits] });
		expect((await readings(reader))[3]!.cells.ph).toBe(7.7);
		await writer.must('history.undo', {});
		expect(await readings(reader)).toEqual(rows);
		writer.handle.close();
		reader.handle.close();
	});

	it('refuses rows that other hands made unsound, naming them', async () => {
		const desk = new TestDesk(folder);
		await desk.create('demo', 'spoilt');
		desk.handle.close();
		const db = new DatabaseSync(join(folder, 'spoilt.slurrybook'));
		db.exec("UPDATE readings SET mode = 'flying' WHERE id = 9");
		db.close();
		const again = new TestDesk(folder);
		const placeId = await again.placeOf('spoilt.slurrybook');
		const reply = await again.call('project.open', { placeId });
		expect(reply).toMatchObject({ ok: false, code: 'rows_unsound' });
		expect(reply.ok ? '' : reply.message).toContain('row 9');
		again.handle.close();
	});

	it('keeps the document that is open when another cannot be opened', async () => {
		const desk = await opened();
		writeFileSync(
			join(folder, 'fake.slurrybook'),
			'not a database, but long enough to look at: '.repeat(9),
		);
		const reply = await desk.call('project.open', {
			placeId: await desk.placeOf('fake.slurrybook'),
		});
		expect(reply).toMatchObject({ ok: false, code: 'not_a_project' });
		expect((await desk.must('desk.state', {})).document?.file).toBe('drive.slurrybook');
		desk.handle.close();
	});

	it('remembers what was opened, by name and by person', async () => {
		const desk = await opened();
		await desk.must('person.set', { person: 'Night shift' });
		const recent = await desk.must('recent.list', {});
		expect(recent[0]).toMatchObject({
			title: 'Invented drive, Nowhere-on-Sea',
			exists: true,
			opened_s: 1_780_000_000,
		});
		desk.handle.close();
		const other = new TestDesk(folder);
		expect((await other.must('desk.state', {})).person).toBe('Night shift');
		await other.must('project.open', {
			placeId: recent[0] === undefined ? '' : (await other.must('recent.list', {}))[0]!.placeId,
		});
		await other.must('person.set', { person: 'Tester' });
		other.handle.close();
		writeFileSync(join(folder, 'settings', 'settings.json'), '{ "recent": [ 7 ], broken');
		const third = new TestDesk(folder);
		expect(await third.must('recent.list', {})).toEqual([]);
		third.handle.close();
	});

	it('makes the demo drive once and opens the same again', async () => {
		const desk = new TestDesk(folder);
		await desk.must('project.openDemo', {});
		expect(existsSync(join(folder, 'Slurry Ledger demo.slurrybook'))).toBe(true);
		await desk.must('sheet.edit', {
			sheet: 'drive',
			edits: [{ row: 1, column: 'title', text: 'Renamed' }],
			typed,
		});
		await desk.must('project.close', {});
		expect((await desk.must('project.openDemo', {})).document?.title).toBe('Renamed');
		desk.handle.close();
	});

	it('lists folders, projects and drive folders, and leaves hidden files out', async () => {
		writeFileSync(join(folder, '.hidden'), '');
		const desk = new TestDesk(folder);
		const { entries, title } = await desk.must('places.list', {});
		expect(title.length).toBeGreaterThan(0);
		expect(entries.find((one) => one.name === 'demo')?.kind).toBe('driveFolder');
		expect(entries.find((one) => one.name === 'drive.slurrybook')?.kind).toBe('project');
		expect(entries.some((one) => one.name.startsWith('.'))).toBe(false);
		expect(JSON.stringify(entries)).not.toContain(folder);
		const root = (await desk.must('places.list', {})).placeId;
		for (const name of ['', '../out', 'a/b', '.x', 'con', 'a\u0000b', 'x'.repeat(300)])
			expect((await desk.call('project.exportFolder', { intoId: root, name })).ok, name).toBe(
				false,
			);
		desk.handle.close();
	});

	it('makes an empty drive that a person fills by hand to a balanced ring', async () => {
		const desk = new TestDesk(folder);
		const root = (await desk.must('places.list', {})).placeId;
		await desk.must('project.createEmpty', {
			intoId: root,
			name: 'by hand',
			title: 'By hand',
			excavated_diameter_m: 9.2,
			nominal_advance_m: 1.8,
		});
		await desk.must('sheet.add', {
			sheet: 'rings',
			typed,
			rows: [
				{
					ring: '1',
					advance_start: '2026-05-01T06:00Z',
					advance_end: '2026-05-01T06:40Z',
					stroke_start_mm: '0',
					stroke_end_mm: '1800',
				},
			],
		});
		await desk.must('sheet.add', {
			sheet: 'ground',
			typed,
			rows: [
				{
					from_ring: '1',
					to_ring: '9',
					stratum: 'Sand',
					face_fraction: '1',
					grain_density_t_m3: '2.65',
					dry_density_t_m3: '1.7',
				},
			],
		});
		const { changes } = await desk.must('sheet.add', {
			sheet: 'readings',
			typed,
			rows: ['05:50', '06:00', '06:10', '06:20', '06:30', '06:40', '06:50'].map((clock) => ({
				time: `2026-05-01T${clock}Z`,
				mode: 'advance',
				feed_flow_m3_h: '1000',
				feed_density_t_m3: '1.1',
				return_flow_m3_h: '1180',
				return_density_t_m3: '1.22',
			})),
		});
		// 180 m³/h over 40 min, constant flows: 120 m³ (mass conservation; 6:00–6:40).
		expect(changes!.sheets.ledger!.rows[0]!.cells.volume_apparent_m3).toBeCloseTo(120, 9);
		const check = await desk.must('project.check', {});
		expect(check.findings).toEqual([]);
		desk.handle.close();
	});

	it('leaves no unfinished file behind, also where making a project fails', async () => {
		writeInventedFolder(join(folder, 'faulty'), { rings: 2 });
		writeFileSync(join(folder, 'faulty', 'rings.csv'), 'ring,advance_start\n1,yesterday\n');
		const desk = new TestDesk(folder);
		const root = (await desk.must('places.list', {})).placeId;
		const reply = await desk.call('project.create', {
			folderId: await desk.placeOf('faulty'),
			intoId: root,
			name: 'never',
			take: 'all',
		});
		expect(reply.ok).toBe(false);
		desk.handle.close();
		const unfinished = readdirSync(folder).filter((name) =>
			/\.part|-writer|unfinished|-journal/.test(name),
		);
		expect(unfinished).toEqual([]);
		expect(existsSync(join(folder, 'never.slurrybook'))).toBe(false);
	});
});
