import { fullNumber } from '../../calc/quantity/format.ts';
import type { DecimalMark } from '../../calc/quantity/parse.ts';
import { dateTime, parseTime } from '../../calc/quantity/time.ts';
import { isUnitId, unit } from '../../calc/quantity/unit.ts';
import { showCell } from '../../calc/sheet/cell.ts';
import type { CellValue, Column } from '../../calc/sheet/column.ts';

/** How this person's numbers are written and this drive's times are shown. */
export interface Marks {
	readonly decimal: DecimalMark;
	readonly utcOffset_min: number;
}

/** Shown for a figure that could not be worked out; the reason is in the cell's flags. */
export const BLANK = '—';

/** `back_flush` as people write it. */
export function choiceWords(choice: string): string {
	return choice.replaceAll('_', ' ');
}

/** What a cell shows: the value to the column's decimals; a derived blank as a dash; a missing entry as nothing. */
export function shownText(column: Column, value: CellValue | undefined, marks: Marks): string {
	if (value === null || value === undefined) return column.kind === 'computed' ? BLANK : '';
	if (column.type === 'choice') return choiceWords(String(value));
	return showCell(column, value, marks);
}

/** What the editor of a cell begins with: every digit of the value, not the rounded one. */
export function editText(column: Column, value: CellValue | undefined, marks: Marks): string {
	if (value === null || value === undefined) return '';
	if (typeof value === 'string') return value;
	if (column.type === 'time') return dateTime(value, marks.utcOffset_min);
	return fullNumber(value, marks);
}

/**
 * A bare clock time typed into a time cell belongs to the day that stood there (or the day given):
 * returned with its date, so that the desk reads one full time. Anything else is returned as typed.
 */
export function completeTime(text: string, day_s: number | null, marks: Marks): string {
	if (day_s === null || !/^\s*\d{1,2}:\d{2}/.test(text)) return text;
	const time = parseTime(text, { utcOffset_min: marks.utcOffset_min, day_s });
	return time.kind === 'time' ? dateTime(time.time_s, marks.utcOffset_min) : text;
}

/** The unit of a column as written on screen; empty for none. */
export function unitLabel(column: Column): string {
	if (column.unit === null || column.unit === '1' || !isUnitId(column.unit)) return '';
	return unit(column.unit).label;
}

/** Why a cell is blank or flagged. */
export type CellFlags = Readonly<Record<string, readonly string[]>> | undefined;

export function reasonsOf(flags: CellFlags, columnId: string): readonly string[] {
	return flags?.[columnId] ?? [];
}
