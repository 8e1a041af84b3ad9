import { cpSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import type { DriveOptions } from '../../../calc/drive/plan.ts';
import { simulateDrive } from '../../../calc/drive/simulate.ts';
import { checkMeters } from '../../../calc/trust/metercheck.ts';
import { writeSimulated } from '../../../electron/command/simulate.ts';
import type { SheetRowMessage } from '../../../electron/contract/verbs.ts';
import { OpenDocument } from '../../../electron/desk/document.ts';
import { DriveModel } from '../../../electron/desk/drivemodel.ts';
import { RingLedger } from '../../../electron/desk/ringledger.ts';
import { openSeries } from '../../../electron/desk/series.ts';
import { askOf, OFF, recorded } from '../../calc/trust/checkeddrive.ts';
import { openForWriting, scratchFolder } from '../store/smalldrive.ts';
import { iso, TestDesk } from './invented.ts';

/**
 * Invented drives whose return meters read 0.8 % and 9 kg/m³ off the feed meters', with the
 * simulator's drift and noise; the truth is known.
 */

const folder = scratchFolder();
const typed = { decimal: '.' } as const;
const BY_HAND: DriveOptions = { ...OFF, seed: 11, rings: 14 };
const LOGGED: DriveOptions = { ...OFF, seed: 12, rings: 5, loggerInterval_s: 5 };

beforeAll(async () => {
	await writeSimulated(join(folder, 'by hand'), { ...BY_HAND, logger: false });
	await writeSimulated(join(folder, 'logged'), LOGGED);
	const desk = new TestDesk(folder);
	await desk.create('by hand', 'hand');
	await desk.create('logged', 'logger');
	desk.handle.close();
});

let copies = 0;
/** A desk with a copy of one of the two drives, its series beside it. */
async function deskWith(name: 'hand' | 'logger'): Promise<{ desk: TestDesk; path: string }> {
	const copy = `${name} ${++copies}`;
	cpSync(join(folder, `${name}.slurrybook`), join(folder, `${copy}.slurrybook`));
	if (readdirSync(folder).includes(`${name}.series`))
		cpSync(join(folder, `${name}.series`), join(folder, `${copy}.series`), { recursive: true });
	const desk = new TestDesk(folder);
	await desk.open(`${copy}.slurrybook`);
	return { desk, path: join(folder, `${copy}.slurrybook`) };
}

const setDrive = (desk: TestDesk, cells: Record<string, string>) =>
	desk.must('sheet.edit', {
		sheet: 'drive',
		edits: Object.entries(cells).map(([column, text]) => ({ row: 1, column, text })),
		typed,
	});
const ledgerOf = async (desk: TestDesk): Promise<SheetRowMessage[]> =>
	(await desk.must('sheet.rows', { sheet: 'ledger' })).rows;
const number = (row: SheetRowMessage, column: string): number => Number(row.cells[column]);

describe('a drive kept by hand', () => {
	it('has its bypass windows from paired readings, as the calculation alone finds them', async () => {
		const { desk } = await deskWith('hand');
		const checks = await desk.must('meters.checks', {});
		const { windows } = recorded(BY_HAND, 'readings');
		expect(checks.windows.map((one) => [one.from_s, one.to_s])).toEqual(
			windows.map((one) => [one.from_s, one.to_s]),
		);
		expect(checks.windows.every((one) => one.source === 'readings')).toBe(true);
		const alone = checkMeters(askOf(windows));
		expect(checks.correction).toBe('none');
		expect(checks.flow?.inForce).toBe(false);
		expect(checks.flow?.largest).toBeCloseTo(100 * alone.flow!.largest, 9);
		expect(checks.density?.largest).toBeCloseTo(alone.density!.largest, 9);
		expect(checks.notes.map((note) => note.code)).toEqual(alone.faults.map((one) => one.code));
		const used = checks.windows.filter((one) => one.flow.verdict === 'used');
		expect(used.length).toBeGreaterThan(10);
		for (const one of used)
			expect(one.flow.difference).toBeCloseTo(100 * (one.flow.return! / one.flow.feed! - 1), 9);
		desk.handle.close();
	});

	it('is corrected when that is chosen, shows the figures without beside it, and goes back exactly', async () => {
		const { desk } = await deskWith('hand');
		const plain = await ledgerOf(desk);
		for (const row of plain) expect(row.cells.volume_uncorrected_m3).toBeNull();
		const answer = await setDrive(desk, { meter_correction: 'return' });
		expect(answer.changes?.sheets.ledger?.rows).toHaveLength(plain.length);
		const rows = await ledgerOf(desk);
		const truth = simulateDrive(BY_HAND).truth;
		let before = 0;
		let after = 0;
		rows.forEach((row, at) => {
			expect(row.cells.volume_uncorrected_m3).toBe(plain[at]!.cells.volume_apparent_m3);
			expect(row.cells.dry_solids_uncorrected_t).toBe(plain[at]!.cells.dry_solids_t);
			const of = truth[at]!.volumeApparent_m3;
			before += Math.abs(number(row, 'volume_uncorrected_m3') / of - 1);
			after += Math.abs(number(row, 'volume_apparent_m3') / of - 1);
		});
		// 0.8 % between the meters is about a tenth of a ring here; the check leaves a third of it or less.
		expect(before / rows.length).toBeGreaterThan(0.05);
		expect(after).toBeLessThan(before / 3);
		const detail = await desk.must('ring.detail', { ring: number(rows[3]!, 'ring') });
		const facts = detail.facts.filter((one) => one.group === 'Bypass correction in force');
		expect(facts.map((one) => one.heading)).toContain('Return over feed flow in bypass');
		expect((await desk.must('meters.checks', {})).flow?.inForce).toBe(true);
		await desk.must('history.undo', {});
		expect(await ledgerOf(desk)).toEqual(plain);
		desk.handle.close();
	});

	it('leaves out a window that is rejected, says why, and takes it in again', async () => {
		const { desk } = await deskWith('hand');
		await setDrive(desk, { meter_correction: 'both' });
		const rows = await ledgerOf(desk);
		const checks = await desk.must('meters.checks', {});
		const window = checks.windows.find((one) => one.flow.verdict === 'used')!;
		const added = await desk.must('sheet.add', {
			sheet: 'bypass_decisions',
			rows: [
				{
					from_time: iso(window.from_s),
					to_time: iso(window.to_s),
					decision: 'reject',
					quantity: 'flow',
					why: 'the bypass valve was not shut',
				},
			],
			typed,
		});
		expect(added.refused).toEqual([]);
		const again = (await desk.must('meters.checks', {})).windows.find(
			(one) => one.from_s === window.from_s,
		)!;
		expect(again.flow).toMatchObject({
			verdict: 'rejected',
			reason: 'the bypass valve was not shut',
			decision: { decision: 'reject', why: 'the bypass valve was not shut' },
		});
		expect(again.density).toEqual(window.density);
		const moved = await ledgerOf(desk);
		expect(moved.map((row) => row.cells.volume_apparent_m3)).not.toEqual(
			rows.map((row) => row.cells.volume_apparent_m3),
		);
		expect(moved.map((row) => row.cells.dry_solids_uncorrected_t)).toEqual(
			rows.map((row) => row.cells.dry_solids_uncorrected_t),
		);
		await desk.must('sheet.delete', {
			sheet: 'bypass_decisions',
			rows: [again.flow.decision!.row],
		});
		expect(await ledgerOf(desk)).toEqual(rows);
		const unsaid = await desk.must('sheet.add', {
			sheet: 'bypass_decisions',
			rows: [{ from_time: iso(1e9), to_time: iso(1e9 + 60), decision: 'reject', why: ' ' }],
			typed,
		});
		expect(unsaid.refused.map((one) => [one.column, one.fault.code])).toEqual([
			['why', 'cell_required'],
		]);
		desk.handle.close();
	});

	it('holds a correction beyond the limit of the meters back until it is accepted', async () => {
		const { desk } = await deskWith('hand');
		await desk.must('sheet.add', {
			sheet: 'meters',
			rows: [
				{
					meter: 'return_flow',
					valid_from: '2020-01-01T00:00Z',
					slope: '1',
					offset: '0',
					correction_limit: '0.5',
				},
			],
			typed,
		});
		await setDrive(desk, { meter_correction: 'return' });
		const held = await desk.must('meters.checks', {});
		expect(held.flow).toMatchObject({
			limit: 0.5,
			heldBack: true,
			accepted: false,
			inForce: false,
		});
		expect(held.notes.map((note) => note.code)).toContain('correction_beyond_certificate');
		const without = await ledgerOf(desk);
		for (const row of without)
			expect(row.cells.volume_apparent_m3).toBe(row.cells.volume_uncorrected_m3);
		await setDrive(desk, { correction_accepted: 'flow' });
		const taken = await desk.must('meters.checks', {});
		expect(taken.flow).toMatchObject({ heldBack: false, accepted: true, inForce: true });
		const rows = await ledgerOf(desk);
		expect(rows[2]!.cells.volume_apparent_m3).not.toBe(rows[2]!.cells.volume_uncorrected_m3);
		desk.handle.close();
	});

	it('sets the level of the densities by the mud balance when that is chosen', async () => {
		const { desk } = await deskWith('hand');
		const readings = (await desk.must('sheet.rows', { sheet: 'readings' })).rows;
		const some = readings.filter((_, at) => at % 9 === 0).slice(0, 12);
		await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: some.map((row) => ({
				row: row.id,
				column: 'mud_balance_feed_t_m3',
				text: (number(row, 'feed_density_t_m3') + 0.02).toFixed(2),
			})),
			typed,
		});
		const shown = await desk.must('meters.checks', {});
		expect(shown.anchor?.samples).toHaveLength(12);
		expect(shown.anchor?.applied).toBe(false);
		// Readings of the balance go in steps of 10 kg/m³, so the mean of twelve is within a few of 20.
		expect(Math.abs(shown.anchor!.value! - 20)).toBeLessThan(5);
		await setDrive(desk, { meter_correction: 'return' });
		const before = await ledgerOf(desk);
		await setDrive(desk, { density_level: 'mud_balance' });
		const detail = await desk.must('ring.detail', { ring: number(before[2]!, 'ring') });
		expect(detail.facts.map((one) => one.heading)).toContain('Both densities to the mud balance');
		expect((await ledgerOf(desk))[2]!.cells.dry_solids_t).not.toBe(before[2]!.cells.dry_solids_t);
		desk.handle.close();
	});

	it('is checked with the rest: set modes that contradict each other are noted', async () => {
		const { desk } = await deskWith('hand');
		const rows = [
			{ from_time: iso(1e9), to_time: iso(1e9 + 600), mode: 'stop', why: 'a' },
			{ from_time: iso(1e9 + 300), to_time: iso(1e9 + 900), mode: 'bypass', why: 'b' },
		];
		await desk.must('sheet.add', { sheet: 'mode_overrides', rows, typed });
		const { findings, looked } = await desk.must('project.check', {});
		expect(findings).toContainEqual(
			expect.objectContaining({
				code: 'stretches_overlap',
				weight: 'note',
				where: expect.objectContaining({ file: 'mode_overrides', row: 2 }),
			}),
		);
		expect(looked.join('; ')).toContain('2 rows of mode_overrides');
		expect(looked.join('; ')).toContain('0 rows of bypass_decisions');
		desk.handle.close();
	});

	it('reminds of standardisation and decay by the clock of the desk', async () => {
		const { desk } = await deskWith('hand');
		await desk.must('sheet.add', {
			sheet: 'meters',
			rows: [
				{
					meter: 'return_density',
					valid_from: '2020-01-01T00:00Z',
					slope: '1',
					offset: '0',
					instrument: 'gauge 7',
					standardised_on: '2026-01-01T00:00Z',
					standardise_every_days: '90',
					half_life_years: '30.05',
				},
			],
			typed,
		});
		const at = Date.UTC(2026, 0, 1) / 1000;
		const reminder = async (now_s: number) => {
			desk.now_s = now_s;
			return (await desk.must('meters.checks', {})).reminders;
		};
		expect(await reminder(at + 89 * 86_400)).toEqual([
			expect.objectContaining({
				meter: 'return_density',
				instrument: 'gauge 7',
				standardised_s: at,
				due_s: at + 90 * 86_400,
				overdue: false,
			}),
		]);
		const [late] = await reminder(at + 30.05 * 365.25 * 86_400);
		expect(late?.overdue).toBe(true);
		// After one half-life half of the source is left, by definition.
		expect(late?.activityLeft).toBeCloseTo(0.5, 12);
		desk.handle.close();
	});

	it('tells a replaced meter as a step at that moment', async () => {
		const { desk } = await deskWith('hand');
		const { rows } = await desk.must('sheet.rows', { sheet: 'rings' });
		const at_s = number(rows[7]!, 'advance_start');
		const line = { slope: '1', offset: '0' };
		await desk.must('sheet.add', {
			sheet: 'meters',
			rows: [
				{ meter: 'return_flow', valid_from: '2020-01-01T00:00Z', ...line, instrument: 'old' },
				{ meter: 'return_flow', valid_from: iso(at_s), ...line, instrument: 'new' },
			],
			typed,
		});
		const { flow } = await desk.must('meters.checks', {});
		expect(flow?.steps.map((step) => step.at_s)).toEqual([at_s]);
		expect(new Set(flow?.line.map((point) => point.stretch))).toEqual(new Set([0, 1]));
		desk.handle.close();
	});
});

describe('a drive with a logger', () => {
	it('has its windows from the logger, found at the first opening and not looked for again', async () => {
		const { desk } = await deskWith('logger');
		const checks = await desk.must('meters.checks', {});
		const { windows } = recorded(LOGGED, 'logger');
		expect(
			checks.windows.filter((one) => one.source === 'logger').map((one) => one.from_s),
		).toEqual(windows.map((one) => one.from_s));
		const alone = checkMeters(askOf(windows));
		expect(checks.flow?.largest).toBeCloseTo(100 * alone.flow!.largest, 6);
		expect(checks.density?.largest).toBeCloseTo(alone.density!.largest, 6);
		const said = () =>
			desk.events.flatMap((event) => (event.event === 'progress' ? [event.what] : []));
		expect(said()).toContain('comparing the meters in bypass');
		const opening = said().length;
		await setDrive(desk, { meter_correction: 'return' });
		const ledger = await ledgerOf(desk);
		expect(said().slice(opening)).not.toContain('looking through the logger');
		expect(said().slice(opening)).not.toContain('comparing the meters in bypass');
		const file = (await desk.must('desk.state', {})).document!.file;
		desk.handle.close();

		// Opened again, the kept balances are good: they were made with the correction in use.
		const again = new TestDesk(folder);
		await again.open(file);
		expect(await ledgerOf(again)).toEqual(ledger);
		expect(again.events.filter((event) => event.event === 'progress')).toEqual([]);
		const { findings, looked } = await again.must('project.check', {});
		expect(findings.filter((fault) => fault.weight === 'stop')).toEqual([]);
		expect(looked.join(' ')).toContain('5 of them made with the present inputs');
		again.handle.close();
	});

	it('takes a set mode into balance, windows and timeline, and is then what it is when made anew', async () => {
		const { desk, path } = await deskWith('logger');
		await setDrive(desk, { meter_correction: 'return' });
		const checks = await desk.must('meters.checks', {});
		const [long] = checks.windows
			.filter((one) => one.source === 'logger')
			.sort((one, other) => other.to_s - other.from_s - (one.to_s - one.from_s));
		const third_s = Math.round((long!.to_s - long!.from_s) / 3);
		const cut_s = Math.round(long!.from_s) + third_s;
		const rings = (await desk.must('sheet.rows', { sheet: 'rings' })).rows;
		const cutting = number(rings[2]!, 'advance_start') + 600;
		const set = [
			// Cuts a bypass in two, and puts a stop into an advance.
			{
				from_time: iso(cut_s),
				to_time: iso(cut_s + 60),
				mode: 'stop',
				why: 'pump tripped',
			},
			{ from_time: iso(cutting), to_time: iso(cutting + 120), mode: 'bypass', why: 'shift log' },
		];
		const before = await ledgerOf(desk);
		const { refused } = await desk.must('sheet.add', { sheet: 'mode_overrides', rows: set, typed });
		expect(refused).toEqual([]);
		const rows = await ledgerOf(desk);
		expect(number(rows[2]!, 'mode_seconds_advance')).toBeCloseTo(
			number(before[2]!, 'mode_seconds_advance') - 2,
			1,
		);
		const windows = (await desk.must('meters.checks', {})).windows;
		const within = (one: { from_s: number; to_s: number }) =>
			one.from_s >= long!.from_s && one.to_s <= long!.to_s;
		expect(checks.windows.filter(within)).toHaveLength(1);
		expect(windows.filter(within)).toHaveLength(2);
		const { modes } = await desk.must('ring.timeline', { ring: 3, points: 2_000 });
		const shown = modes.find((one) => one.decidedBy === 'override');
		expect(shown).toMatchObject({ mode: 'bypass', why: 'shift log', override: 2 });
		expect(modes.filter((one) => one.mode !== null && one.decidedBy === undefined)).toEqual([]);
		desk.handle.close();

		const opened = await OpenDocument.open(openForWriting(path), () => {});
		if (!opened.ok) throw new Error(opened.message);
		const document = opened.value;
		const model = new DriveModel((sheet) => document.file.rows(sheet));
		const ledger = new RingLedger([], openSeries(path));
		await ledger.recalculate(model, null, () => {});
		const anew = await ledger.checking.check(model, () => {});
		const kept = await document.ledger.checking.check(document.model, () => {});
		expect(kept.made.windows).toEqual(anew.made.windows);
		for (const ring of model.rings)
			expect(document.ledger.balance(ring.row)).toEqual(ledger.balance(ring.row));
		ledger.close();

		// Each edit leads there as well as all of them at once: one is taken back, the other moved.
		const by = { who: 'Tester', at_s: 1_780_000_000 };
		await document.remove({ sheet: 'mode_overrides', rows: [2] }, by);
		await document.edit(
			{
				sheet: 'mode_overrides',
				edits: [{ row: 1, column: 'to_time', text: iso(cut_s + third_s) }],
				typed,
			},
			by,
		);
		const model2 = new DriveModel((sheet) => document.file.rows(sheet));
		const ledger2 = new RingLedger([], openSeries(path));
		await ledger2.recalculate(model2, null, () => {});
		expect((await document.ledger.checking.check(document.model, () => {})).made.windows).toEqual(
			(await ledger2.checking.check(model2, () => {})).made.windows,
		);
		for (const ring of model2.rings)
			expect(document.ledger.balance(ring.row)).toEqual(ledger2.balance(ring.row));
		ledger2.close();
		document.close();
	});

	it('gives the same ledger once more through a plain folder, decisions and set modes with it', async () => {
		const { desk } = await deskWith('logger');
		await setDrive(desk, { meter_correction: 'both' });
		const window = (await desk.must('meters.checks', {})).windows[2]!;
		const span = { from_time: iso(window.from_s), to_time: iso(window.to_s) };
		await desk.must('sheet.add', {
			sheet: 'bypass_decisions',
			rows: [{ ...span, decision: 'reject', why: 'valve' }],
			typed,
		});
		const rings = (await desk.must('sheet.rows', { sheet: 'rings' })).rows;
		const cutting = number(rings[1]!, 'advance_start') + 300;
		await desk.must('sheet.add', {
			sheet: 'mode_overrides',
			rows: [
				{ from_time: iso(cutting), to_time: iso(cutting + 60), mode: 'stop', why: 'shift log' },
			],
			typed,
		});
		const ledger = await ledgerOf(desk);
		const root = (await desk.must('places.list', {})).placeId;
		const { files } = await desk.must('project.exportFolder', { intoId: root, name: 'out' });
		expect(files).toEqual(
			expect.arrayContaining(['bypass_decisions.csv', 'mode_overrides.csv', 'logger.csv']),
		);
		await desk.create('out', 'again');
		expect((await ledgerOf(desk)).map((row) => row.cells)).toEqual(ledger.map((row) => row.cells));
		desk.handle.close();
	});

	it('counts the faults of the signals in the ring they touch and shows them on its timeline', async () => {
		await writeSimulated(join(folder, 'frozen'), { ...LOGGED, seed: 13, rings: 3 });
		const drive = simulateDrive({ ...LOGGED, seed: 13, rings: 3 });
		const path = join(folder, 'frozen', 'logger.csv');
		const lines = readFileSync(path, 'utf8').split('\n');
		const columns = lines[0]!.split(',');
		const at = columns.indexOf('return_density_t_m3');
		const start_s = Number(drive.rings[1]!.advance_start) + 300;
		let held: string | null = null;
		for (let i = 1; i < lines.length; i++) {
			const fields = lines[i]!.split(',');
			const time_s = Date.parse(fields[0]!) / 1000;
			if (!(time_s >= start_s && time_s < start_s + 600)) continue;
			held ??= fields[at]!;
			fields[at] = held;
			lines[i] = fields.join(',');
		}
		writeFileSync(path, lines.join('\n'));
		const desk = new TestDesk(folder);
		await desk.create('frozen', 'frozen');
		const timeline = await desk.must('ring.timeline', { ring: 2, points: 2_000 });
		expect(timeline.signalFaults).toContainEqual(
			expect.objectContaining({ kind: 'frozen', signal: 'returnDensity_kg_m3' }),
		);
		const rows = await ledgerOf(desk);
		expect(rows[1]!.flags?.flags?.join(' ')).toContain('1 frozen signal');
		expect(rows[0]!.flags?.flags?.join(' ') ?? '').not.toContain('frozen');
		desk.handle.close();
	});
});
