import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import Papa from 'papaparse';
import { expect, test } from 'vitest';
import { columnsOf } from '../../../calc/sheet/catalogue.ts';
import type { CellValue, Column, EnteredSheetId } from '../../../calc/sheet/column.ts';
import { guardText, unguardText } from '../../../calc/sheet/formulaguard.ts';
import type { FolderRows, RowCells } from '../../../electron/folder/content.ts';
import { readFolder } from '../../../electron/folder/read.ts';
import { type ListSheetId, SHEET_FILES } from '../../../electron/folder/sheetfile.ts';
import { FolderNotEmpty, writeFolder } from '../../../electron/folder/write.ts';
import { emptyFolder, folderWith } from './madefolder.ts';

const text = fc
	.oneof(
		fc.string({ unit: 'grapheme', maxLength: 30 }),
		fc.constantFrom('=1+1', "'=1", '-', '@x', 'a,"b"', 'two\nlines', 'ä µ 泥', "'"),
	)
	.map((each) => each.replace(/[\p{Cc}\p{Cs}]/gu, ' ').trim())
	.filter((each) => each !== '');

/** Any value a column keeps; density above water and the like are kept by narrower bounds. */
function anyValue(column: Column): fc.Arbitrary<CellValue> {
	if (column.type === 'text') return text;
	if (column.type === 'choice') return fc.constantFrom(...(column.choices ?? []));
	if (column.type === 'time')
		return fc.integer({ min: 1_700_000_000_000, max: 1_900_000_000_000 }).map((ms) => ms / 1000);
	const min = column.id.endsWith('density_t_m3')
		? Math.max(1.2, column.min ?? 0)
		: (column.min ?? 0) + (column.minOpen ? 1e-6 : 0);
	const max = column.max ?? 1e6;
	if (column.type === 'integer') return fc.integer({ min: Math.ceil(min), max });
	return fc.double({ min, max, noNaN: true }).map((value) => (value === 0 ? 0 : value));
}

function cellsOf(sheet: EnteredSheetId): fc.Arbitrary<RowCells> {
	const entries = columnsOf(sheet)
		.filter((column) => column.kind === 'entered')
		.map(
			(column) =>
				[column.id, column.required ? anyValue(column) : fc.option(anyValue(column))] as const,
		);
	return fc
		.record(Object.fromEntries(entries))
		.map((cells) =>
			Object.fromEntries(Object.entries(cells).filter(([, value]) => value !== null)),
		);
}

const rings = fc.array(cellsOf('rings'), { maxLength: 5 }).map((rows) =>
	rows.map((row, at) => ({
		...row,
		ring: at + 1,
		advance_start: 1.8e9 + at * 7200,
		advance_end: 1.8e9 + at * 7200 + 2400.125,
		stroke_start_mm: 400,
		stroke_end_mm: 1900,
	})),
);
const ground = fc.array(cellsOf('ground'), { maxLength: 4 }).map((rows) =>
	rows.map((row, at) => ({
		...row,
		from_ring: at + 1,
		to_ring: at + 1,
		face_fraction: 1,
		grain_density_t_m3: 2.65,
		dry_density_t_m3: 1.7,
		'passing_0.063_mm': 12.5,
	})),
);
const readings = fc
	.array(cellsOf('readings'), { maxLength: 6 })
	.map((rows) => rows.map((row, at) => ({ ...row, time: 1.8e9 + at * 900, mode: 'advance' })));
const meters = fc
	.array(cellsOf('meters'), { maxLength: 3 })
	.map((rows) => rows.map((row, at) => ({ ...row, valid_from: 1.7e9 + at, meter: 'feed_flow' })));

const stretches = (sheet: 'bypass_decisions' | 'mode_overrides') =>
	fc.array(cellsOf(sheet), { maxLength: 3 }).map((rows) =>
		rows.map((row, at) => ({
			...row,
			from_time: 1.8e9 + at * 600,
			to_time: 1.8e9 + at * 600 + 240.5,
		})),
	);

const formulas = fc.array(cellsOf('formulas'), { maxLength: 3 }).map((rows) =>
	rows.map((row, at) => ({
		...row,
		sheet: 'ledger',
		column_id: `own_${at}`,
		unit: 'm3',
		expression: '1 m^3',
	})),
);

const limits = fc.array(cellsOf('limits'), { maxLength: 3 }).map((rows) =>
	rows.map((row, at) => ({
		...row,
		sheet: 'ledger',
		column_id: `own_${at}`,
		low: 0.25,
		high: 1.5,
		unit: 'm3',
	})),
);

const content: fc.Arbitrary<FolderRows> = fc.record({
	drive: cellsOf('drive').map((cells) => ({ ...cells, overcut_mm: 20 })),
	rings,
	ground,
	readings,
	meters,
	bypass_decisions: stretches('bypass_decisions'),
	mode_overrides: stretches('mode_overrides'),
	formulas,
	limits,
	utcOffset_min: fc.integer({ min: -48, max: 56 }).map((quarters) => quarters * 15),
	invented: fc.boolean(),
});

test('what is written is read back to the last bit', async () => {
	await fc.assert(
		fc.asyncProperty(content, async (made) => {
			const folder = join(await emptyFolder(), 'out');
			await writeFolder(folder, made);
			const { faults, utcOffset_min, ...read } = await readFolder(folder);
			expect(faults.filter((fault) => fault.weight === 'stop')).toEqual([]);
			const { utcOffset_min: offset, ...rows } = made;
			expect(read).toMatchObject(rows);
			for (const sheet of Object.keys(SHEET_FILES) as ListSheetId[])
				expect(read[sheet]).toEqual(made[sheet]);
			if (made.rings.length > 0) expect(utcOffset_min).toBe(offset);
		}),
		{ seed: 20_260_302, numRuns: 60 },
	);
});

test('no text cell starts like a formula, and every text comes back', () => {
	fc.assert(
		fc.property(fc.oneof(text, fc.string()), (each) => {
			const written = guardText(each);
			expect(written).not.toMatch(/^[=+\-@\t\r]/u);
			expect(unguardText(written)).toBe(each);
		}),
		{ seed: 7, numRuns: 500 },
	);
});

test('the files are as RFC 4180 readers take them, with only columns that hold something', async () => {
	const folder = join(await emptyFolder(), 'out');
	const names = await writeFolder(folder, await readFolder(await folderWith()));
	expect(names).toEqual(['drive.json', 'rings.csv', 'ground.csv', 'readings.csv', 'meters.csv']);
	const parsed = Papa.parse<Record<string, string>>(
		await readFile(join(folder, 'readings.csv'), 'utf8'),
		{ header: true, skipEmptyLines: true },
	);
	expect(parsed.meta.fields).toEqual([
		'time',
		'mode',
		'feed_flow_m3_h',
		'feed_density_t_m3',
		'return_flow_m3_h',
		'return_density_t_m3',
		'note',
	]);
	expect(parsed.data[1]).toMatchObject({
		time: '2026-03-02T06:20:00+01:00',
		note: 'pump 2, slow',
		feed_flow_m3_h: '910',
	});
});

test('a folder that holds anything is left alone', async () => {
	const folder = await emptyFolder();
	await writeFile(join(folder, 'letter.txt'), 'x');
	const content = await readFolder(await folderWith());
	await expect(writeFolder(folder, content)).rejects.toThrow(FolderNotEmpty);
	expect(await readFile(join(folder, 'letter.txt'), 'utf8')).toBe('x');
});
