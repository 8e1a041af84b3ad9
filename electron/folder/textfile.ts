import { open } from 'node:fs/promises';
import { type Fault, noteFault, stopFault } from '../../calc/fault/fault.ts';

/** What a file written by hand may be at most. A logger's file has no limit: it is streamed. */
export interface HandFileLimits {
	readonly bytes: number;
	readonly rows: number;
}
/** A text of more than half a gigabyte cannot be held as one; two million readings are 200 years of shifts. */
export const HAND_FILE_LIMITS: HandFileLimits = { bytes: 400_000_000, rows: 2_000_000 };

export type TextFile =
	| { readonly kind: 'text'; readonly text: string; readonly notes: readonly Fault[] }
	| { readonly kind: 'absent' }
	| { readonly kind: 'fault'; readonly fault: Fault };

/**
 * Reads a whole file as UTF-8, strictly. A byte order mark is dropped and noted. Empty, binary,
 * too large and unreadable files are faults naming the file; a file that is not there is `absent`.
 */
export async function readTextFile(
	path: string,
	file: string,
	limits: HandFileLimits,
): Promise<TextFile> {
	const refuse = (code: string, message: string, expected: string, row?: number): TextFile => ({
		kind: 'fault',
		fault: stopFault(
			code,
			message,
			row === undefined ? { file, expected } : { file, row, expected },
		),
	});
	const least = file.endsWith('.json') ? 'an object { … }' : 'at least the header row';
	let bytes: Uint8Array;
	try {
		const handle = await open(path, 'r');
		try {
			const { size } = await handle.stat();
			if (size > limits.bytes)
				return refuse(
					'file_too_large',
					`The file has ${size} bytes.`,
					`at most ${limits.bytes} bytes; a logger's record belongs in logger.csv`,
				);
			bytes = await handle.readFile();
		} finally {
			await handle.close();
		}
	} catch (error) {
		const code = (error as NodeJS.ErrnoException).code;
		if (code === 'ENOENT') return { kind: 'absent' };
		return refuse(
			'file_unreadable',
			`The file cannot be read (${code ?? 'unknown reason'}).`,
			'a file that can be read',
		);
	}
	if (bytes.length === 0) return refuse('file_empty', 'The file is empty.', least);
	const found = textOf(bytes);
	if (found.kind === 'binary')
		return refuse(
			'file_binary',
			`${found.what} in line ${found.row}: this is not a text file.`,
			'text in UTF-8',
			found.row,
		);
	if (found.text.trim() === '')
		return refuse('file_empty', 'The file holds nothing but blanks.', least);
	const notes = found.bom
		? [
				noteFault('byte_order_mark', 'The file starts with a byte order mark; it is ignored.', {
					file,
					row: 1,
				}),
			]
		: [];
	return { kind: 'text', text: found.text, notes };
}

type Decoded =
	| { kind: 'text'; text: string; bom: boolean }
	| { kind: 'binary'; what: string; row: number };

function textOf(bytes: Uint8Array): Decoded {
	const nul = bytes.indexOf(0);
	if (nul >= 0) return { kind: 'binary', what: 'Zero bytes', row: lineAt(bytes, nul) };
	try {
		const text = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
		const bom = text.charCodeAt(0) === 0xfeff;
		return { kind: 'text', text: bom ? text.slice(1) : text, bom };
	} catch {
		return {
			kind: 'binary',
			what: 'Bytes that are not UTF-8',
			row: lineAt(bytes, firstNotUtf8(bytes)),
		};
	}
}

function lineAt(bytes: Uint8Array, at: number): number {
	let line = 1;
	for (let i = 0; i < at; i++) if (bytes[i] === 10) line++;
	return line;
}

/** Where the first sequence stands that no strict decoder takes. */
function firstNotUtf8(bytes: Uint8Array): number {
	let low = 0;
	let high = bytes.length;
	// Decoding a prefix as a stream fails only on bytes that are wrong, not on a sequence cut short.
	const good = (length: number): boolean => {
		try {
			new TextDecoder('utf-8', { fatal: true }).decode(bytes.subarray(0, length), { stream: true });
			return true;
		} catch {
			return false;
		}
	};
	while (low < high) {
		const middle = (low + high + 1) >> 1;
		if (good(middle)) low = middle;
		else high = middle - 1;
	}
	return low;
}
