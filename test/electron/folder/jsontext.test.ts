import fc from 'fast-check';
import { expect, test } from 'vitest';
import { jsonDoubts } from '../../../electron/folder/jsontext.ts';

// RFC 8259 §4: names within an object should be unique, and of others the reader's behaviour is
// unpredictable; §6: numbers beyond the range of binary64 are not interoperable.

test('nothing is doubted of what a writer of JSON wrote', () => {
	fc.assert(
		fc.property(fc.jsonValue(), fc.constantFrom(undefined, '\t', 2), (value, indent) => {
			expect(jsonDoubts(JSON.stringify(value, null, indent))).toEqual([]);
		}),
		{ seed: 20_260_401, numRuns: 400 },
	);
});

test('a key twice is told at the second, wherever it stands and however it is written', () => {
	expect(jsonDoubts('{"a": {"x": 1}, "b": [{"c": 1,\n "c": {"d": [2]}}], "\\u0061": 3}')).toEqual([
		{ what: 'key_twice', key: 'b.0.c', row: 2, value: '1 and {"d": [2]}' },
		{ what: 'key_twice', key: 'a', row: 2, value: '{"x": 1} and 3' },
	]);
	expect(jsonDoubts('{"": "a", "a": 1}')).toEqual([]);
	expect(jsonDoubts('{"a": 1, "a": 2, "a": 3}')).toHaveLength(2);
});

test('a number that would become infinite or zero is told, one that is only rounded is not', () => {
	expect(
		jsonDoubts('[1e400,\n-2e999, 1e-400, 0.0, 0e999, -0, 1.7976931348623157e308, 5e-324]'),
	).toEqual([
		{ what: 'number_range', key: '0', row: 1, value: '1e400' },
		{ what: 'number_range', key: '1', row: 2, value: '-2e999' },
		{ what: 'number_range', key: '2', row: 2, value: '1e-400' },
	]);
	expect(jsonDoubts('{"a": "1e400"}')).toEqual([]);
});
