import { type Cell, type ColumnDef, writeXlsx } from 'hucre/xlsx';
import type { Column, SheetRow } from '../../calc/sheet/column.ts';
import { dayNumberOf } from './daynumber.ts';
import { headingWithUnit, offsetName, type SheetTable } from './exportcolumns.ts';

/** Widths in characters: room for the heading, but no column takes half the screen. */
const LEAST_WIDTH = 9;
const MOST_WIDTH = 48;
/** Rows whose texts are looked at for the width of their column. */
const ROWS_MEASURED = 200;

/** Texts that spreadsheets know as errors of a formula. */
const ERROR_WORDS: ReadonlySet<string> = new Set([
	'#N/A',
	'#VALUE!',
	'#REF!',
	'#DIV/0!',
	'#NUM!',
	'#NAME?',
	'#NULL!',
	'#SPILL!',
	'#CALC!',
	'#GETTING_DATA',
]);

/**
 * A sheet as an XLSX workbook: real numbers with all their digits, shown with the decimals of their
 * column; real date-times on the drive's clock, whose offset the heading says; texts as texts, never
 * as formulas; the heading row frozen; flags as comments at their cells.
 */
export async function workbookOf(table: SheetTable): Promise<Uint8Array> {
	const { columns, rows, utcOffset_min, title } = table;
	const cells = new Map<string, Partial<Cell>>();
	columns.forEach((_, at) => {
		cells.set(`0,${at}`, {
			style: {
				font: { bold: true },
				numFmt: 'General',
				alignment: { wrapText: true, vertical: 'top' },
			},
		});
	});
	const put = (row: number, at: number, cell: Partial<Cell>): void => {
		const key = `${row},${at}`;
		cells.set(key, { ...cells.get(key), ...cell });
	};
	const lines = rows.map((row, index) =>
		columns.map((column, at) => {
			const value = row.cells[column.id] ?? null;
			if (typeof value === 'number')
				return column.type === 'time' ? dayNumberOf(value, utcOffset_min) : value;
			if (value !== null && ERROR_WORDS.has(value))
				put(index + 1, at, { richText: [{ text: value }] });
			return value === null ? null : plainText(value);
		}),
	);
	rows.forEach((row, index) => {
		for (const [id, reasons] of Object.entries(row.flags ?? {})) {
			const at = Math.max(
				0,
				columns.findIndex((column) => column.id === id),
			);
			const told = cells.get(`${index + 1},${at}`)?.comment?.text;
			const text = [...(told === undefined ? [] : [told]), ...reasons].join('\n');
			put(index + 1, at, { comment: { author: 'Slurry Ledger', text } });
		}
	});
	const headings = columns.map((column) => headingOf(column, utcOffset_min));
	return writeXlsx({
		sheets: [
			{
				name: title,
				columns: columns.map((column, at): ColumnDef => {
					const numFmt = formatOf(column, rows);
					const width = widthOf(column, headings[at] ?? '', rows);
					return numFmt === null ? { width } : { width, numFmt };
				}),
				rows: [headings, ...lines],
				cells,
				freezePane: { rows: 1 },
			},
		],
		properties: { creator: 'Slurry Ledger', title },
	});
}

/** `_x000D_` in a text stands for a mark of that number in these files (ECMA-376 part 1, 22.9.2.19): its own underscore is spelt so. */
const plainText = (text: string): string => text.replace(/_(?=x[0-9A-Fa-f]{4}_)/gu, '_x005F_');

function headingOf(column: Column, utcOffset_min: number): string {
	return column.type === 'time'
		? `${column.heading} [${offsetName(utcOffset_min)}]`
		: headingWithUnit(column);
}

function formatOf(column: Column, rows: readonly SheetRow[]): string | null {
	switch (column.type) {
		case 'time': {
			const parts = rows.some((row) => !Number.isInteger(row.cells[column.id] ?? 0));
			return parts ? 'yyyy-mm-dd hh:mm:ss.000' : 'yyyy-mm-dd hh:mm:ss';
		}
		case 'number':
			return column.decimals === 0 ? '0' : `0.${'0'.repeat(column.decimals)}`;
		case 'integer':
			return '0';
		default:
			// As text, so that what a person types over it later stays a text too.
			return '@';
	}
}

function widthOf(column: Column, heading: string, rows: readonly SheetRow[]): number {
	let width = column.type === 'time' ? 20 : Math.ceil(heading.length / 2) + 3;
	if (column.type === 'text' || column.type === 'choice')
		for (const row of rows.slice(0, ROWS_MEASURED)) {
			const value = row.cells[column.id];
			if (typeof value === 'string') width = Math.max(width, value.length + 2);
		}
	return Math.min(MOST_WIDTH, Math.max(LEAST_WIDTH, width));
}
