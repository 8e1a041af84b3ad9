import fc from 'fast-check';
import Papa from 'papaparse';
import { describe, expect, test } from 'vitest';
import { MODES } from '../../../calc/circuit/samples.ts';
import { faultLine } from '../../../calc/fault/fault.ts';
import { HEAD, iso, madeRecord, parse, START_S } from './madelogger.ts';

const bits = (values: readonly number[]): string[] =>
	[...new BigUint64Array(Float64Array.from(values).buffer)].map((each) => each.toString(16));

/** Numbers as loggers write them, and as they seldom do. */
const numeral = (max: number): fc.Arbitrary<string> =>
	fc.oneof(
		{
			weight: 6,
			arbitrary: fc
				.tuple(fc.integer({ min: 0, max: max - 1 }), fc.nat(9999), fc.integer({ min: 0, max: 4 }))
				.map(([whole, part, places]) =>
					places === 0 ? `${whole}` : `${whole}.${String(part).padStart(4, '0').slice(0, places)}`,
				),
		},
		{ weight: 1, arbitrary: fc.double({ min: 0, max: max - 1, noNaN: true }).map(String) },
		{
			weight: 1,
			arbitrary: fc.constantFrom(
				'',
				'0',
				'-0',
				'-0.0',
				'0.1',
				'1e0',
				'000.5',
				'0.30000000000000004',
				'0.000000000000000000001',
			),
		},
	);
const rowOf = fc.record({
	mode: fc.constantFrom(...MODES, ''),
	feed: numeral(2000),
	back: numeral(2000),
	pressure: numeral(20),
	step_ms: fc.oneof(fc.constant(1000), fc.integer({ min: 1, max: 90_000_000 })),
});

test('gives what a general CSV reader and Number() give, to the last bit, however the bytes are cut', () => {
	fc.assert(
		fc.property(
			fc.array(rowOf, { minLength: 1, maxLength: 40 }),
			fc.array(fc.integer({ min: 1, max: 200 }), { minLength: 1, maxLength: 5 }),
			fc.constantFrom('\n', '\r\n'),
			fc.boolean(),
			(rows, pieces, end, lastEnd) => {
				let ms = START_S * 1000;
				const lines = rows.map((row) => {
					ms += row.step_ms;
					return [iso(ms / 1000), row.mode, row.feed, '1.08', row.back, '1.19', row.pressure].join(
						',',
					);
				});
				const text = [`${HEAD},face_pressure_bar`, ...lines].join(end) + (lastEnd ? end : '');
				const ours = parse(text, pieces);
				expect(ours.faults.listed.map(faultLine)).toEqual([]);
				// papaparse splits, Number() and Date.parse() read: none of it is ours.
				const theirs = Papa.parse<Record<string, string>>(text, {
					header: true,
					skipEmptyLines: true,
				}).data;
				const numbers = (id: string): number[] =>
					theirs.map((row) => (row[id] === '' ? Number.NaN : Number(row[id]) || 0));
				expect(bits(ours.time_s)).toEqual(
					bits(theirs.map((row) => Date.parse(row.time ?? '') / 1000)),
				);
				for (const id of [
					'feed_flow_m3_h',
					'return_flow_m3_h',
					'face_pressure_bar',
					'return_density_t_m3',
				])
					expect(bits(ours.numbers[id] ?? [])).toEqual(bits(numbers(id)));
				expect(ours.mode).toEqual(
					theirs.map((row) => (row.mode === '' ? 255 : MODES.indexOf(row.mode as never))),
				);
			},
		),
		{ seed: 864, numRuns: 300 },
	);
});

test('the same bits in one piece and byte by byte, over more than one batch', () => {
	const text = madeRecord(20_000);
	const whole = parse(text);
	const cut = parse(text, [7, 1, 333]);
	expect(whole.time_s).toHaveLength(20_000);
	expect(bits(cut.numbers.feed_flow_m3_h ?? [])).toEqual(bits(whole.numbers.feed_flow_m3_h ?? []));
	expect(cut.time_s).toEqual(whole.time_s);
});

test('stamps may change their day, offset, length and form from row to row', () => {
	const stamps = [
		'2026-03-01T23:59:59Z',
		'2026-03-02T01:00:00.500+01:00',
		'2026-03-02T01:30+01:00',
		'2026-03-01T20:00:01-05:00',
		'2026-03-02 01:00:02.25Z',
		'2026-03-02T01:00:03Z',
		'2026-03-02T01:00:03.0004Z',
		'2026-03-02T01:00:03.0006Z',
	];
	const { time_s, faults } = parse(
		`${HEAD}\n${stamps.map((stamp) => `${stamp},stop,0,1.08,0,1.08`).join('\n')}\n`,
	);
	const at = (text: string): number => Date.parse(text) / 1000;
	expect(time_s).toEqual([
		at('2026-03-01T23:59:59Z'),
		at('2026-03-02T00:00:00.500Z'),
		at('2026-03-02T00:30:00Z'),
		at('2026-03-02T01:00:01Z'),
		at('2026-03-02T01:00:02.250Z'),
		at('2026-03-02T01:00:03Z'),
		at('2026-03-02T01:00:03.001Z'),
	]);
	// Two stamps within one millisecond are one.
	expect(faults.listed.map((fault) => [fault.code, fault.where.row])).toEqual([['stamp_twice', 8]]);
});

describe('what is wrong is told with file, row, column and value, and left out', () => {
	const good = (second: number): string =>
		`2026-03-02T00:00:${String(second).padStart(2, '0')}Z,advance,900,1.08,960,1.19`;
	const file = (...lines: string[]): string => `${HEAD}\n${lines.join('\n')}\n`;
	const cases: [
		string,
		string,
		{ code: string; row: number; column?: string; value?: string },
		number,
	][] = [
		[
			'a number that is none',
			file(good(1), good(2).replace('960', '9x0'), good(3)),
			{ code: 'number_text', row: 3, column: 'return_flow_m3_h', value: '9x0' },
			3,
		],
		[
			'a unit in a cell',
			file(good(1).replace('960', '960 m3/h')),
			{ code: 'number_text', row: 2, column: 'return_flow_m3_h', value: '960 m3/h' },
			1,
		],
		[
			'a point without digits',
			file(good(1).replace('960', '960.')),
			{ code: 'number_text', row: 2, column: 'return_flow_m3_h' },
			1,
		],
		[
			'a negative flow',
			file(good(1).replace('900', '-900')),
			{ code: 'value_below', row: 2, column: 'feed_flow_m3_h', value: '-900' },
			1,
		],
		[
			'a density in another unit',
			file(good(1).replace('1.08', '1080')),
			{ code: 'value_above', row: 2, column: 'feed_density_t_m3', value: '1080' },
			1,
		],
		[
			'an unknown mode',
			file(good(1).replace('advance', 'drilling')),
			{ code: 'choice_unknown', row: 2, column: 'mode', value: 'drilling' },
			1,
		],
		[
			'a time without offset',
			file(good(1).replace('Z', ''), good(2)),
			{ code: 'time_without_offset', row: 2, column: 'time', value: '2026-03-02T00:00:01' },
			1,
		],
		[
			'a day there is not',
			file(good(1).replace('03-02', '02-30'), good(2)),
			{ code: 'time_impossible', row: 2, column: 'time' },
			1,
		],
		[
			'an hour there is not',
			file(good(1), good(2).replace('T00', 'T24')),
			{ code: 'time_impossible', row: 3, column: 'time' },
			1,
		],
		[
			'no time',
			file(good(1).replace(/^[^,]*/u, ''), good(2)),
			{ code: 'cell_required', row: 2, column: 'time' },
			1,
		],
		[
			'too few fields',
			file(good(1), good(2).replace(',1.19', '')),
			{ code: 'fields_too_few', row: 3 },
			1,
		],
		[
			'too many fields',
			file(good(1).replace('1.08', '1,08'), good(2)),
			{ code: 'fields_too_many', row: 2 },
			1,
		],
		[
			'the same time twice',
			file(good(1), good(2), good(2), good(3)),
			{ code: 'stamp_twice', row: 4, column: 'time', value: '2026-03-02T00:00:02Z' },
			3,
		],
		[
			'an earlier time',
			file(good(1), good(5), good(3), good(6)),
			{ code: 'stamp_out_of_order', row: 4, column: 'time', value: '2026-03-02T00:00:03Z' },
			3,
		],
	];
	test.each(cases)('%s', (_, text, where, rows) => {
		const { faults, time_s } = parse(text);
		expect(faults.listed.map((fault) => ({ code: fault.code, ...fault.where }))).toMatchObject([
			{ file: 'logger.csv', ...where },
		]);
		expect(faults.stops).toBe(1);
		expect(faults.listed[0]?.where.expected).toBeTruthy();
		expect(time_s).toHaveLength(rows);
	});

	test('a cell that cannot be read is missing, never zero', () => {
		const { numbers } = parse(file(good(1).replace('960', '9x0').replace('900', '')));
		expect([
			numbers.return_flow_m3_h?.[0],
			numbers.feed_flow_m3_h?.[0],
			numbers.feed_density_t_m3?.[0],
		]).toEqual([Number.NaN, Number.NaN, 1.08]);
	});

	test('a little backward flow of a stopped meter stays', () => {
		const { numbers, faults } = parse(file(good(1).replace('900', '-3.5')));
		expect(numbers.feed_flow_m3_h).toEqual([-3.5]);
		expect(faults.stops).toBe(0);
	});

	test('columns in any order, unknown ones noted, texts left in the file, blank lines passed over', () => {
		const { numbers, faults, time_s } = parse(
			'note,weather,return_density_t_m3,return_flow_m3_h,feed_density_t_m3,feed_flow_m3_h,mode,time\nx,rain,1.19,960,1.08,900,stop,2026-03-02T00:00:01Z\n\n',
		);
		expect(time_s).toHaveLength(1);
		expect(numbers).toEqual({
			feed_flow_m3_h: [900],
			feed_density_t_m3: [1.08],
			return_flow_m3_h: [960],
			return_density_t_m3: [1.19],
		});
		expect(faults.listed.map((fault) => [fault.code, fault.weight])).toEqual([
			['heading_unknown', 'note'],
			['logger_text', 'note'],
		]);
	});

	test('a thousand faults are listed, the rest counted by code', () => {
		const bad = Array.from(
			{ length: 1200 },
			(_, i) => `${iso(START_S + i)},advance,x,1.08,960,1.19`,
		);
		const { faults, time_s } = parse(file(...bad));
		expect([faults.listed.length, faults.more, faults.moreByCode, time_s.length]).toEqual([
			1000,
			200,
			{ number_text: 200 },
			1200,
		]);
	});
});

describe('another dialect is refused with a word, not misread', () => {
	const row = '2026-03-02T00:00:01Z,advance,900,1.08,960,1.19';
	const cases: [string, string | Uint8Array, string][] = [
		['semicolons', `${HEAD}\n${row}\n`.replaceAll(',', ';'), 'separator'],
		['headings in quotation marks', `"${HEAD.replaceAll(',', '","')}"\n${row}\n`, 'logger_quotes'],
		['a required column missing', `${HEAD.replace(',return_flow_m3_h', '')}\n`, 'heading_missing'],
		[
			'a column in another unit',
			`${HEAD.replace('feed_density_t_m3', 'feed_density_kg_m3')}\n`,
			'heading_unit',
		],
		['nothing', '', 'file_empty'],
		['zero bytes in the header', Uint8Array.from([80, 65, 0, 10]), 'file_binary'],
		['zero bytes below it', new TextEncoder().encode(`${HEAD}\n${row}\n\0\0\n`), 'file_binary'],
		[
			'bytes that are no UTF-8 in the header',
			Uint8Array.from([137, 80, 78, 71, 10]),
			'file_binary',
		],
		['carriage returns alone', `${HEAD}\r${row}\r`, 'line_ends'],
		['no line ends', 'x'.repeat(200_000), 'line_too_long'],
	];
	test.each(cases)('%s', (_, text, code) => {
		const { faults, unusable } = parse(text);
		expect(faults.listed.map((fault) => fault.code)).toContain(code);
		expect(unusable).toBe(true);
	});

	test('a header and no rows is noted, not passed over', () => {
		const { faults, unusable } = parse(`${HEAD}\n`);
		expect(unusable).toBe(false);
		expect(faults.listed.map((fault) => [fault.code, fault.weight])).toEqual([
			['rows_none', 'note'],
		]);
	});

	test('a byte order mark is taken and noted', () => {
		const { faults, time_s } = parse(`\ufeff${HEAD}\n${row}\n`);
		expect([time_s.length, faults.listed.map((fault) => fault.code)]).toEqual([
			1,
			['byte_order_mark'],
		]);
	});
});
