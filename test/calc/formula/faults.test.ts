import { describe, expect, test } from 'vitest';
import { checkFormulas } from '../../../calc/formula/check.ts';
import { planFormulas } from '../../../calc/formula/columns.ts';
import { FormulaFigures } from '../../../calc/formula/recalculate.ts';
import type { UnitId } from '../../../calc/quantity/unit.ts';
import { columnsOf } from '../../../calc/sheet/catalogue.ts';
import { FORMULA_FUNCTIONS } from '../../../calc/sheet/functions.ts';
import { nameTrouble } from '../../../calc/sheet/ownname.ts';
import { columnOf, rowsOf } from './columnsof.ts';

const faultOf = (
	text: string,
	unit: UnitId | null = null,
	sheet: 'ledger' | 'readings' = 'ledger',
) => planFormulas(sheet, [columnOf('made', text, unit, sheet)]).columns[0]?.fault ?? null;

describe('what formulas do not hold', () => {
	test.each([
		'constructor',
		'__proto__',
		'toString()',
		'constructor("return 1")()',
		'cos.constructor("return process")()',
		'import("fs")',
		'import({ a: 1 }, { override: true })',
		'createUnit("foo")',
		'evaluate("1")',
		'parse("1")',
		'compile("1")',
		'parser()',
		'simplify("x")',
		'derivative("x^2", "x")',
		'resolve("x")',
		'help("mean")',
		'config({})',
		'chain(3)',
		'typed()',
		'reviver()',
		'f(x) = x',
		'f = 3',
		'x = 1; x',
		'1; 2',
		'[1, 2, 3]',
		'{a: 1}',
		'{}.constructor',
		'"a".length',
		'ratio_volume.constructor',
		'ratio_volume["constructor"]',
		'ratio_volume[1]',
		'1:5',
		"ratio_volume'",
		'5!',
		'~5',
		'5 & 3',
		'5 | 3',
		'1 << 3',
		'ratio_volume .* 2',
		'ratio_volume to 1',
		'5 mod 3',
		'5 % 3',
		'true xor false',
		'true',
		'null',
		'undefined',
		'NaN',
		'Infinity',
		'i',
		'1e999',
		'0x10',
		'0b11',
		'/(a+)+$/',
		'$1',
		'`1`',
		'\\u0061',
		'end',
		'# nothing',
		'"Marl"',
		'face_share(ring)',
		'map([1], f)',
		'random()',
		'now()',
		'print("x")',
		'sum([1, 2], 3)',
		'mean(ratio_volume, 1e9)',
		'mean(ratio_volume, 2.5)',
		'mean(ratio_volume, -1)',
		'mean(ratio_volume, ring)',
		'std(ratio_volume, 1)',
		'1 / 0',
		'10 ^ 400',
		'ratio_volume + 5 %',
		'',
		'   ',
		'(',
		')',
		'ratio_volume ratio_solids +',
		'mean',
		'mean()',
		'mean(ratio_volume)',
		'ratio_volume(3)',
		'ratio_volume and 1',
		'ratio_volume ? 1 : 2',
		'(ring > 1) + 1',
		'ring > 1 ? 1 : ring > 2',
		`${'('.repeat(1_000)}1${')'.repeat(1_000)}`,
		`${'-'.repeat(1_900)}1`,
		`${'not '.repeat(400)}(ring > 1)`,
		`${'ring ^ '.repeat(280)}1`,
		`${'ring > 1 ? 1 : '.repeat(130)}2`,
		`${'abs('.repeat(400)}1${')'.repeat(400)}`,
		`${'ring + '.repeat(280)}1`,
		`min(${Array(300).fill('1').join(', ')})`,
		'1'.repeat(3_000),
		`"${'x'.repeat(5_000)}"`,
		'\u0000',
		'ring\u2028+ 1; 2',
		'😀',
		'ｍean(ring, 3)',
		'ring() => 1',
		'ring -> 1',
		'ring ?? 1',
		'ring?.x',
		'...ring',
		'@ring',
	])('%j', (text) => {
		const fault = faultOf(text);
		expect(fault).not.toBeNull();
		expect(fault?.message).toMatch(/\.$/);
		expect(fault?.from).toBeGreaterThanOrEqual(0);
		expect(fault?.to).toBeGreaterThanOrEqual(fault?.from ?? 0);
		expect(fault?.to).toBeLessThanOrEqual(text.length);
	});

	test('and nothing of the language of the machine is reached by any name that objects carry', () => {
		for (const name of [
			'hasOwnProperty',
			'valueOf',
			'__defineGetter__',
			'prototype',
			'isPrototypeOf',
		]) {
			expect(faultOf(name)?.code).toBe('name_unknown');
			expect(faultOf(`${name}(1)`)?.code).toBe('function_unknown');
		}
	});
});

test('units that do not go together are told with both sides and the place', () => {
	const cases = [
		['volume_apparent_m3 + dry_solids_t', 'm3', 'units_differ', 19, 20],
		['volume_apparent_m3 > 100', null, 'units_differ', 19, 20],
		['max(volume_apparent_m3, 1 t)', 'm3', 'units_differ', 24, 27],
		['ring > 5 ? 1 m^3 : 1 t', 'm3', 'units_differ', 19, 22],
		['volume_apparent_m3 * dry_solids_t', 'm3', 'result_unit', 0, 33],
		['ratio_volume', 'm3', 'result_unit', 0, 12],
		['ring > 5', 'm3', 'result_truth', 0, 8],
		['exp(dry_solids_t)', null, 'not_plain', 4, 16],
		['2 ^ dry_solids_t', null, 'not_plain', 4, 16],
		['dry_solids_t ^ ring', 't', 'exponent_varies', 15, 19],
		['5 degF', 'degC', 'temperature_scale', 2, 6],
		['stratum', null, 'column_text', 0, 7],
		['stratum > "Marl"', null, 'text_order', 8, 9],
		['volume_aparent_m3', 'm3', 'name_unknown', 0, 17],
		['maen(ring, 3)', null, 'function_unknown', 0, 4],
	] as const;
	for (const [text, unit, code, from, to] of cases)
		expect(faultOf(text, unit), text).toMatchObject({ code, from, to });
	expect(faultOf('volume_aparent_m3', 'm3')?.expected).toBe('volume_apparent_m3');
	expect(faultOf('sand_pct > 5', null, 'readings')).toMatchObject({ code: 'share_bare', from: 11 });
	expect(faultOf('sand_pct > 5 %', null, 'readings')).toBeNull();
	expect(faultOf('mode == "drill"', null, 'readings')).toMatchObject({ code: 'choice_unknown' });
	expect(faultOf('at_ring(ph, 3)', null, 'readings')).toMatchObject({ code: 'function_ledger' });
	expect(faultOf('marsh_s_per_quart > 40 s/quart', null, 'readings')).toBeNull();
	expect(faultOf('marsh_s_per_quart > 40 s/L', null, 'readings')?.code).toBe('units_differ');
	expect(faultOf('change(temperature_c)', 'degC', 'readings')).toBeNull();
});

test('a ratio can be shown in %, and a unit in another of its kind', () => {
	const cells = [
		{ ring: 1, dry_solids_t: 150, dry_solids_expected_t: 160, volume_apparent_m3: 90 },
	];
	const plan = planFormulas('ledger', [
		columnOf('share', 'dry_solids_t / dry_solids_expected_t', '%'),
		columnOf('mass', 'dry_solids_t', 'kg'),
		columnOf('dense', 'dry_solids_t / volume_apparent_m3', 'g/cm3'),
		columnOf('over', 'share > 90 %'),
	]);
	const figures = new FormulaFigures(plan, rowsOf(cells));
	expect(figures.ids.map((id) => figures.value(id, 0))).toEqual([93.75, 150_000, 150 / 90, 1]);
});

test('columns in a ring of each other are named, the others go on', () => {
	const plan = planFormulas('ledger', [
		columnOf('a', 'b + 1'),
		columnOf('b', '2 * c'),
		columnOf('c', 'a'),
		columnOf('d', 'a + ring'),
		columnOf('f', 'ring'),
	]);
	expect(plan.columns.map((one) => one.fault?.message ?? null)).toEqual([
		'This goes round in a ring: a → b → c → a.',
		'This goes round in a ring: b → c → a → b.',
		'This goes round in a ring: c → a → b → c.',
		null,
		null,
	]);
	expect(plan.columns[1]?.fault).toMatchObject({ from: 4, to: 5 });
	const figures = new FormulaFigures(plan, rowsOf([{ ring: 7 }]));
	expect(figures.value('f', 0)).toBe(7);
	expect(figures.reasons('d', 0)).toEqual(['The formula of a cannot be used.']);
	expect(plan.columns.map((one) => one.usedBy)).toEqual([['c', 'd'], ['a'], ['b'], [], []]);
});

test('no formula column takes the place of a column, a function, a unit or a word', () => {
	for (const { id } of columnsOf('ledger').filter((one) => one.type === 'number'))
		expect(
			faultOf(id, columnsOf('ledger').find((one) => one.id === id)?.unit ?? null),
			id,
		).toBeNull();
	for (const { name } of FORMULA_FUNCTIONS) expect(nameTrouble(name), name).not.toBeNull();
	for (const name of [
		'bar',
		'm3',
		'and',
		'pi',
		'constructor',
		'tostring',
		'A',
		'1a',
		'a b',
		'',
		'é',
	])
		expect(nameTrouble(name), name).not.toBeNull();
	for (const name of ['volume_loss', 'a', 'x2', 'loss_3'])
		expect(nameTrouble(name), name).toBeNull();
});

test('rows of the sheet are judged together', () => {
	const row = (column_id: string, expression: string, sheet = 'ledger') => ({
		sheet,
		column_id,
		heading: column_id,
		expression,
	});
	const faults = checkFormulas([
		row('a', 'ratio_volume - 1'),
		row('b', 'a * 2'),
		row('c', 'a', 'readings'),
		row('d', 'b +'),
	]);
	expect(faults.map((fault) => [fault.where.row, fault.code])).toEqual([
		[3, 'name_unknown'],
		[4, 'syntax'],
	]);
	expect(faults[1]?.message).toBe('The formula is not finished. (Character 4.)');
});
