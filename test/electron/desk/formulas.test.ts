import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { scratchFolder } from '../store/smalldrive.ts';
import { TestDesk, writeInventedFolder } from './invented.ts';

const folder = scratchFolder();
const typed = { decimal: '.' } as const;
const RINGS = 8;

beforeAll(async () => {
	writeInventedFolder(join(folder, 'demo'), { rings: RINGS });
});

let copies = 0;
async function fresh(): Promise<TestDesk> {
	const desk = new TestDesk(folder);
	await desk.create('demo', `drive-${++copies}`);
	return desk;
}

const row = (sheet: string, column_id: string, unit: string, expression: string) => ({
	sheet,
	column_id,
	heading: column_id,
	unit,
	expression,
});
const ledgerRows = async (desk: TestDesk) =>
	(await desk.must('sheet.rows', { sheet: 'ledger' })).rows;
const add = (desk: TestDesk, ...rows: ReturnType<typeof row>[]) =>
	desk.must('sheet.add', { sheet: 'formulas', rows, typed });

const LOSS = row('ledger', 'volume_loss', 'm³', 'volume_expected_m3 - volume_apparent_m3');

describe('formula columns of a document', () => {
	it('come with the rows, follow an edit and its undo, and stay over closing', async () => {
		const desk = await fresh();
		const added = await add(
			desk,
			LOSS,
			row('ledger', 'lost', '%', 'volume_loss / volume_expected_m3'),
		);
		expect(added.refused).toEqual([]);
		expect(added.changes?.label).toBe('adding of 2 own columns');
		expect(added.changes?.sheets.ledger?.rows).toHaveLength(RINGS);
		const before = await ledgerRows(desk);
		for (const { cells } of before) {
			const loss = Number(cells.volume_expected_m3) - Number(cells.volume_apparent_m3);
			expect(cells.volume_loss).toBe(loss);
			expect(cells.lost).toBeCloseTo((100 * loss) / Number(cells.volume_expected_m3), 10);
		}
		const rings = (await desk.must('sheet.rows', { sheet: 'rings' })).rows;
		const edited = await desk.must('sheet.edit', {
			sheet: 'rings',
			edits: [{ row: rings[2]!.id, column: 'stroke_end_mm', text: '1700' }],
			typed,
		});
		const changed = edited.changes?.sheets.ledger?.rows.find(
			(one) => one.cells.ring === before[2]!.cells.ring,
		);
		expect(changed?.cells.volume_loss).not.toBe(before[2]!.cells.volume_loss);
		await desk.must('history.undo', {});
		expect(await ledgerRows(desk)).toEqual(before);
		desk.handle.close();
		const again = new TestDesk(folder);
		await again.open(`drive-${copies}.slurrybook`);
		expect(await ledgerRows(again)).toEqual(before);
		again.handle.close();
	});

	it('say why they are blank', async () => {
		const desk = await fresh();
		await add(desk, row('ledger', 'calm', 'm3', 'mean(volume_apparent_m3, 3)'));
		const [first, , third] = await ledgerRows(desk);
		expect(first?.cells.calm).toBeNull();
		expect(first?.flags?.calm).toEqual(['mean looks at 3 rows; up to here there is 1.']);
		expect(third?.cells.calm).toBeTypeOf('number');
		desk.handle.close();
	});

	it('are refused with the place and what was expected', async () => {
		const desk = await fresh();
		const wrong = async (one: ReturnType<typeof row>) => (await add(desk, one)).refused[0]?.fault;
		expect(
			await wrong(row('ledger', 'a', 'm3', 'volume_apparent_m3 + dry_solids_t')),
		).toMatchObject({
			code: 'units_differ',
			message:
				'These cannot be added: Apparent volume is a volume (m³), Dry solids is a mass (t). (Character 20.)',
			where: { column: 'expression', value: '+' },
		});
		expect(await wrong(row('ledger', 'dry_solids_t', 't', '1 t'))).toMatchObject({
			code: 'formula_name',
		});
		expect(await wrong(row('ledger', 'a', 'parsec', '1 t'))).toMatchObject({
			code: 'unit_unknown',
		});
		expect(await wrong(row('ledger', 'a', 'm3', 'a + 1 m^3'))).toMatchObject({
			code: 'formula_ring',
			message: expect.stringContaining('a → a'),
		});
		expect(await wrong(row('readings', 'a', 'm3', 'volume_apparent_m3'))).toMatchObject({
			code: 'name_unknown',
		});
		await add(desk, LOSS, row('ledger', 'double', 'm3', '2 * volume_loss'));
		const { rows } = await desk.must('sheet.rows', { sheet: 'formulas' });
		const gone = await desk.must('sheet.delete', { sheet: 'formulas', rows: [rows[0]!.id] });
		expect(gone.refused[0]?.fault.message).toBe('volume_loss is used by double.');
		const renamed = await desk.must('sheet.edit', {
			sheet: 'formulas',
			edits: [{ row: rows[0]!.id, column: 'column_id', text: 'loss' }],
			typed,
		});
		expect(renamed.refused[0]?.fault.code).toBe('name_unknown');
		const both = await desk.must('sheet.delete', {
			sheet: 'formulas',
			rows: rows.map((one) => one.id),
		});
		expect(both.refused).toEqual([]);
		expect((await ledgerRows(desk))[0]?.cells).not.toHaveProperty('volume_loss');
		desk.handle.close();
	});

	it('are tried without being entered', async () => {
		const desk = await fresh();
		await add(desk, LOSS);
		const { rows } = await desk.must('sheet.rows', { sheet: 'formulas' });
		const good = await desk.must('formula.check', {
			sheet: 'ledger',
			expression: 'total(volume_loss) / 1 h',
			unit: 'm3/h',
			id: 'pace',
			rows: 3,
		});
		expect(good).toMatchObject({
			ok: true,
			fault: null,
			idFault: null,
			result: { unit: 'm³/h', what: 'a flow (m³/h)' },
			uses: [{ id: 'volume_loss', unit: 'm³', formula: true }],
			blank: { rows: 0, of: RINGS },
		});
		expect(good.preview.map((one) => one.name)).toEqual(['Ring 6', 'Ring 7', 'Ring 8']);
		let total = 0;
		for (const { cells } of await ledgerRows(desk)) total += Number(cells.volume_loss);
		expect(good.preview.at(-1)?.value).toBeCloseTo(total, 9);
		const wrong = await desk.must('formula.check', {
			sheet: 'ledger',
			expression: 'volume_loss + 3',
			unit: 'm3',
			id: 'volume_loss',
		});
		expect(wrong).toMatchObject({
			ok: false,
			fault: { code: 'units_differ', from: 12, to: 13 },
			idFault: 'The formula column volume_loss has this name.',
			preview: [],
		});
		const round = await desk.must('formula.check', {
			sheet: 'ledger',
			expression: 'volume_loss',
			unit: 'm3',
			id: 'volume_loss',
			row: rows[0]!.id,
		});
		expect(round).toMatchObject({ ok: false, fault: { code: 'formula_ring', from: 0, to: 11 } });
		const offers = await desk.must('formula.suggest', {
			sheet: 'ledger',
			expression: '2 * volume_l',
			caret: 12,
		});
		expect(offers).toMatchObject({
			from: 4,
			to: 12,
			offers: [{ kind: 'formula', insert: 'volume_loss' }],
		});
		expect(await ledgerRows(desk)).toHaveLength(RINGS);
		desk.handle.close();
	});

	it('tell how a figure came about', async () => {
		const desk = await fresh();
		await add(desk, row('readings', 'flow_ratio', '', 'return_flow_m3_h / feed_flow_m3_h'), LOSS);
		const [reading] = (await desk.must('sheet.rows', { sheet: 'readings' })).rows;
		const how = await desk.must('cell.working', {
			sheet: 'readings',
			row: reading!.id,
			column: 'flow_ratio',
		});
		const { cells } = reading!;
		expect(cells.flow_ratio).toBe(Number(cells.return_flow_m3_h) / Number(cells.feed_flow_m3_h));
		expect(how.formula).toBe('return_flow_m3_h / feed_flow_m3_h');
		expect(how.lines.map((line) => line.symbol)).toEqual(['return_flow_m3_h', 'feed_flow_m3_h']);
		expect(how.withNumbers).toBe(how.lines.map((line) => line.value).join(' / '));
		const refused = await desk.handle.handle('cell.working', {
			sheet: 'ledger',
			row: 1,
			column: 'flow_ratio',
		});
		expect(refused).toMatchObject({ ok: false, code: 'column_unknown' });
		desk.handle.close();
	});

	it('go out to a plain folder and come back', async () => {
		const desk = await fresh();
		await add(desk, LOSS, row('ledger', 'neg', '', '-1'));
		const before = await ledgerRows(desk);
		const { placeId: into } = await desk.must('places.list', {});
		const out = await desk.must('project.exportFolder', { intoId: into, name: `out-${copies}` });
		expect(out.files).toContain('formulas.csv');
		const text = readFileSync(join(folder, `out-${copies}`, 'formulas.csv'), 'utf8');
		expect(text.split('\n')[0]).toBe('sheet,column_id,heading,unit,expression');
		// A formula that begins with a sign is written so that no spreadsheet program runs it.
		expect(text).toContain("'-1");
		expect(readFileSync(join(folder, `out-${copies}`, 'rings.csv'), 'utf8')).not.toContain(
			'volume_loss',
		);
		await desk.create(`out-${copies}`, `back-${copies}`);
		expect((await ledgerRows(desk)).map((one) => one.cells)).toEqual(
			before.map((one) => one.cells),
		);
		desk.handle.close();
	});
});
