import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { SeriesColumn } from '../../../electron/logger/parquet/column.ts';
import { decodeParquet, SeriesDamaged } from '../../../electron/logger/parquet/decode.ts';
import { encodeParquet } from '../../../electron/logger/parquet/encode.ts';
import { emptyFolder } from './madelogger.ts';

const WORDS = ['advance', 'bypass', 'back_flush', 'stop'];

/** Any series: steps of a millisecond to weeks, missing cells, decimals of any size, full doubles. */
const series = fc.integer({ min: 1, max: 600 }).chain((count) => {
	const many = <T>(arbitrary: fc.Arbitrary<T>) =>
		fc.array(arbitrary, { minLength: count, maxLength: count });
	const decimal = fc.integer({ min: 0, max: 9 }).chain((decimals) =>
		many(fc.option(fc.integer({ min: -999_999_999, max: 999_999_999 }), { freq: 4 })).map(
			(values): SeriesColumn => ({
				kind: 'number',
				name: 'decimal',
				decimals,
				values: Float64Array.from(values, (value) =>
					value === null ? Number.NaN : value / 10 ** decimals,
				),
			}),
		),
	);
	const double = many(
		fc.oneof(fc.double({ noDefaultInfinity: true, noNaN: true }), fc.constant(Number.NaN)),
	).map(
		(values): SeriesColumn => ({
			kind: 'number',
			name: 'any',
			decimals: null,
			values: Float64Array.from(values),
		}),
	);
	const tooLarge = many(fc.constantFrom(1e9, 12_345_678_901.5, Number.NaN)).map(
		(values): SeriesColumn => ({
			kind: 'number',
			name: 'large',
			decimals: 1,
			values: Float64Array.from(values),
		}),
	);
	const empty = fc.constant<SeriesColumn>({
		kind: 'number',
		name: 'empty',
		decimals: 2,
		values: new Float64Array(count).fill(Number.NaN),
	});
	const steps = many(fc.oneof(fc.constant(1000), fc.integer({ min: 1, max: 2_000_000_000 }))).map(
		(all): SeriesColumn => {
			let ms = 1_772_000_000_000;
			const stamps = all.map((step) => {
				ms += step;
				return ms / 1000;
			});
			return {
				kind: 'time',
				name: 'time',
				values: Float64Array.from(stamps),
			};
		},
	);
	const mode = many(fc.constantFrom(0, 0, 0, 1, 2, 3, 255)).map(
		(values): SeriesColumn => ({
			kind: 'word',
			name: 'mode',
			values: Uint8Array.from(values),
			words: WORDS,
		}),
	);
	return fc
		.tuple(steps, mode, decimal, double, tooLarge, empty)
		.map((columns) => ({ count, columns }));
});

const bits = (values: Float64Array): string =>
	Buffer.from(values.buffer, values.byteOffset, values.byteLength).toString('hex');

test('every column comes back to the last bit', () => {
	fc.assert(
		fc.property(series, ({ count, columns }) => {
			const back = decodeParquet(encodeParquet(columns, count, 'test'), () => true);
			expect(back.count).toBe(count);
			columns.forEach((column, at) => {
				const read = back.columns[at];
				expect(read?.name).toBe(column.name);
				if (column.kind === 'word') expect(read?.values).toEqual(column.values);
				else expect(bits(read?.values as Float64Array)).toBe(bits(column.values));
			});
		}),
		{ seed: 31, numRuns: 200 },
	);
});

test('DuckDB reads the same values, names and types', async () => {
	const folder = await emptyFolder();
	const instance = await DuckDBInstance.create(':memory:');
	const connection = await instance.connect();
	let n = 0;
	await fc.assert(
		fc.asyncProperty(series, async ({ count, columns }) => {
			const path = join(folder, `${n++}.parquet`);
			writeFileSync(path, encodeParquet(columns, count, 'test'));
			const reader = await connection.runAndReadAll(
				`SELECT epoch_ms(time)::DOUBLE / 1000, mode, "decimal"::VARCHAR, "any", large, empty FROM read_parquet('${path}')`,
			);
			const [time, mode, decimal, any, large, empty] = reader.getColumnsJS();
			const given = (at: number): number[] => [...(columns[at]?.values ?? [])];
			const missing = (at: number): (number | null)[] =>
				given(at).map((value) => (Number.isNaN(value) ? null : value));
			expect(time).toEqual(given(0));
			expect(mode).toEqual(given(1).map((index) => WORDS[index] ?? null));
			expect(decimal?.map((value) => (value === null ? null : Number(value)))).toEqual(missing(2));
			expect(any).toEqual(missing(3));
			expect(large).toEqual(missing(4));
			expect(empty).toEqual(missing(5));
		}),
		{ seed: 32, numRuns: 40 },
	);
	const types = await connection.runAndReadAll(
		`DESCRIBE SELECT * FROM read_parquet('${join(folder, '0.parquet')}')`,
	);
	expect(
		types
			.getColumnsJS()
			.slice(0, 2)
			.map((column) => column.slice(0, 4).map(String)),
	).toEqual([
		['time', 'mode', 'decimal', 'any'],
		['TIMESTAMP WITH TIME ZONE', 'VARCHAR', expect.stringMatching(/^DECIMAL\(9,\d\)$/u), 'DOUBLE'],
	]);
	connection.closeSync();
});

test('a damaged file is told, not read as something else', () => {
	const columns: SeriesColumn[] = [
		{ kind: 'time', name: 'time', values: Float64Array.of(1, 2, 3) },
		{ kind: 'number', name: 'a', decimals: 1, values: Float64Array.of(1.5, Number.NaN, 2) },
	];
	const file = encodeParquet(columns, 3, 'test');
	expect(() => decodeParquet(file.slice(0, -1), () => true)).toThrow(SeriesDamaged);
	expect(() => decodeParquet(file.slice(4), () => true)).toThrow(SeriesDamaged);
	expect(() => decodeParquet(new Uint8Array(0), () => true)).toThrow(SeriesDamaged);
});
