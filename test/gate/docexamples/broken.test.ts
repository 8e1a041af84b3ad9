import { describe, expect, test } from 'vitest';
import { difference, readExpected } from './expected.ts';
import { findExamples, findExports } from './find.ts';
import { runExample } from './run.ts';

/** The runner of doc examples is itself held to account: examples that are wrong must be called so. */

const half = (value: number): number => value / 2;
const comment = (...lines: string[]): string =>
	`/**\n * Half of it.\n *\n * @example\n${lines.map((line) => ` * ${line}`).join('\n')}\n */\nexport function half(value: number): number { return value / 2; }\n`;
const run = async (source: string): Promise<string[]> => {
	const [example] = findExamples(source, 'half.ts');
	if (example === undefined) throw new Error('no example was found');
	return runExample(example, { half }, async () => ({ three: 3 }));
};

describe('an example that holds', () => {
	test.each([
		['one line', ['half(3) // => 1.5']],
		['the value on the next line', ['half(3)', '// => 1.5']],
		[
			'statements first',
			['const a = 3;', 'const b = half(a);', 'b // => 1.5', 'half(b) // => 0.75'],
		],
		['a call over several lines', ['half(', '\t3,', ')', '// => 1.5']],
		['fewer printed digits', ['half(2 / 3) // => 0.3333']],
		[
			'lists and objects',
			["({ a: [half(1)], b: undefined, 'c': 'x' }) // => {a: [0.5], \"c\": 'x'}"],
		],
		['typed arrays', ['Float64Array.of(1, NaN) // => [1, NaN]']],
		['an import beside the file', ["import { three } from './three.ts';", 'half(three) // => 1.5']],
		['a value named like an export', ['const half = 7;', 'half // => 7']],
		['an arrow inside a text', ['\'// => \' + half(2) // => "// => 1"']],
	])('%s', async (_, lines) => {
		expect(await run(comment(...lines))).toEqual([]);
	});
});

describe('an example that does not hold is told', () => {
	test.each([
		['a wrong number', ['half(3) // => 1.6'], /line 5: half\(3\): the value is 1\.5, not 1\.6/u],
		['a whole number is not rounded to', ['half(3) // => 2'], /is 1\.5, not 2/u],
		['a digit too far', ['half(2 / 3) // => 0.33334'], /not 0\.33334/u],
		['a wrong text', ['\'a\' // => "b"'], /is "a", not "b"/u],
		['a number for a text', ["'1' // => 1"], /not a number/u],
		['a missing key', ['({}) // => {"a": 1}'], /\.a is undefined/u],
		['a key too many', ['({ a: 1, b: 2 }) // => {"a": 1}'], /also has b/u],
		['a shorter list', ['[1] // => [1, 2]'], /has 1 items, not 2/u],
		['NaN for a number', ['half(NaN) // => 1'], /is NaN, not 1/u],
		['a number for NaN', ['half(2) // => NaN'], /not NaN/u],
		['the second check of two', ['half(2) // => 1', 'half(2) // => 2'], /line 6/u],
		['a throw', ['half.of(3) // => 1.5'], /throws: TypeError/u],
		['an unknown name', ['third(3) // => 1'], /ReferenceError/u],
		['nothing checked', ['half(3)'], /nothing is checked/u],
		['a statement after the last check', ['half(2) // => 1', 'half(4)'], /no check follows/u],
		['a statement for an expression', ['const a = 3; // => 3'], /no expression/u],
		['nothing expected', ['half(2) // =>'], /nothing after/u],
		['code for a value', ['half(2) // => half(2)'], /not a plain value/u],
		['code that does not parse', ['half(2 // => 1'], /no expression/u],
	])('%s', async (_, lines, why) => {
		const failures = await run(comment(...lines));
		expect(failures).toHaveLength(1);
		expect(failures[0]).toMatch(why);
	});
});

test('the line after another tag is not part of the example', () => {
	const source = '/**\n * @example\n * 1 // => 1\n * @see 2 // => 3\n */\nexport const x = 1;\n';
	expect(findExamples(source, 'x.ts').map((one) => one.checks.length)).toEqual([1]);
});

test('exports without an example are found, whatever they are declared as', () => {
	const source =
		'/** No example. */\nexport function a() {}\nexport const b = () => 1;\n/** @example 1 // => 1 */\nexport class C {}\nexport const d = 4;\nexport type E = 1;\nconst f = () => 2;\n';
	expect(findExports(source, 'x.ts')).toEqual([
		{ name: 'a', callable: true, documented: true, hasExample: false },
		{ name: 'b', callable: true, documented: false, hasExample: false },
		{ name: 'C', callable: true, documented: true, hasExample: true },
		{ name: 'd', callable: false, documented: false, hasExample: false },
	]);
});

test('printed digits set how close a number must be', () => {
	expect(difference(998.20674, readExpected('998.2067'))).toBeNull();
	expect(difference(998.20676, readExpected('998.2067'))).not.toBeNull();
	expect(difference(1e6 + 1e-4, readExpected('1000000'))).toBeNull();
	expect(difference(1e6 + 1e-2, readExpected('1000000'))).not.toBeNull();
	expect(difference(-0.25, readExpected('-0.25'))).toBeNull();
});
