import type { Column, SheetRow } from '../../../calc/sheet/column.ts';
import { choiceWords, editText, type Marks, shownText } from '../celltext.ts';
import { flagsText } from '../columndefs.ts';

/** What is looked for, and how. */
export interface Sought {
	readonly text: string;
	/** The whole cell has to be this, not only a part of it. */
	readonly whole: boolean;
	readonly matchCase: boolean;
	/** Look in the value with all its digits instead of the text as shown. */
	readonly full: boolean;
}

/** A cell in which it was found. Hits are in the order rows and columns are on screen. */
export interface Hit {
	readonly row: SheetRow;
	readonly column: Column;
	readonly rowAt: number;
	readonly columnAt: number;
}

const folded = (text: string, { matchCase }: Sought): string =>
	matchCase ? text : text.toLowerCase();

/** The text of a cell that is looked at. */
export function lookedAt(column: Column, row: SheetRow, full: boolean, marks: Marks): string {
	const value = row.cells[column.id];
	if (value === null || value === undefined) {
		return column.id === 'flags' ? flagsText(row) : '';
	}
	return full ? fullText(column, row, marks) : shownText(column, value, marks);
}

/** All of a cell's value as it is typed: every digit, a choice in its words. */
export function fullText(column: Column, row: SheetRow, marks: Marks): string {
	const text = editText(column, row.cells[column.id], marks);
	return column.type === 'choice' ? choiceWords(text) : text;
}

/** Whether a cell's text is, or has in it, what is sought. */
export function isFound(text: string, sought: Sought): boolean {
	const within = folded(text, sought);
	const wanted = folded(sought.text, sought);
	return sought.whole ? within.trim() === wanted.trim() : within.includes(wanted);
}

/** Cells looked at between two pauses. */
const STRIDE = 4000;

/** Looks through the rows, pausing now and then so that the page stays at hand; returns all hits. */
export function* searching(
	rows: readonly SheetRow[],
	columns: readonly Column[],
	sought: Sought,
	marks: Marks,
): Generator<undefined, readonly Hit[]> {
	const hits: Hit[] = [];
	if (sought.text === '') return hits;
	let looked = 0;
	for (const [rowAt, row] of rows.entries()) {
		for (const [columnAt, column] of columns.entries()) {
			if (isFound(lookedAt(column, row, sought.full, marks), sought)) {
				hits.push({ row, column, rowAt, columnAt });
			}
		}
		looked += columns.length;
		if (looked >= STRIDE) {
			looked = 0;
			yield;
		}
	}
	return hits;
}

/** Index of the first hit behind (or, backwards, before) a place; round at the end; -1 without any. */
export function nextHit(
	hits: readonly Hit[],
	place: { readonly rowAt: number; readonly columnAt: number },
	step: 1 | -1,
): number {
	const side = (hit: Hit) => hit.rowAt - place.rowAt || hit.columnAt - place.columnAt;
	if (hits.length === 0) return -1;
	if (step === 1)
		return Math.max(
			0,
			hits.findIndex((hit) => side(hit) > 0),
		);
	const before = hits.findLastIndex((hit) => side(hit) < 0);
	return before < 0 ? hits.length - 1 : before;
}
