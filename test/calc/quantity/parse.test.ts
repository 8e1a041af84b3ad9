import { describe, expect, test } from 'vitest';
import { parseNumber, parseQuantity } from '../../../calc/quantity/parse.ts';

const dot = { decimal: '.' } as const;
const comma = { decimal: ',' } as const;

describe('numbers that mean one thing', () => {
	test.each([
		['1180', dot, 1180],
		['1180', comma, 1180],
		['1.18', dot, 1.18],
		['1,18', comma, 1.18],
		['1.180', dot, 1.18],
		['1,180', comma, 1.18],
		['1,180.5', dot, 1180.5],
		['1.180,5', comma, 1180.5],
		['12,345,678', dot, 12_345_678],
		['12.345.678', comma, 12_345_678],
		['1 180', dot, 1180],
		['1\u00a0180,25', comma, 1180.25],
		['1\u202f180.25', dot, 1180.25],
		['1\u2009180', dot, 1180],
		["1'180.5", dot, 1180.5],
		['1’180’000', dot, 1_180_000],
		['.5', dot, 0.5],
		[',5', comma, 0.5],
		['+5', dot, 5],
		['-5', dot, -5],
		['\u22125.5', dot, -5.5],
		['1e3', dot, 1000],
		['1E-3', dot, 0.001],
		['1.5e+2', dot, 150],
		['1e\u22122', dot, 0.01],
		['007', dot, 7],
		['  42  ', dot, 42],
		['\u00a042\u00a0', dot, 42],
		['0', dot, 0],
	])('%j', (text, marks, value) => {
		expect(parseNumber(text, marks)).toEqual({ kind: 'number', value, unit: null });
	});

	test('minus zero is zero', () => {
		const read = parseNumber('-0.0', dot);
		expect(read.kind === 'number' && Object.is(read.value, 0)).toBe(true);
	});
});

describe('numbers that could be two are asked about', () => {
	test.each([
		['1,180', dot, [1.18, 1180], ['1.18', '1180']],
		['1.180', comma, [1.18, 1180], ['1,18', '1180']],
		['999,999', dot, [999.999, 999_999], ['999.999', '999999']],
		['-12,500', dot, [-12.5, -12_500], ['-12.5', '-12500']],
		['1,180 kg/m3', dot, [1.18, 1180], ['1.18 kg/m3', '1180 kg/m3']],
	])('%j', (text, marks, values, texts) => {
		const read = parseNumber(text, marks);
		if (read.kind !== 'ambiguous') throw new Error(`${text} was read as ${read.kind}`);
		expect(read.readAs.map((each) => each.value)).toEqual(values);
		expect(read.readAs.map((each) => each.text)).toEqual(texts);
		for (const each of read.readAs)
			expect(parseNumber(each.text, marks)).toMatchObject({ kind: 'number', value: each.value });
	});
});

describe('what is not a number is refused whole, with a hint', () => {
	test.each([
		['1,18', dot, 'number_decimal_mark', '1.18 with a dot as decimal mark'],
		['1.18 t/m3', comma, 'number_decimal_mark', '1,18 t/m3 with a comma as decimal mark'],
		['-1,18', dot, 'number_decimal_mark', '-1.18 with'],
		['0,180', dot, 'number_decimal_mark', '0.180 with'],
		['1.180.000', dot, 'number_decimal_mark', '1180000 with'],
		['1,180.5', comma, 'number_decimal_mark', '1180,5 with'],
		['12,34,567', dot, 'number_grouping', 'groups of three'],
		['1,1800', dot, 'number_decimal_mark', '1.1800 with'],
		['1.2.3', dot, 'number_grouping', ''],
		['1 18', dot, 'number_grouping', ''],
		['1 180,5', dot, 'number_decimal_mark', '1180.5'],
		["1 180'000", dot, 'number_grouping', ''],
		['1,,180', dot, 'number_grouping', ''],
		['1,180e3', dot, 'number_grouping', '1e3'],
		['1 180e3', dot, 'number_grouping', '1e3'],
		['5.', dot, 'number_text', ''],
		['5-', dot, 'number_text', ''],
		['5–6', dot, 'number_text', ''],
		['--5', dot, 'number_text', ''],
		['5 kg/m3 6', dot, 'number_text', ''],
		['12:30', dot, 'number_text', ''],
		['0x1F', dot, 'number_text', ''],
		['1e', dot, 'unit_unknown', ''],
		['12abc', dot, 'unit_unknown', ''],
		['NaN', dot, 'number_text', ''],
		['Infinity', dot, 'number_text', ''],
		['1e999', dot, 'number_out_of_reach', ''],
		['1e-999', dot, 'number_out_of_reach', ''],
		['1\t180', dot, 'number_text', ''],
		['1\u200b180', dot, 'number_text', ''],
		['١٢', dot, 'number_text', ''],
		['１２', dot, 'number_text', ''],
	])('%j', (text, marks, code, hint) => {
		const read = parseNumber(text, marks);
		if (read.kind !== 'fault') throw new Error(`${text} was read as ${JSON.stringify(read)}`);
		expect(read.fault.code).toBe(code);
		expect(read.fault.where.expected).toContain(hint);
	});
});

test('nothing typed is empty, not 0', () => {
	for (const text of ['', ' ', '\u00a0', '\n'])
		expect(parseNumber(text, dot)).toEqual({ kind: 'empty' });
});

describe('a quantity for a column', () => {
	test.each([
		['1180 kg/m3', 't/m3', 1.18],
		['1.18 t/m³', 't/m3', 1.18],
		['1.18', 't/m3', 1.18],
		['1150 m³/h', 'm3/h', 1150],
		['320 L/s', 'm3/h', 1152],
		['40 %', '1', 0.4],
		['0.4', '1', 0.4],
		['68 °F', 'degC', 20],
		['1.9 m', 'mm', 1900],
		['36 s/quart', 's/quart', 36],
		['90°', 'deg', 90],
	] as const)('%s', (text, column, value) => {
		const read = parseQuantity(text, column, dot);
		if (read.kind !== 'number') throw new Error(JSON.stringify(read));
		expect(read.value).toBeCloseTo(value, 12);
		expect(read.unit).toBe(column);
	});

	test('an ambiguous one is told in the column’s unit', () => {
		const read = parseQuantity('1,180 kg/m3', 't/m3', dot);
		if (read.kind !== 'ambiguous') throw new Error(read.kind);
		expect(read.readAs[0]?.value).toBeCloseTo(0.00118, 15);
		expect(read.readAs[1]?.value).toBe(1.18);
	});

	test('a unit of another kind names both', () => {
		const read = parseQuantity('5 bar', 't/m3', dot);
		if (read.kind !== 'fault') throw new Error(read.kind);
		expect(read.fault).toMatchObject({
			code: 'unit_mismatch',
			message: 'A pressure in bar cannot be a density in t/m³.',
		});
		expect(parseQuantity('28 s/L', 's/quart', dot).kind).toBe('fault');
	});

	test('a unit where none belongs is refused', () => {
		expect(parseQuantity('7 m', null, dot)).toMatchObject({
			kind: 'fault',
			fault: { code: 'unit_unwanted' },
		});
		expect(parseQuantity('1,180 m', null, dot).kind).toBe('fault');
		expect(parseQuantity('7', null, dot)).toEqual({ kind: 'number', value: 7, unit: null });
	});
});
