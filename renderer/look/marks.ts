import type { NumberMarks } from '../../calc/quantity/format.ts';

/** Decimal mark of the person's own language; decides how numbers are shown and how typed ones are read. */
export const DECIMAL: '.' | ',' =
	new Intl.NumberFormat(navigator.language)
		.formatToParts(1.5)
		.find((part) => part.type === 'decimal')?.value === ','
		? ','
		: '.';

/** Marks of shown numbers: groups of three stand apart by a thin space, which no language reads as a decimal. */
export const MARKS: NumberMarks = { decimal: DECIMAL, group: '\u202f' };
