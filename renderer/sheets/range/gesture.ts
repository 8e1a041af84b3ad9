import type { EditRefusal } from '../../../electron/contract/verbs.ts';

/** A cell of a row that is there, with the text it is to hold. */
export interface CellEdit {
	readonly row: number;
	readonly column: string;
	readonly text: string;
}

/** Many cells to be changed by one movement of the hand: done and undone as one. */
export interface Gesture {
	/** "paste", "fill", "cut", "clearing": names the step. */
	readonly name: string;
	/** "pasted", "filled", "cut", "cleared": says what was not done. */
	readonly done: string;
	readonly edits: readonly CellEdit[];
	/** Rows beyond the last one, by column id. */
	readonly added: readonly Readonly<Record<string, string>>[];
	/** Decimal mark of the texts. */
	readonly decimal: '.' | ',';
	/** What was left out from the start, in words. */
	readonly leftOut: readonly string[];
}

/** More cells than this the desk does not change at once. */
export const MOST_CELLS = 20_000;
/** Beyond this many cells clearing asks first. */
export const CLEARED_UNASKED = 500;

export function cellCount({ edits, added }: Gesture): number {
	return added.reduce((count, row) => count + Object.keys(row).length, edits.length);
}

export const cellsWord = (count: number): string => `${count} ${count === 1 ? 'cell' : 'cells'}`;

/** What the step is called. One cell is named by the desk, which knows its heading and row. */
export function gestureLabel(gesture: Gesture): string | undefined {
	const count = cellCount(gesture);
	if (count <= 1) return undefined;
	const rows = gesture.added.length;
	const more = rows === 0 ? '' : ` with ${rows} new ${rows === 1 ? 'row' : 'rows'}`;
	return `${gesture.name} of ${cellsWord(count)}${more}`;
}

/** Which text of a gesture a refusal is about. */
export interface RefusedPlace {
	/** Key of the text, for corrections. */
	readonly key: string;
	readonly row: number | null;
	/** Place among the added rows, from 0; null for a row that is there. */
	readonly addedAt: number | null;
	readonly column: string;
	/** null where the refusal is about the row, or a cell that was not in the gesture. */
	readonly text: string | null;
}

export function refusedPlace(gesture: Gesture, refusal: EditRefusal): RefusedPlace {
	const { column } = refusal;
	const at = refusal.fault.where.row;
	if (refusal.row === null && at !== undefined) {
		const addedAt = at - 1;
		const text = gesture.added[addedAt]?.[column] ?? null;
		return { key: `new ${addedAt} ${column}`, row: null, addedAt, column, text };
	}
	const edit = gesture.edits.find((one) => one.row === refusal.row && one.column === column);
	return {
		key: `${refusal.row} ${column}`,
		row: refusal.row,
		addedAt: null,
		column,
		text: edit?.text ?? null,
	};
}

/** The gesture with other texts in some of its places. */
export function withTexts(gesture: Gesture, texts: ReadonlyMap<string, string>): Gesture {
	if (texts.size === 0) return gesture;
	return {
		...gesture,
		edits: gesture.edits.map((edit) => {
			const text = texts.get(`${edit.row} ${edit.column}`);
			return text === undefined ? edit : { ...edit, text };
		}),
		added: gesture.added.map((row, at) =>
			Object.fromEntries(
				Object.entries(row).map(([column, text]) => [
					column,
					texts.get(`new ${at} ${column}`) ?? text,
				]),
			),
		),
	};
}

/**
 * The gesture without what was refused. A refusal of a row as such takes the row with it; so does one
 * of a new row's cell, as a row that lacks a cell is another row. null: nothing is left.
 */
export function withoutRefused(gesture: Gesture, refused: readonly EditRefusal[]): Gesture | null {
	const cells = new Set<string>();
	const rows = new Set<number>();
	const added = new Set<number>();
	for (const refusal of refused) {
		const place = refusedPlace(gesture, refusal);
		if (place.addedAt !== null) added.add(place.addedAt);
		else if (place.text !== null) cells.add(place.key);
		else if (place.row !== null) rows.add(place.row);
		else return null;
	}
	const kept: Gesture = {
		...gesture,
		edits: gesture.edits.filter(
			(edit) => !rows.has(edit.row) && !cells.has(`${edit.row} ${edit.column}`),
		),
		added: gesture.added.filter((_, at) => !added.has(at)),
	};
	return kept.edits.length === 0 ? null : kept;
}
