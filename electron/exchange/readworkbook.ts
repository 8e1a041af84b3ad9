import { type CellValue, readXlsx, streamXlsxRows, type Workbook } from 'hucre/xlsx';
import { type Fault, noteFault, stopFault } from '../../calc/fault/fault.ts';
import { lookAtArchive } from './archivelimits.ts';
import type { ReadSource, SourceField, SourceLimits, SourceRow } from './sourcetable.ts';
import { workbookHints } from './workbookparts.ts';

/** Rows whose number formats are looked at. */
const ROWS_LOOKED_AT = 120;
/** Rows above the data: titles, headings, units. */
const ROWS_ABOVE = 1_000;

/**
 * Cuts a worksheet into rows of numbers, texts, truth values and date-times, in either date system.
 * A formula counts by the value the program that saved it last worked out (noted). An archive that
 * would unpack to more than the limits is refused before it is unpacked.
 */
export async function readWorkbook(
	bytes: Uint8Array,
	file: string,
	asked: string | null,
	prefer: readonly string[],
	limits: SourceLimits,
): Promise<ReadSource> {
	const refuse = (code: string, message: string, expected: string): ReadSource => ({
		kind: 'fault',
		fault: stopFault(code, message, { file, expected }),
	});
	const look = lookAtArchive(bytes);
	if (look.kind === 'notArchive')
		return refuse('workbook_unreadable', 'This is not an XLSX workbook.', 'an XLSX or CSV file');
	if (look.kind === 'refused') return refuse(look.code, look.why, 'an XLSX workbook of a sheet');
	const worksheets: string[] = [];
	let chosen: string | null = null;
	const hints = workbookHints(bytes);
	const rows: SourceRow[] = [];
	let percent: ReadonlySet<number> = new Set();
	try {
		// A first pass over no sheet at all tells their names.
		const shown: string[] = [];
		await readXlsx(bytes, {
			sheets: ({ name, hidden, veryHidden }) => {
				worksheets.push(name);
				if (!hidden && !veryHidden) shown.push(name);
				return false;
			},
		});
		const wanted = prefer.map((name) => name.toLowerCase());
		chosen =
			(asked === null ? undefined : worksheets.find((name) => name === asked)) ??
			shown.find((name) => wanted.includes(name.toLowerCase())) ??
			shown[0] ??
			worksheets[0] ??
			null;
		if (chosen === null)
			return refuse('workbook_empty', 'The workbook has no worksheet.', 'a worksheet');
		if (asked !== null && chosen !== asked)
			return refuse(
				'worksheet_gone',
				`The workbook has no worksheet "${asked}".`,
				worksheets.join(', '),
			);
		const only = chosen;
		let seen = 0;
		for await (const { index, values } of streamXlsxRows(bytes, {
			sheet: worksheets.indexOf(only),
		})) {
			// One more than may be is kept, so that whoever looks sees that there are too many.
			if (++seen > limits.rows + ROWS_ABOVE + 1) break;
			const fields = values.map(fieldOf);
			if (fields.slice(limits.fields).some((field) => field !== ''))
				return refuse(
					'fields_too_many',
					`Row ${index + 1} has ${fields.length} fields.`,
					`at most ${limits.fields} fields`,
				);
			if (fields.some((field) => field !== '')) rows.push({ line: index + 1, fields });
		}
		if (hints.percent)
			percent = percentFields(
				await readXlsx(bytes, {
					sheets: ({ name }) => name === only,
					readStyles: true,
					maxRows: ROWS_LOOKED_AT,
				}),
			);
	} catch (error) {
		// The library's own errors say what is wrong with the file; their text may hold parts of it.
		const name = error instanceof Error ? error.name : 'unknown';
		return refuse(
			'workbook_unreadable',
			`The workbook cannot be read (${name}); it is damaged or not what its ending says.`,
			'an XLSX or CSV file',
		);
	}
	const faults: Fault[] = hints.formulas
		? [
				noteFault(
					'formula_values',
					'The workbook holds formulas; the values they had when it was saved are taken.',
					{ file },
				),
			]
		: [];
	return {
		kind: 'table',
		table: {
			form: 'xlsx',
			rows,
			worksheets,
			worksheet: chosen,
			delimiter: null,
			percentFields: percent,
			faults,
		},
	};
}

function fieldOf(value: CellValue | undefined): SourceField {
	if (value === null || value === undefined) return '';
	if (value instanceof Date) return { clock_ms: value.getTime() };
	return value;
}

/** Fields in which a number is shaped as a percentage. */
function percentFields(book: Workbook): ReadonlySet<number> {
	const found = new Set<number>();
	for (const [key, cell] of book.sheets[0]?.cells ?? []) {
		const format = cell.style?.numFmt ?? '';
		if (typeof cell.value === 'number' && /%/u.test(format.replace(/"[^"]*"|\\./gu, '')))
			found.add(Number(key.split(',')[1]));
	}
	return found;
}
