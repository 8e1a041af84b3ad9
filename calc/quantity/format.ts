import type { DecimalMark } from './parse.ts';
import { type UnitId, unit } from './unit.ts';

export interface NumberMarks {
	readonly decimal: DecimalMark;
	/** Between groups of three digits; empty or missing for none. */
	readonly group?: '' | ',' | '.' | ' ' | "'" | '\u00a0' | '\u202f';
}

/**
 * A number with a fixed count of decimals. The exact binary value is rounded, halves away from
 * zero; a value that rounds to zero bears no sign. Missing and infinite values throw: a blank is
 * shown as a blank by whoever holds it, not by a formatter.
 *
 * @example
 * formatNumber(1180.5, 1, { decimal: '.', group: ',' }) // => "1,180.5"
 * formatNumber(-1180.5, 2, { decimal: ',', group: '.' }) // => "-1.180,50"
 * formatNumber(-0.001, 2, { decimal: '.' }) // => "0.00"
 */
export function formatNumber(value: number, decimals: number, marks: NumberMarks): string {
	if (!Number.isFinite(value)) throw new RangeError(`a shown number must be finite, got ${value}`);
	const group = marks.group ?? '';
	if (group === marks.decimal) throw new RangeError('the group mark must differ from the decimal');
	const digits = fixed(Math.abs(value), decimals);
	const [whole = '0', part = ''] = digits.split('.');
	const sign = value < 0 && /[1-9]/u.test(digits) ? '-' : '';
	const grouped = group === '' ? whole : whole.replace(/\B(?=(?:\d{3})+$)/gu, group);
	return part === '' ? sign + grouped : sign + grouped + marks.decimal + part;
}

/** toFixed turns to powers of ten at 1e21; a double that large is a whole number, which BigInt spells out. */
function fixed(value: number, decimals: number): string {
	if (value < 1e21) return value.toFixed(decimals);
	return decimals === 0 ? String(BigInt(value)) : `${BigInt(value)}.${'0'.repeat(decimals)}`;
}

/**
 * A number with all the digits it takes to get the same number back, and no grouping: what a cell
 * editor starts from.
 *
 * @example
 * fullNumber(0.0000012, { decimal: ',' }) // => "0,0000012"
 * fullNumber(1180, { decimal: '.' }) // => "1180"
 */
export function fullNumber(value: number, marks: NumberMarks): string {
	if (!Number.isFinite(value)) throw new RangeError(`a shown number must be finite, got ${value}`);
	const short = String(value);
	const match = /^(-?)(\d+)(?:\.(\d+))?e([+-]\d+)$/u.exec(short);
	let plain = short;
	if (match) {
		const [, sign = '', whole = '', part = '', power = '0'] = match;
		const digits = whole + part;
		const point = whole.length + Number(power);
		if (point <= 0) plain = `${sign}0.${'0'.repeat(-point)}${digits}`;
		else plain = `${sign}${digits.padEnd(point, '0')}`;
	}
	return plain.replace('.', marks.decimal);
}

/**
 * A number with its unit as written on screen: no-break space before the unit, none before the
 * degree sign of an angle, no unit for a plain ratio.
 *
 * @example
 * formatQuantity(1.18, 't/m3', 3, { decimal: '.' }) // => "1.180\u00a0t/m³"
 * formatQuantity(120, 'deg', 0, { decimal: '.' }) // => "120°"
 * formatQuantity(0.98, '1', 2, { decimal: ',' }) // => "0,98"
 */
export function formatQuantity(
	value: number,
	id: UnitId,
	decimals: number,
	marks: NumberMarks,
): string {
	const number = formatNumber(value, decimals, marks);
	if (id === '1') return number;
	return id === 'deg' ? `${number}°` : `${number}\u00a0${unit(id).label}`;
}
