import { createHash } from 'node:crypto';
import type { DatabaseSync } from 'node:sqlite';
import type { CellValue } from '../../calc/sheet/column.ts';
import { type Change, canonicalCells, type Gesture, type JournalKind } from './change.ts';

/**
 * The append-only record of everything that was done to a document. Each entry carries the SHA-256
 * of the one before, so an entry that is altered, dropped or moved breaks the chain at its place.
 */
export interface JournalEntry {
	readonly seq: number;
	readonly at_s: number;
	readonly who: string;
	/** Entries of one gesture share its number. */
	readonly gesture: number;
	readonly label: string;
	readonly kind: JournalKind;
	readonly sheet: string | null;
	readonly row: number | null;
	/** null with a row: the whole row came or went, `old`/`new` are its cells as JSON. */
	readonly column: string | null;
	readonly old: CellValue;
	readonly new: CellValue;
	readonly why: string | null;
	readonly prevHash: string;
	readonly hash: string;
}

/** What the first entry follows. */
export const CHAIN_START = '0'.repeat(64);

/** SHA-256 (hex) over the entry's parts in fixed order as a JSON array, `prevHash` last. */
export function entryHash(entry: Omit<JournalEntry, 'hash'>): string {
	const parts = [
		entry.seq,
		entry.at_s,
		entry.who,
		entry.gesture,
		entry.label,
		entry.kind,
		entry.sheet,
		entry.row,
		entry.column,
		entry.old,
		entry.new,
		entry.why,
		entry.prevHash,
	];
	return createHash('sha256').update(JSON.stringify(parts)).digest('hex');
}

export interface JournalHead {
	/** Entries so far; also the `seq` of the last one. */
	readonly count: number;
	readonly gesture: number;
	readonly hash: string;
}

/** Appends the entries of a gesture inside the caller's transaction and gives the new head. */
export function appendGesture(db: DatabaseSync, head: JournalHead, gesture: Gesture): JournalHead {
	return appendEntries(db, head, gesture, gesture.changes.map(changeParts));
}

/** Appends the single entry that says what a document was made from. `content` is canonical JSON. */
export function appendOrigin(
	db: DatabaseSync,
	head: JournalHead,
	gesture: Gesture,
	content: string,
): JournalHead {
	return appendEntries(db, head, gesture, [
		{ sheet: null, row: null, column: null, old: null, new: content },
	]);
}

type Parts = Pick<JournalEntry, 'sheet' | 'row' | 'column' | 'old' | 'new'>;

function changeParts(change: Change): Parts {
	if (change.kind === 'cell')
		return {
			sheet: change.sheet,
			row: change.row,
			column: change.column,
			old: change.before,
			new: change.after,
		};
	return {
		sheet: change.sheet,
		row: change.row,
		column: null,
		old: change.before === null ? null : canonicalCells(change.before),
		new: change.after === null ? null : canonicalCells(change.after),
	};
}

function appendEntries(
	db: DatabaseSync,
	head: JournalHead,
	gesture: Gesture,
	all: readonly Parts[],
): JournalHead {
	const insert = db.prepare(
		'INSERT INTO journal (seq, at_s, who, gesture, label, kind, sheet, row, column_id, old, new, why, prev_hash, hash) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)',
	);
	const number = head.gesture + 1;
	let { count, hash } = head;
	for (const parts of all) {
		const entry = {
			seq: count + 1,
			at_s: gesture.at_s,
			who: gesture.who,
			gesture: number,
			label: gesture.label,
			kind: gesture.kind,
			...parts,
			why: gesture.why,
			prevHash: hash,
		};
		hash = entryHash(entry);
		count = entry.seq;
		insert.run(
			entry.seq,
			entry.at_s,
			entry.who,
			entry.gesture,
			entry.label,
			entry.kind,
			entry.sheet,
			entry.row,
			entry.column,
			entry.old,
			entry.new,
			entry.why,
			entry.prevHash,
			hash,
		);
	}
	return { count, gesture: number, hash };
}
