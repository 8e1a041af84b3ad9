import { randomUUID } from 'node:crypto';
import { existsSync, lstatSync, rmSync } from 'node:fs';
import { hostname } from 'node:os';
import { DatabaseSync } from 'node:sqlite';

/**
 * One writer at a time. Beside the project stands a small database; whoever writes keeps an open
 * write transaction in it, so the operating system itself drops the claim when the process dies,
 * and a second opening can still read who holds it.
 */
export interface Holder {
	readonly person: string;
	readonly host: string;
	readonly pid: number;
	readonly since_s: number;
}

export interface Hold {
	release(): void;
}

export type HoldResult =
	| { readonly kind: 'held'; readonly hold: Hold }
	| { readonly kind: 'other'; readonly holder: Holder | null }
	| { readonly kind: 'unwritable'; readonly why: string };

export const holdPath = (projectPath: string): string => `${projectPath}-writer`;

/**
 * Claims the right to write `projectPath`.
 * `other`: someone else writes it. `unwritable`: the folder takes no file, or what stands in the
 * place of the claim is not ours.
 */
export function takeHold(projectPath: string, person: string, now_s: number): HoldResult {
	const path = holdPath(projectPath);
	// A few rounds, because the one before may remove its file between our opening and our claim.
	for (let round = 0; round < 5; round++) {
		const got = tryHold(path, person, now_s);
		if (got !== 'again') return got;
	}
	return { kind: 'other', holder: null };
}

function tryHold(path: string, person: string, now_s: number): HoldResult | 'again' {
	if (existsSync(path) && !lstatSync(path).isFile())
		return {
			kind: 'unwritable',
			why: 'what stands in the place of the writer’s mark is not a file',
		};
	let db: DatabaseSync | null = null;
	try {
		db = new DatabaseSync(path, { timeout: 200, defensive: true });
		db.exec('PRAGMA trusted_schema=OFF; PRAGMA journal_mode=DELETE;');
		db.exec('BEGIN IMMEDIATE');
		const nonce = randomUUID();
		db.exec(
			'DROP TABLE IF EXISTS holder; CREATE TABLE holder (person TEXT, host TEXT, pid INTEGER, since_s REAL, nonce TEXT) STRICT',
		);
		db.prepare('INSERT INTO holder VALUES (?, ?, ?, ?, ?)').run(
			person,
			hostname(),
			process.pid,
			now_s,
			nonce,
		);
		db.exec('COMMIT; BEGIN IMMEDIATE');
		// The claim counts only if the file we hold is still the one standing at its path.
		if (readNonce(path) !== nonce) {
			db.close();
			return 'again';
		}
		return { kind: 'held', hold: holdOf(db, path) };
	} catch (error) {
		try {
			db?.close();
		} catch {
			// already closed
		}
		if (isBusy(error)) return { kind: 'other', holder: readHolder(path) };
		return {
			kind: 'unwritable',
			why: error instanceof Error ? error.message : String(error),
		};
	}
}

function holdOf(db: DatabaseSync, path: string): Hold {
	let open = true;
	return {
		release() {
			if (!open) return;
			open = false;
			// Removed while still held, so that nobody's fresh claim is removed; where an open file
			// cannot be removed, right after closing.
			let removed = tryRemove(path);
			try {
				db.exec('ROLLBACK');
			} catch {
				// nothing was pending
			}
			db.close();
			if (!removed) removed = tryRemove(path);
		},
	};
}

function tryRemove(path: string): boolean {
	try {
		rmSync(path);
		return true;
	} catch {
		return false;
	}
}

function readNonce(path: string): string | null {
	return readRow(path, (row) => (typeof row.nonce === 'string' ? row.nonce : null));
}

function readHolder(path: string): Holder | null {
	return readRow(path, (row) =>
		typeof row.person === 'string' &&
		typeof row.host === 'string' &&
		typeof row.pid === 'number' &&
		typeof row.since_s === 'number'
			? { person: row.person, host: row.host, pid: row.pid, since_s: row.since_s }
			: null,
	);
}

function readRow<T>(path: string, take: (row: Record<string, unknown>) => T | null): T | null {
	if (!existsSync(path)) return null;
	let db: DatabaseSync | null = null;
	try {
		db = new DatabaseSync(path, { readOnly: true, timeout: 200, defensive: true });
		const row = db.prepare('SELECT person, host, pid, since_s, nonce FROM holder').get();
		return row === undefined ? null : take(row);
	} catch {
		return null;
	} finally {
		db?.close();
	}
}

/** SQLITE_BUSY is 5, extended codes keep it in the low byte. */
export function isBusy(error: unknown): boolean {
	return (
		error instanceof Error &&
		'errcode' in error &&
		typeof error.errcode === 'number' &&
		(error.errcode & 0xff) === 5
	);
}
