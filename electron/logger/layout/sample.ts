import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import Papa from 'papaparse';
import type { DELIMITERS, LoggerLayout } from '../../contract/loggerimport.ts';

type Delimiter = (typeof DELIMITERS)[number];

/** Bytes looked at: the head, and a piece from the middle and the end, where days pass twelve and figures move. */
const HEAD_BYTES = 256 << 10;
const PIECE_BYTES = 64 << 10;
/** Lines a delimiter is told from. */
const LINES_TRIED = 60;
const TRIED: readonly Delimiter[] = [';', '\t', '|', ',', ' '];

/** The parts of a text file that are looked at before it is read. */
export interface TextSample {
	readonly encoding: LoggerLayout['encoding'];
	readonly bytes: number;
	/** Whole lines of the head. */
	readonly head: string;
	/** Whole lines from farther on. */
	readonly later: readonly string[];
	/** The head is the whole file. */
	readonly isWhole: boolean;
	/** Mean length of a line, bytes. */
	readonly lineBytes: number;
}

/** Reads the parts of a text file. Throws what the system throws. */
export function sampleText(path: string, encoding?: LoggerLayout['encoding']): TextSample {
	const fd = openSync(path, 'r');
	try {
		const { size } = fstatSync(fd);
		const piece = (from: number, length: number): Uint8Array => {
			const bytes = new Uint8Array(Math.max(0, Math.min(length, size - from)));
			return bytes.subarray(0, readSync(fd, bytes, 0, bytes.length, from));
		};
		const first = piece(0, HEAD_BYTES);
		const known = encoding ?? encodingOf(first);
		// A piece of UTF-16 begins on a whole pair of bytes.
		const even = (at: number): number => at - (at % 2);
		const decode = (bytes: Uint8Array): string => new TextDecoder(known).decode(bytes);
		const whole = decode(first);
		const head = size <= HEAD_BYTES ? whole : wholeLines(whole, false);
		const later: string[] = [];
		if (size > HEAD_BYTES + 2 * PIECE_BYTES)
			for (const from of [even(size >> 1), even(size - PIECE_BYTES)])
				later.push(wholeLines(decode(piece(from, PIECE_BYTES)), true));
		const lines = Math.max(1, head.split(/\r\n|\n|\r/u).length - 1);
		return {
			encoding: known,
			bytes: size,
			isWhole: size <= HEAD_BYTES,
			head,
			later,
			lineBytes: Math.max(1, Math.min(size, HEAD_BYTES) / lines),
		};
	} finally {
		closeSync(fd);
	}
}

function wholeLines(text: string, cutFront: boolean): string {
	const newline = text.includes('\n') ? '\n' : '\r';
	const from = cutFront ? text.indexOf(newline) + 1 : 0;
	const to = text.lastIndexOf(newline);
	return text.slice(from, Math.max(from, to + 1));
}

/** UTF-16 by its mark or its zero bytes; UTF-8 if it is sound as such; else the Windows code page. */
function encodingOf(head: Uint8Array): LoggerLayout['encoding'] {
	if (head[0] === 0xff && head[1] === 0xfe) return 'utf-16le';
	let zeros = 0;
	const looked = Math.min(head.length, 2000);
	for (let i = 1; i < looked; i += 2) if (head[i] === 0) zeros++;
	if (zeros > looked / 8) return 'utf-16le';
	try {
		new TextDecoder('utf-8', { fatal: true }).decode(head, { stream: true });
		return 'utf-8';
	} catch {
		return 'windows-1252';
	}
}

export function rowsOf(text: string, delimiter: string): string[][] {
	const newline = /\r\n|\n|\r/u.exec(text)?.[0] ?? '\n';
	const { data } = new Papa.Parser({ delimiter, newline: newline as '\n' }).parse(
		text,
		0,
		false,
	) as {
		data: string[][];
	};
	return data.map((row) => row.map((field) => field.trim()));
}

export const isBlank = (row: readonly string[]): boolean => row.length === 1 && row[0] === '';

/**
 * The mark between fields: the one that cuts most lines into the same number of at least two fields;
 * of equals the one that is in the first lines too, since a decimal comma is not in headings.
 */
export function guessDelimiter(head: string): Delimiter {
	const lines = head.split(/\r\n|\n|\r/u, LINES_TRIED).join('\n');
	let best: Delimiter = ',';
	let most = 0;
	for (const delimiter of TRIED) {
		const rows = rowsOf(lines, delimiter).filter((row) => !isBlank(row));
		const width = usualWidth(rows);
		if (width < 2) continue;
		const same = rows.filter((row) => row.length === width);
		const first = same[0] ?? [];
		const named = first.filter((field) => /\p{L}/u.test(field)).length / first.length;
		const score = same.length / rows.length + 0.3 * named + (delimiter === ' ' ? -0.5 : 0);
		if (score > most + 1e-9) {
			most = score;
			best = delimiter;
		}
	}
	return best;
}

export function usualWidth(rows: readonly (readonly string[])[]): number {
	const counts = new Map<number, number>();
	for (const row of rows) counts.set(row.length, (counts.get(row.length) ?? 0) + 1);
	let width = 0;
	let most = 0;
	for (const [each, count] of counts)
		if (count > most) {
			width = each;
			most = count;
		}
	return width;
}
