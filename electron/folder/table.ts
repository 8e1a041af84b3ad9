import Papa from 'papaparse';
import { type Fault, stopFault } from '../../calc/fault/fault.ts';

export interface TableRow {
	/** Line of the file the row starts in; the header is line 1. */
	readonly line: number;
	readonly fields: readonly string[];
}

export interface Table {
	readonly header: readonly string[];
	readonly rows: readonly TableRow[];
	readonly faults: readonly Fault[];
	/** The text cannot be split into rows that can be trusted. */
	readonly broken: boolean;
	/** Rows with too many or too few fields; not in `rows`. */
	readonly faultyRows: number;
}

const COMMAS = 'commas between the fields and dots as decimal marks';

/**
 * Splits comma-separated text (RFC 4180: quoted fields, doubled quotes) into rows with the line each
 * starts in. Line ends may be CR LF or LF. Another separator, a quote that is never closed, rows with
 * too many or too few fields and more rows than `maxRows` are faults; blank lines are skipped.
 */
export function splitTable(text: string, file: string, maxRows: number): Table {
	const lined = text.includes('\r') ? text.replace(/\r\n?/gu, '\n') : text;
	const firstLine = lined.slice(0, lined.indexOf('\n') >= 0 ? lined.indexOf('\n') : undefined);
	const other = otherSeparator(firstLine);
	const broken = (fault: Fault): Table => ({
		header: [],
		rows: [],
		faults: [fault],
		broken: true,
		faultyRows: 0,
	});
	if (other !== null)
		return broken(
			stopFault('separator', `The fields are separated by ${other}.`, {
				file,
				row: 1,
				value: firstLine.slice(0, 80),
				expected: `${COMMAS}: save it as "CSV UTF-8 (comma separated)"`,
			}),
		);

	let header: readonly string[] | null = null;
	const rows: TableRow[] = [];
	const faults: Fault[] = [];
	let line = 1;
	let faultyRows = 0;
	let isBroken = false;
	Papa.parse<string[]>(lined, {
		delimiter: ',',
		newline: '\n',
		step: ({ data, errors }, parser) => {
			const at = line;
			line += 1 + data.reduce((ends, field) => ends + (field.split('\n').length - 1), 0);
			const quoting = errors.find((error) => error.type === 'Quotes');
			if (quoting) {
				isBroken = true;
				faults.push(
					stopFault(
						quoting.code === 'MissingQuotes' ? 'quote_open' : 'quote_misplaced',
						quoting.code === 'MissingQuotes'
							? 'A quotation mark opened in this row is never closed; the rest of the file cannot be told apart.'
							: 'A quotation mark stands inside a field; the rest of the file cannot be told apart.',
						{
							file,
							row: at,
							value: data.join(',').slice(0, 80),
							expected: 'quotation marks around the whole field, doubled inside it',
						},
					),
				);
				parser.abort();
				return;
			}
			if (data.length === 1 && data[0]?.trim() === '') return;
			if (header === null) {
				header = data;
				return;
			}
			if (data.length !== header.length) {
				faultyRows++;
				const many = data.length > header.length;
				faults.push(
					stopFault(
						many ? 'fields_too_many' : 'fields_too_few',
						`The row has ${data.length} fields.`,
						{
							file,
							row: at,
							value: data.join(',').slice(0, 80),
							expected: `${header.length} fields as in the header${many ? '; a decimal comma also makes two fields of one' : ''}`,
						},
					),
				);
				return;
			}
			if (rows.length >= maxRows) {
				isBroken = true;
				faults.push(
					stopFault('rows_too_many', `The file has more than ${maxRows} rows.`, {
						file,
						row: at,
						expected: `at most ${maxRows} rows; a logger's record belongs in logger.csv`,
					}),
				);
				parser.abort();
				return;
			}
			rows.push({ line: at, fields: data });
		},
	});
	return { header: header ?? [], rows, faults, broken: isBroken, faultyRows };
}

function otherSeparator(header: string): string | null {
	if (header.includes(',')) return null;
	if (header.includes(';')) return 'semicolons';
	if (header.includes('\t')) return 'tabs';
	if (header.includes('|')) return 'bars';
	return null;
}
