import Papa from 'papaparse';
import type { RingBalance } from '../../calc/circuit/ringbalance.ts';
import { formatNumber } from '../../calc/quantity/format.ts';
import { dateTime, isoTime } from '../../calc/quantity/time.ts';
import { unit } from '../../calc/quantity/unit.ts';
import { columnsOf } from '../../calc/sheet/catalogue.ts';
import type { Column, SheetRow } from '../../calc/sheet/column.ts';
import { guardText } from '../../calc/sheet/formulaguard.ts';
import { ringRecord } from '../../calc/sheet/ledger.ts';

/** The ring ledger in the three forms it is printed in. */

/** An array with one object a ring, numbers in full. */
export function ringsJson(balances: readonly RingBalance[]): string {
	return `${JSON.stringify(balances.map(ringRecord), null, '\t')}\n`;
}

/** All ledger columns under their ids, numbers in full, times as ISO 8601. */
export function ringsCsv(rows: readonly SheetRow[], utcOffset_min: number): string {
	const columns = columnsOf('ledger');
	const lines = rows.map((row) =>
		columns.map((column) => {
			const value = row.cells[column.id] ?? null;
			if (value === null) return '';
			if (typeof value === 'string') return guardText(value);
			return column.type === 'time' ? isoTime(value, utcOffset_min) : String(value);
		}),
	);
	return `${Papa.unparse([columns.map((column) => column.id), ...lines], { newline: '\n' })}\n`;
}

/** Columns that fit a terminal; the rest is in the other two forms. */
const SHOWN = [
	'ring',
	'advance_start',
	'advance_m',
	'volume_expected_m3',
	'volume_apparent_m3',
	'volume_apparent_u_m3',
	'ratio_volume',
	'dry_solids_t',
	'dry_solids_u_t',
	'dry_solids_expected_t',
	'ratio_solids',
	'missing_seconds',
	'source',
];

/** A table to read: blanks as a dash, and under it what is to be known of each ring. */
export function ringsTable(rows: readonly SheetRow[], utcOffset_min: number): string {
	if (rows.length === 0) return 'The drive has no rings yet.\n';
	const columns = columnsOf('ledger').filter((column) => SHOWN.includes(column.id));
	const lines = [
		columns.map((column) => column.heading),
		columns.map((column) => (column.unit === null ? '' : unit(column.unit).label)),
		...rows.map((row) => columns.map((column) => shown(column, row, utcOffset_min))),
	];
	const widths = columns.map((_, at) => Math.max(...lines.map((line) => line[at]!.length)));
	const table = lines.map((line) =>
		line
			.map((text, at) =>
				columns[at]!.type === 'text' ? text.padEnd(widths[at]!) : text.padStart(widths[at]!),
			)
			.join('  ')
			.trimEnd(),
	);
	const notes = rows.flatMap((row) =>
		(row.flags?.flags ?? []).map((note) => `ring ${row.cells.ring}: ${note}`),
	);
	return `${[...table, ...(notes.length > 0 ? ['', ...notes] : [])].join('\n')}\n`;
}

function shown(column: Column, row: SheetRow, utcOffset_min: number): string {
	const value = row.cells[column.id] ?? null;
	if (value === null) return '–';
	if (typeof value === 'string') return value;
	return column.type === 'time'
		? dateTime(value, utcOffset_min)
		: formatNumber(value, column.decimals, { decimal: '.' });
}
