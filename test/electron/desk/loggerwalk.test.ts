import { cpSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { beforeAll, expect, it } from 'vitest';
import { writeSimulated } from '../../../electron/command/simulate.ts';
import type { Ask } from '../../../electron/contract/verbs.ts';
import { OpenDocument } from '../../../electron/desk/document.ts';
import { DriveModel } from '../../../electron/desk/drivemodel.ts';
import { RingLedger } from '../../../electron/desk/ringledger.ts';
import { openSeries } from '../../../electron/desk/series.ts';
import { OFF } from '../../calc/trust/checkeddrive.ts';
import { openForWriting, scratchFolder } from '../store/smalldrive.ts';
import { iso, TestDesk } from './invented.ts';

/** With a logger too, everything made anew from file and series is the oracle of what is on the desk. */

const folder = scratchFolder();
const by = { who: 'Tester', at_s: 1_780_000_000 };
const typed = { decimal: '.' } as const;
let first_s = 0;
let last_s = 0;

beforeAll(async () => {
	await writeSimulated(join(folder, 'demo'), { ...OFF, seed: 21, rings: 4, loggerInterval_s: 5 });
	const desk = new TestDesk(folder);
	await desk.create('demo', 'start');
	const { rows } = await desk.must('sheet.rows', { sheet: 'rings' });
	first_s = Number(rows[0]!.cells.advance_start);
	last_s = Number(rows.at(-1)!.cells.advance_end);
	desk.handle.close();
});

type Step =
	| { do: 'add'; ask: Ask<'sheet.add'> }
	| { do: 'edit'; ask: Ask<'sheet.edit'> }
	| { do: 'undo' };

/** Parts of the drive from its beginning; minutes of length. */
const stretch = fc.tuple(fc.integer({ min: 0, max: 1_000 }), fc.integer({ min: 1, max: 90 }));
const span = ([part, minutes]: [number, number]) => {
	const from_s = Math.round(first_s - 3_600 + (part / 1_000) * (last_s - first_s + 3_600));
	return { from_time: iso(from_s), to_time: iso(from_s + 60 * minutes) };
};
const drive = (column: string, ...texts: string[]) =>
	fc.constantFrom(...texts).map(
		(text): Step => ({
			do: 'edit',
			ask: { sheet: 'drive', typed, edits: [{ row: 1, column, text }] },
		}),
	);

const step = fc.oneof(
	{
		weight: 4,
		arbitrary: fc.tuple(stretch, fc.constantFrom('advance', 'bypass', 'stop', 'back_flush')).map(
			([at, mode]) =>
				(): Step => ({
					do: 'add',
					ask: {
						sheet: 'mode_overrides',
						typed,
						rows: [{ ...span(at), mode, why: 'shift log' }],
					},
				}),
		),
	},
	{
		weight: 2,
		arbitrary: fc.tuple(stretch, fc.constantFrom('accept', 'reject')).map(
			([at, decision]) =>
				(): Step => ({
					do: 'add',
					ask: {
						sheet: 'bypass_decisions',
						typed,
						rows: [{ ...span(at), decision, why: 'seen' }],
					},
				}),
		),
	},
	{
		weight: 3,
		arbitrary: drive('meter_correction', 'return', 'both', 'none').map((one) => () => one),
	},
	{
		weight: 1,
		arbitrary: drive('return_meter_distance_m', '200', '600', '1500').map((one) => () => one),
	},
	{
		weight: 2,
		arbitrary: fc.tuple(stretch, fc.constantFrom('return_flow', 'feed_density')).map(
			([at, meter]) =>
				(): Step => ({
					do: 'add',
					ask: {
						sheet: 'meters',
						typed,
						rows: [{ meter, valid_from: span(at).from_time, slope: '1.004', offset: '0' }],
					},
				}),
		),
	},
	{ weight: 3, arbitrary: fc.constant((): Step => ({ do: 'undo' })) },
);

let copies = 0;
async function openCopy(): Promise<{ document: OpenDocument; path: string }> {
	const name = `copy-${++copies}`;
	const path = join(folder, `${name}.slurrybook`);
	cpSync(join(folder, 'start.slurrybook'), path);
	cpSync(join(folder, 'start.series'), join(folder, `${name}.series`), { recursive: true });
	const opened = await OpenDocument.open(openForWriting(path), () => {});
	if (!opened.ok) throw new Error(opened.message);
	return { document: opened.value, path };
}

async function expectSame(document: OpenDocument, path: string) {
	const model = new DriveModel((sheet) => document.file.rows(sheet));
	const ledger = new RingLedger([], openSeries(path));
	await ledger.recalculate(model, null, () => {});
	for (const ring of model.rings) {
		const anew = ledger.balance(ring.row);
		expect(anew?.source).toBe('logger');
		expect(document.ledger.balance(ring.row)).toEqual(anew);
	}
	const { made } = await ledger.checking.check(model, () => {});
	// As a page asks: what is found on the way is kept in the document.
	expect((await document.meterChecks(0, () => {})).ok).toBe(true);
	const present = await document.ledger.checking.check(document.model, () => {});
	expect(present.made.windows).toEqual(made.windows);
	ledger.close();
	return made.windows.length;
}

it('is at every moment, and when opened again, what it would be if everything were made anew', async () => {
	const met = { setModes: 0, corrected: 0, undone: 0 };
	const counts = new Set<number>();
	await fc.assert(
		fc.asyncProperty(fc.array(step, { minLength: 5, maxLength: 9 }), async (steps) => {
			const { document, path } = await openCopy();
			const correction = { row: 1, column: 'meter_correction', text: 'return' };
			if (steps.length % 2 === 0)
				await document.edit({ sheet: 'drive', typed, edits: [correction] }, by);
			for (const make of steps) {
				const what = make();
				const reply =
					what.do === 'add'
						? await document.add(what.ask, by)
						: what.do === 'edit'
							? await document.edit(what.ask, by)
							: await document.undo(by);
				if (what.do === 'undo' && reply.ok) met.undone++;
				if (document.model.overrides.length > 0) met.setModes++;
				if (document.ledger.checking.correction !== null) met.corrected++;
				counts.add(await expectSame(document, path));
			}
			const before = document.model.rings.map((ring) => document.ledger.balance(ring.row));
			document.close();
			const said: string[] = [];
			const again = await OpenDocument.open(openForWriting(path), (what) => said.push(what));
			if (!again.ok) throw new Error(again.message);
			expect(again.value.model.rings.map((ring) => again.value.ledger.balance(ring.row))).toEqual(
				before,
			);
			// What the document keeps is good: nothing is looked through, compared or balanced again.
			expect(said).toEqual([]);
			again.value.close();
		}),
		{ numRuns: 12, seed: 2_026 },
	);
	for (const [what, times] of Object.entries(met)) expect(times, what).toBeGreaterThan(4);
	expect(counts.size).toBeGreaterThan(2);
}, 180_000);
