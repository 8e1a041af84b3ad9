import { MODE_MISSING, MODES, type Mode } from '../../calc/circuit/samples.ts';
import { STOPPED_NOISE_M3_S } from '../../calc/circuit/series.ts';
import { type Fault, noteFault, stopFault } from '../../calc/fault/fault.ts';
import { parseTime } from '../../calc/quantity/time.ts';
import { readCell } from '../../calc/sheet/cell.ts';
import type { Column } from '../../calc/sheet/column.ts';
import type { FaultList } from '../folder/faultlist.ts';
import { BATCH_ROWS, type LoggerBatch, NUMBER_COLUMNS, type NumberColumn } from './batch.ts';
import { readLoggerHeader } from './dialect.ts';

/** Rows read in one go: short goes are compiled to fast code sooner than one long loop. */
const ROWS_AT_ONCE = 256;
/** A line longer than this is not a logger's row, bytes. */
const LONGEST_LINE = 65_536;
/** Digits that always fit 32 bits. Such a whole number and its power of ten are exact in a double, so their quotient is rounded once. */
const INT32_DIGITS = 9;
const POWERS = Float64Array.from({ length: INT32_DIGITS + 1 }, (_, k) => Number(`1e${k}`));

const LF = 10;
const CR = 13;
const COMMA = 44;
const MINUS = 45;
const DOT = 46;
const ZERO = 48;
const QUOTE = 34;
const COLON = 58;
const LETTER_T = 84;
/** Stands in for the decimals of a number not written plainly. */
const NOT_PLAIN = 99;
const EMPTY = new Uint8Array(0);

const KIND_SKIP = 0;
const KIND_TIME = 1;
const KIND_MODE = 2;
const KIND_NUMBER = 3;

const MODE_BYTES = MODES.map((mode) => new TextEncoder().encode(mode));
const latin = new TextDecoder('latin1');
const utf8 = new TextDecoder('utf-8');

export interface ByteParserOptions {
	/** Name shown in faults. */
	readonly file: string;
	readonly faults: FaultList;
	/** Called with each full batch, and with the rest at the end; the batch is the receiver's to keep. */
	readonly take: (batch: LoggerBatch) => void;
	/** A batch of the same columns that is done with and may be filled again. */
	readonly spare?: (() => LoggerBatch | undefined) | undefined;
	/** The latest stamp of an earlier file of the same record, s; rows not later are left out. */
	readonly after_s?: number;
}

/** Where a file's reading can begin anew: before the first row of a batch. */
export interface ReadingPlace {
	/** First byte of the row. */
	readonly byte: number;
	/** Lines before it. */
	readonly line: number;
	/** Rows handed on before it. */
	readonly rows: number;
	/** Latest stamp taken before it, s. */
	readonly latest_s: number;
}

/**
 * Reads a logger file in the plain dialect, chunk by chunk, into column batches. Strict and the same
 * to the bit however the bytes are cut into chunks. Rules:
 * - numbers are exact decimals rounded once to double; empty = missing;
 * - a cell that cannot be read or lies outside the bounds of its column is missing and a stop fault;
 *   a flow a little below zero, as meters show in a stopped line, is kept;
 * - a row without a readable time or with another number of fields is left out, a stop fault;
 * - a row whose time is not later than every row before it is left out, a stop fault:
 *   `stamp_twice` for the same time, `stamp_out_of_order` for an earlier one;
 * - times finer than a millisecond are kept to the millisecond; blank lines are passed over.
 */
export class ByteParser {
	readonly #file: string;
	readonly #faults: FaultList;
	readonly #take: (batch: LoggerBatch) => void;
	readonly #spare: (() => LoggerBatch | undefined) | undefined;
	#rest: Uint8Array = EMPTY;
	#line = 0;
	/** Byte of the file at which the lines being read begin, and the next batch. */
	#linesFrom = 0;
	#batchFrom = 0;
	#latest_s: number;
	#rows = 0;
	#unusable = false;
	/** Kind and target of each field. */
	#kinds = new Uint8Array(0);
	#slots = new Int32Array(0);
	#columns: (Column | null)[] = [];
	#numberIds: string[] = [];
	#low = new Float64Array(0);
	#high = new Float64Array(0);
	/** The batch being filled. */
	#time: Float64Array = new Float64Array(0);
	#mode: Uint8Array = new Uint8Array(0);
	/** The number columns one after the other, each with room for a whole batch. */
	#block: Float64Array = new Float64Array(0);
	#decimals = new Int32Array(0);
	#count = 0;
	/** Faults in cells of the row being read: told only if the row has the right number of fields. */
	readonly #cellFaults: Fault[] = [];
	/** Day and offset last read, and the bytes they were read from: stamps of one day share them. */
	#day0 = 0;
	#day1 = 0;
	#day2 = 0;
	#dayStart_s = Number.NaN;
	readonly #zoneText = new Uint8Array(6);
	#zoneLength = 0;
	#zone_s = 0;
	#stampLength = LONGEST_LINE;
	#lastMode = 0;
	/** Rows to read the careful way before the quick way is tried again. */
	#carefulRows = 1;

	constructor({ file, faults, take, spare, after_s }: ByteParserOptions) {
		this.#file = file;
		this.#faults = faults;
		this.#take = take;
		this.#spare = spare;
		this.#latest_s = after_s ?? Number.NEGATIVE_INFINITY;
	}

	/** Rows handed on so far. */
	get rows(): number {
		return this.#rows + this.#count;
	}
	/** Latest stamp taken, s; −∞ if none. */
	get latest_s(): number {
		return this.#latest_s;
	}
	/** The file cannot be read; further chunks are ignored. */
	get unusable(): boolean {
		return this.#unusable;
	}

	/** Where the next batch begins; asked while a full one is handed on. */
	get place(): ReadingPlace {
		return {
			byte: this.#batchFrom,
			line: this.#line,
			rows: this.rows,
			latest_s: this.#latest_s,
		};
	}

	/** After the header line: the next bytes are those from a place on. */
	goOnFrom({ byte, line, rows, latest_s }: ReadingPlace): void {
		this.#linesFrom = byte;
		this.#line = line;
		this.#rows = rows;
		this.#latest_s = latest_s;
	}

	/** Takes the next bytes of the file. They are not kept after the call. */
	push(chunk: Uint8Array): void {
		if (this.#unusable) return;
		const end = chunk.lastIndexOf(LF);
		if (end < 0) {
			this.#keepRest(chunk);
			return;
		}
		if (this.#rest.length === 0) {
			this.#lines(chunk, 0, end + 1);
		} else {
			// Only the line cut in two is joined; the rest of the chunk is read where it lies.
			const first = chunk.indexOf(LF) + 1;
			const joined = new Uint8Array(this.#rest.length + first);
			joined.set(this.#rest);
			joined.set(chunk.subarray(0, first), this.#rest.length);
			this.#rest = EMPTY;
			this.#lines(joined, 0, joined.length);
			this.#lines(chunk, first, end + 1);
		}
		this.#keepRest(chunk.subarray(end + 1));
	}

	/** Reads what is left and hands on the last batch. */
	end(): void {
		if (!this.#unusable && this.#rest.length > 0) {
			const line = new Uint8Array(this.#rest.length + 1);
			line.set(this.#rest);
			line[this.#rest.length] = LF;
			this.#rest = EMPTY;
			this.#lines(line, 0, line.length);
		}
		if (!this.#unusable && this.#line === 0)
			this.#refuse('file_empty', 'The file is empty.', 'at least the header row');
		else if (!this.#unusable && this.#line === 1)
			this.#faults.add(
				noteFault('rows_none', 'The file has a header and no rows.', {
					file: this.#file,
					row: 1,
					expected: 'one row a line below the header',
				}),
			);
		this.#flush();
	}

	#keepRest(bytes: Uint8Array): void {
		if (bytes.length === 0 && this.#rest.length === 0) return;
		if (this.#rest.length + bytes.length > LONGEST_LINE) {
			const binary = bytes.includes(0);
			if (binary) this.#refuseBinary();
			else
				this.#refuse(
					'line_too_long',
					`The line has more than ${LONGEST_LINE} bytes.`,
					'one row a line',
				);
			return;
		}
		const joined = new Uint8Array(this.#rest.length + bytes.length);
		joined.set(this.#rest);
		joined.set(bytes, this.#rest.length);
		this.#rest = joined;
	}

	#refuse(code: string, message: string, expected: string): void {
		this.#unusable = true;
		this.#faults.add(stopFault(code, message, { file: this.#file, row: this.#line + 1, expected }));
	}

	#refuseBinary(): void {
		this.#refuse('file_binary', 'Zero bytes: this is not a text file.', 'text in UTF-8');
	}

	/** Reads whole lines, each ended by LF, from `at` to `end`. */
	#lines(bytes: Uint8Array, at: number, end: number): void {
		const linesFrom = this.#linesFrom;
		this.#linesFrom += end - at;
		let from = at;
		if (this.#line === 0 && from < end) {
			const stop = bytes.indexOf(LF, from);
			this.#header(bytes.subarray(from, stop));
			this.#line = 1;
			from = stop + 1;
		}
		if (from >= end) return;
		const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
		while (from < end && !this.#unusable) {
			if (this.#count === BATCH_ROWS || this.#time.length === 0) {
				this.#batchFrom = linesFrom + from - at;
				this.#flush();
			}
			const before = this.#count;
			from = this.#quickRows(bytes, view, from, end);
			const quick = this.#count - before;
			if (from >= end || quick === ROWS_AT_ONCE || this.#count === BATCH_ROWS) continue;
			// Where hardly a row is of the usual form the quick way is tried less and less often.
			if (quick >= this.#carefulRows) this.#carefulRows = 1;
			else if (this.#carefulRows < ROWS_AT_ONCE) this.#carefulRows *= 2;
			from = this.#readRows(bytes, view, from, end, this.#carefulRows);
		}
	}

	#header(bytes: Uint8Array): void {
		if (bytes.includes(0)) {
			this.#refuseBinary();
			return;
		}
		let text = utf8.decode(bytes);
		if (text.endsWith('\r')) text = text.slice(0, -1);
		if (text.includes('\ufffd')) {
			this.#refuse('file_binary', 'Bytes that are not UTF-8 in line 1.', 'text in UTF-8');
			return;
		}
		if (text.includes('\r')) {
			this.#refuse(
				'line_ends',
				'The lines end with a carriage return alone.',
				'lines that end with a line feed, or with both',
			);
			return;
		}
		const header = readLoggerHeader(this.#file, text);
		this.#faults.add(...header.faults);
		if (bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf)
			this.#faults.add({
				code: 'byte_order_mark',
				message: 'The file starts with a byte order mark; it is ignored.',
				where: { file: this.#file, row: 1 },
				weight: 'note',
			});
		if (header.unusable) {
			this.#unusable = true;
			return;
		}
		this.#columns = [...header.fields];
		const present = new Set(header.fields.map((column) => column?.id));
		this.#numberIds = NUMBER_COLUMNS.filter((id) => present.has(id));
		const columnOf = (id: string): Column | undefined =>
			header.fields.find((field) => field?.id === id) ?? undefined;
		this.#low = Float64Array.from(this.#numberIds, (id) =>
			id.endsWith('_flow_m3_h')
				? -STOPPED_NOISE_M3_S * 3600
				: (columnOf(id)?.min ?? Number.NEGATIVE_INFINITY),
		);
		this.#high = Float64Array.from(
			this.#numberIds,
			(id) => columnOf(id)?.max ?? Number.POSITIVE_INFINITY,
		);
		this.#kinds = Uint8Array.from(header.fields, (column) =>
			column === null
				? KIND_SKIP
				: column.id === 'time'
					? KIND_TIME
					: column.id === 'mode'
						? KIND_MODE
						: KIND_NUMBER,
		);
		this.#slots = Int32Array.from(header.fields, (column) =>
			column === null ? -1 : this.#numberIds.indexOf(column.id),
		);
	}

	/**
	 * Reads rows of the usual form only: a stamp of the day last read, the mode last read, plain figures
	 * within bounds. Gives the place of the first row that is not, with nothing of it taken. It holds
	 * no step that is rarely taken, so that it is compiled once, early.
	 */
	#quickRows(bytes: Uint8Array, view: DataView, from: number, end: number): number {
		const kinds = this.#kinds;
		const slots = this.#slots;
		const fields = kinds.length;
		const low = this.#low;
		const high = this.#high;
		const decimalsMost = this.#decimals;
		const block = this.#block;
		const times = this.#time;
		const modes = this.#mode;
		const powers = POWERS;
		const lastMode = this.#lastMode;
		const word = MODE_BYTES[lastMode]!;
		const wordLength = word.length;
		const day0 = this.#day0;
		const day1 = this.#day1;
		const day2 = this.#day2;
		const midnight_s = this.#dayStart_s - this.#zone_s;
		const stampLength = this.#stampLength;
		const zoneText = this.#zoneText;
		const zoneLength = this.#zoneLength;
		const hasThousandths = stampLength - zoneLength > 19;
		let latest_s = this.#latest_s;
		let row = this.#count;
		let at = from;
		let rowFrom = from;
		const rowEnd = Math.min(BATCH_ROWS, row + ROWS_AT_ONCE);
		rows: while (at < end && row < rowEnd) {
			rowFrom = at;
			let time_s = Number.NaN;
			let mode = MODE_MISSING;
			let byte = COMMA;
			for (let field = 0; field < fields; field++) {
				if (byte !== COMMA) break rows;
				const kind = kinds[field]!;
				const start = at;
				if (kind === KIND_NUMBER) {
					const slot = slots[field]!;
					byte = bytes[at]!;
					let sign = 1;
					if (byte === MINUS) {
						sign = -1;
						byte = bytes[++at]!;
					}
					const digitsFrom = at;
					let whole = 0;
					let digit = (byte - ZERO) >>> 0;
					while (digit <= 9) {
						whole = (Math.imul(whole, 10) + digit) | 0;
						byte = bytes[++at]!;
						digit = (byte - ZERO) >>> 0;
					}
					let digits = at - digitsFrom;
					let decimals = 0;
					if (byte === DOT) {
						const pointAt = at;
						byte = bytes[++at]!;
						digit = (byte - ZERO) >>> 0;
						while (digit <= 9) {
							whole = (Math.imul(whole, 10) + digit) | 0;
							byte = bytes[++at]!;
							digit = (byte - ZERO) >>> 0;
						}
						decimals = at - pointAt - 1;
						if (digits === 0 || decimals === 0) break rows;
						digits += decimals;
					}
					if (digits > INT32_DIGITS) break rows;
					const value = at === start ? Number.NaN : (sign * whole) / powers[decimals]! + 0;
					if (value < low[slot]! || value > high[slot]! || (digits === 0 && at > start)) break rows;
					block[slot * BATCH_ROWS + row] = value;
					if (decimals > decimalsMost[slot]!) decimalsMost[slot] = decimals;
				} else if (kind === KIND_TIME) {
					if (
						start + stampLength >= end ||
						view.getInt32(start, true) !== day0 ||
						view.getInt32(start + 4, true) !== day1 ||
						view.getInt16(start + 8, true) !== day2 ||
						bytes[start + 10] !== LETTER_T ||
						bytes[start + 13] !== COLON ||
						bytes[start + 16] !== COLON
					)
						break rows;
					const hour = twoDigits(bytes, start + 11);
					const minute = twoDigits(bytes, start + 14);
					const second = twoDigits(bytes, start + 17);
					if (hour < 0 || hour > 23 || minute < 0 || minute > 59 || second < 0 || second > 59)
						break rows;
					time_s = midnight_s + hour * 3600 + minute * 60 + second;
					if (hasThousandths) {
						const hundreds = bytes[start + 20]! - ZERO;
						const rest = twoDigits(bytes, start + 21);
						if (bytes[start + 19] !== DOT || hundreds < 0 || hundreds > 9 || rest < 0) break rows;
						const thousandths = hundreds * 100 + rest;
						if (thousandths > 0) time_s = (time_s * 1000 + thousandths) / 1000;
					}
					at = start + stampLength;
					for (let i = 0; i < zoneLength; i++)
						if (bytes[at - zoneLength + i] !== zoneText[i]) break rows;
					byte = bytes[at]!;
				} else if (kind === KIND_MODE) {
					for (let i = 0; i < wordLength; i++) if (bytes[at + i] !== word[i]) break rows;
					mode = lastMode;
					at += wordLength;
					byte = bytes[at]!;
				} else {
					byte = bytes[at]!;
					if (byte === QUOTE) break rows;
					while (byte !== COMMA && byte !== LF && byte !== CR) byte = bytes[++at]!;
				}
				at++;
			}
			if (byte === CR) byte = bytes[at++]!;
			if (byte !== LF || !(time_s > latest_s)) break;
			latest_s = time_s;
			modes[row] = mode;
			times[row++] = time_s;
			rowFrom = at;
		}
		this.#line += row - this.#count;
		this.#count = row;
		this.#latest_s = latest_s;
		return rowFrom;
	}

	/** Reads rows between two places, the last of them ended by LF, at most so many and as far as the batch has room. */
	#readRows(bytes: Uint8Array, view: DataView, from: number, end: number, most: number): number {
		const kinds = this.#kinds;
		const slots = this.#slots;
		const fields = kinds.length;
		const last = fields - 1;
		const low = this.#low;
		const high = this.#high;
		const decimalsMost = this.#decimals;
		const block = this.#block;
		const times = this.#time;
		const modes = this.#mode;
		const powers = POWERS;
		let row = this.#count;
		let at = from;
		const rowEnd = Math.min(BATCH_ROWS, row + most);
		next: while (at < end && row < rowEnd) {
			this.#line++;
			const rowFrom = at;
			let time_s = Number.NaN;
			modes[row] = MODE_MISSING;
			if (bytes[at] === LF || (bytes[at] === CR && bytes[at + 1] === LF)) {
				at = bytes.indexOf(LF, at) + 1;
				continue;
			}
			for (let field = 0; field < fields; field++) {
				const start = at;
				const kind = kinds[field]!;
				let byte: number;
				if (kind === KIND_NUMBER) {
					const slot = slots[field]!;
					byte = bytes[at]!;
					const negative = byte === MINUS;
					if (negative) byte = bytes[++at]!;
					const digitsFrom = at;
					// Nine digits stay in 32 bits; longer numbers are rare and read the slow way, to the same double.
					let whole = 0;
					let digit = (byte - ZERO) >>> 0;
					while (digit <= 9) {
						whole = (whole * 10 + digit) | 0;
						byte = bytes[++at]!;
						digit = (byte - ZERO) >>> 0;
					}
					let digits = at - digitsFrom;
					let decimals = 0;
					if (byte === DOT && digits > 0) {
						const pointAt = at;
						byte = bytes[++at]!;
						digit = (byte - ZERO) >>> 0;
						while (digit <= 9) {
							whole = (whole * 10 + digit) | 0;
							byte = bytes[++at]!;
							digit = (byte - ZERO) >>> 0;
						}
						decimals = at - pointAt - 1;
						digits = decimals === 0 ? 0 : digits + decimals;
					}
					const ended = byte === COMMA || byte === LF || (byte === CR && bytes[at + 1] === LF);
					if (ended && digits > 0 && digits <= INT32_DIGITS) {
						const size = whole / powers[decimals]!;
						const value = negative ? 0 - size : size;
						block[slot * BATCH_ROWS + row] = value;
						if (decimals > decimalsMost[slot]!) decimalsMost[slot] = decimals;
						if (!(value >= low[slot]! && value <= high[slot]!))
							block[slot * BATCH_ROWS + row] = this.#slowNumber(bytes, start, at, field, slot);
					} else if (ended && at === start) {
						block[slot * BATCH_ROWS + row] = Number.NaN;
					} else {
						at = fieldEnd(bytes, at);
						block[slot * BATCH_ROWS + row] = this.#slowNumber(bytes, start, at, field, slot);
					}
				} else if (kind === KIND_TIME) {
					const quick = start + this.#stampLength;
					if (
						quick < end &&
						bytes[quick] === COMMA &&
						view.getInt32(start, true) === this.#day0 &&
						view.getInt32(start + 4, true) === this.#day1 &&
						view.getInt16(start + 8, true) === this.#day2
					) {
						at = quick;
						time_s = this.#stamp(bytes, start, at);
					}
					if (Number.isNaN(time_s)) {
						at = fieldEnd(bytes, start);
						time_s = this.#slowStamp(bytes, start, at, field);
					}
				} else if (kind === KIND_MODE) {
					const word = MODE_BYTES[this.#lastMode]!;
					let i = 0;
					while (i < word.length && bytes[at + i] === word[i]) i++;
					if (i === word.length && bytes[at + i] === COMMA) {
						at += i;
						modes[row] = this.#lastMode;
					} else {
						at = fieldEnd(bytes, at);
						modes[row] = this.#modeOf(bytes, start, at, field);
					}
				} else {
					at = fieldEnd(bytes, at);
					if (bytes[start] === QUOTE) {
						at = this.#badRow(
							bytes,
							rowFrom,
							'logger_quotes',
							'A field is in quotation marks.',
							'no quotation marks; the plain dialect has none',
						);
						if (this.#unusable) break next;
						continue next;
					}
				}
				byte = bytes[at]!;
				if (byte === CR) byte = bytes[++at]!;
				if (field < last) {
					if (byte !== COMMA) {
						at = this.#badRow(
							bytes,
							rowFrom,
							'fields_too_few',
							`The row has ${field + 1} fields.`,
							`${fields} fields as in the header`,
						);
						if (this.#unusable) break next;
						continue next;
					}
				} else if (byte !== LF) {
					at = this.#badRow(
						bytes,
						rowFrom,
						'fields_too_many',
						`The row has more than ${fields} fields.`,
						`${fields} fields as in the header; a decimal comma also makes two fields of one`,
					);
					if (this.#unusable) break next;
					continue next;
				}
				at++;
			}
			if (this.#cellFaults.length > 0) this.#faults.add(...this.#cellFaults.splice(0));
			if (time_s > this.#latest_s) {
				this.#latest_s = time_s;
				times[row++] = time_s;
			} else if (!Number.isNaN(time_s)) {
				this.#notLater(bytes, rowFrom, time_s);
			}
		}
		this.#count = row;
		return at;
	}

	#badRow(
		bytes: Uint8Array,
		from: number,
		code: string,
		message: string,
		expected: string,
	): number {
		this.#cellFaults.length = 0;
		const end = bytes.indexOf(LF, from);
		const zero = bytes.subarray(from, end).includes(0);
		if (zero) {
			this.#line--;
			this.#refuseBinary();
			return end + 1;
		}
		const row = this.#line;
		this.#faults.count(code, 'stop', () =>
			stopFault(code, message, {
				file: this.#file,
				row,
				value: textOf(bytes, from, end).slice(0, 80),
				expected,
			}),
		);
		return end + 1;
	}

	#notLater(bytes: Uint8Array, from: number, time_s: number): void {
		const twice = time_s === this.#latest_s;
		const code = twice ? 'stamp_twice' : 'stamp_out_of_order';
		const row = this.#line;
		this.#faults.count(code, 'stop', () =>
			stopFault(
				code,
				twice ? 'There is a row with this time before.' : 'This row stands after a later one.',
				{
					file: this.#file,
					row,
					column: 'time',
					value: this.#timeText(bytes, from),
					expected: 'times that ascend from row to row',
				},
			),
		);
	}

	/** What stands in the time column of the row that begins at `from`. */
	#timeText(bytes: Uint8Array, from: number): string {
		const field = this.#columns.findIndex((column) => column?.id === 'time');
		const row = textOf(bytes, from, bytes.indexOf(LF, from)).replace(/\r$/u, '');
		return (row.split(',')[field] ?? row).slice(0, 80);
	}

	#cellFault(field: number, fault: Fault): void {
		const row = this.#line;
		const column = this.#columns[field]?.id ?? '';
		this.#cellFaults.push({ ...fault, where: { ...fault.where, file: this.#file, row, column } });
	}

	/** Numbers written in another way, and all that are none: told by the same rules as in a hand file. */
	#slowNumber(bytes: Uint8Array, start: number, end: number, field: number, slot: number): number {
		const text = textOf(bytes, start, end);
		const column = this.#columns[field]!;
		if (/^[+-]?(\d+(\.\d+)?|\.\d+)([eE][+-]?\d+)?$/u.test(text)) {
			const value = Number(text);
			if (value >= this.#low[slot]! && value <= this.#high[slot]!) {
				const plain = /^-?\d+(?:\.(\d+))?$/u.exec(text);
				const decimals = plain === null ? NOT_PLAIN : (plain[1]?.length ?? 0);
				if (decimals > this.#decimals[slot]!) this.#decimals[slot] = Math.min(decimals, NOT_PLAIN);
				return value === 0 ? 0 : value;
			}
		}
		const read = readCell(column, text, { decimal: '.', utcOffset_min: null });
		const fault =
			read.kind === 'fault'
				? read.fault
				: stopFault('number_text', 'This is not a plain number.', {
						value: text.slice(0, 80),
						expected: 'digits with a dot as decimal mark, without a unit',
					});
		this.#cellFault(field, fault);
		return Number.NaN;
	}

	#modeOf(bytes: Uint8Array, start: number, end: number, field: number): number {
		if (start === end) return MODE_MISSING;
		for (let index = 0; index < MODE_BYTES.length; index++) {
			const word = MODE_BYTES[index]!;
			if (word.length !== end - start) continue;
			let same = true;
			for (let i = 0; i < word.length && same; i++) same = bytes[start + i] === word[i];
			if (same) {
				this.#lastMode = index;
				return index;
			}
		}
		const column = this.#columns[field]!;
		const read = readCell({ ...column, required: false }, textOf(bytes, start, end), {
			decimal: '.',
			utcOffset_min: null,
		});
		if (read.kind === 'value') {
			const index = MODES.indexOf(read.value as Mode);
			return index < 0 ? MODE_MISSING : index;
		}
		if (read.kind === 'fault') this.#cellFault(field, read.fault);
		return MODE_MISSING;
	}

	/** A stamp of the day and length last read, by place; NaN if something else stands there. */
	#stamp(bytes: Uint8Array, start: number, end: number): number {
		const hour = twoDigits(bytes, start + 11);
		const minute = twoDigits(bytes, start + 14);
		const second = twoDigits(bytes, start + 17);
		const zoneAt = end - this.#zoneLength;
		let known =
			bytes[start + 10] === LETTER_T &&
			bytes[start + 13] === COLON &&
			bytes[start + 16] === COLON &&
			hour >= 0 &&
			hour < 24 &&
			minute >= 0 &&
			minute < 60 &&
			second >= 0 &&
			second < 60;
		let thousandths = 0;
		if (zoneAt > start + 19) {
			const hundreds = bytes[start + 20]! - ZERO;
			const rest = twoDigits(bytes, start + 21);
			known &&= bytes[start + 19] === DOT && hundreds >= 0 && hundreds <= 9 && rest >= 0;
			thousandths = hundreds * 100 + rest;
		}
		for (let i = 0; i < this.#zoneLength && known; i++)
			known = bytes[zoneAt + i] === this.#zoneText[i];
		if (!known) return Number.NaN;
		const whole = this.#dayStart_s + hour * 3600 + minute * 60 + second - this.#zone_s;
		return thousandths === 0 ? whole : (whole * 1000 + thousandths) / 1000;
	}

	#slowStamp(bytes: Uint8Array, start: number, end: number, field: number): number {
		const text = textOf(bytes, start, end);
		const read = readCell(this.#columns[field]!, text, { decimal: '.', utcOffset_min: null });
		if (read.kind !== 'value' || typeof read.value !== 'number') {
			if (read.kind === 'fault') this.#cellFault(field, read.fault);
			return Number.NaN;
		}
		this.#learnDay(bytes, start, end, text);
		return Math.round(read.value * 1000) / 1000;
	}

	/** Remembers day, offset and length of a stamp in the usual form: the next ones are read by place. */
	#learnDay(bytes: Uint8Array, start: number, end: number, text: string): void {
		const shape = /^(\d{4}-\d\d-\d\d)T\d\d:\d\d:\d\d(?:\.\d{3})?(Z|[+-]\d\d:\d\d)$/u.exec(text);
		const zone = shape?.[2];
		if (shape === null || zone === undefined) return;
		const midnight = parseTime(`${shape[1]}T00:00:00Z`);
		const local = parseTime(`1970-01-02T00:00:00${zone}`);
		if (midnight.kind !== 'time' || local.kind !== 'time') return;
		const view = new DataView(bytes.buffer, bytes.byteOffset + start, 10);
		this.#day0 = view.getInt32(0, true);
		this.#day1 = view.getInt32(4, true);
		this.#day2 = view.getInt16(8, true);
		this.#dayStart_s = midnight.time_s;
		this.#zoneLength = zone.length;
		this.#zoneText.set(bytes.subarray(end - zone.length, end));
		this.#zone_s = 86_400 - local.time_s;
		this.#stampLength = end - start;
	}

	/** Hands on what is filled and opens a new batch. */
	#flush(): void {
		const count = this.#count;
		if (count > 0) {
			const numbers = this.#numberIds.map((id, slot): NumberColumn => {
				const decimals = this.#decimals[slot]!;
				return {
					id,
					values: columnIn(this.#block, slot),
					decimals: decimals === NOT_PLAIN ? null : decimals,
				};
			});
			this.#rows += count;
			this.#count = 0;
			this.#take({ count, time_s: this.#time, mode: this.#mode, numbers });
		}
		const spare = this.#spare?.();
		const fits =
			spare !== undefined &&
			spare.time_s.length === BATCH_ROWS &&
			spare.numbers.map((column) => column.id).join() === this.#numberIds.join();
		this.#time = fits ? spare.time_s : new Float64Array(BATCH_ROWS);
		this.#mode = fits ? spare.mode : new Uint8Array(BATCH_ROWS);
		this.#block = fits
			? new Float64Array(spare.numbers[0]?.values.buffer ?? new ArrayBuffer(0))
			: new Float64Array(BATCH_ROWS * this.#numberIds.length);
		this.#decimals = new Int32Array(this.#numberIds.length);
	}
}

const columnIn = (block: Float64Array, slot: number): Float64Array =>
	block.subarray(slot * BATCH_ROWS, (slot + 1) * BATCH_ROWS);

function fieldEnd(bytes: Uint8Array, from: number): number {
	let at = from;
	let byte = bytes[at]!;
	while (byte !== COMMA && byte !== LF && !(byte === CR && bytes[at + 1] === LF))
		byte = bytes[++at]!;
	return at;
}

function twoDigits(bytes: Uint8Array, at: number): number {
	const tens = bytes[at]! - ZERO;
	const ones = bytes[at + 1]! - ZERO;
	return tens < 0 || tens > 9 || ones < 0 || ones > 9 ? -1 : tens * 10 + ones;
}

function textOf(bytes: Uint8Array, start: number, end: number): string {
	const part = bytes.subarray(start, end);
	return part.some((byte) => byte > 127) ? utf8.decode(part) : latin.decode(part);
}
