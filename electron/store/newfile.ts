import { closeSync, fsyncSync, openSync } from 'node:fs';
import type { DatabaseSync } from 'node:sqlite';
import type { RowCells } from '../folder/content.ts';
import { appendOrigin, CHAIN_START } from './journal.ts';
import { makeSchema } from './migrate.ts';
import {
	connect,
	type DocumentFacts,
	ENTERED_SHEETS,
	type SourceFile,
	type StoredBalance,
	writeBalances,
	writeHead,
} from './projectfile.ts';
import { RowWriter, rowDigests } from './rows.ts';
import { SCHEMA_HISTORY } from './schema.ts';

/** The rows a new file begins with. */
export type NewRows = Readonly<
	Record<Exclude<(typeof ENTERED_SHEETS)[number], 'drive'>, readonly RowCells[]>
> & { readonly drive: RowCells };

/** What is known of a new file when all that belongs to it has been read. */
export interface NewOrigin {
	readonly facts: DocumentFacts;
	readonly sources: readonly SourceFile[];
	readonly balances: readonly StoredBalance[];
	readonly person: string;
	/** Label of the first journal entry. */
	readonly label: string;
	readonly kind: 'import' | 'create';
	readonly leftOutRows: number;
}

/**
 * A project file in the making, at a path where nothing stands yet and under a name that nobody looks
 * for: the caller renames it into its place when everything that belongs to it is written. So it is
 * not guarded at every step but forced to disk once, by {@link finish}.
 */
export class NewFile {
	readonly #path: string;
	readonly #db: DatabaseSync;
	readonly #digests: Record<string, string[]> = {};

	/** Makes the tables and writes the rows. */
	constructor(path: string, rows: NewRows) {
		this.#path = path;
		this.#db = connect(path, false);
		try {
			this.#db.exec('PRAGMA journal_mode=MEMORY; PRAGMA synchronous=OFF;');
			makeSchema(this.#db, SCHEMA_HISTORY);
			this.#db.exec('BEGIN IMMEDIATE');
			const writer = new RowWriter(this.#db);
			for (const sheet of ENTERED_SHEETS) {
				const cells = sheet === 'drive' ? [rows.drive] : rows[sheet];
				const numbered = cells.map((row, at) => ({ id: at + 1, cells: row }));
				for (const row of numbered) writer.insert(sheet, row.id, row.cells);
				this.#digests[sheet] = rowDigests(numbered);
			}
		} catch (error) {
			this.#db.close();
			throw error;
		}
	}

	/** Writes a whole new file at once. */
	static write(path: string, project: NewRows & NewOrigin): void {
		const file = new NewFile(path, project);
		try {
			file.finish(project);
		} finally {
			file.close();
		}
	}

	/** Writes what the file is made from; it is whole and on disk when this returns, and closed. */
	finish({ facts, sources, balances, person, label, kind, leftOutRows }: NewOrigin): void {
		const db = this.#db;
		const set = db.prepare('INSERT INTO document (key, value) VALUES (?, ?)');
		set.run('utc_offset_min', facts.utcOffset_min);
		set.run('invented', facts.invented ? 1 : 0);
		set.run('created_s', facts.created_s);
		set.run('app_version', facts.appVersion);
		set.run('has_logger', facts.hasLogger ? 1 : 0);
		const source = db.prepare('INSERT INTO source_file VALUES (?, ?, ?, ?, ?, ?)');
		for (const { file, sha256, bytes, rows, firstTime_s, lastTime_s } of sources)
			source.run(file, sha256, bytes, rows, firstTime_s, lastTime_s);
		writeBalances(db, balances);
		const origin = {
			digests: this.#digests,
			files: sources.map(({ file, sha256 }) => ({ file, sha256 })),
			leftOutRows,
		};
		const head = appendOrigin(
			db,
			{ count: 0, gesture: 0, hash: CHAIN_START },
			{ kind, label, why: null, who: person, at_s: facts.created_s, changes: [] },
			JSON.stringify(origin),
		);
		writeHead(db, head);
		db.exec('COMMIT');
		this.close();
		const fd = openSync(this.#path, 'r+');
		try {
			fsyncSync(fd);
		} finally {
			closeSync(fd);
		}
	}

	/** Without {@link finish} what has been written is of no use. */
	close(): void {
		if (this.#db.isOpen) this.#db.close();
	}
}
