/** What a key press asks of the page as a whole; null when it is none of the page's business. */
export type PageKey =
	| { readonly kind: 'undo' }
	| { readonly kind: 'redo' }
	| { readonly kind: 'sheet'; readonly index: number }
	| { readonly kind: 'keys' };

export interface KeyPress {
	readonly key: string;
	readonly code: string;
	readonly ctrlKey: boolean;
	readonly metaKey: boolean;
	readonly shiftKey: boolean;
	readonly altKey: boolean;
}

/**
 * Reads a key press. `typing`: a text field or cell editor has the focus, where undo takes back
 * typing and not the desk's step.
 */
export function pageKey(press: KeyPress, typing: boolean): PageKey | null {
	if (press.key === 'F1') return { kind: 'keys' };
	const command = press.ctrlKey || press.metaKey;
	if (press.altKey && !command && !press.shiftKey) {
		const digit = /^Digit([1-7])$/.exec(press.code)?.[1];
		return digit ? { kind: 'sheet', index: Number(digit) - 1 } : null;
	}
	if (!command || press.altKey || typing) return null;
	const letter = press.key.toLowerCase();
	if (letter === 'z') return { kind: press.shiftKey ? 'redo' : 'undo' };
	if (letter === 'y' && !press.shiftKey) return { kind: 'redo' };
	return null;
}

const TEXT_FIELDS = 'input:not([type="checkbox"], [type="radio"]), textarea, [contenteditable]';

/** Whether what has the focus takes typed text. */
export function takesText(element: Element | null): boolean {
	return element?.matches(TEXT_FIELDS) ?? false;
}

/** The keys of the program, for the sheet behind F1. */
export const KEY_SHEET: readonly {
	readonly group: string;
	readonly keys: readonly (readonly [string, string])[];
}[] = [
	{
		group: 'Everywhere',
		keys: [
			['Alt+1 … Alt+7', 'Ledger, Readings, Rings, Ground, Meters, Drive, Set modes'],
			['Ctrl+Z', 'Take back the last step'],
			['Ctrl+Y, Ctrl+Shift+Z', 'Do it again'],
			['F1', 'This list'],
			['Escape', 'Close a dialog, leave an entry'],
		],
	},
	{
		group: 'In a sheet',
		keys: [
			['Arrows, Tab, Home, End', 'Move from cell to cell'],
			['Any letter or digit', 'Replace what stands in the cell'],
			['F2, double click', 'Correct what stands in the cell'],
			['Enter', 'One cell down (Shift: up)'],
			['Enter while typing', 'Take the entry, one cell down (Shift: up)'],
			['Tab while typing', 'Take the entry, one cell right (Shift: left)'],
			['Delete', 'Empty the chosen cells; on a ticked row, delete the ticked rows'],
			['Space', 'Tick or untick the row, or all chosen rows'],
			['Ctrl+Enter', 'New row'],
			['Ctrl+Shift+Enter', 'New row that begins as a copy of this one'],
			['Insert', 'New row before this one'],
			['Ctrl+F, Ctrl+H', 'Find; find and replace'],
			['F3', 'The next cell found (Shift: the one before)'],
			['F8', 'Arrange the sheet: columns, layouts, groups'],
			['Enter, Space on a group', 'Open or shut it (Shift: all groups)'],
			[
				'Enter on a heading',
				'Sort by it (Shift: after what it is sorted by); Ctrl+Enter: its filter',
			],
			['Alt+=', 'Own columns: formulas over the columns of the sheet'],
			['Shift+F1', 'About the column: unit, formula, source, limits'],
		],
	},
	{
		group: 'Several cells at once',
		keys: [
			['Shift+arrows, Page, Home, End', 'Choose more cells (Ctrl: to the edge of the data)'],
			['Ctrl+arrows', 'Go to the edge of the data'],
			['Shift+Space, Ctrl+Space, Ctrl+A', 'Choose whole rows, whole columns, everything'],
			['Tab, Enter', 'From cell to cell of the chosen ones (Shift: back)'],
			['Tab … Enter', 'After a row of entries: back to where it began, one row down'],
			['Ctrl+C, Ctrl+X, Ctrl+V', 'Copy, cut, paste; also to and from spreadsheets'],
			['Ctrl+Shift+C', 'Copy with headings and units'],
			['Ctrl+D, Ctrl+R', 'Repeat the first row downwards, the first column to the right'],
			['Ctrl+Shift+D', 'Continue a series of numbers or times downwards'],
			['Escape', 'Let go of all but one cell'],
		],
	},
	{
		group: 'On the timeline',
		keys: [
			['Arrows, Home, End', 'Move the crosshair (Shift: ten stamps at once)'],
			['+, −', 'Nearer, farther'],
			['Space, then arrows', 'Choose a stretch from the crosshair on'],
			['Enter', 'Set the mode of the stretch, else of the piece at the crosshair'],
			['Escape', 'Let go of the stretch; show the whole ring'],
		],
	},
	{
		group: 'On the bypass checks',
		keys: [
			['Arrows, Home, End', 'From window to window (Shift: ten at once)'],
			['+, −', 'Nearer, farther'],
			['Escape', 'Show all windows'],
		],
	},
];
