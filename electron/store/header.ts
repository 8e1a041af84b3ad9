import { closeSync, lstatSync, openSync, readSync } from 'node:fs';
import type { Reply } from '../contract/verbs.ts';
import { APPLICATION_ID } from './schema.ts';

/**
 * What the first 100 bytes of a file say, read before any SQL touches it: a file from elsewhere is
 * treated as hostile until it has shown what it is. Layout: SQLite "Database File Format", §1.3.
 */
export interface FileHeader {
	readonly userVersion: number;
	readonly bytes: number;
}

const MAGIC = 'SQLite format 3\u0000';

/**
 * Looks at the header of a project file.
 * Refuses what is not a regular file, not an SQLite database, not ours, or newer than `newest`.
 */
export function readHeader(path: string, newest: number): Reply<FileHeader> {
	let bytes: number;
	const head = Buffer.alloc(100);
	try {
		const stat = lstatSync(path);
		if (!stat.isFile()) return refuse('not_a_file', 'This is not a regular file.');
		bytes = stat.size;
		const file = openSync(path, 'r');
		try {
			if (readSync(file, head, 0, 100, 0) < 100)
				return refuse('not_a_project', 'The file is empty or far too short to be a project.');
		} finally {
			closeSync(file);
		}
	} catch (error) {
		return refuse('cannot_read', `The file cannot be read (${errorCode(error)}).`);
	}
	if (head.toString('latin1', 0, 16) !== MAGIC)
		return refuse('not_a_project', 'The file is not a Slurry Ledger project.');
	if (head.readUInt32BE(68) !== APPLICATION_ID)
		return refuse(
			'not_a_project',
			'The file is a database of another program, not a Slurry Ledger project.',
		);
	const userVersion = head.readUInt32BE(60);
	if (userVersion > newest)
		return refuse(
			'newer_version',
			`The project was written by a newer version of Slurry Ledger (file version ${userVersion}, this program knows up to ${newest}). Nothing was changed; open it with the newer version.`,
		);
	if (userVersion < 1)
		return refuse(
			'not_a_project',
			'The project was never completely written; it holds no version.',
		);
	return { ok: true, value: { userVersion, bytes } };
}

/** The system's short code of a failed file operation, e.g. "ENOENT". */
export function errorCode(error: unknown): string {
	if (error instanceof Error && 'code' in error && typeof error.code === 'string')
		return error.code;
	return error instanceof Error ? error.message : String(error);
}

export function refuse(
	code: string,
	message: string,
): { ok: false; code: string; message: string } {
	return { ok: false, code, message };
}
