import { type Fault, noteFault, stopFault } from '../../calc/fault/fault.ts';
import { isUnitId, type UnitId, unit } from '../../calc/quantity/unit.ts';
import type { Column } from '../../calc/sheet/column.ts';
import {
	type ImportedSheetId,
	SHEET_TITLES,
	type SheetReading,
} from '../contract/sheetexchange.ts';
import type { RowCells } from '../folder/content.ts';
import { type FieldMatch, fillable, matchFields, unitsOf } from './fieldmatch.ts';
import { readCsv } from './readcsv.ts';
import { type FieldReading, readField } from './readfield.ts';
import { readWorkbook } from './readworkbook.ts';
import type { SourceCache } from './sourcecache.ts';
import {
	fieldText,
	type ReadSource,
	SOURCE_LIMITS,
	type SourceLimits,
	type SourceRow,
	type SourceTable,
} from './sourcetable.ts';

/** A row of a file as cells of a sheet. */
export interface FileRow {
	readonly line: number;
	/** Without the missing ones. */
	readonly cells: RowCells;
	/** Of single fields, with file and row. */
	readonly faults: readonly Fault[];
	readonly stopped: boolean;
}

/** A file as a sheet: how it was read, what its fields are taken for, and its rows. */
export interface SheetFileLook {
	readonly table: SourceTable;
	/** As asked and as guessed. */
	readonly reading: SheetReading;
	readonly fields: readonly (FieldMatch & {
		readonly texts: readonly string[];
		readonly read: readonly (number | string | null)[];
	})[];
	readonly columns: readonly Column[];
	readonly rows: readonly FileRow[];
	/** Of the file as a whole. */
	readonly faults: readonly Fault[];
}

export interface SheetFileAsk {
	readonly sheet: ImportedSheetId;
	/** Name of the file, for the faults. */
	readonly file: string;
	readonly bytes: Uint8Array;
	readonly reading: SheetReading;
	/** The drive's, minutes east of UTC. */
	readonly utcOffset_min: number;
	/** Columns that the project works out by formulas of its own. */
	readonly own?: readonly Column[];
	/** Keeps the file's fields for the next look, under the hash of its content. */
	readonly cache?: { readonly sources: SourceCache; readonly sha256: string };
	readonly limits?: SourceLimits;
}

/** Rows among which the headings are looked for. */
const HEADING_ROWS = 30;
/** Rows shown beside each field. */
const ROWS_SHOWN = 4;
const ZIP_MARK = [0x50, 0x4b];

/** Reads a CSV or XLSX file as rows of a sheet; a fault if nothing of it can be read. */
export async function readSheet(
	ask: SheetFileAsk,
): Promise<{ readonly look: SheetFileLook } | { readonly fault: Fault }> {
	const { sheet, file, bytes, reading, limits = SOURCE_LIMITS } = ask;
	if (bytes.length > limits.bytes)
		return {
			fault: stopFault('file_too_large', `The file has ${Math.ceil(bytes.length / 1e6)} MB.`, {
				file,
				expected: `at most ${limits.bytes / 1e6} MB; a logger's record is imported as logger files`,
			}),
		};
	const { cache } = ask;
	const { worksheet, delimiter } = reading;
	const source =
		cache === undefined
			? await sourceOf(ask, limits)
			: await cache.sources.of(
					JSON.stringify([cache.sha256, file, sheet, worksheet, delimiter]),
					() => sourceOf(ask, limits),
				);
	if (source.kind === 'fault') return { fault: source.fault };
	const { table } = source;
	const heading = headingRowOf(table.rows, sheet, reading.headingRow);
	if (heading === undefined)
		return {
			fault: stopFault('rows_none', 'There is no row of headings.', {
				file,
				expected: 'a row of headings and rows of values below it',
			}),
		};
	const data = table.rows.filter(({ line }) => line > heading.line);
	if (data.length > limits.rows)
		return {
			fault: stopFault('rows_too_many', `The file has more than ${limits.rows} rows.`, {
				file,
				row: data[limits.rows]?.line ?? 0,
				expected: `at most ${limits.rows} rows; a logger's record is imported as logger files`,
			}),
		};
	const headings = heading.fields.map((field) => fieldText(field).trim());
	// Fields without a heading are fields if most rows have them; in a few rows they are a mistake.
	const widths = data.map(filledWidth).sort((a, b) => a - b);
	const width = Math.max(headings.length, widths[widths.length >> 1] ?? 0);
	while (headings.length < width) headings.push('');
	const columns = fillable(sheet, headings);
	const matches = byHand(matchFields(sheet, headings, ask.own), reading, columns);
	const percent = matches.map((match, at) =>
		table.percentFields.has(at) && match.column?.unit === '%'
			? {
					...match,
					unit: '1' as UnitId,
					remark: 'Shaped as a percentage in the file: 0.4 there is 40 %.',
				}
			: match,
	);
	const fields = reading.fields === undefined ? percent : keepHandUnits(percent, matches, reading);
	const decimal = reading.decimal ?? guessDecimal(table, data, fields);
	const utcOffset_min = reading.utcOffset_min ?? ask.utcOffset_min;
	const dates = reading.dates ?? guessDates(data, fields);
	const readings = fields.map((match): FieldReading | null =>
		match.column === null
			? null
			: {
					column: match.column,
					unit: match.unit,
					decimal,
					dates,
					utcOffset_min: match.utcOffset_min ?? utcOffset_min,
					guarded: table.form === 'csv',
				},
	);
	const rows = data.map((row) => readRow(row, readings, file));
	const faults = [...table.faults];
	if (data.length === 0)
		faults.push(
			noteFault('rows_none', 'There are no rows below the headings.', { file, row: heading.line }),
		);
	return {
		look: {
			table,
			reading: {
				existing: reading.existing,
				...(table.worksheet === null ? {} : { worksheet: table.worksheet }),
				...(table.delimiter === null ? {} : { delimiter: table.delimiter }),
				decimal,
				dates,
				headingRow: heading.line,
				utcOffset_min,
				...(reading.fields === undefined ? {} : { fields: reading.fields }),
			},
			fields: fields.map((match, at) => ({
				...match,
				heading: match.heading === '' ? `field ${at + 1}` : match.heading,
				texts: data.slice(0, ROWS_SHOWN).map((row) => fieldText(row.fields[at] ?? '')),
				read: rows
					.slice(0, ROWS_SHOWN)
					.map((row) => (match.column === null ? null : (row.cells[match.column.id] ?? null))),
			})),
			columns,
			rows,
			faults,
		},
	};
}

function sourceOf(ask: SheetFileAsk, limits: SourceLimits): Promise<ReadSource> | ReadSource {
	const { sheet, file, bytes, reading } = ask;
	const packed = ZIP_MARK.every((mark, at) => bytes[at] === mark);
	return packed || /\.xls[xm]$/iu.test(file)
		? readWorkbook(bytes, file, reading.worksheet ?? null, [SHEET_TITLES[sheet], sheet], limits)
		: readCsv(bytes, file, reading.delimiter ?? null, limits);
}

/** The row asked for, else among the first rows the one that names most columns. */
function headingRowOf(
	rows: readonly SourceRow[],
	sheet: ImportedSheetId,
	asked: number | undefined,
): SourceRow | undefined {
	if (asked !== undefined) return rows.find(({ line }) => line === asked);
	let best = rows[0];
	let most = 0;
	for (const row of rows.slice(0, HEADING_ROWS)) {
		const named = matchFields(sheet, row.fields.map(fieldText)).filter(
			({ by }) => by !== null,
		).length;
		if (named > most) {
			most = named;
			best = row;
		}
	}
	return best;
}

function filledWidth(row: SourceRow): number {
	let width = row.fields.length;
	while (width > 0 && isEmpty(row.fields[width - 1] ?? '')) width--;
	return width;
}

const isEmpty = (field: SourceRow['fields'][number]): boolean =>
	typeof field === 'string' && field.trim() === '';

/** What a person has said of fields stands above what their headings say. */
function byHand(
	matches: readonly FieldMatch[],
	{ fields }: SheetReading,
	columns: readonly Column[],
): FieldMatch[] {
	const said = new Map(fields?.map((one) => [one.field, one]));
	const taken = new Set([...said.values()].map(({ column }) => column));
	return matches.map((match, at) => {
		const hand = said.get(at);
		const left = { ...match, column: null, unit: null, utcOffset_min: null, by: null };
		if (hand === undefined)
			return match.column !== null && taken.has(match.column.id)
				? { ...left, remark: `Another field fills ${match.column.heading}.` }
				: match;
		const column = columns.find(({ id }) => id === hand.column) ?? null;
		if (column === null) return { ...left, remark: null };
		return {
			...match,
			column,
			unit: handUnit(column, hand.unit),
			utcOffset_min: match.column?.id === column.id ? match.utcOffset_min : null,
			by: 'hand',
			remark: null,
		};
	});
}

function handUnit(column: Column, said: string | null): UnitId | null {
	if (column.unit === null) return null;
	const fits = said !== null && isUnitId(said) && unitsOf(column).some(({ id }) => id === said);
	return fits ? (said as UnitId) : column.unit;
}

/** A unit chosen by hand stands above the shape of the cells. */
function keepHandUnits(
	shaped: readonly FieldMatch[],
	matches: readonly FieldMatch[],
	{ fields }: SheetReading,
): FieldMatch[] {
	return shaped.map((match, at) =>
		fields?.some((one) => one.field === at && one.unit !== null) ? (matches[at] ?? match) : match,
	);
}

/** The decimal mark of a text file, by figures that can have only one; a comma between fields is none. */
function guessDecimal(
	table: SourceTable,
	data: readonly SourceRow[],
	fields: readonly FieldMatch[],
): '.' | ',' {
	if (table.delimiter === ',') return '.';
	let commas = 0;
	let dots = 0;
	for (const row of data.slice(0, 1_000))
		fields.forEach(({ column }, at) => {
			const text = row.fields[at];
			if (column?.type !== 'number' || typeof text !== 'string') return;
			if (/^\s*[+\-\u2212]?[\d.\s]*\d,\d+/u.test(text)) commas++;
			else if (/^\s*[+\-\u2212]?[\d,\s]*\d\.\d+/u.test(text)) dots++;
		});
	return commas > dots ? ',' : '.';
}

/**
 * Whether dates stand day first or month first, where some of them can be only one and none speaks
 * against it. Dates parted by dots are written day first; those by strokes that can be both are
 * left to a person.
 */
function guessDates(
	data: readonly SourceRow[],
	fields: readonly FieldMatch[],
): 'iso' | 'dmy' | 'mdy' {
	let [dayFirst, monthFirst, dotted] = [0, 0, 0];
	for (const row of data)
		fields.forEach(({ column }, at) => {
			const text = row.fields[at];
			if (column?.type !== 'time' || typeof text !== 'string') return;
			const parts = /^\s*(\d{1,2})([-/.])(\d{1,2})\2\d{2,4}/u.exec(text);
			if (parts === null) return;
			if (Number(parts[1]) > 12) dayFirst++;
			else if (Number(parts[3]) > 12) monthFirst++;
			else if (parts[2] === '.') dotted++;
		});
	if (monthFirst > 0) return dayFirst === 0 ? 'mdy' : 'iso';
	return dayFirst + dotted > 0 ? 'dmy' : 'iso';
}

function readRow(
	row: SourceRow,
	readings: readonly (FieldReading | null)[],
	file: string,
): FileRow {
	const cells: RowCells = {};
	const faults: Fault[] = [];
	readings.forEach((how, at) => {
		const field = row.fields[at] ?? '';
		if (how === null || isEmpty(field)) return;
		const read = readField(field, how);
		if (read.value !== null) cells[how.column.id] = read.value;
		for (const fault of read.faults)
			faults.push({ ...fault, where: { ...fault.where, file, row: row.line } });
	});
	if (filledWidth(row) > readings.length)
		faults.push(
			stopFault('fields_too_many', `The row has ${filledWidth(row)} fields.`, {
				file,
				row: row.line,
				expected: `${readings.length} fields as in the headings`,
			}),
		);
	return { line: row.line, cells, faults, stopped: faults.some(({ weight }) => weight === 'stop') };
}

/** A unit as it is shown. */
export const unitLabel = (id: string | null): string | null =>
	id === null || !isUnitId(id) ? null : unit(id).label;
