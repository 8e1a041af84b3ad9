import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { formatNumber, formatQuantity, fullNumber } from '../../../calc/quantity/format.ts';
import { parseNumber, parseQuantity } from '../../../calc/quantity/parse.ts';
import { UNITS } from '../../../calc/quantity/unit.ts';

const locales = fc.constantFrom(
	{ decimal: '.', group: '' } as const,
	{ decimal: ',', group: '' } as const,
	{ decimal: '.', group: '\u202f' } as const,
	{ decimal: ',', group: '\u00a0' } as const,
	{ decimal: '.', group: "'" } as const,
);
const values = fc.double({ min: -1e12, max: 1e12, noNaN: true });

describe('what is written is read back', () => {
	test('rounded to the decimals shown', () => {
		fc.assert(
			fc.property(values, fc.integer({ min: 0, max: 6 }), locales, (value, decimals, marks) => {
				const read = parseNumber(formatNumber(value, decimals, marks), marks);
				if (read.kind !== 'number') throw new Error(`${value}: ${JSON.stringify(read)}`);
				expect(Math.abs(read.value - value)).toBeLessThanOrEqual(
					0.5 * 10 ** -decimals + Math.abs(value) * 1e-15,
				);
			}),
			{ seed: 2130, numRuns: 2000 },
		);
	});

	test('in full to the last bit', () => {
		const wide = fc.oneof(values, fc.double({ min: -1e20, max: 1e20, noNaN: true }), fc.integer());
		fc.assert(
			fc.property(wide, fc.constantFrom('.' as const, ',' as const), (value, decimal) => {
				const text = fullNumber(value, { decimal });
				// Longer than anything a person types, and refused as such.
				fc.pre(text.length <= 80);
				expect(parseNumber(text, { decimal })).toEqual({
					kind: 'number',
					value: value === 0 ? 0 : value,
					unit: null,
				});
			}),
			{ seed: 2131, numRuns: 3000 },
		);
	});

	test('with its unit', () => {
		fc.assert(
			fc.property(
				fc.constantFrom(...UNITS.map((each) => each.id)),
				fc.integer({ min: -9_999_999, max: 9_999_999 }),
				(id, thousandths) => {
					const value = thousandths / 1000;
					const read = parseQuantity(formatQuantity(value, id, 3, { decimal: '.' }), id, {
						decimal: '.',
					});
					expect(read, id).toEqual({ kind: 'number', value, unit: id });
				},
			),
			{ seed: 2132, numRuns: 2000 },
		);
	});

	test('with commas between thousands it is read back or asked about, never misread', () => {
		fc.assert(
			fc.property(fc.integer({ min: -9_999_999, max: 9_999_999 }), (value) => {
				const marks = { decimal: '.', group: ',' } as const;
				const read = parseNumber(formatNumber(value, 0, marks), marks);
				const meant = read.kind === 'ambiguous' ? read.readAs.map((each) => each.value) : [];
				expect(read.kind === 'number' ? [read.value] : meant).toContain(value);
			}),
			{ seed: 2133, numRuns: 1000 },
		);
	});
});

test('groups of three, from the decimal mark leftwards', () => {
	const marks = { decimal: '.', group: ',' } as const;
	expect([1, 12, 123, 1234, 123_456, 1_234_567].map((v) => formatNumber(v, 0, marks))).toEqual([
		'1',
		'12',
		'123',
		'1,234',
		'123,456',
		'1,234,567',
	]);
	expect(formatNumber(1234.56789, 5, marks)).toBe('1,234.56789');
	expect(formatNumber(1e21, 1, marks)).toBe('1,000,000,000,000,000,000,000.0');
});

test('a value that rounds to nothing bears no sign, one that does not bears it', () => {
	expect(formatNumber(-0.004, 2, { decimal: '.' })).toBe('0.00');
	expect(formatNumber(-0.006, 2, { decimal: '.' })).toBe('-0.01');
});

test('a missing value is not a text', () => {
	for (const value of [Number.NaN, Infinity, -Infinity]) {
		expect(() => formatNumber(value, 1, { decimal: '.' })).toThrow(RangeError);
		expect(() => fullNumber(value, { decimal: '.' })).toThrow(RangeError);
	}
	expect(() => formatNumber(1, 1, { decimal: ',', group: ',' })).toThrow(RangeError);
});

test('full digits without powers of ten', () => {
	expect(fullNumber(1.5e-7, { decimal: ',' })).toBe('0,00000015');
	expect(fullNumber(-1.25e21, { decimal: '.' })).toBe('-1250000000000000000000');
	expect(fullNumber(1.18, { decimal: ',' })).toBe('1,18');
});
