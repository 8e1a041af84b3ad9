import Papa from 'papaparse';
import { type Fault, stopFault } from '../../../calc/fault/fault.ts';
import type { LoggerLayout } from '../../contract/loggerimport.ts';
import type { FaultList } from '../../folder/faultlist.ts';
import { type LaidOutBatch, RowReader } from './rowreader.ts';

/** A text without a line break for so long is no record, characters. */
const LONGEST_LINE = 1 << 20;

export interface CsvReaderOptions {
	readonly file: string;
	readonly layout: LoggerLayout;
	readonly faults: FaultList;
	readonly take: (batch: LaidOutBatch) => void;
	readonly after_s?: number;
}

/**
 * Reads a CSV file of any layout chunk by chunk, quotation marks and line breaks within them included.
 * The same to the bit however the bytes are cut into chunks.
 */
export class CsvReader {
	readonly #options: CsvReaderOptions;
	readonly #layout: LoggerLayout;
	readonly #decoder: TextDecoder;
	#parser: Papa.Parser | null = null;
	#rest = '';
	#line = 0;
	#headings: string[] | null = null;
	#rows: RowReader | null = null;
	#unusable = false;

	constructor(options: CsvReaderOptions) {
		this.#options = options;
		this.#layout = options.layout;
		this.#decoder = new TextDecoder(options.layout.encoding, { fatal: true });
	}

	get rows(): number {
		return this.#rows?.rows ?? 0;
	}
	get latest_s(): number {
		return this.#rows?.latest_s ?? this.#options.after_s ?? Number.NEGATIVE_INFINITY;
	}
	get unusable(): boolean {
		return this.#unusable;
	}

	push(chunk: Uint8Array): void {
		if (!this.#unusable) this.#text(() => this.#decoder.decode(chunk, { stream: true }), false);
	}

	end(): void {
		if (this.#unusable) return;
		this.#text(() => this.#decoder.decode(), true);
		this.#rows?.end();
		if (this.#rows === null && !this.#unusable)
			this.#refuse(
				stopFault('file_empty', 'The file has no row of data.', {
					file: this.#options.file,
					expected: `a row of data from line ${this.#layout.firstRow}`,
				}),
			);
	}

	#refuse(...faults: readonly Fault[]): void {
		this.#unusable = true;
		this.#options.faults.add(...faults);
	}

	#text(decode: () => string, isLast: boolean): void {
		const { file } = this.#options;
		try {
			this.#rest += decode();
		} catch {
			this.#refuse(
				stopFault('file_encoding', `There are bytes that are not ${this.#layout.encoding}.`, {
					file,
					row: this.#line + 1,
					expected: `text in ${this.#layout.encoding}`,
				}),
			);
			return;
		}
		if (this.#parser === null) {
			if (!isLast && !/[\r\n]./su.test(this.#rest)) return;
			// The decoder drops a byte order mark by itself.
			const newline = /\r\n|\n|\r/u.exec(this.#rest)?.[0] ?? '\n';
			this.#parser = new Papa.Parser({
				delimiter: this.#layout.delimiter,
				newline: newline as '\n' | '\r\n' | '\r',
			});
		}
		const { data, meta } = this.#parser.parse(this.#rest, 0, !isLast) as {
			data: string[][];
			meta: { cursor: number };
		};
		this.#rest = isLast ? '' : this.#rest.slice(meta.cursor);
		for (const fields of data) {
			this.#line++;
			this.#row(fields);
			if (this.#unusable) return;
		}
		if (this.#rest.length > LONGEST_LINE)
			this.#refuse(
				stopFault('line_too_long', `A row is longer than ${LONGEST_LINE} characters.`, {
					file,
					row: this.#line + 1,
					expected: 'lines of a record; a quotation mark that is not closed makes one of many',
				}),
			);
	}

	#row(fields: string[]): void {
		const { headingRow, firstRow } = this.#layout;
		if (this.#line === headingRow) this.#headings = fields.map((field) => field.trim());
		if (this.#line < firstRow || this.#line === headingRow) return;
		if (fields.length === 1 && fields[0]?.trim() === '') return;
		if (this.#rows === null) {
			const headings = namedFields(this.#headings ?? fields.map(() => ''));
			this.#rows = new RowReader({ ...this.#options, headings });
			if (this.#rows.unusable.length > 0) {
				this.#refuse(...this.#rows.unusable);
				return;
			}
		}
		this.#rows.row(fields, this.#line);
	}
}

/** Each field by a name of its own: `field 3` without a heading, ` (2)` behind one that stands twice. */
export function namedFields(headings: readonly string[]): string[] {
	const seen = new Map<string, number>();
	return headings.map((heading, at) => {
		const name = heading === '' ? `field ${at + 1}` : heading;
		const times = (seen.get(name) ?? 0) + 1;
		seen.set(name, times);
		return times === 1 ? name : `${name} (${times})`;
	});
}
