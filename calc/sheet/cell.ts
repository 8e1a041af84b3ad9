import { type Fault, noteFault, stopFault } from '../fault/fault.ts';
import { formatNumber, formatQuantity } from '../quantity/format.ts';
import { type DecimalMark, type NumberReading, parseQuantity } from '../quantity/parse.ts';
import { dateTime, parseTime } from '../quantity/time.ts';
import type { CellValue, Column } from './column.ts';

export { checkRow, checkSheet } from './rules.ts';

/** How a text was typed: the person's decimal mark and the offset times without one are meant in. */
export interface CellMarks {
	readonly decimal: DecimalMark;
	/** Minutes east of UTC; null where every time must carry its own offset (files). */
	readonly utcOffset_min: number | null;
}

export type ReadCell =
	/** `notes`: taken, and shown beside the cell. */
	| { readonly kind: 'value'; readonly value: CellValue; readonly notes: readonly Fault[] }
	/** Several numbers could be meant; the person chooses, nothing is guessed. */
	| { readonly kind: 'ambiguous'; readonly readAs: readonly NumberReading[] }
	| { readonly kind: 'fault'; readonly fault: Fault };

/** Longest text a cell keeps. */
const LONGEST_TEXT = 4000;
/** 1970-01-01 and 2200-01-01: a year outside is a slip of the finger. */
const EARLIEST_S = 0;
const LATEST_S = 7_258_118_400;

/**
 * Reads what was typed or found in a file into the value a column keeps: a number in the column's
 * own unit, Unix seconds, one of the choices, text, or null for an empty optional cell. A value
 * outside the column's bounds is a fault; one outside its plausible range is taken with a note.
 * Faults name the column and the text; the caller adds file and row.
 *
 * @example
 * import { findColumn } from './catalogue.ts';
 * const density = findColumn('readings', 'feed_density_t_m3');
 * const marks = { decimal: '.', utcOffset_min: 60 };
 * readCell(density, '1080 kg/m³', marks) // => {"kind":"value","value":1.08,"notes":[]}
 * readCell(density, '1,080', marks).readAs.map((r) => r.value) // => [1.08]
 * readCell(density, '0.5', marks).fault.code // => "value_below"
 * readCell(findColumn('readings', 'mode'), 'Back-flush', marks).value // => "back_flush"
 */
export function readCell(column: Column, text: string, marks: CellMarks): ReadCell {
	const trimmed = text.trim();
	if (trimmed === '') {
		if (!column.required) return { kind: 'value', value: null, notes: [] };
		return refused(column, text, 'cell_required', `${column.heading} is needed.`, wanted(column));
	}
	switch (column.type) {
		case 'number':
		case 'integer':
			return readNumber(column, trimmed, marks.decimal);
		case 'time':
			return readTime(column, trimmed, marks.utcOffset_min);
		case 'choice':
			return readChoice(column, trimmed);
		case 'text':
			return readText(column, trimmed);
	}
}

function refused(
	column: Column,
	text: string,
	code: string,
	message: string,
	expected: string,
): ReadCell {
	const value = text.length > 80 ? `${text.slice(0, 80)}…` : text;
	return { kind: 'fault', fault: stopFault(code, message, { column: column.id, value, expected }) };
}

/** What a column takes, in words. */
function wanted(column: Column): string {
	switch (column.type) {
		case 'number':
		case 'integer':
			return rangeWords(column);
		case 'time':
			return 'date and time such as 2026-03-01T06:30:00+01:00';
		case 'choice':
			return (column.choices ?? []).join(', ');
		case 'text':
			return 'a text';
	}
}

function rangeWords(column: Column): string {
	const what = column.type === 'integer' ? 'a whole number' : 'a number';
	const low = column.min === undefined ? null : bound(column, column.min);
	const high = column.max === undefined ? null : bound(column, column.max);
	const lowWords = low === null ? '' : column.minOpen ? ` above ${low}` : ` from ${low}`;
	const highWords = high === null ? '' : low === null ? ` up to ${high}` : ` to ${high}`;
	return `${what}${lowWords}${highWords}`;
}

/** A bound as the catalogue has it, not rounded to the decimals shown. */
function bound(column: Column, value: number): string {
	const decimals = (String(value).split('.')[1] ?? '').length;
	return column.unit === null
		? formatNumber(value, decimals, { decimal: '.' })
		: formatQuantity(value, column.unit, decimals, { decimal: '.' });
}

function boundsFault(column: Column, value: number): { code: string; message: string } | null {
	if (column.type === 'integer' && !Number.isInteger(value))
		return { code: 'value_not_whole', message: `${column.heading} is a whole number.` };
	const { min, max, minOpen } = column;
	if (min !== undefined && (value < min || (minOpen === true && value === min)))
		return {
			code: 'value_below',
			message: `${column.heading} must be ${minOpen ? 'above' : 'at least'} ${bound(column, min)}.`,
		};
	if (max !== undefined && value > max)
		return {
			code: 'value_above',
			message: `${column.heading} must be at most ${bound(column, max)}.`,
		};
	return null;
}

function readNumber(column: Column, text: string, decimal: DecimalMark): ReadCell {
	const parsed = parseQuantity(text, column.unit, { decimal });
	if (parsed.kind === 'empty') return { kind: 'value', value: null, notes: [] };
	if (parsed.kind === 'fault') {
		const { code, message, where } = parsed.fault;
		return refused(column, text, code, message, where.expected ?? wanted(column));
	}
	if (parsed.kind === 'ambiguous') {
		// A reading the column could never take is no choice. One that is left is still asked about.
		const readAs = parsed.readAs.filter((each) => boundsFault(column, each.value) === null);
		if (readAs.length > 0) return { kind: 'ambiguous', readAs };
		return refused(
			column,
			text,
			'value_out_of_bounds',
			`No reading of this is a possible ${column.heading.toLowerCase()}.`,
			wanted(column),
		);
	}
	const { value } = parsed;
	const fault = boundsFault(column, value);
	if (fault) return refused(column, text, fault.code, fault.message, wanted(column));
	return { kind: 'value', value, notes: plausibilityNotes(column, value, text) };
}

function plausibilityNotes(column: Column, value: number, text: string): Fault[] {
	const { plausibleMin, plausibleMax } = column;
	const low = plausibleMin !== undefined && value < plausibleMin;
	const high = plausibleMax !== undefined && value > plausibleMax;
	if (!low && !high) return [];
	const limit = bound(column, (low ? plausibleMin : plausibleMax) ?? value);
	return [
		noteFault(
			low ? 'value_implausibly_low' : 'value_implausibly_high',
			`${column.heading} is seldom ${low ? 'below' : 'above'} ${limit}.`,
			{ column: column.id, value: text },
		),
	];
}

function readTime(column: Column, text: string, utcOffset_min: number | null): ReadCell {
	const parsed = parseTime(text, { utcOffset_min });
	if (parsed.kind === 'empty') return { kind: 'value', value: null, notes: [] };
	if (parsed.kind === 'fault') {
		const { code, message, where } = parsed.fault;
		return refused(column, text, code, message, where.expected ?? wanted(column));
	}
	if (parsed.time_s < EARLIEST_S || parsed.time_s >= LATEST_S)
		return refused(
			column,
			text,
			'time_out_of_reach',
			'The year is not one a drive can be in.',
			'a year from 1970 to 2199',
		);
	return { kind: 'value', value: parsed.time_s, notes: [] };
}

/** Capitals, spaces, hyphens and underscores make no difference between choices. */
const choiceKey = (text: string): string => text.toLowerCase().replace(/[\s_-]+/gu, '_');

function readChoice(column: Column, text: string): ReadCell {
	const choices = column.choices ?? [];
	const meant = choices.find((choice) => choiceKey(choice) === choiceKey(text));
	if (meant !== undefined) return { kind: 'value', value: meant, notes: [] };
	return refused(
		column,
		text,
		'choice_unknown',
		`${column.heading} is not one of the known ones.`,
		choices.join(', '),
	);
}

function readText(column: Column, text: string): ReadCell {
	const fault = textFault(column, text);
	return fault
		? refused(column, text, fault.code, fault.message, fault.expected)
		: { kind: 'value', value: text, notes: [] };
}

function textFault(
	column: Column,
	text: string,
): { code: string; message: string; expected: string } | null {
	if (text.length > LONGEST_TEXT)
		return {
			code: 'text_too_long',
			message: `${column.heading} is longer than ${LONGEST_TEXT} characters.`,
			expected: 'a shorter text',
		};
	// Line ends and tabs belong in a note; other control characters come from broken or binary files.
	// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
	if (/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]/u.test(text) || !text.isWellFormed())
		return {
			code: 'text_unprintable',
			message: `${column.heading} holds characters that cannot be shown.`,
			expected: 'printable text',
		};
	return null;
}

/** No-break and narrow, so that a grouped number never wraps and reads back without a question. */
const SCREEN_GROUP = '\u202f';
/** ISO 80000-1, 7.3.1 leaves numbers of four digits ungrouped. */
const GROUPED_FROM = 10_000;

/**
 * A cell's value as the screen shows it, without its unit (that stands in the heading): decimals as
 * the column has them, times in the given offset, underscores of choices as spaces, nothing for a
 * missing value. `readCell` takes the text back.
 *
 * @example
 * import { findColumn } from './catalogue.ts';
 * showCell(findColumn('readings', 'feed_density_t_m3'), 1.08, { decimal: ',', utcOffset_min: 0 }) // => "1,080"
 * showCell(findColumn('readings', 'time'), 1772343000, { decimal: '.', utcOffset_min: 60 }) // => "2026-03-01 06:30"
 * showCell(findColumn('readings', 'note'), null, { decimal: '.', utcOffset_min: 0 }) // => ""
 */
export function showCell(
	column: Column,
	value: CellValue,
	marks: { readonly decimal: DecimalMark; readonly utcOffset_min: number },
): string {
	if (value === null) return '';
	if (typeof value === 'string')
		return column.type === 'choice' ? value.replaceAll('_', ' ') : value;
	if (column.type === 'time') return dateTime(value, marks.utcOffset_min);
	if (column.type === 'integer') return formatNumber(value, 0, { decimal: marks.decimal });
	const group = Math.abs(value) >= GROUPED_FROM ? SCREEN_GROUP : '';
	return formatNumber(value, column.decimals, { decimal: marks.decimal, group });
}

/**
 * What is to be said about a value that is already kept: stop faults if the column could not hold it
 * (a file changed by other hands), notes if it is seldom so. An empty optional cell has none.
 *
 * @example
 * import { findColumn } from './catalogue.ts';
 * checkValue(findColumn('readings', 'return_density_t_m3'), 1.7).map((f) => f.code) // => ["value_implausibly_high"]
 * checkValue(findColumn('rings', 'ring'), null).map((f) => f.code) // => ["cell_required"]
 * checkValue(findColumn('readings', 'ph'), 99).map((f) => f.code) // => ["value_above"]
 */
export function checkValue(column: Column, value: CellValue): Fault[] {
	const stop = (code: string, message: string): Fault[] => [
		stopFault(code, message, {
			column: column.id,
			...(value === null ? {} : { value: String(value).slice(0, 80) }),
			expected: wanted(column),
		}),
	];
	if (value === null)
		return column.required ? stop('cell_required', `${column.heading} is needed.`) : [];
	if (column.type === 'text' || column.type === 'choice') {
		if (typeof value !== 'string') return stop('value_not_text', `${column.heading} is a text.`);
		const unfit = textFault(column, value);
		if (unfit) return stop(unfit.code, unfit.message);
		return column.type === 'text' || column.choices?.includes(value)
			? []
			: stop('choice_unknown', `${column.heading} is not one of the known ones.`);
	}
	if (typeof value !== 'number' || !Number.isFinite(value))
		return stop('value_not_number', `${column.heading} is a number.`);
	if (column.type === 'time')
		return value >= EARLIEST_S && value < LATEST_S
			? []
			: stop('time_out_of_reach', 'The year is not one a drive can be in.');
	const fault = boundsFault(column, value);
	return fault ? stop(fault.code, fault.message) : plausibilityNotes(column, value, String(value));
}
