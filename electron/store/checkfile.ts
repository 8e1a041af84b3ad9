import { z } from 'zod';
import { type Fault, stopFault } from '../../calc/fault/fault.ts';
import type { CellValue, EnteredSheetId } from '../../calc/sheet/column.ts';
import type { RowCells } from '../folder/content.ts';
import { canonicalCells } from './change.ts';
import { CHAIN_START, entryHash, type JournalEntry } from './journal.ts';
import { readEntry } from './journalentry.ts';
import { schemaDifference } from './migrate.ts';
import { ENTERED_SHEETS, type ProjectFile } from './projectfile.ts';
import { DIGEST_BLOCK_ROWS, rowDigests } from './rows.ts';
import { newestVersion, SCHEMA_HISTORY } from './schema.ts';

/**
 * The full check of a file: pages, references, tables, the journal's chain, and whether taking the
 * journal back from the present rows ends at the rows the document was made from.
 *
 * What it finds: an entry altered, dropped, moved or cut off the end; a row changed, added or
 * removed without an entry. What it cannot see: a history rewritten as a whole (every hash, the
 * head and the rows made to agree), since all of that stands in the same file.
 */
export function checkFile(file: ProjectFile): { findings: Fault[]; looked: string[] } {
	const db = file.database;
	const findings: Fault[] = [];
	const looked: string[] = [];

	const pages = db.prepare('PRAGMA integrity_check(20)').all();
	for (const row of pages)
		if (row.integrity_check !== 'ok')
			findings.push(stopFault('file_damaged', `The file is damaged: ${row.integrity_check}.`));
	looked.push('every page of the file and every index');

	for (const row of db.prepare('PRAGMA foreign_key_check').all())
		findings.push(
			stopFault('reference_broken', `A row of ${row.table} refers to a row that is not there.`, {
				file: String(row.table),
				row: Number(row.rowid ?? 0),
			}),
		);
	looked.push('references between tables');

	const difference = schemaDifference(db, SCHEMA_HISTORY, newestVersion(SCHEMA_HISTORY));
	if (difference !== null) findings.push(stopFault('foreign_schema', difference));
	looked.push('definition of the tables');

	const chain = checkChain(file);
	findings.push(...chain.findings);
	looked.push(`hash chain of ${chain.entries.length} journal entries`);

	const rolled = rollBack(file, chain.entries);
	findings.push(...rolled.findings);
	looked.push(
		`${rolled.rows} rows taken back through the journal to what the document was made from`,
	);
	return { findings, looked };
}

const journalPlace = (seq: number) => ({ file: 'journal', row: seq });

function checkChain(file: ProjectFile): { entries: JournalEntry[]; findings: Fault[] } {
	const db = file.database;
	const findings: Fault[] = [];
	const entries: JournalEntry[] = [];
	let prev = CHAIN_START;
	let expected = 1;
	for (const row of db.prepare('SELECT * FROM journal ORDER BY seq').iterate()) {
		const entry = readEntry(row);
		const seq = Number(row.seq);
		if (entry === null) {
			findings.push(
				stopFault('journal_entry_unreadable', 'The entry is not of the shape of a journal entry.', {
					...journalPlace(seq),
				}),
			);
			expected = seq + 1;
			prev = String(row.hash);
			continue;
		}
		if (seq !== expected)
			findings.push(
				stopFault(
					'journal_entry_missing',
					seq === expected + 1
						? `Journal entry ${expected} is missing.`
						: `Journal entries ${expected} to ${seq - 1} are missing.`,
					journalPlace(expected),
				),
			);
		else if (entry.prevHash !== prev)
			findings.push(
				stopFault(
					'journal_chain_broken',
					'The entry does not follow from the one before it: one of the two was altered or moved.',
					journalPlace(seq),
				),
			);
		const { hash, ...content } = entry;
		if (entryHash(content) !== hash)
			findings.push(
				stopFault('journal_entry_altered', 'The entry was altered after it was written.', {
					...journalPlace(seq),
				}),
			);
		entries.push(entry);
		expected = seq + 1;
		prev = hash;
	}
	file.refresh();
	const head = db
		.prepare("SELECT key, value FROM document WHERE key IN ('journal_count', 'journal_hash')")
		.all();
	const said = new Map(head.map((row) => [String(row.key), row.value]));
	const count = Number(said.get('journal_count') ?? 0);
	if (count !== expected - 1)
		findings.push(
			stopFault(
				'journal_cut',
				`The journal ends at entry ${expected - 1}, but the document says it has ${count}.`,
				journalPlace(expected),
			),
		);
	else if (said.get('journal_hash') !== prev)
		findings.push(
			stopFault(
				'journal_chain_broken',
				'The last entry is not the one the document was left with.',
				journalPlace(count),
			),
		);
	return { entries, findings };
}

const originShape = z.object({ digests: z.record(z.string(), z.array(z.string())) });

function rollBack(
	file: ProjectFile,
	entries: readonly JournalEntry[],
): { findings: Fault[]; rows: number } {
	const findings: Fault[] = [];
	const sheets = new Map<string, Map<number, RowCells>>();
	let rows = 0;
	for (const sheet of ENTERED_SHEETS) {
		const stored = file.rows(sheet);
		rows += stored.length;
		sheets.set(sheet, new Map(stored.map((row) => [row.id, row.cells])));
	}
	const differs = (
		sheet: string,
		row: number,
		column: string | null,
		has: string,
		said: string,
	) => {
		findings.push(
			stopFault(
				'row_changed_outside',
				`The row was changed without a journal entry: it holds ${has}, the journal says ${said}.`,
				{ file: sheet, row, ...(column === null ? {} : { column }) },
			),
		);
	};
	for (const entry of [...entries].reverse()) {
		if (entry.sheet === null || entry.row === null) continue;
		const sheet = sheets.get(entry.sheet);
		if (sheet === undefined) continue;
		takeBack(sheet, entry as JournalEntry & { sheet: string; row: number }, differs);
	}
	const origin = entries[0];
	const parsed =
		origin?.seq === 1 && typeof origin.new === 'string'
			? originShape.safeParse(parseJson(origin.new))
			: null;
	if (!parsed?.success) {
		findings.push(
			stopFault(
				'journal_origin_missing',
				'The first journal entry does not say what the document was made from.',
				journalPlace(1),
			),
		);
		return { findings, rows };
	}
	for (const sheet of ENTERED_SHEETS)
		findings.push(
			...compareDigests(sheet, sheets.get(sheet) ?? new Map(), parsed.data.digests[sheet] ?? []),
		);
	return { findings, rows };
}

function takeBack(
	sheet: Map<number, RowCells>,
	entry: JournalEntry & { sheet: string; row: number },
	differs: (sheet: string, row: number, column: string | null, has: string, said: string) => void,
): void {
	const cells = sheet.get(entry.row);
	if (entry.column !== null) {
		if (cells === undefined) {
			differs(entry.sheet, entry.row, entry.column, 'nothing', JSON.stringify(entry.new));
			return;
		}
		const has: CellValue = cells[entry.column] ?? null;
		if (has !== entry.new)
			differs(entry.sheet, entry.row, entry.column, JSON.stringify(has), JSON.stringify(entry.new));
		if (entry.old === null) delete cells[entry.column];
		else cells[entry.column] = entry.old;
		return;
	}
	const has = cells === undefined ? null : canonicalCells(cells);
	if (has !== entry.new)
		differs(entry.sheet, entry.row, null, has ?? 'nothing', String(entry.new ?? 'nothing'));
	const before = typeof entry.old === 'string' ? cellsShape.safeParse(parseJson(entry.old)) : null;
	if (before?.success) sheet.set(entry.row, before.data);
	else sheet.delete(entry.row);
}

const cellsShape = z.record(z.string(), z.union([z.number(), z.string(), z.null()]));

function compareDigests(
	sheet: EnteredSheetId,
	rows: ReadonlyMap<number, RowCells>,
	said: readonly string[],
): Fault[] {
	const found = rowDigests([...rows].map(([id, cells]) => ({ id, cells })));
	const faults: Fault[] = [];
	for (let at = 0; at < Math.max(found.length, said.length); at++) {
		if ((found[at] ?? '') === (said[at] ?? '')) continue;
		const first = at * DIGEST_BLOCK_ROWS + 1;
		faults.push(
			stopFault(
				'rows_not_as_imported',
				`Taken back through the journal, rows ${first} to ${first + DIGEST_BLOCK_ROWS - 1} are not what the document was made from: at least one was changed, added or removed without an entry, or its entries are gone.`,
				{ file: sheet, row: first },
			),
		);
	}
	return faults;
}

function parseJson(text: string): unknown {
	try {
		return JSON.parse(text);
	} catch {
		return null;
	}
}
