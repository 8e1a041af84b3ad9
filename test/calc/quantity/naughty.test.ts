import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parseNumber } from '../../../calc/quantity/parse.ts';
import { parseTime } from '../../../calc/quantity/time.ts';
import { findUnit } from '../../../calc/quantity/unit.ts';

/**
 * Texts that have made text readers elsewhere crash, hang or believe the wrong number, by kind of
 * trouble. None of them is a number, a time or a unit of this desk.
 */
const NAUGHTY: Readonly<Record<string, readonly string[]>> = {
	'names of nothing': [
		'undefined',
		'null',
		'NULL',
		'nil',
		'None',
		'true',
		'n/a',
		'#N/A',
		'-',
		'--',
		'?',
	],
	'names of numbers': [
		'NaN',
		'nan',
		'-NaN',
		'Infinity',
		'-Infinity',
		'inf',
		'1.#INF',
		'1.#QNAN',
		'∞',
	],
	'other notations': [
		'0x10',
		'0b11',
		'0o17',
		'1_000',
		'1e',
		'1e+',
		'e3',
		'1e3e3',
		'1e1.5',
		'10n',
		'1/2',
		'½',
		'²',
		'Ⅳ',
		'五',
		'1+1',
		'=1+1',
		'=CMD()',
		'2**3',
	],
	'other digits': ['１２３', '١٢٣', '१२३', '𝟏𝟐', '1２'],
	'money and marks': [
		'$1',
		'1€',
		'(5)',
		'5-',
		'<5',
		'>5',
		'~5',
		'≈5',
		'±5',
		'5±1',
		'5..6',
		'5…',
		'#5',
		'5;6',
	],
	'too many marks': [
		'1,,2',
		'1..2',
		',',
		'.',
		',.',
		'1,.5',
		'1.,5',
		',,,',
		'...',
		"1''000",
		'1  180',
		"'5",
		'’5',
	],
	'broken groups': ['1,2345,678', '12,34', '1,23,4', '1 2 3', '1234,567,890', '01,234'],
	'invisible letters': [
		'\u200b',
		'1\u200b',
		'\u202e12',
		'12\u202c',
		'1\u00ad2',
		'\u2060',
		'1\u061c',
		'\u180e5',
	],
	'control letters': [
		'\u0000',
		'1\u00002',
		'1\u00072',
		'1\n2',
		'1\r\n2',
		'1\t2',
		'\u001b[31m5',
		'1\u2028000',
	],
	'half letters': ['\ud800', '5\udc00', '\ufffd', '5\ufffe'],
	'very long': [
		'9'.repeat(100_000),
		'1'.repeat(400),
		`${' 1'.repeat(5000)}`,
		`1${',000'.repeat(5000)}`,
		`0.${'0'.repeat(500)}1`,
	],
	'keys of objects': [
		'constructor',
		'__proto__',
		'toString',
		'hasOwnProperty',
		'5 constructor',
		'5 __proto__',
	],
	'pieces of programs': [
		"'; DROP TABLE rings; --",
		'<script>1</script>',
		'$(reboot)',
		'{{7*7}}',
		'../../etc/passwd',
		'%s%n',
		'%00',
	],
	'times of other clocks': [
		'03/04/2026',
		'3.4.2026',
		'2026-13-01T00:00Z',
		'2026-02-30T00:00Z',
		'2026-03-01T24:00Z',
		'2026-03-01T12:60Z',
		'2026-03-01T12:00:60Z',
		'2026-W10-1',
		'2026-060',
		'20260301T120000Z',
		'12:30 pm',
		'2026-03-01',
		'2026-03-01T12:00+25:00',
		'2026-03-01T12:00Europe',
	],
	words: [
		'twelve',
		'sandy',
		'mm',
		'kg/m3',
		't',
		'e',
		'E',
		'ring 12',
		'12 rings',
		'5 %%',
		'5 kg kg',
		'5 m3/h/h',
	],
};

describe.each(Object.entries(NAUGHTY))('%s', (_, texts) => {
	test.each(
		texts.map((text) => [text.length > 40 ? `${text.slice(0, 20)}… (${text.length})` : text, text]),
	)('%j is no number and no time', (_, text) => {
		for (const decimal of ['.', ','] as const) {
			const read = parseNumber(text, { decimal });
			if (read.kind !== 'fault') {
				// A comma or dot may be right in one of the two locales, and only there.
				expect(['12,34', '01,234']).toContain(text);
				expect(decimal).toBe(',');
				continue;
			}
			expect(read.fault.message).not.toBe('');
			expect(read.fault.where.value?.length).toBeLessThanOrEqual(80);
			expect(read.fault.where.expected).not.toBe('');
		}
		expect(parseTime(text, { utcOffset_min: 0, day_s: 0 }).kind).toBe('fault');
		expect(parseTime(text).kind).toBe('fault');
	});
});

test('no text at all makes a reader throw or give a number that is not finite', () => {
	const texts = fc.oneof(
		fc.string({ unit: 'grapheme', maxLength: 30 }),
		fc.string({
			unit: fc.constantFrom(..."0123456789.,'’ \u00a0\u202f-+−eE%°mhtkg/³"),
			maxLength: 14,
		}),
	);
	fc.assert(
		fc.property(texts, fc.constantFrom('.' as const, ',' as const), (text, decimal) => {
			const read = parseNumber(text, { decimal });
			if (read.kind === 'number') expect(Number.isFinite(read.value)).toBe(true);
			if (read.kind === 'number') expect(text).toMatch(/\d/u);
			if (read.kind === 'ambiguous') expect(read.readAs).toHaveLength(2);
			if (read.kind === 'empty') expect(text.trim()).toBe('');
			expect(['time', 'empty', 'fault']).toContain(parseTime(text, { utcOffset_min: 0 }).kind);
			findUnit(text);
		}),
		{ seed: 2120, numRuns: 5000 },
	);
});

test('every digit typed is in the number: no reader stops half way', () => {
	const plain = fc.string({ unit: fc.constantFrom(...'0123456789'), minLength: 1, maxLength: 15 });
	fc.assert(
		fc.property(plain, plain, (whole, part) => {
			expect(parseNumber(`${whole}.${part}`, { decimal: '.' })).toEqual({
				kind: 'number',
				value: Number(`${whole}.${part}`),
				unit: null,
			});
		}),
		{ seed: 2121, numRuns: 1000 },
	);
});
