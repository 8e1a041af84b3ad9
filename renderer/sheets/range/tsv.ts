/**
 * Blocks of cells as spreadsheets put them on the clipboard: cells apart by tabs, rows by line ends,
 * a cell that holds a tab, a line end or a quotation mark within quotation marks, those doubled.
 */

/** No spreadsheet has longer cells; a quotation mark without its partner is not sought farther. */
const LONGEST_CELL = 100_000;

interface Quoted {
	readonly text: string;
	/** Where the cell ends in the text. */
	readonly end: number;
}

const endsCell = (mark: string | undefined): boolean =>
	mark === undefined || mark === '\t' || mark === '\n' || mark === '\r';

/** The cell within quotation marks that begins at `start`; null where the marks belong to the text. */
function quotedCell(text: string, start: number): Quoted | null {
	let from = start + 1;
	let cell = '';
	const last = Math.min(text.length, start + LONGEST_CELL);
	while (from < last) {
		const mark = text.indexOf('"', from);
		if (mark < 0 || mark >= last) return null;
		cell += text.slice(from, mark);
		const next = text[mark + 1];
		if (next === '"') {
			cell += '"';
			from = mark + 2;
		} else return endsCell(next) ? { text: cell, end: mark + 1 } : null;
	}
	return null;
}

/**
 * Reads a block of cells. A line end after the last row ends it and begins no other one. Rows may
 * differ in length. An empty text is no row at all.
 */
export function readTsv(text: string): string[][] {
	const rows: string[][] = [];
	let row: string[] = [];
	let at = 0;
	while (at < text.length || row.length > 0) {
		const quoted = text[at] === '"' ? quotedCell(text, at) : null;
		let end = quoted?.end ?? at;
		if (!quoted) while (!endsCell(text[end])) end += 1;
		row.push(quoted?.text.replaceAll('\r\n', '\n') ?? text.slice(at, end));
		const mark = text[end];
		at = end + (mark === '\r' && text[end + 1] === '\n' ? 2 : 1);
		if (mark === '\t') continue;
		rows.push(row);
		row = [];
	}
	return rows;
}

const cellText = (cell: string): string =>
	/["\t\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell;

/** Writes a block of cells, without a line end after the last row. */
export function writeTsv(rows: readonly (readonly string[])[]): string {
	return rows.map((row) => row.map(cellText).join('\t')).join('\n');
}
