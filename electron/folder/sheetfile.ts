import { join } from 'node:path';
import { type Fault, stopFault } from '../../calc/fault/fault.ts';
import { checkWholeSheet } from '../../calc/formula/check.ts';
import { parseTime } from '../../calc/quantity/time.ts';
import { checkRow, readCell } from '../../calc/sheet/cell.ts';
import type { CellValue, Column, EnteredSheetId } from '../../calc/sheet/column.ts';
import { unguardText } from '../../calc/sheet/formulaguard.ts';
import type { RowCells } from './content.ts';
import type { FaultList } from './faultlist.ts';
import { readHeadings } from './headings.ts';
import { splitTable, type TableRow } from './table.ts';
import { type HandFileLimits, readTextFile } from './textfile.ts';

export type ListSheetId = Exclude<EnteredSheetId, 'drive'>;

/** File of the plain folder a sheet is kept in. */
export const SHEET_FILES: Readonly<Record<ListSheetId, string>> = {
	rings: 'rings.csv',
	ground: 'ground.csv',
	readings: 'readings.csv',
	meters: 'meters.csv',
	bypass_decisions: 'bypass_decisions.csv',
	mode_overrides: 'mode_overrides.csv',
	formulas: 'formulas.csv',
	limits: 'limits.csv',
};

export interface SheetFile {
	readonly present: boolean;
	readonly rows: readonly RowCells[];
	/** Rows left out because of a stop fault. */
	readonly faultyRows: number;
	/** The file as a whole cannot be used. */
	readonly unusable: boolean;
	/** Offset of the first time in it, minutes east of UTC; null if there is none. */
	readonly utcOffset_min: number | null;
}

export interface SheetFileAsk {
	readonly folder: string;
	readonly sheet: ListSheetId;
	readonly limits: HandFileLimits;
	readonly faults: FaultList;
	/** Rules of the drive that a row must meet besides those of its sheet. */
	readonly checkAlso?: (cells: RowCells) => readonly Fault[];
}

/** Files in the marks of the plain folder: dot decimals, every time with its own offset. */
const FILE_MARKS = { decimal: '.', utcOffset_min: null } as const;

/** Faults between rows that stopping one row would not mend: the rows stay, the figure is blank. */
const BETWEEN_ROWS = new Set(['face_fraction_sum']);

/**
 * Reads one sheet's CSV file. Every fault names file, line, column, value and what was expected and
 * goes into `faults`; rows with a stop fault are left out and counted.
 */
export async function readSheetFile(ask: SheetFileAsk): Promise<SheetFile> {
	const { sheet, limits, faults } = ask;
	const file = SHEET_FILES[sheet];
	const none = { present: true, rows: [], faultyRows: 0, unusable: true, utcOffset_min: null };
	const read = await readTextFile(join(ask.folder, file), file, limits);
	if (read.kind === 'absent') return { ...none, present: false, unusable: false };
	if (read.kind === 'fault') {
		faults.add(read.fault);
		return none;
	}
	faults.add(...read.notes);
	const table = splitTable(read.text, file, limits.rows);
	if (table.header.length === 0) {
		faults.add(...table.faults);
		return none;
	}
	const headings = readHeadings(sheet, file, table.header);
	faults.add(...headings.faults, ...table.faults);
	if (headings.unusable) return { ...none, faultyRows: table.rows.length + table.faultyRows };
	if (table.rows.length === 0 && !table.broken && table.faultyRows === 0)
		faults.add({
			code: 'rows_none',
			message: 'The file has a header and no rows.',
			where: { file, row: 1, expected: 'one row a line below the header' },
			weight: 'note',
		});

	const good: { cells: RowCells; line: number }[] = [];
	let utcOffset_min: number | null = null;
	for (const row of table.rows) {
		const made = readRow(row, headings.columns);
		const found = [
			...made.faults,
			...(made.stopped ? [] : checkRow(sheet, made.cells, made.utcOffset_min ?? 0)),
		];
		if (!made.stopped) found.push(...(ask.checkAlso?.(made.cells) ?? []));
		for (const fault of found) faults.add(placed(fault, file, row.line));
		utcOffset_min ??= made.utcOffset_min;
		if (!found.some((fault) => fault.weight === 'stop'))
			good.push({ cells: made.cells, line: row.line });
	}

	const left = new Set<number>();
	for (const fault of checkWholeSheet(
		sheet,
		good.map(({ cells }) => cells),
		utcOffset_min ?? 0,
	)) {
		const index = (fault.where.row ?? 1) - 1;
		faults.add(placed(fault, file, good[index]?.line ?? 1));
		if (fault.weight === 'stop' && !BETWEEN_ROWS.has(fault.code)) left.add(index);
	}
	const rows = good.filter((_, index) => !left.has(index)).map(({ cells }) => cells);
	return {
		present: true,
		rows,
		faultyRows: table.rows.length + table.faultyRows - rows.length,
		unusable: table.broken,
		utcOffset_min,
	};
}

const placed = (fault: Fault, file: string, row: number): Fault => ({
	...fault,
	where: { ...fault.where, file, row },
});

interface ReadRow {
	readonly cells: RowCells;
	readonly faults: readonly Fault[];
	readonly stopped: boolean;
	readonly utcOffset_min: number | null;
}

function readRow(row: TableRow, columns: readonly (Column | null)[]): ReadRow {
	const cells: RowCells = {};
	const faults: Fault[] = [];
	let utcOffset_min: number | null = null;
	columns.forEach((column, at) => {
		if (column === null) return;
		const field = row.fields[at] ?? '';
		const read = readFileCell(column, column.type === 'text' ? unguardText(field) : field);
		if (read.fault !== null) faults.push(read.fault);
		faults.push(...read.notes);
		if (read.value !== null) cells[column.id] = read.value;
		if (utcOffset_min === null && column.type === 'time' && read.value !== null) {
			const time = parseTime(field);
			if (time.kind === 'time') utcOffset_min = time.utcOffset_min;
		}
	});
	const stopped = faults.some((fault) => fault.weight === 'stop');
	return { cells, faults, stopped, utcOffset_min };
}

/** A field of a file as the cell it stands for; the faults know their column and value, not yet file and row. */
export function readFileCell(
	column: Column,
	field: string,
): { value: CellValue; notes: readonly Fault[]; fault: Fault | null } {
	const read = readCell(column, field, FILE_MARKS);
	if (read.kind === 'value') return { value: read.value, notes: read.notes, fault: null };
	if (read.kind === 'fault') return { value: null, notes: [], fault: read.fault };
	const meant = read.readAs.map((reading) => reading.text).join(' or ');
	return {
		value: null,
		notes: [],
		fault: stopFault('number_ambiguous', 'This can be read as more than one number.', {
			column: column.id,
			value: field,
			expected: meant,
		}),
	};
}
