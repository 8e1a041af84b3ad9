import { type Fault, stopFault } from '../fault/fault.ts';
import { convert, convertible } from './convert.ts';
import { fullNumber } from './format.ts';
import { findUnit, type UnitId, unit } from './unit.ts';

/** The mark between whole and part that the person's locale uses. */
export type DecimalMark = '.' | ',';

/** One of the numbers an ambiguous text could mean. */
export interface NumberReading {
	/** For the question, e.g. "1.18 (comma as decimal mark)". */
	readonly label: string;
	/** The same number typed so that only this reading is left, unit included. */
	readonly text: string;
	readonly value: number;
}

export type ParsedNumber =
	| { readonly kind: 'number'; readonly value: number; readonly unit: UnitId | null }
	| { readonly kind: 'ambiguous'; readonly readAs: readonly NumberReading[] }
	| { readonly kind: 'empty' }
	| { readonly kind: 'fault'; readonly fault: Fault };

export interface TypedMarks {
	readonly decimal: DecimalMark;
}

/** Longer texts are not numbers anybody types. */
const LONGEST = 80;
/** Spaces that stand between digits or before a unit. Others (tab, line end, zero-width) are refused. */
const SPACES = ' \u00a0\u2007\u2009\u202f';
/** Marks that group digits whatever the locale: spaces and apostrophes. */
const NEUTRAL_GROUPS = `${SPACES}'\u2019`;
const SHAPE = new RegExp(
	`^([+\\-\\u2212]?)([.,]?\\d(?:[\\d.,${NEUTRAL_GROUPS}]*\\d)?)(?:[eE]([+\\-\\u2212]?\\d{1,3}))?[${SPACES}]*(.*)$`,
	'u',
);

const markName = (mark: string): string => (mark === ',' ? 'comma' : 'dot');

function refuse(code: string, message: string, value: string, expected: string): ParsedNumber {
	return { kind: 'fault', fault: stopFault(code, message, { value, expected }) };
}

/** Letters or a sign first and no digits but those of m² and m³: so the hint can speak of a unit. */
function looksLikeUnit(text: string): boolean {
	return /^[\p{L}%°‰]/u.test(text) && !/\d/u.test(text.replace(/m\^?[23]/giu, ''));
}

/** Whole-number part in groups of three, the first of one to three digits without a leading zero. */
function isGrouped(whole: string, mark: string): boolean {
	const [first = '', ...rest] = whole.split(mark);
	return /^[1-9]\d{0,2}$/u.test(first) && rest.length > 0 && rest.every((g) => /^\d{3}$/u.test(g));
}

type Digits =
	| { readonly kind: 'digits'; readonly digits: string; readonly grouped: boolean }
	/** `decimal`: read with the other locale's decimal mark; `grouped`: read as grouped by it. */
	| { readonly kind: 'either'; readonly decimal: string; readonly grouped: string }
	/** Written in the other locale's way; `meant` is the same in the person's own. */
	| { readonly kind: 'foreign'; readonly meant: string }
	| { readonly kind: 'none' };

/** What the digits and marks say, as digits with a dot. */
function readDigits(body: string, decimal: DecimalMark): Digits {
	const other = decimal === '.' ? ',' : '.';
	const plain = readLocal(body, decimal, other);
	if (plain) return plain;
	// Not a number in the person's own marks. Is it one in the other way of writing?
	const foreign = readLocal(body, other, decimal);
	if (foreign?.kind !== 'digits') return { kind: 'none' };
	return { kind: 'foreign', meant: foreign.digits.replace('.', decimal) };
}

function readLocal(body: string, decimal: DecimalMark, other: string): Digits | null {
	const parts = body.split(decimal);
	if (parts.length > 2) return null;
	const [whole = '', part] = parts;
	if (part !== undefined && !/^\d+$/u.test(part)) return null;
	const tail = part === undefined ? '' : `.${part}`;
	if (/^\d*$/u.test(whole))
		return { kind: 'digits', digits: (whole === '' ? '0' : whole) + tail, grouped: false };
	const marks = [...new Set(whole.replace(/\d/gu, ''))];
	const mark = marks[0] ?? '';
	if (marks.length !== 1 || !isGrouped(whole, mark)) return null;
	const digits = whole.replaceAll(mark, '');
	// One comma with three digits after it and no other mark: thousands here, decimals elsewhere.
	if (mark === other && part === undefined && whole.split(mark).length === 2)
		return { kind: 'either', decimal: whole.replace(mark, '.'), grouped: digits };
	return { kind: 'digits', digits: digits + tail, grouped: true };
}

/**
 * Reads a number as people type it: optional sign (also −), digits grouped in threes by the other
 * locale's mark, a space or an apostrophe, one decimal mark, optional plain power of ten ("1e3"),
 * optional unit of the table. The whole text must be the number; nothing is guessed. A text that
 * could be two numbers ("1,180" where the dot is the decimal mark) is handed back with both.
 *
 * @example
 * parseNumber('1 180.5 kg/m³', { decimal: '.' }) // => {"kind":"number","value":1180.5,"unit":"kg/m3"}
 * parseNumber('1,180', { decimal: '.' }).readAs.map((r) => r.value) // => [1.18,1180]
 * parseNumber('1,18', { decimal: '.' }).fault.where.expected // => "1.18 with a dot as decimal mark"
 * parseNumber('  ', { decimal: '.' }) // => {"kind":"empty"}
 */
export function parseNumber(text: string, { decimal }: TypedMarks): ParsedNumber {
	const trimmed = text.trim();
	if (trimmed === '') return { kind: 'empty' };
	const example = `a number such as 1180 or 1${decimal}18`;
	if (trimmed.length > LONGEST)
		return refuse('number_text', 'This is too long for a number.', trimmed.slice(0, 40), example);
	const shape = SHAPE.exec(trimmed);
	if (!shape) return refuse('number_text', 'This is not a number.', trimmed, example);
	const [, sign = '', body = '', power, rest = ''] = shape;

	const typedUnit = rest === '' ? null : findUnit(rest);
	if (rest !== '' && typedUnit === null) {
		return looksLikeUnit(rest)
			? refuse(
					'unit_unknown',
					`${JSON.stringify(rest)} is not a known unit.`,
					trimmed,
					'a number, or a number with a unit such as m³/h, t/m³, kg/m³ or mm',
				)
			: refuse('number_text', 'Only the start of this is a number.', trimmed, example);
	}

	const minus = sign === '-' || sign === '\u2212' ? '-' : '';
	const unitTail = rest === '' ? '' : ` ${rest}`;
	const powerTail = power === undefined ? '' : `e${power.replace('\u2212', '-')}`;
	const read = readDigits(body, decimal);
	if (read.kind === 'none')
		return refuse(
			'number_grouping',
			'The marks between the digits do not make a number.',
			trimmed,
			`${example}, thousands in groups of three`,
		);
	if (read.kind === 'foreign')
		return refuse(
			'number_decimal_mark',
			`Here the decimal mark is the ${markName(decimal)}.`,
			trimmed,
			`${minus}${read.meant}${powerTail}${unitTail} with a ${markName(decimal)} as decimal mark`,
		);
	if (power !== undefined && (read.kind === 'either' || read.grouped))
		return refuse(
			'number_grouping',
			'A power of ten goes with digits that are not grouped.',
			trimmed,
			'a number such as 1e3',
		);

	if (read.kind === 'either') {
		const other = markName(decimal === '.' ? ',' : '.');
		const reading = (digits: string, as: string): NumberReading => {
			const value = Number(minus + digits);
			const spelt = fullNumber(value, { decimal }) + unitTail;
			return { label: `${spelt} (${other} as ${as})`, text: spelt, value };
		};
		return {
			kind: 'ambiguous',
			readAs: [reading(read.decimal, 'decimal mark'), reading(read.grouped, 'thousands mark')],
		};
	}
	const value = Number(minus + read.digits + powerTail);
	if (!Number.isFinite(value) || (value === 0 && /[1-9]/u.test(read.digits)))
		return refuse(
			'number_out_of_reach',
			'This is too large or too close to zero to be kept.',
			trimmed,
			example,
		);
	return { kind: 'number', value: value === 0 ? 0 : value, unit: typedUnit?.id ?? null };
}

/**
 * Reads a number for a column of a given unit: a unit typed behind the number is converted into the
 * column's, no unit means the column's own. A unit of another dimension is a fault that names both;
 * so is any unit where the column has none.
 *
 * @example
 * parseQuantity('1180 kg/m3', 't/m3', { decimal: '.' }) // => {"kind":"number","value":1.18,"unit":"t/m3"}
 * parseQuantity('40 %', '1', { decimal: '.' }).value // => 0.4
 * parseQuantity('5 bar', 't/m3', { decimal: '.' }).fault.code // => "unit_mismatch"
 */
export function parseQuantity(
	text: string,
	columnUnit: UnitId | null,
	marks: TypedMarks,
): ParsedNumber {
	const parsed = parseNumber(text, marks);
	if (parsed.kind === 'empty' || parsed.kind === 'fault') return parsed;
	const typed = parsed.kind === 'number' ? parsed.unit : typedUnitOf(parsed.readAs, marks);
	if (typed !== null && columnUnit === null)
		return refuse(
			'unit_unwanted',
			`This column has no unit, ${unit(typed).label} was typed.`,
			text.trim(),
			'a number without a unit',
		);
	if (typed !== null && columnUnit !== null && !convertible(typed, columnUnit))
		return refuse(
			'unit_mismatch',
			`A ${unit(typed).dimension} in ${unit(typed).label} cannot be a ${unit(columnUnit).dimension}${unitPhrase(columnUnit)}.`,
			text.trim(),
			columnUnit === '1' ? 'a plain ratio or %' : `a number in ${unit(columnUnit).label}`,
		);
	const told = (value: number): number =>
		typed === null || columnUnit === null ? value : convert(value, typed, columnUnit);
	if (parsed.kind === 'number')
		return { kind: 'number', value: told(parsed.value), unit: columnUnit };
	return {
		kind: 'ambiguous',
		readAs: parsed.readAs.map((reading) => ({ ...reading, value: told(reading.value) })),
	};
}

const unitPhrase = (id: UnitId): string => (id === '1' ? '' : ` in ${unit(id).label}`);

function typedUnitOf(readAs: readonly NumberReading[], marks: TypedMarks): UnitId | null {
	const again = parseNumber(readAs[0]?.text ?? '', marks);
	return again.kind === 'number' ? again.unit : null;
}
