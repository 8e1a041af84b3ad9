/** A cell by its place on screen: rows and columns as they are shown, from 0. */
export interface Spot {
	readonly row: number;
	readonly column: number;
}

/** A rectangle of cells, edges included. */
export interface Block {
	readonly top: number;
	readonly left: number;
	readonly bottom: number;
	readonly right: number;
}

/** The rectangle with two cells at opposite corners. */
export function blockOf(one: Spot, other: Spot): Block {
	return {
		top: Math.min(one.row, other.row),
		left: Math.min(one.column, other.column),
		bottom: Math.max(one.row, other.row),
		right: Math.max(one.column, other.column),
	};
}

export const rowsIn = (block: Block): number => block.bottom - block.top + 1;
export const columnsIn = (block: Block): number => block.right - block.left + 1;
export const cellsIn = (block: Block): number => rowsIn(block) * columnsIn(block);

export function holds(block: Block, { row, column }: Spot): boolean {
	return row >= block.top && row <= block.bottom && column >= block.left && column <= block.right;
}

/** "3 rows × 2 columns" */
export function sizeWords(rows: number, columns: number): string {
	return `${rows} ${rows === 1 ? 'row' : 'rows'} × ${columns} ${columns === 1 ? 'column' : 'columns'}`;
}

/**
 * Where a jump along a line of cells ends: at the last filled cell before a blank; from the last one,
 * or from a blank, at the next filled one; where there is none, at the end of the line.
 */
export function edgeOfData(
	isFilled: (at: number) => boolean,
	from: number,
	step: 1 | -1,
	last: number,
): number {
	const inside = (at: number) => at >= 0 && at <= last;
	let at = from + step;
	if (!inside(at)) return from;
	if (isFilled(from) && isFilled(at)) {
		while (inside(at + step) && isFilled(at + step)) at += step;
		return at;
	}
	while (inside(at + step) && !isFilled(at)) at += step;
	return at;
}

/**
 * The next cell within a block: along its columns (`down`) or its rows (`right`), backwards with
 * `back`; after the last one comes the first.
 */
export function nextWithin(block: Block, at: Spot, along: 'down' | 'right', back: boolean): Spot {
	const rows = rowsIn(block);
	const columns = columnsIn(block);
	const row = at.row - block.top;
	const column = at.column - block.left;
	const place = along === 'down' ? column * rows + row : row * columns + column;
	const count = rows * columns;
	const next = (place + (back ? count - 1 : 1)) % count;
	return along === 'down'
		? { row: block.top + (next % rows), column: block.left + Math.floor(next / rows) }
		: { row: block.top + Math.floor(next / columns), column: block.left + (next % columns) };
}

/**
 * Where a pasted block goes: over the whole of the chosen cells if it fits into them a whole number of
 * times, else once from their first cell on, over their edge if it is larger.
 */
export function pasteTarget(chosen: Block, rows: number, columns: number): Block {
	const repeats = rowsIn(chosen) % rows === 0 && columnsIn(chosen) % columns === 0;
	if (repeats) return chosen;
	return {
		top: chosen.top,
		left: chosen.left,
		bottom: chosen.top + rows - 1,
		right: chosen.left + columns - 1,
	};
}

/**
 * The block that dragging the fill handle to a cell makes of another one: it grows in one direction,
 * that in which the cell lies farther out. The same block while the cell lies within it.
 */
export function grownTo(block: Block, to: Spot): Block {
	const down = Math.max(to.row - block.bottom, 0);
	const up = Math.max(block.top - to.row, 0);
	const right = Math.max(to.column - block.right, 0);
	const left = Math.max(block.left - to.column, 0);
	const most = Math.max(down, up, right, left);
	if (most === 0) return block;
	if (most === down) return { ...block, bottom: to.row };
	if (most === up) return { ...block, top: to.row };
	if (most === right) return { ...block, right: to.column };
	return { ...block, left: to.column };
}
