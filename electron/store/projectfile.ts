import { accessSync, constants } from 'node:fs';
import { DatabaseSync } from 'node:sqlite';
import type { EnteredSheetId } from '../../calc/sheet/column.ts';
import type { Reply } from '../contract/verbs.ts';
import type { RuleStretch } from '../logger/layout/rulestretch.ts';
import type { Gesture } from './change.ts';
import { errorCode, readHeader, refuse } from './header.ts';
import { type Hold, type Holder, takeHold } from './holder.ts';
import { appendGesture, appendOrigin, CHAIN_START, type JournalHead } from './journal.ts';
import {
	balancesSeries,
	type ImportRecord,
	keptModeRules,
	loggerProfiles,
	setBalancesSeries,
	writeImport,
} from './loggerrecord.ts';
import { bringForward, schemaDifference } from './migrate.ts';
import { loadRows, RowWriter, type StoredRow } from './rows.ts';
import { newestVersion, SCHEMA_HISTORY, type SchemaStep } from './schema.ts';

/** A logger or folder file the document was made from. */
export interface SourceFile {
	readonly file: string;
	readonly sha256: string;
	readonly bytes: number;
	readonly rows: number | null;
	readonly firstTime_s: number | null;
	readonly lastTime_s: number | null;
}

/** What a document knows about itself, apart from its rows. */
export interface DocumentFacts {
	readonly utcOffset_min: number;
	readonly invented: boolean;
	readonly created_s: number;
	readonly appVersion: string;
	readonly hasLogger: boolean;
}

export interface StoredBalance {
	readonly ring: number;
	readonly inputHash: string;
	readonly balance: string;
}

/** A bypass window of the logger as it is kept: its stretch, a hash of what it was made from, and the window as JSON. */
export interface StoredWindow {
	readonly from_s: number;
	readonly to_s: number;
	readonly inputHash: string;
	readonly window: string;
}

/** What was found by looking through the logger's series; it follows from rows and series and is not journalled. */
export interface KeptChecks {
	/** Which series was looked through, and how. */
	readonly scanId: string;
	/** Set modes the windows were found with, and faults of the signals, as JSON. */
	readonly overrides: string;
	readonly faults: string;
	/** In order of time. */
	readonly windows: readonly StoredWindow[];
}

export interface OpenAsk {
	readonly path: string;
	/** `write`: claim the file if it is free, else read only. `read`: never claim it. */
	readonly for: 'write' | 'read';
	readonly person: string;
	readonly now_s: number;
	readonly history?: readonly SchemaStep[];
}

export const ENTERED_SHEETS = [
	'drive',
	'rings',
	'ground',
	'readings',
	'meters',
	'bypass_decisions',
	'mode_overrides',
	'formulas',
	'limits',
] as const satisfies readonly EnteredSheetId[];

/** Set at once on every connection: the file may come from anywhere, and every commit must survive a power cut. */
const GUARDS =
	'PRAGMA trusted_schema=OFF; PRAGMA cell_size_check=ON; PRAGMA mmap_size=0; PRAGMA foreign_keys=ON;';
/**
 * Every commit is on disk when it returns: with FULL the journal's truncation is flushed as well, so it
 * cannot come back after a power cut and take the last change with it (as DELETE needs EXTRA for).
 */
const DURABLE = 'PRAGMA journal_mode=TRUNCATE; PRAGMA synchronous=FULL;';
/** Said on closing: takes the emptied journal beside the file away. */
const TIDY = 'PRAGMA journal_mode=DELETE;';

export function connect(path: string, readOnly: boolean): DatabaseSync {
	const db = new DatabaseSync(path, {
		readOnly,
		timeout: 5_000,
		defensive: true,
		allowExtension: false,
		enableDoubleQuotedStringLiterals: false,
	});
	db.exec(GUARDS);
	if (readOnly) db.exec('PRAGMA query_only=ON');
	return db;
}

/**
 * One open `.slurrybook`. The live file is the document: {@link commit} returns once the change and
 * its journal entries are on disk together.
 */
export class ProjectFile {
	readonly path: string;
	readonly readOnly: boolean;
	/** Why nothing can be written, in words; null for the writer. */
	readonly readOnlyWhy: string | null;
	/** Copy made of the file before it was brought to the present version, if it was. */
	readonly backup: string | null;
	readonly #db: DatabaseSync;
	readonly #hold: Hold | null;
	readonly #writer: RowWriter;
	#head: JournalHead;
	#open = true;

	private constructor(
		path: string,
		db: DatabaseSync,
		hold: Hold | null,
		readOnlyWhy: string | null,
		backup: string | null,
	) {
		this.path = path;
		this.#db = db;
		this.#hold = hold;
		this.readOnly = hold === null;
		this.readOnlyWhy = readOnlyWhy;
		this.backup = backup;
		this.#writer = new RowWriter(db);
		this.#head = readHead(db);
	}

	/**
	 * Opens a file after looking at its header, its pages and its tables.
	 * Refusals: `cannot_read`, `not_a_file`, `not_a_project`, `newer_version`, `older_version`
	 * (older and not writable here), `damaged`, `foreign_schema`, `backup_failed`, `migration_failed`, `busy`.
	 */
	static open(ask: OpenAsk): Reply<ProjectFile> {
		const history = ask.history ?? SCHEMA_HISTORY;
		const header = readHeader(ask.path, newestVersion(history));
		if (!header.ok) return header;
		const claim = claimFor(ask);
		let db: DatabaseSync | null = null;
		let kept = false;
		try {
			db = connect(ask.path, claim.hold === null);
			const sound = db.prepare('PRAGMA quick_check(1)').get();
			if (sound?.quick_check !== 'ok')
				return refuse(
					'damaged',
					`The file is damaged (${String(sound?.quick_check)}). Nothing was changed; open a copy of it made earlier.`,
				);
			if (claim.hold !== null) db.exec(DURABLE);
			const version = Number(db.prepare('PRAGMA user_version').get()?.user_version);
			if (version > newestVersion(history) || version < 1)
				return refuse('not_a_project', 'The file changed its version while it was opened.');
			const difference = schemaDifference(db, history, version);
			if (difference !== null)
				return refuse(
					'foreign_schema',
					`${difference} The file is not opened; nothing was changed.`,
				);
			let backup: string | null = null;
			if (version < newestVersion(history)) {
				if (claim.hold === null)
					return refuse(
						'older_version',
						`The project is of file version ${version} and must be brought to ${newestVersion(history)} first, which cannot be done here: ${claim.why} Open it once for writing: it is brought forward then, and a backup of it is kept.`,
					);
				const brought = bringForward(db, ask.path, version, history);
				if (!brought.ok) return brought;
				backup = brought.value;
			}
			const file = new ProjectFile(ask.path, db, claim.hold, claim.why, backup);
			kept = true;
			return { ok: true, value: file };
		} catch (error) {
			return refuse('damaged', `The file cannot be opened as a project: ${errorText(error)}.`);
		} finally {
			if (!kept) {
				db?.close();
				claim.hold?.release();
			}
		}
	}

	/** Entries of the journal so far. */
	get journalEntries(): number {
		return this.#head.count;
	}

	/** For the checks, which look at the tables as they lie. */
	get database(): DatabaseSync {
		return this.#db;
	}

	rows(sheet: EnteredSheetId): StoredRow[] {
		return loadRows(this.#db, sheet);
	}

	/** The smallest row number of a sheet that no row has ever had. */
	nextRow(sheet: EnteredSheetId): number {
		if (sheet === 'drive') return 2;
		const inTable = this.#db.prepare(`SELECT max(id) AS top FROM ${sheet}`).get()?.top;
		const inJournal = this.#db
			.prepare('SELECT max(row) AS top FROM journal WHERE sheet = ?')
			.get(sheet)?.top;
		return Math.max(Number(inTable ?? 0), Number(inJournal ?? 0)) + 1;
	}

	facts(): DocumentFacts {
		const get = (key: string): unknown =>
			this.#db.prepare('SELECT value FROM document WHERE key = ?').get(key)?.value;
		const number = (key: string): number => {
			const value = get(key);
			return typeof value === 'number' && Number.isFinite(value) ? value : 0;
		};
		return {
			utcOffset_min: Math.max(-900, Math.min(900, Math.trunc(number('utc_offset_min')))),
			invented: number('invented') === 1,
			created_s: number('created_s'),
			appVersion: String(get('app_version') ?? ''),
			hasLogger: number('has_logger') === 1,
		};
	}

	sources(): SourceFile[] {
		return this.#db
			.prepare('SELECT * FROM source_file ORDER BY file')
			.all()
			.map((row) => ({
				file: String(row.file),
				sha256: String(row.sha256),
				bytes: Number(row.bytes),
				rows: row.rows === null ? null : Number(row.rows),
				firstTime_s: row.first_time_s === null ? null : Number(row.first_time_s),
				lastTime_s: row.last_time_s === null ? null : Number(row.last_time_s),
			}));
	}

	balances(): StoredBalance[] {
		return this.#db
			.prepare('SELECT ring, input_sha256, balance FROM logger_balance ORDER BY ring')
			.all()
			.map((row) => ({
				ring: Number(row.ring),
				inputHash: String(row.input_sha256),
				balance: String(row.balance),
			}));
	}

	/** Puts kept logger balances in the place of the ones of the same rings; not journalled, they follow from rows and series. */
	keepBalances(balances: readonly StoredBalance[], goneRings: readonly number[]): void {
		this.#transaction(() => {
			for (const ring of goneRings)
				this.#db.prepare('DELETE FROM logger_balance WHERE ring = ?').run(ring);
			writeBalances(this.#db, balances);
		});
	}

	/** What was kept of the last look through the logger's series; null if there was none. */
	checks(): KeptChecks | null {
		const text = (key: string): string | null => {
			const value = this.#db.prepare('SELECT value FROM document WHERE key = ?').get(key)?.value;
			return typeof value === 'string' ? value : null;
		};
		const scanId = text('scan_id');
		if (scanId === null) return null;
		return {
			scanId,
			overrides: text('scan_overrides') ?? '[]',
			faults: text('scan_faults') ?? '[]',
			windows: this.#db
				.prepare('SELECT from_s, to_s, input_sha256, window FROM bypass_window ORDER BY from_s')
				.all()
				.map((row) => ({
					from_s: Number(row.from_s),
					to_s: Number(row.to_s),
					inputHash: String(row.input_sha256),
					window: String(row.window),
				})),
		};
	}

	keepChecks(checks: KeptChecks): void {
		this.#transaction(() => {
			writeChecks(this.#db, checks);
		});
	}

	/** Which series the kept balances were made from; null: the document has known no other than the present. */
	balancesSeries(): string | null {
		return balancesSeries(this.#db);
	}

	/** Said before a series is changed, so that balances of the old one are never taken for the new one's. */
	noteBalancesSeries(id: string): void {
		this.#transaction(() => {
			setBalancesSeries(this.#db, id);
		});
	}

	/** Which rule told the mode of which stamps of the series, in order of time. */
	modeRules(): RuleStretch[] {
		return keptModeRules(this.#db);
	}

	/** Named layouts of logger files, each as it was kept. */
	loggerProfiles(): { name: string; text: string }[] {
		return loggerProfiles(this.#db);
	}

	/** What an import of logger files leaves in the document, with its journal entry, in one transaction. */
	recordImport(record: ImportRecord): void {
		this.#transaction(() => {
			writeImport(this.#db, record);
			const { who, at_s, label, content } = record;
			const gesture = { kind: 'import', label, why: null, who, at_s, changes: [] } as const;
			const head = appendOrigin(this.#db, this.#head, gesture, content);
			writeHead(this.#db, head);
			return head;
		});
	}

	/** Rows and journal in one transaction; on disk when it returns. Throws if it could not be, with nothing changed. */
	commit(gesture: Gesture): void {
		this.#transaction(() => {
			for (const change of gesture.changes) this.#writer.apply(change);
			const head = appendGesture(this.#db, this.#head, gesture);
			writeHead(this.#db, head);
			return head;
		});
	}

	/** Counts the commits of other connections; a change means our rows are out of date. */
	dataVersion(): number {
		return Number(this.#db.prepare('PRAGMA data_version').get()?.data_version);
	}

	/** Takes the journal's head from the file again, after another process wrote it. */
	refresh(): void {
		this.#head = readHead(this.#db);
	}

	close(): void {
		if (!this.#open) return;
		this.#open = false;
		if (!this.readOnly) this.#db.exec(TIDY);
		this.#db.close();
		this.#hold?.release();
	}

	#transaction(work: () => JournalHead | undefined | undefined): void {
		if (this.readOnly) throw new Error('a read-only project was asked to write');
		this.#db.exec('BEGIN IMMEDIATE');
		let head: JournalHead | undefined | undefined;
		try {
			head = work();
			this.#db.exec('COMMIT');
		} catch (error) {
			// SQLite may have rolled back by itself (disk full, I/O error).
			if (this.#db.isTransaction) this.#db.exec('ROLLBACK');
			throw error;
		}
		if (head) this.#head = head;
	}
}

function claimFor(ask: OpenAsk): { hold: Hold | null; why: string | null } {
	if (ask.for === 'read') return { hold: null, why: 'opened for reading only.' };
	try {
		accessSync(ask.path, constants.W_OK);
	} catch {
		return { hold: null, why: 'the file may not be written.' };
	}
	const got = takeHold(ask.path, ask.person, ask.now_s);
	if (got.kind === 'held') return { hold: got.hold, why: null };
	if (got.kind === 'other') return { hold: null, why: heldBy(got.holder) };
	return { hold: null, why: `the folder cannot be written (${got.why}).` };
}

function heldBy(holder: Holder | null): string {
	if (holder === null) return 'someone else has it open for writing.';
	const since = new Date(holder.since_s * 1000).toISOString().slice(0, 16).replace('T', ' ');
	return `${holder.person} has it open for writing on ${holder.host} (process ${holder.pid}) since ${since} UTC.`;
}

function readHead(db: DatabaseSync): JournalHead {
	const get = (key: string): unknown =>
		db.prepare('SELECT value FROM document WHERE key = ?').get(key)?.value;
	return {
		count: Number(get('journal_count') ?? 0),
		gesture: Number(get('journal_gesture') ?? 0),
		hash: String(get('journal_hash') ?? CHAIN_START),
	};
}

export function writeHead(db: DatabaseSync, head: JournalHead): void {
	const set = db.prepare('INSERT OR REPLACE INTO document (key, value) VALUES (?, ?)');
	set.run('journal_count', head.count);
	set.run('journal_gesture', head.gesture);
	set.run('journal_hash', head.hash);
}

export function writeBalances(db: DatabaseSync, balances: readonly StoredBalance[]): void {
	const put = db.prepare('INSERT OR REPLACE INTO logger_balance VALUES (?, ?, ?)');
	for (const { ring, inputHash, balance } of balances) put.run(ring, inputHash, balance);
}

function writeChecks(db: DatabaseSync, checks: KeptChecks): void {
	const set = db.prepare('INSERT OR REPLACE INTO document (key, value) VALUES (?, ?)');
	set.run('scan_id', checks.scanId);
	set.run('scan_overrides', checks.overrides);
	set.run('scan_faults', checks.faults);
	db.exec('DELETE FROM bypass_window');
	const put = db.prepare('INSERT INTO bypass_window VALUES (?, ?, ?, ?)');
	for (const { from_s, to_s, inputHash, window } of checks.windows)
		put.run(from_s, to_s, inputHash, window);
}

function errorText(error: unknown): string {
	return error instanceof Error ? error.message : errorCode(error);
}
