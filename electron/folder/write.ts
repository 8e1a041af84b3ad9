import { mkdir, open, readdir } from 'node:fs/promises';
import { join } from 'node:path';
import Papa from 'papaparse';
import { isoTime } from '../../calc/quantity/time.ts';
import { columnsOf, findColumn, passingSize_mm } from '../../calc/sheet/catalogue.ts';
import type { CellValue, Column } from '../../calc/sheet/column.ts';
import { guardText } from '../../calc/sheet/formulaguard.ts';
import type { FolderRows, RowCells } from './content.ts';
import { DRIVE_FILE, UNCERTAINTY } from './drivefile.ts';
import { type ListSheetId, SHEET_FILES } from './sheetfile.ts';

/** The folder already holds something; nothing was written. */
export class FolderNotEmpty extends Error {
	constructor(folder: string) {
		super(`${folder} is not empty`);
		this.name = 'FolderNotEmpty';
	}
}

/**
 * Writes a drive as a plain folder and returns the names of the files written. The folder is made if
 * it is not there; one that holds anything is left alone and {@link FolderNotEmpty} is thrown. Sheets
 * without rows are not written, except the rings a folder cannot do without. Numbers are written in
 * full, times to the millisecond in the drive's offset, texts guarded against being run as formulas.
 */
export async function writeFolder(folder: string, content: FolderRows): Promise<string[]> {
	await mkdir(folder, { recursive: true });
	if ((await readdir(folder)).length > 0) throw new FolderNotEmpty(folder);
	const files: [string, string][] = [[DRIVE_FILE, driveText(content)]];
	for (const sheet of Object.keys(SHEET_FILES) as ListSheetId[]) {
		const rows = content[sheet];
		if (rows.length > 0 || sheet === 'rings')
			files.push([SHEET_FILES[sheet], sheetText(sheet, rows, content.utcOffset_min)]);
	}
	for (const [name, text] of files) {
		const handle = await open(join(folder, name), 'wx');
		try {
			await handle.writeFile(text, 'utf8');
			await handle.sync();
		} finally {
			await handle.close();
		}
	}
	return files.map(([name]) => name);
}

function driveText({ drive, invented }: FolderRows): string {
	const plain: Record<string, unknown> = {};
	const nested: Record<string, CellValue> = {};
	for (const { id } of columnsOf('drive')) {
		const value = drive[id] ?? null;
		if (value === null) continue;
		if (id.startsWith(`${UNCERTAINTY}.`)) nested[id.slice(UNCERTAINTY.length + 1)] = value;
		else plain[id] = value;
	}
	if (Object.keys(nested).length > 0) plain[UNCERTAINTY] = nested;
	if (invented) plain.invented = true;
	return `${JSON.stringify(plain, null, '\t')}\n`;
}

/** A sheet's rows as CSV with the columns that are required or hold anything. */
export function sheetText(
	sheet: ListSheetId,
	rows: readonly RowCells[],
	utcOffset_min: number,
): string {
	const held = new Set<string>();
	for (const row of rows)
		for (const [id, value] of Object.entries(row)) if (value !== null) held.add(id);
	const columns = columnsOf(sheet).filter(
		(column) => column.kind === 'entered' && (column.required || held.has(column.id)),
	);
	const sieves = [...held]
		.filter((id) => sheet === 'ground' && passingSize_mm(id) !== null)
		.sort((a, b) => (passingSize_mm(a) ?? 0) - (passingSize_mm(b) ?? 0));
	const all = [...columns, ...sieves.flatMap((id) => findColumn(sheet, id) ?? [])];
	const lines = rows.map((row) =>
		all.map((column) => fieldText(column, row[column.id] ?? null, utcOffset_min)),
	);
	return `${Papa.unparse([all.map((column) => column.id), ...lines], { newline: '\n' })}\n`;
}

function fieldText(column: Column, value: CellValue, utcOffset_min: number): string {
	if (value === null) return '';
	if (typeof value === 'string') return column.type === 'text' ? guardText(value) : value;
	return column.type === 'time' ? isoTime(value, utcOffset_min) : String(value);
}
