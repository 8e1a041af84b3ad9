import type { CellValue, Column } from '../../../calc/sheet/column.ts';
import { guardText, unguardText } from '../../../calc/sheet/formulaguard.ts';
import { choiceWords, completeTime, editText, type Marks, unitLabel } from '../celltext.ts';

/** A cell as it goes to the clipboard: every digit, the person's decimal mark, nothing for a missing value. */
export function copiedText(column: Column, value: CellValue | undefined, marks: Marks): string {
	if (column.type === 'choice') return choiceWords(String(value ?? ''));
	const text = editText(column, value, marks);
	return column.type === 'text' ? guardText(text) : text;
}

/** A heading as it goes to the clipboard: with its unit. */
export function copiedHeading(column: Column): string {
	const unit = unitLabel(column);
	return unit === '' ? column.heading : `${column.heading} (${unit})`;
}

/** A cell's text from the clipboard as if it had been typed. A bare clock time belongs to the day that stood there. */
export function pastedText(
	column: Column,
	text: string,
	present: CellValue | undefined,
	marks: Marks,
): string {
	if (column.type === 'text') return unguardText(text);
	if (column.type === 'time')
		return completeTime(text, typeof present === 'number' ? present : null, marks);
	return text;
}

/** Whether the first pasted row is the headings that stand above the cells it would go into. */
export function isHeadingRow(row: readonly string[], columns: readonly Column[]): boolean {
	return (
		row.length > 0 &&
		row.length <= columns.length &&
		row.every((text, at) => {
			const column = columns[at] as Column;
			const said = text.trim();
			return said === copiedHeading(column) || said === column.heading || said === column.id;
		})
	);
}
