import type { Column } from '../../../calc/sheet/column.ts';
import { choiceWords, type Marks } from '../celltext.ts';
import { fullText, type Hit, isFound, type Sought } from './finding.ts';

/** One cell as it is and as it would be, both with all digits. */
export interface Replacement {
	readonly row: number;
	readonly column: Column;
	readonly before: string;
	readonly after: string;
	readonly hit: Hit;
}

/** What a replacement would do, and how many cells it leaves as they are, and why. */
export interface ReplacePlan {
	readonly changes: readonly Replacement[];
	/** Computed figures: they follow from others. */
	readonly computed: number;
	/** The text stands in the rounded figure on screen, but not in the value itself. */
	readonly rounded: number;
}

/** Replaces each occurrence; without case where it does not matter. The new text is taken as it stands. */
function replaced(text: string, sought: Sought, by: string): string {
	if (sought.whole) return by;
	const within = sought.matchCase ? text : text.toLowerCase();
	const wanted = sought.matchCase ? sought.text : sought.text.toLowerCase();
	// Where case folding changes the length, places in the two texts would not match.
	if (within.length !== text.length) return text.replaceAll(sought.text, () => by);
	let after = '';
	let from = 0;
	for (let at = within.indexOf(wanted); at >= 0; at = within.indexOf(wanted, from)) {
		after += text.slice(from, at) + by;
		from = at + wanted.length;
	}
	return after + text.slice(from);
}

/** A choice is sent by its own name; anything else as typed, for the desk to judge. */
export function sentText({ column, after }: Replacement): string {
	if (column.type !== 'choice') return after;
	const meant = after.trim().toLowerCase();
	return column.choices?.find((choice) => choiceWords(choice).toLowerCase() === meant) ?? after;
}

/**
 * What replacing in the cells found would change. A number is replaced in as it is kept, with every
 * digit, never in its rounded text, and the desk reads the result as if it had been typed.
 */
export function planReplace(
	hits: readonly Hit[],
	sought: Sought,
	by: string,
	marks: Marks,
): ReplacePlan {
	const changes: Replacement[] = [];
	let computed = 0;
	let rounded = 0;
	for (const hit of hits) {
		const { row, column } = hit;
		if (column.kind === 'computed') {
			computed += 1;
			continue;
		}
		const before = fullText(column, row, marks);
		if (!isFound(before, sought)) {
			rounded += 1;
			continue;
		}
		const after = replaced(before, sought, by);
		if (after !== before) changes.push({ row: row.id, column, before, after, hit });
	}
	return { changes, computed, rounded };
}

/** Name of the step a replacement is taken back by. */
export const replaceLabel = (cells: number): string =>
	`replace in ${cells} ${cells === 1 ? 'cell' : 'cells'}`;
