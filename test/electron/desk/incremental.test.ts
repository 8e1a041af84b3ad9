import { cpSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Samples } from '../../../calc/circuit/samples.ts';
import { SHEETS, type SheetId, type SheetRow } from '../../../calc/sheet/column.ts';
import type { Ask, Reply } from '../../../electron/contract/verbs.ts';
import { type Edited, OpenDocument } from '../../../electron/desk/document.ts';
import { DriveModel } from '../../../electron/desk/drivemodel.ts';
import { RingLedger } from '../../../electron/desk/ringledger.ts';
import { RowView } from '../../../electron/desk/rowview.ts';
import { checkFile } from '../../../electron/store/checkfile.ts';
import { openForWriting, scratchFolder } from '../store/smalldrive.ts';
import { iso, startOf, TestDesk, writeInventedFolder } from './invented.ts';

/** Making everything anew from the file is the oracle: whatever was done, and in whatever order, the
 * document in memory and a page that only applied the change sets must hold the same to the bit. */

const folder = scratchFolder();
const by = { who: 'Tester', at_s: 1_780_000_000 };
const RINGS = 9;

beforeAll(async () => {
	writeInventedFolder(join(folder, 'demo'), { rings: RINGS, step_s: 420 });
	const desk = new TestDesk(folder);
	await desk.create('demo', 'plain');
	await desk.create('demo', 'start');
	const column = (sheet: string, column_id: string, unit: string, expression: string) => ({
		sheet,
		column_id,
		heading: column_id,
		unit,
		expression,
	});
	const { refused } = await desk.must('sheet.add', {
		sheet: 'formulas',
		typed,
		rows: [
			column('ledger', 'loss', 'm3', 'volume_expected_m3 - volume_apparent_m3'),
			column('ledger', 'calm', 'm3', 'mean(loss, 3) + change(loss)'),
			column('ledger', 'lost', 'm3', 'total(known(loss) ? loss : 0 m^3)'),
			column('ledger', 'two_back', 't', 'at_ring(dry_solids_t, ring - 2)'),
			column('ledger', 'sand', '%', 'face_share("Fine sand")'),
			column('readings', 'rise', 't/m3', 'return_density_t_m3 - feed_density_t_m3'),
			column('readings', 'calm_rise', 't/m3', 'mode == "advance" ? mean(rise, 4) : previous(rise)'),
			column(
				'readings',
				'dug',
				't',
				'total(known(solids_rate_t_h) ? solids_rate_t_h * 5 min : 0 t)',
			),
		],
	});
	expect(refused).toEqual([]);
	desk.handle.close();
});

let copies = 0;
/** With columns that look at other rows, or without any column of a formula. */
async function openCopy(of: 'start' | 'plain' = 'start'): Promise<OpenDocument> {
	const path = join(folder, `copy-${++copies}.slurrybook`);
	cpSync(join(folder, `${of}.slurrybook`), path);
	const opened = await OpenDocument.open(openForWriting(path), () => {});
	if (!opened.ok) throw new Error(opened.message);
	return opened.value;
}

async function madeAnew(document: OpenDocument) {
	const model = new DriveModel((sheet) => document.file.rows(sheet));
	const ledger = new RingLedger([], null);
	await ledger.recalculate(model, null, () => {});
	return { model, ledger, view: new RowView(model, ledger, document.facts.utcOffset_min) };
}

const byId = (rows: readonly SheetRow[]) => new Map(rows.map((row) => [row.id, row]));
type Page = Record<SheetId, Map<number, SheetRow>>;

function pageOf(document: OpenDocument): Page {
	return Object.fromEntries(
		SHEETS.map((sheet) => [sheet, byId(document.sheetRows(sheet, null, null).rows as SheetRow[])]),
	) as Page;
}

function applyToPage(page: Page, reply: Reply<Edited>): boolean {
	if (!reply.ok || reply.value.changes === null) return false;
	expect(reply.value.changes.whole).toBe(true);
	for (const [sheet, part] of Object.entries(reply.value.changes.sheets)) {
		for (const row of part.rows) page[sheet as SheetId].set(row.id, row as SheetRow);
		for (const id of part.removed) page[sheet as SheetId].delete(id);
	}
	return true;
}

const used = (samples: Samples) =>
	Object.fromEntries(
		Object.entries(samples).map(([name, column]) => [
			name,
			typeof column === 'number' || column === null
				? column
				: [...column.subarray(0, samples.count)],
		]),
	);

async function expectSame(document: OpenDocument, page: Page) {
	const anew = await madeAnew(document);
	expect(used(document.model.record.samples())).toEqual(used(anew.model.record.samples()));
	expect(document.model.rings).toEqual(anew.model.rings);
	for (const ring of anew.model.rings)
		expect(document.ledger.balance(ring.row)).toEqual(anew.ledger.balance(ring.row));
	for (const sheet of SHEETS) {
		const fresh = byId(anew.view.rows(sheet, null, null).rows);
		expect(new Map([...page[sheet]].sort(([a], [b]) => a - b)), sheet).toEqual(
			new Map([...fresh].sort(([a], [b]) => a - b)),
		);
	}
}

const SPAN_S = startOf(RINGS + 1) - startOf(1);
const time = fc.integer({ min: -60, max: SPAN_S / 60 }).map((min) => iso(startOf(1) + min * 60));
const near = fc.integer({ min: -400, max: 400 });
const nth = fc.integer({ min: 0, max: 100_000 });

type List = Ask<'sheet.add'>['sheet'];
type Step =
	| { do: 'edit'; ask: (pick: (sheet: List) => number) => Ask<'sheet.edit'> }
	| { do: 'add'; ask: Ask<'sheet.add'> }
	| { do: 'delete'; sheet: List; nth: number; many: number }
	| { do: 'undo' }
	| { do: 'redo' };

const typed = { decimal: '.' } as const;
const edit = (
	sheet: Ask<'sheet.edit'>['sheet'],
	column: fc.Arbitrary<string>,
	text: fc.Arbitrary<string>,
	most = 4,
): fc.Arbitrary<Step> =>
	fc.array(fc.record({ nth, column, text }), { minLength: 1, maxLength: most }).map((edits) => ({
		do: 'edit',
		ask: (pick) => ({
			sheet,
			typed,
			edits: edits.map((one) => ({
				row: sheet === 'drive' ? 1 : pick(sheet) + 0 * one.nth,
				column: one.column,
				text: one.text,
			})),
		}),
	}));

/** A decision on some bypass, or a mode set by hand, for up to two hours. */
const stretch: fc.Arbitrary<Step> = fc
	.tuple(
		fc.integer({ min: -60, max: SPAN_S / 60 }),
		fc.integer({ min: 0, max: 120 }),
		fc.constantFrom('accept', 'reject', 'advance', 'bypass', 'stop', 'back_flush'),
		fc.constantFrom('', 'flow', 'density'),
	)
	.map(([from, length, says, quantity]) => {
		const from_s = startOf(1) + from * 60;
		const span = { from_time: iso(from_s), to_time: iso(from_s + length * 60) };
		const decides = says === 'accept' || says === 'reject';
		return {
			do: 'add',
			ask: {
				sheet: decides ? 'bypass_decisions' : 'mode_overrides',
				typed,
				rows: [
					decides
						? { ...span, decision: says, quantity, why: 'seen' }
						: { ...span, mode: says, why: 'shift log' },
				],
			},
		};
	});

const step: fc.Arbitrary<Step> = fc.oneof(
	{
		weight: 6,
		arbitrary: edit(
			'readings',
			fc.constantFrom('feed_flow_m3_h', 'return_flow_m3_h'),
			fc.integer({ min: 0, max: 1500 }).map(String),
		),
	},
	{
		weight: 4,
		arbitrary: edit(
			'readings',
			fc.constantFrom('feed_density_t_m3', 'return_density_t_m3'),
			fc.integer({ min: 995, max: 1400 }).map((v) => String(v / 1000)),
		),
	},
	{
		weight: 3,
		arbitrary: edit(
			'readings',
			fc.constant('mode'),
			fc.constantFrom('advance', 'bypass', 'stop', 'back_flush'),
		),
	},
	{ weight: 4, arbitrary: edit('readings', fc.constant('time'), time, 2) },
	{
		weight: 3,
		arbitrary: edit(
			'readings',
			fc.constantFrom(
				'chamber_level_m',
				'side_flow_m3_h',
				'feed_total_m3',
				'return_total_m3',
				'ph',
			),
			fc.constantFrom('', '5.2', '7'),
		),
	},
	{
		weight: 3,
		arbitrary: edit(
			'rings',
			fc.constantFrom('stroke_end_mm', 'stroke_start_mm'),
			fc.integer({ min: 100, max: 2200 }).map(String),
			1,
		),
	},
	{
		weight: 3,
		arbitrary: edit(
			'rings',
			fc.constantFrom('chamber_level_start_m', 'chamber_level_end_m', 'line_extension_m'),
			fc.constantFrom('', '5', '5.4', '0.5'),
			1,
		),
	},
	{
		weight: 3,
		arbitrary: fc
			.tuple(
				fc.constantFrom('advance_start', 'advance_end'),
				near,
				fc.integer({ min: 1, max: RINGS }),
			)
			.chain(([column, shift, ring]) =>
				edit('rings', fc.constant(column), fc.constant(iso(startOf(ring) + shift * 5)), 1),
			),
	},
	{
		weight: 2,
		arbitrary: edit(
			'ground',
			fc.constantFrom(
				'grain_density_t_m3',
				'dry_density_t_m3',
				'face_fraction',
				'from_ring',
				'to_ring',
				'passing_0.063_mm',
			),
			fc.constantFrom('2.6', '1.5', '0.6', '3', '12', '0.4'),
			2,
		),
	},
	{
		weight: 2,
		arbitrary: edit(
			'meters',
			fc.constantFrom('slope', 'offset', 'valid_from'),
			fc.constantFrom('1.01', '0.99', '0.2', '2026-03-01T12:00Z'),
			1,
		),
	},
	{
		weight: 2,
		arbitrary: edit(
			'drive',
			fc.constantFrom(
				'title',
				'water_temperature_c',
				'return_meter_distance_m',
				'chamber_mixed_volume_m3',
				'excavated_diameter_m',
				'uncertainty.stroke_m',
				'line_growth_m_per_ring',
			),
			fc.constantFrom('', '9.3', '12', '14'),
			2,
		),
	},
	{
		weight: 4,
		arbitrary: edit(
			'drive',
			fc.constant('meter_correction'),
			fc.constantFrom('return', 'both', 'feed', 'none', ''),
			1,
		),
	},
	{
		weight: 1,
		arbitrary: edit(
			'drive',
			fc.constantFrom('correction_accepted', 'density_level'),
			fc.constantFrom('both', 'mud balance', ''),
			1,
		),
	},
	{
		weight: 2,
		arbitrary: edit(
			'readings',
			fc.constantFrom('mud_balance_feed_t_m3', 'mud_balance_return_t_m3'),
			fc.constantFrom('', '1.08', '1.1', '1.12'),
			6,
		),
	},
	{
		weight: 2,
		arbitrary: edit(
			'meters',
			fc.constantFrom('correction_limit', 'instrument', 'standardised_on'),
			fc.constantFrom('0.001', 'other', '2026-03-01T12:00Z'),
			1,
		),
	},
	{ weight: 4, arbitrary: stretch },
	{
		weight: 2,
		arbitrary: edit('mode_overrides', fc.constantFrom('from_time', 'to_time'), time, 1),
	},
	{
		weight: 2,
		arbitrary: edit(
			'bypass_decisions',
			fc.constantFrom('decision', 'quantity', 'why'),
			fc.constantFrom('accept', 'reject', 'flow', ''),
			1,
		),
	},
	{
		weight: 3,
		arbitrary: fc.array(time, { minLength: 1, maxLength: 5 }).map(
			(times): Step => ({
				do: 'add',
				ask: {
					sheet: 'readings',
					typed,
					rows: times.map((t) => ({
						time: t,
						mode: 'advance',
						feed_flow_m3_h: '990',
						feed_density_t_m3: '1.1',
						return_flow_m3_h: '1150',
						return_density_t_m3: '1.22',
					})),
				},
			}),
		),
	},
	{
		weight: 1,
		arbitrary: fc.integer({ min: RINGS + 1, max: RINGS + 4 }).map(
			(ring): Step => ({
				do: 'add',
				ask: {
					sheet: 'rings',
					typed,
					rows: [
						{
							ring: String(ring),
							advance_start: iso(startOf(ring)),
							advance_end: iso(startOf(ring) + 2000),
							stroke_start_mm: '0',
							stroke_end_mm: '1500',
						},
					],
				},
			}),
		),
	},
	{
		weight: 1,
		arbitrary: fc.constantFrom('feed_flow', 'return_density').chain((meter) =>
			time.map(
				(t): Step => ({
					do: 'add',
					ask: {
						sheet: 'meters',
						typed,
						rows: [{ meter, valid_from: t, slope: '1.002', offset: '0.001' }],
					},
				}),
			),
		),
	},
	{
		weight: 5,
		arbitrary: fc.record({
			do: fc.constant('delete' as const),
			sheet: fc.constantFrom(
				'readings',
				'readings',
				'rings',
				'ground',
				'meters',
				'bypass_decisions',
				'mode_overrides',
			),
			nth,
			many: fc.integer({ min: 1, max: 80 }),
		}),
	},
	{ weight: 5, arbitrary: fc.constant<Step>({ do: 'undo' }) },
	{ weight: 3, arbitrary: fc.constant<Step>({ do: 'redo' }) },
);

describe('a document that is worked on', () => {
	it('is at every moment what it would be if everything were made anew', async () => {
		const done = { edit: 0, add: 0, delete: 0, undo: 0, redo: 0 };
		const met = { correction: 0, setModes: 0, decisions: 0 };
		await fc.assert(
			fc.asyncProperty(
				fc.array(fc.tuple(step, nth), { minLength: 12, maxLength: 30 }),
				async (steps) => {
					const document = await openCopy();
					try {
						const page = pageOf(document);
						// Half of the walks begin with a correction in use, so that most steps meet one.
						if (steps.length % 2 === 0)
							applyToPage(
								page,
								await document.edit(
									{
										sheet: 'drive',
										typed,
										edits: [{ row: 1, column: 'meter_correction', text: 'return' }],
									},
									by,
								),
							);
						for (const [what, seed] of steps) {
							const rowsOf = (sheet: List) => document.sheetOrder(sheet);
							let at = seed;
							const pick = (sheet: List) => {
								const rows = rowsOf(sheet);
								at = (at * 31 + 7) % 1_000_003;
								return rows[at % rows.length] ?? 1;
							};
							let reply: Reply<Edited>;
							if (what.do === 'edit') reply = await document.edit(what.ask(pick), by);
							else if (what.do === 'add') reply = await document.add(what.ask, by);
							else if (what.do === 'undo') reply = await document.undo(by);
							else if (what.do === 'redo') {
								// There is seldom anything to redo in a random walk, so it is undone first.
								if (applyToPage(page, await document.undo(by))) done.undo++;
								await expectSame(document, page);
								reply = await document.redo(by);
							} else {
								const rows = rowsOf(what.sheet);
								const many = what.sheet === 'readings' ? what.many : 1;
								const first = rows.length === 0 ? 0 : what.nth % rows.length;
								reply = await document.remove(
									{
										sheet: what.sheet,
										rows: rows.slice(first, first + many).concat(rows.length === 0 ? [1] : []),
									},
									by,
								);
							}
							if (applyToPage(page, reply)) done[what.do]++;
							await expectSame(document, page);
							if (document.ledger.checking.correction?.flow) met.correction++;
							if (document.model.overrides.length > 0) met.setModes++;
							if (document.model.decisions.length > 0) met.decisions++;
						}
						expect(checkFile(document.file).findings).toEqual([]);
					} finally {
						document.close();
					}
				},
			),
			{ numRuns: 30, seed: 2_026 },
		);
		// The walk must really have changed things, in every way.
		for (const [what, times] of Object.entries({ ...done, ...met }))
			expect(times, what).toBeGreaterThan(10);
	}, 180_000);

	it('goes all the way back by undo and forth again by redo', async () => {
		const document = await openCopy();
		const start = pageOf(document);
		const page = pageOf(document);
		const rows = document.sheetOrder('readings');
		for (let n = 0; n < 12; n++) {
			const reply =
				n % 3 === 0
					? await document.remove({ sheet: 'readings', rows: [rows[n * 5]!] }, by)
					: await document.edit(
							{
								sheet: 'readings',
								typed,
								edits: [{ row: rows[n * 5]!, column: 'return_flow_m3_h', text: String(900 + n) }],
							},
							by,
						);
			expect(applyToPage(page, reply)).toBe(true);
		}
		const end = pageOf(document);
		for (let n = 0; n < 12; n++) expect(applyToPage(page, await document.undo(by))).toBe(true);
		expect(await document.undo(by)).toMatchObject({ ok: false, code: 'nothing_to_undo' });
		expect(page).toEqual(start);
		for (let n = 0; n < 12; n++) expect(applyToPage(page, await document.redo(by))).toBe(true);
		expect(await document.redo(by)).toMatchObject({ ok: false, code: 'nothing_to_redo' });
		expect(page).toEqual(end);
		await expectSame(document, page);
		document.close();
	});

	it('balances again only the rings that look at the changed reading', async () => {
		const document = await openCopy('plain');
		const middle = document.sheetRows('readings', 5, 5).rows[8]!.id;
		const reply = await document.edit(
			{
				sheet: 'readings',
				typed,
				edits: [{ row: middle, column: 'return_flow_m3_h', text: '1111' }],
			},
			by,
		);
		if (!reply.ok || reply.value.changes === null) throw new Error('not done');
		const rings = reply.value.changes.sheets.ledger!.rows.map((row) => row.cells.ring);
		expect(rings).toContain(5);
		expect(rings.length).toBeLessThanOrEqual(2);
		expect(reply.value.changes.sheets.readings!.rows.map((row) => row.id)).toEqual([middle]);
		document.close();
	});
});
