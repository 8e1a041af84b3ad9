import { writeFileSync } from 'node:fs';
import * as workbooks from '@e965/xlsx';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { OpenDocument } from '../../../electron/desk/document.ts';
import { inspectSheet, takeSheet } from '../../../electron/desk/sheetexchange.ts';
import { BY, cellsOf, ExchangeFolder, look, must, take } from './exchangedesk.ts';

/** Files as sites keep them, made by hand or by another library (SheetJS), into the sheets of a drive. */

let folder: ExchangeFolder;
let count = 0;
beforeAll(() => {
	folder = new ExchangeFolder();
});
afterAll(() => folder.remove());

async function withDrive(work: (drive: OpenDocument) => Promise<void>): Promise<void> {
	const drive = await folder.empty(`drive ${++count}`);
	try {
		await work(drive);
	} finally {
		drive.close();
	}
}

/** A workbook of one worksheet as SheetJS writes it. */
function workbook(
	cells: Record<string, workbooks.CellObject>,
	{ date1904 = false, name = 'Shift log' } = {},
): Uint8Array {
	const book = workbooks.utils.book_new();
	const ends = Object.keys(cells).map((key) => workbooks.utils.decode_cell(key));
	const range = {
		s: { r: 0, c: 0 },
		e: { r: Math.max(...ends.map(({ r }) => r)), c: Math.max(...ends.map(({ c }) => c)) },
	};
	const sheet = { ...cells, '!ref': workbooks.utils.encode_range(range) };
	workbooks.utils.book_append_sheet(book, sheet, name);
	book.Workbook = { WBProps: { date1904 } };
	return new Uint8Array(workbooks.write(book, { type: 'buffer', bookType: 'xlsx' }));
}

const text = (v: string): workbooks.CellObject => ({ t: 's', v });
const figure = (v: number, z?: string): workbooks.CellObject => ({
	t: 'n',
	v,
	...(z ? { z } : {}),
});
const at = (iso: string): number => Date.parse(iso) / 1000;

const SHIFT = [
	'Invented site, shift log;;;;;',
	'Date and time;Circuit mode;Feed flow [L/s];Feed density [kg/m³];Return flow [L/s];Density return (kg/m3)',
	'2031-04-07 06:00;Advance;250,5;1080;275,25;1 160,5',
	'2031-04-07 06:10;by-pass;250;1080;250;1080',
	'',
].join('\r\n');

describe('a CSV of another make', () => {
	it('is read with semicolons, decimal commas, a title, a byte order mark and units of its own', () =>
		withDrive(async (drive) => {
			const path = folder.write('shift.csv', `\ufeff${SHIFT}`);
			const seen = await look(drive, 'readings', path, { utcOffset_min: 120 });
			expect(seen.reading).toMatchObject({ delimiter: ';', decimal: ',', headingRow: 2 });
			expect(seen.fields.map(({ column, unit, by }) => [column, unit, by])).toEqual([
				['time', null, 'alias'],
				['mode', null, 'alias'],
				['feed_flow_m3_h', 'L/s', 'heading'],
				['feed_density_t_m3', 'kg/m3', 'heading'],
				['return_flow_m3_h', 'L/s', 'heading'],
				['return_density_t_m3', 'kg/m3', 'alias'],
			]);
			expect(seen).toMatchObject({ rows: 2, added: 2, faulty: 0, notYet: null });
			expect(drive.model.rows.readings.size).toBe(0);
			const taken = await take(drive, 'readings', path, { utcOffset_min: 120 });
			expect(taken).toMatchObject({ outcome: 'done', label: 'import of 2 rows from shift.csv' });
			// 250.5 L/s are 901.8 m³/h.
			expect(cellsOf(drive, 'readings')[0]).toEqual({
				time: at('2031-04-07T06:00+02:00'),
				mode: 'advance',
				feed_flow_m3_h: 901.8,
				feed_density_t_m3: 1.08,
				return_flow_m3_h: 990.9,
				return_density_t_m3: 1.1605,
			});
			expect(cellsOf(drive, 'readings')[1]).toMatchObject({ mode: 'bypass' });
		}));

	it.each([
		['07.04.2031 06:00', '08.04.2031 06:00', 'dmy', '2031-04-07'],
		['07/04/2031 6:00', '13/04/2031 6:00', 'dmy', '2031-04-07'],
		['04/07/2031 6:00 AM', '04/13/2031 6:00 AM', 'mdy', '2031-04-07'],
	])('has dates as they prove to be written: %s, %s', (first, second, dates, day) =>
		withDrive(async (drive) => {
			const path = folder.write('d.csv', `From;To;Mode;Why\n${first};${second};stop;x\n`);
			const seen = await look(drive, 'mode_overrides', path);
			expect(seen.reading.dates).toBe(dates);
			expect(seen.fields[0]?.read[0]).toBe(
				at(`${day}T06:00+01:00`) + 3600 - 60 * drive.facts.utcOffset_min,
			);
		}),
	);

	it('has dates that can mean two days refused until a person says which', () =>
		withDrive(async (drive) => {
			const path = folder.write('d.csv', 'From,To,Mode,Why\n3/4/2031 6:00,3/4/2031 7:00,stop,x\n');
			expect(await look(drive, 'mode_overrides', path)).toMatchObject({ added: 0, faulty: 1 });
			const said = await look(drive, 'mode_overrides', path, { dates: 'mdy', utcOffset_min: 0 });
			expect(said.fields[0]?.read[0]).toBe(at('2031-03-04T06:00Z'));
			expect(said).toMatchObject({ added: 1, faulty: 0 });
		}));

	it('is one step to undo', () =>
		withDrive(async (drive) => {
			const path = folder.write('shift.csv', SHIFT);
			await take(drive, 'readings', path);
			expect(drive.state().undo).toBe('import of 2 rows from shift.csv');
			must(await drive.undo(BY));
			expect(drive.model.rows.readings.size).toBe(0);
			must(await drive.redo(BY));
			expect(drive.model.rows.readings.size).toBe(2);
		}));

	it('is read in UTF-16, in the Windows code page, with tabs and with bare CR', () =>
		withDrive(async (drive) => {
			const plain = SHIFT.replaceAll(';', '\t');
			const utf16 = Buffer.from(`\ufeff${plain}`, 'utf16le');
			expect((await look(drive, 'readings', folder.write('a.csv', utf16))).added).toBe(2);
			const windows = Buffer.from(SHIFT.replaceAll('\r\n', '\r'), 'latin1');
			const seen = await look(drive, 'readings', folder.write('b.csv', windows));
			expect(seen.added).toBe(2);
			expect(seen.faults.map(({ code }) => code)).toContain('encoding_windows');
		}));

	it('takes ids of the plain folder, also with another unit in the id, and sieves', () =>
		withDrive(async (drive) => {
			const path = folder.write(
				'ground.csv',
				'from_ring,to_ring,stratum,face_fraction,grain_density_kg_m3,dry_density_t_m3,Passing 0.063 mm [%],shade\n' +
					'1,9,Sand,1,2650,1.6,12.5,grey\n',
			);
			const seen = await look(drive, 'ground', path);
			expect(seen.fields.at(-1)).toMatchObject({ column: null, remark: 'Not known.' });
			await take(drive, 'ground', path);
			expect(cellsOf(drive, 'ground')).toEqual([
				{
					from_ring: 1,
					to_ring: 9,
					stratum: 'Sand',
					face_fraction: 1,
					grain_density_t_m3: 2.65,
					dry_density_t_m3: 1.6,
					'passing_0.063_mm': 12.5,
				},
			]);
		}));

	it('has fields mapped and left out by hand, with a unit chosen by hand', () =>
		withDrive(async (drive) => {
			const path = folder.write(
				'odd.csv',
				'when,what,a,b,c,d,Note\n2031-04-07T06:00Z,stop,0,1080,0,1080,left out\n',
			);
			const fields = [
				['time', null],
				['mode', null],
				['feed_flow_m3_h', null],
				['feed_density_t_m3', 'kg/m3'],
				['return_flow_m3_h', null],
				['return_density_t_m3', 'kg/m3'],
				[null, null],
			].map(([column, unit], field) => ({ field, column: column ?? null, unit: unit ?? null }));
			expect((await look(drive, 'readings', path)).notYet).toMatch(/^No field fills Time, /);
			const seen = await look(drive, 'readings', path, { fields });
			expect(seen.fields.map(({ by }) => by)).toEqual([...Array(6).fill('hand'), null]);
			await take(drive, 'readings', path, { fields });
			expect(cellsOf(drive, 'readings')[0]).toMatchObject({ feed_density_t_m3: 1.08 });
			expect(cellsOf(drive, 'readings')[0]).not.toHaveProperty('note');
		}));

	it('leaves out a field whose unit cannot be that of its column, and says so', () =>
		withDrive(async (drive) => {
			const path = folder.write('u.csv', 'Time,Feed flow [t],Feed density [foo]\n');
			const seen = await look(drive, 'readings', path);
			expect(seen.fields.map(({ column, remark }) => [column, remark])).toEqual([
				['time', null],
				[null, 't is no unit of Feed flow, which is in m³/h.'],
				[null, '"foo" is not a known unit of Feed density.'],
			]);
		}));
});

describe('an XLSX of another make', () => {
	it.each([
		['1900', false, 0],
		// The system that begins with 1904 counts 1462 days fewer.
		['1904', true, 1462],
	])('has its dates in the system of %s', (_name, date1904, fewer) =>
		withDrive(async (drive) => {
			// 2031-04-07 06:00 is day 47945.25 (LibreOffice 7: DATE(2031;4;7) = 47945, from memory).
			const path = folder.write(
				'stretch.xlsx',
				workbook(
					{
						A1: text('From'),
						B1: text('To'),
						C1: text('Mode'),
						D1: text('Why'),
						A2: figure(47945.25 - fewer, 'yyyy-mm-dd hh:mm'),
						B2: figure(47945.5 - fewer, 'dd/mm/yyyy hh:mm:ss'),
						C2: text('Bypass'),
						D2: text('=not run'),
					},
					{ date1904 },
				),
			);
			const taken = await take(drive, 'mode_overrides', path, { utcOffset_min: 60 });
			expect(taken.added).toBe(1);
			expect(cellsOf(drive, 'mode_overrides')).toEqual([
				{
					from_time: at('2031-04-07T06:00+01:00'),
					to_time: at('2031-04-07T12:00+01:00'),
					mode: 'bypass',
					why: '=not run',
				},
			]);
		}),
	);

	it('has percentages as they are shaped, formulas by their last value, errors as faults', () =>
		withDrive(async (drive) => {
			const path = folder.write(
				'rings.xlsx',
				workbook({
					A1: text('Ring no.'),
					B1: text('Start'),
					C1: text('End'),
					D1: text('Stroke start [m]'),
					E1: text('Stroke end [m]'),
					F1: text('Moisture [%]'),
					A2: figure(1),
					B2: figure(47945.25, 'yyyy-mm-dd hh:mm'),
					C2: figure(47945.275, 'yyyy-mm-dd hh:mm'),
					D2: figure(0.4),
					E2: { t: 'n', v: 1.9, f: 'D2+1.5' },
					F2: figure(0.185, '0.0%'),
					A3: figure(2),
					B3: figure(47945.3, 'yyyy-mm-dd hh:mm'),
					C3: figure(47945.325),
					D3: { t: 'e', v: 0x2a },
					E3: figure(1.9),
				}),
			);
			const seen = await look(drive, 'rings', path);
			expect(seen.faults).toEqual([
				expect.objectContaining({ code: 'formula_values', weight: 'note' }),
				expect.objectContaining({
					code: 'time_number',
					weight: 'stop',
					where: {
						file: 'rings.xlsx',
						row: 3,
						column: 'advance_end',
						value: '47945.325',
						expected: expect.stringContaining('a cell that is a date and time'),
					},
				}),
				expect.objectContaining({
					code: 'number_text',
					where: expect.objectContaining({ row: 3, column: 'stroke_start_mm', value: '#N/A' }),
				}),
			]);
			const taken = await take(drive, 'rings', path, {}, true);
			expect(taken).toMatchObject({ outcome: 'done', added: 1, faulty: 1 });
			expect(cellsOf(drive, 'rings')[0]).toMatchObject({
				stroke_start_mm: 400,
				stroke_end_mm: 1900,
				spoil_moisture_pct: 18.5,
			});
		}));

	it('has worksheets to choose from', () =>
		withDrive(async (drive) => {
			const book = workbooks.utils.book_new();
			for (const [name, ring] of [
				['Notes', 'nothing'],
				['More', 7],
			] as const)
				workbooks.utils.book_append_sheet(
					book,
					workbooks.utils.aoa_to_sheet([
						['Ring', 'Spoil weighed [t]'],
						[ring, 100],
					]),
					name,
				);
			const path = folder.write('two.xlsx', workbooks.write(book, { type: 'buffer' }));
			const seen = await look(drive, 'rings', path);
			expect(seen.worksheets).toEqual(['Notes', 'More']);
			expect(seen.reading.worksheet).toBe('Notes');
			const other = await look(drive, 'rings', path, { worksheet: 'More' });
			expect(other.fields[0]?.read).toEqual([7]);
		}));
});

describe('rows that are there already', () => {
	const first = 'Time,Mode,Feed flow,Feed density,Return flow,Return density,Note\n';
	const before = `${first}2031-04-07T06:00Z,stop,0,1.1,0,1.1,kept\n2031-04-07T07:00Z,stop,0,1.1,0,1.1,\n`;
	const after =
		'Time,Sand content [%],Return density [t/m³],Note\n2031-04-07T06:00Z,2.5,1.1,\n2031-04-07T07:00Z,,1.1,\n2031-04-07T08:00Z,3,1.1,new\n';

	it('are updated by the fields that hold something, by their time; the others stay', () =>
		withDrive(async (drive) => {
			await take(drive, 'readings', folder.write('before.csv', before));
			const path = folder.write('lab.csv', after);
			const seen = await look(drive, 'readings', path);
			// The third row is new, and lacks what a new reading must have.
			expect(seen).toMatchObject({ updated: 1, same: 1, added: 0, faulty: 1, notYet: null });
			expect(seen.faults.map(({ code, where }) => [code, where.row, where.column])).toEqual(
				['mode', 'feed_flow_m3_h', 'feed_density_t_m3', 'return_flow_m3_h'].map((column) => [
					'cell_required',
					4,
					column,
				]),
			);
			expect((await take(drive, 'readings', path)).outcome).toBe('refused');
			const taken = await take(drive, 'readings', path, {}, true);
			expect(taken.label).toBe('import of 1 row from lab.csv');
			expect(cellsOf(drive, 'readings')[0]).toMatchObject({ sand_pct: 2.5, note: 'kept' });
			must(await drive.undo(BY));
			expect(cellsOf(drive, 'readings')[0]).not.toHaveProperty('sand_pct');
		}));

	it('are passed over when asked, and counted', () =>
		withDrive(async (drive) => {
			await take(drive, 'readings', folder.write('before.csv', before));
			const path = folder.write('lab.csv', after);
			const taken = await take(drive, 'readings', path, { existing: 'skip' }, true);
			expect(taken).toMatchObject({ skipped: 1, same: 1, updated: 0, faulty: 1, label: null });
		}));

	it('stand in a file once only', () =>
		withDrive(async (drive) => {
			const path = folder.write('twice.csv', `${before}2031-04-07T07:00+00:00,stop,0,1,0,1,\n`);
			const seen = await look(drive, 'readings', path);
			expect(seen).toMatchObject({ added: 2, faulty: 1 });
			expect(seen.faults.at(-1)).toMatchObject({ code: 'row_twice', where: { row: 4 } });
		}));
});

describe('a file with faults', () => {
	const faulty = [
		'Time,Mode,Feed flow [m³/h],Feed density [t/m³],Return flow [m³/h],Return density [t/m³]',
		'2031-04-07T06:00Z,advance,900,1.08,980,1.15',
		'07/04/2031 06:10,drilling hard,nine,108,980,1.15',
		'2031-04-07T06:20Z,advance,"1,180",1.08,980,1.15',
		'2031-04-07T06:30Z,advance,900,1.08,980,1.15,extra',
		'',
	].join('\n');

	it('says all of them with file, row, column, value and what was expected, and takes nothing', () =>
		withDrive(async (drive) => {
			const path = folder.write('faulty.csv', faulty);
			const seen = await look(drive, 'readings', path);
			expect(seen).toMatchObject({ rows: 4, added: 1, faulty: 3 });
			expect(seen.faults.map(({ code, where }) => [code, where.row, where.column])).toEqual([
				['time_text', 3, 'time'],
				['choice_unknown', 3, 'mode'],
				['number_text', 3, 'feed_flow_m3_h'],
				['value_above', 3, 'feed_density_t_m3'],
				['number_ambiguous', 4, 'feed_flow_m3_h'],
				['fields_too_many', 5, undefined],
			]);
			for (const { where } of seen.faults) {
				expect(where.file).toBe('faulty.csv');
				expect(where.expected).toBeTruthy();
			}
			const taken = await take(drive, 'readings', path);
			expect(taken).toMatchObject({ outcome: 'refused', label: null });
			expect(drive.model.rows.readings.size).toBe(0);
			expect(drive.state().undo).toBeNull();
		}));

	it('gives its good rows when asked', () =>
		withDrive(async (drive) => {
			const taken = await take(drive, 'readings', folder.write('f.csv', faulty), {}, true);
			expect(taken).toMatchObject({ outcome: 'done', added: 1, faulty: 3 });
			expect(drive.model.rows.readings.size).toBe(1);
		}));

	it('is held against the rows of the sheet too: rings that overlap are not taken', () =>
		withDrive(async (drive) => {
			const rings = [
				'Ring,Advance start,Advance end,Stroke at start,Stroke at end',
				'1,2031-04-07T06:00Z,2031-04-07T06:40Z,400,1900',
				'2,2031-04-07T06:30Z,2031-04-07T07:10Z,400,1900',
				'3,2031-04-07T08:00Z,2031-04-07T08:40Z,1900,400',
				'',
			].join('\n');
			const seen = await look(drive, 'rings', folder.write('rings.csv', rings));
			expect(seen).toMatchObject({ added: 1, faulty: 2 });
			expect(seen.faults.map(({ code, where }) => [code, where.row])).toEqual([
				['stroke_backwards', 4],
				['advance_overlap', 3],
			]);
		}));

	it('is refused where it has changed since it was looked at', () =>
		withDrive(async (drive) => {
			const path = folder.write('moving.csv', SHIFT);
			const { sha256, reading } = await look(drive, 'readings', path);
			writeFileSync(path, SHIFT.replace('1080', '1081'));
			const ask = { sheet: 'readings', path, reading, sha256, take: 'all' } as const;
			expect(await takeSheet(drive, ask, BY)).toMatchObject({ ok: false, code: 'file_changed' });
		}));

	it.each([
		['nothing', '', 'file_empty'],
		['bytes that are no text', '\u0000\u0001\u0002', 'file_binary'],
		['an open quotation mark', 'Ring,Note\n1,"open\n2,x\n', 'quote_open'],
	])('is refused in words when it holds %s', (_name, content, code) =>
		withDrive(async (drive) => {
			const path = folder.write('bad.csv', content);
			const reply = await inspectSheet(drive, 'rings', path, { existing: 'skip' });
			expect(reply).toMatchObject({ ok: false, code });
			expect(reply.ok ? '' : reply.message).toMatch(/^bad\.csv.*Expected .+\.$/u);
		}),
	);

	it('is refused beyond 100,000 rows, as CSV and as XLSX', () =>
		withDrive(async (drive) => {
			const csv = `Ring\n${Array.from({ length: 100_001 }, (_, i) => i).join('\n')}\n`;
			const reply = await inspectSheet(drive, 'rings', folder.write('long.csv', csv), {
				existing: 'skip',
			});
			expect(reply).toMatchObject({ ok: false, code: 'rows_too_many' });
			const cells: Record<string, workbooks.CellObject> = { A1: text('Ring') };
			for (let i = 0; i < 100_001; i++) cells[`A${i + 2}`] = figure(i);
			const path = folder.write('long.xlsx', workbook(cells));
			const other = await inspectSheet(drive, 'rings', path, { existing: 'skip' });
			expect(other).toMatchObject({ ok: false, code: 'rows_too_many' });
			expect(other.ok ? '' : other.message).toContain('at most 100000 rows');
		}));
});
