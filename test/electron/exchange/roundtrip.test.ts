import { readFileSync } from 'node:fs';
import { DuckDBInstance } from '@duckdb/node-api';
import * as workbooks from '@e965/xlsx';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ExportForm } from '../../../electron/contract/sheetexchange.ts';
import type { OpenDocument } from '../../../electron/desk/document.ts';
import { exportSheet } from '../../../electron/desk/sheetexchange.ts';
import { addRows, BY, cellsOf, ExchangeFolder, look, must, take } from './exchangedesk.ts';

/**
 * Every sheet of the demo drive out and in again. What comes back is held against the rows that went
 * out; XLSX besides by another library (SheetJS), Parquet by DuckDB.
 */

const SHEETS = [
	'rings',
	'ground',
	'meters',
	'readings',
	'mode_overrides',
	'bypass_decisions',
] as const;

/** Texts a spreadsheet might run, split, round or swallow. */
const TEXTS = [
	'=1+1',
	'=HYPERLINK("http://example.invalid";"x")',
	'+1',
	'-1',
	'@SUM(A1)',
	'\u0027=kept',
	'\u0027plain',
	'quote " comma, semicolon; tab\tbar |',
	'two\nlines',
	'two\r\nlines',
	'_x0041_',
	'_x005F_x000D_',
	'#N/A',
	'#REF!',
	'TRUE',
	'007',
	'1e5',
	'2031-04-07',
	'<b>&amp;</b>',
	'ρ 漢 😀',
	'hard\u00a0blanks',
	'=cmd|\u0027 /C calc\u0027!A0',
	'＝1＋1',
];

let folder: ExchangeFolder;
let demo: OpenDocument;
beforeAll(async () => {
	folder = new ExchangeFolder();
	demo = await folder.demo('demo');
	const readings = demo.sheetOrder('readings');
	const edits = TEXTS.map((text, at) => ({ row: readings[at] ?? 0, column: 'note', text }));
	must(await demo.edit({ sheet: 'readings', edits, typed: { decimal: '.' } }, BY));
	await addRows(demo, 'mode_overrides', [
		{ from_time: '2031-03-02T10:00Z', to_time: '2031-03-02T11:00:00.250Z', mode: 'stop', why: '-' },
		{ from_time: '2031-03-03T10:00Z', to_time: '2031-03-03T11:00Z', mode: 'bypass', why: '=why' },
	]);
	await addRows(demo, 'formulas', [
		{
			sheet: 'readings',
			column_id: 'feed_share',
			heading: 'Sand',
			unit: '1',
			expression: 'feed_flow_m3_h / return_flow_m3_h',
		},
	]);
	await addRows(demo, 'bypass_decisions', [
		{ from_time: '2031-03-02T10:00Z', to_time: '2031-03-02T10:00Z', decision: 'reject', why: 'x' },
		{
			from_time: '2031-03-02T10:00Z',
			to_time: '2031-03-02T10:00Z',
			quantity: 'flow',
			decision: 'accept',
			why: 'y',
		},
	]);
	await addRows(demo, 'meters', [
		{
			meter: 'return_density',
			valid_from: '2031-05-01T00:00Z',
			slope: '1.0000000000000002',
			offset: '-0.1234567890123456',
			standardised_on: '2031-04-30T06:00:00.125+02:00',
			standardise_every_days: '90',
			half_life_years: '30.05',
		},
	]);
	await addRows(demo, 'ground', [
		{
			from_ring: '900',
			to_ring: '901',
			stratum: 'Invented clay',
			face_fraction: '1',
			grain_density_t_m3: '2.7',
			dry_density_t_m3: '1.5',
			'passing_0.063_mm': '41.5',
			passing_2_mm: '99',
		},
	]);
});
afterAll(() => {
	demo.close();
	folder.remove();
});

const out = async (
	sheet: (typeof SHEETS)[number] | 'ledger',
	form: ExportForm,
	name = sheet as string,
) => {
	const path = folder.in(`${name}.${form}`);
	must(await exportSheet(demo, sheet, form, path));
	return path;
};

describe.each(['csv', 'xlsx'] as const)('sheets as %s', (form) => {
	it('come back into an empty drive cell for cell, and give the same ledger', async () => {
		const drive = await folder.empty(`empty ${form}`);
		for (const sheet of SHEETS) {
			const path = await out(sheet, form);
			const taken = await take(drive, sheet, path);
			expect(taken.faults.filter((fault) => fault.weight === 'stop')).toEqual([]);
			expect(taken.added).toBe(demo.model.rows[sheet].size);
			expect(cellsOf(drive, sheet)).toEqual(cellsOf(demo, sheet));
			// A second time there is nothing to do.
			const again = await take(drive, sheet, path);
			expect(again).toMatchObject({ added: 0, updated: 0, same: taken.added, label: null });
		}
		const ledger = (document: OpenDocument) =>
			document.sheetRows('ledger', null, null).rows.map(({ cells, flags }) => ({ cells, flags }));
		expect(ledger(drive)).toEqual(ledger(demo));
		expect(ledger(drive).length).toBeGreaterThan(30);
		drive.close();
	});
});

describe('an XLSX file as another library reads it', () => {
	it('has real numbers in full, formats to the decimals of the column, and no formulas', async () => {
		const path = await out('readings', 'xlsx', 'readings for others');
		const book = workbooks.read(readFileSync(path), { cellNF: true, cellFormula: true });
		const sheet = book.Sheets.Readings ?? {};
		const headings = headingsOf(sheet);
		expect(headings[0]).toBe('Time [UTC+01:00]');
		expect(headings).toContain('Return flow [m³/h]');
		const at = headings.indexOf('Return density [t/m³]');
		const rows = demo.sheetRows('readings', null, null).rows;
		rows.forEach(({ cells }, index) => {
			const cell = sheet[workbooks.utils.encode_cell({ r: index + 1, c: at })];
			expect(cell).toMatchObject({ t: 'n', v: cells.return_density_t_m3, z: '0.000' });
		});
		const formulas = Object.values(sheet).filter((cell) => (cell as { f?: string })?.f);
		expect(formulas).toEqual([]);
		const note = headings.indexOf('Note');
		rows.slice(0, TEXTS.length).forEach(({ cells }, index) => {
			const cell = sheet[workbooks.utils.encode_cell({ r: index + 1, c: note })];
			// This reader makes one line end of CR LF.
			expect([cell?.t, cell?.v]).toEqual(['s', String(cells.note).replace('\r\n', '\n')]);
		});
	});

	it('has real date-times on the clock its heading says', async () => {
		const path = await out('rings', 'xlsx', 'rings for others');
		const book = workbooks.read(readFileSync(path), { cellDates: true, UTC: true });
		const sheet = book.Sheets.Rings ?? {};
		const at = headingsOf(sheet).indexOf('Advance start [UTC+01:00]');
		cellsOf(demo, 'rings').forEach((cells, index) => {
			const cell = sheet[workbooks.utils.encode_cell({ r: index + 1, c: at })];
			expect(cell?.t).toBe('d');
			// The clock of the drive is an hour ahead.
			const clock_ms = (Number(cells?.advance_start) + 3600) * 1000;
			// A day number has no whole milliseconds; this reader cuts where others round.
			const found_ms = cell?.v instanceof Date ? cell.v.getTime() : Number.NaN;
			expect(Math.abs(found_ms - clock_ms)).toBeLessThanOrEqual(1);
		});
	});

	it('has the heading row frozen, widths, and the flags of the ledger as comments', async () => {
		const path = await out('ledger', 'xlsx', 'ledger for others');
		const book = workbooks.read(readFileSync(path), { bookFiles: true, cellNF: true });
		const files = (book as unknown as { files: Record<string, { content: Uint8Array }> }).files;
		const xml = new TextDecoder().decode(files['xl/worksheets/sheet1.xml']?.content);
		expect(xml).toMatch(/<pane [^>]*ySplit="1"[^>]*state="frozen"/u);
		expect(xml).toMatch(/<col [^>]*width="\d+/u);
		const sheet = book.Sheets.Ledger ?? {};
		const headings = headingsOf(sheet);
		const { rows } = demo.sheetRows('ledger', null, null);
		const told = rows.flatMap(({ flags }, index) =>
			Object.entries(flags ?? {}).map(([id, reasons]) => ({ id, index, reasons })),
		);
		expect(told.length).toBeGreaterThan(0);
		const columns = must(await exportSheet(demo, 'ledger', 'csv', folder.in('count.csv'))).columns;
		expect(headings.length).toBe(columns);
		let comments = 0;
		for (const [key, cell] of Object.entries(sheet))
			if (!key.startsWith('!') && (cell as { c?: unknown[] }).c?.length) comments++;
		expect(comments).toBe(new Set(told.map(({ id, index }) => `${index} ${id}`)).size);
	});
});

const headingsOf = (sheet: workbooks.WorkSheet): string[] =>
	(workbooks.utils.sheet_to_json(sheet, { header: 1, range: 0 })[0] as unknown[]).map(String);

describe('a Parquet file as DuckDB reads it', () => {
	it.each([...SHEETS, 'ledger'] as const)('holds every cell of %s', async (sheet) => {
		const path = await out(sheet, 'parquet');
		const connection = await (await DuckDBInstance.create(':memory:')).connect();
		const read = await connection.runAndReadAll(`SELECT * FROM read_parquet('${path}')`);
		const names = read.columnNames();
		const types = read.columnTypes().map(String);
		const { rows } = demo.sheetRows(sheet, null, null);
		const found = read.getRowsJS().map((values) =>
			Object.fromEntries(
				values.flatMap((value, at) => {
					if (value === null) return [];
					const plain =
						value instanceof Date
							? value.getTime() / 1000
							: typeof value === 'bigint'
								? Number(value)
								: value;
					return [[names[at], plain]];
				}),
			),
		);
		const wanted = rows.map(({ cells }) =>
			Object.fromEntries(Object.entries(cells).filter(([, value]) => value !== null)),
		);
		expect(found).toEqual(wanted);
		expect(types.some((type) => type.startsWith('TIMESTAMP')) || sheet === 'ground').toBe(true);
		connection.closeSync();
	});
});

describe('a column by a formula of the project', () => {
	it('goes out with the sheet and is never taken in, whatever it is called', async () => {
		const path = await out('readings', 'csv', 'own column');
		const text = readFileSync(path, 'utf8');
		expect(text.slice(0, text.indexOf('\r\n'))).toMatch(/,Sand$/u);
		const { fields } = await look(demo, 'readings', path);
		// Without it, "Sand" is another name of the sand content.
		expect(fields.at(-1)).toMatchObject({
			heading: 'Sand',
			column: null,
			texts: [expect.stringMatching(/^(?:[01]\.\d+)?$/u), ...Array(3).fill(expect.any(String))],
		});
	});
});

describe('a CSV file', () => {
	it('has units in its headings and nothing a spreadsheet would run', async () => {
		const text = readFileSync(await out('readings', 'csv', 'guarded'), 'utf8');
		expect(text.startsWith('\ufeffTime,Mode,Feed flow [m³/h],')).toBe(true);
		const sheet = workbooks.read(text.slice(1), { type: 'string', raw: true }).Sheets.Sheet1 ?? {};
		const started = Object.entries(sheet).flatMap(([key, cell]) => {
			const value = String((cell as { v?: unknown }).v ?? '');
			return !key.startsWith('!') && /^[=+@\t\r]|^-(?!\d)/u.test(value) ? [value] : [];
		});
		expect(started).toEqual([]);
		// A figure below zero stays a figure.
		expect(text).toMatch(/,-\d+(?:\.\d+)?,/u);
	});
});
