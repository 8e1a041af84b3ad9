import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { columnsOf } from '../../../calc/sheet/catalogue.ts';
import { checkValue } from '../../../calc/sheet/cell.ts';
import type { CellValue } from '../../../calc/sheet/column.ts';
import { sheetTable } from '../../../electron/exchange/exportcolumns.ts';
import { readSheet } from '../../../electron/exchange/readsheet.ts';
import { sheetBytes } from '../../../electron/exchange/writesheet.ts';

/** Readings with any values their columns can hold, out and in again, bit by bit. */

const RUNS = { numRuns: 60, seed: 20_310_407 };
const OFFSETS = [-570, 0, 60, 345, 780];

const hostile = fc.string({
	unit: fc.constantFrom(...'=+-@\'"\t\r\n,;|\\_x0041_<>&#/ aé漢😀＝\u00a0'),
	minLength: 1,
	maxLength: 24,
});
const text = fc
	.oneof(hostile, fc.string({ unit: 'binary', minLength: 1, maxLength: 24 }))
	.map((each) => each.trim())
	.filter((each) => each !== '');

const row = fc.record(
	Object.fromEntries(
		columnsOf('readings')
			.filter((column) => column.kind === 'entered')
			.map((column): [string, fc.Arbitrary<CellValue>] => {
				const { type, min = -1e6, max = 1e6 } = column;
				const some: fc.Arbitrary<CellValue> =
					type === 'time'
						? fc.integer({ min: 1, max: 7_258_118_399_999 }).map((ms) => ms / 1000)
						: type === 'choice'
							? fc.constantFrom(...(column.choices ?? []))
							: type === 'integer'
								? fc.integer({ min, max })
								: type === 'number'
									? fc.double({ min, max, noNaN: true }).map((value) => value + 0)
									: text;
				const taken = some.filter(
					(value) => !checkValue(column, value).some(({ weight }) => weight === 'stop'),
				);
				return [column.id, column.required ? taken : fc.option(taken, { nil: null })];
			}),
	),
);

describe.each(['csv', 'xlsx'] as const)('any readings as %s', (form) => {
	it('come back as they were', () =>
		fc.assert(
			fc.asyncProperty(
				fc.array(row, { minLength: 1, maxLength: 6 }),
				fc.constantFrom(...OFFSETS),
				async (rows, utcOffset_min) => {
					const cells = rows.map((each) =>
						Object.fromEntries(Object.entries(each).filter(([, value]) => value !== null)),
					);
					const table = sheetTable(
						'readings',
						cells.map((each, id) => ({ id, cells: each })),
						utcOffset_min,
					);
					const read = await readSheet({
						sheet: 'readings',
						file: `readings.${form}`,
						bytes: await sheetBytes(table, form),
						reading: { existing: 'update' },
						utcOffset_min: 0,
					});
					if ('fault' in read) throw new Error(read.fault.message);
					const stops = read.look.rows.flatMap(({ faults }) =>
						faults.filter(({ weight }) => weight === 'stop'),
					);
					expect(stops).toEqual([]);
					expect(read.look.rows.map((each) => each.cells)).toEqual(cells);
				},
			),
			RUNS,
		));
});
