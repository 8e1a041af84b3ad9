import { mkdirSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { openArchive } from '../../../electron/logger/archive.ts';
import type { LoggerBatch } from '../../../electron/logger/batch.ts';
import { type DayRows, mergeDay, type SeriesConflict } from '../../../electron/logger/mergeday.ts';
import { SeriesWriter } from '../../../electron/logger/serieswriter.ts';
import { emptyFolder } from './madelogger.ts';

/** Rows as a plain map, the simplest thing that can be right: time → [mode, flow, density]. */
type Rows = ReadonlyMap<number, readonly [number, number, number]>;

const MODE_NONE = 255;

function dayOf(rows: Rows): DayRows {
	const times = [...rows.keys()].sort((a, b) => a - b);
	const column = (at: 0 | 1 | 2): number[] => times.map((time) => rows.get(time)![at]);
	return {
		count: times.length,
		time_s: Float64Array.from(times),
		mode: Uint8Array.from(column(0)),
		numbers: [
			{ id: 'feed_flow_m3_h', values: Float64Array.from(column(1)), decimals: 1 },
			{ id: 'feed_density_t_m3', values: Float64Array.from(column(2)), decimals: 4 },
		],
	};
}

function rowsOf(day: DayRows): Map<number, readonly [number, number, number]> {
	const [flow, density] = day.numbers;
	return new Map(
		Array.from({ length: day.count }, (_, i) => [
			day.time_s[i]!,
			[day.mode[i]!, flow!.values[i]!, density!.values[i]!] as const,
		]),
	);
}

const figure = fc.oneof(fc.constant(Number.NaN), fc.integer({ min: 1, max: 3 }));
const someRows = fc
	.array(
		fc.tuple(
			fc.integer({ min: 0, max: 30 }),
			fc.tuple(fc.constantFrom(0, 1, MODE_NONE), figure, figure),
		),
		{ maxLength: 25 },
	)
	.map((list): Rows => new Map(list));

const isMissing = (at: number, value: number): boolean =>
	at === 0 ? value === MODE_NONE : Number.isNaN(value);

test('merging is, figure by figure, what a map of rows would make of it, and every row is counted once', () => {
	fc.assert(
		fc.property(
			someRows,
			someRows,
			fc.constantFrom('refuse' as const, 'keepBefore' as const, 'takeFile' as const),
			(there, file, onConflict) => {
				const told: SeriesConflict[] = [];
				const { rows, count } = mergeDay(dayOf(there), dayOf(file), onConflict, (one) => {
					told.push(one);
				});
				const expected = new Map<number, readonly number[]>();
				let conflicts = 0;
				for (const time of [...new Set([...there.keys(), ...file.keys()])].sort((a, b) => a - b)) {
					const old = there.get(time);
					const offered = file.get(time);
					expected.set(
						time,
						[0, 1, 2].map((at) => {
							const missing = at === 0 ? MODE_NONE : Number.NaN;
							const was = old?.[at] ?? missing;
							const is = offered?.[at] ?? missing;
							if (isMissing(at, was)) return is;
							if (isMissing(at, is) || was === is) return was;
							conflicts++;
							return onConflict === 'takeFile' ? is : was;
						}),
					);
				}
				expect(rowsOf(rows)).toEqual(expected);
				expect([count.conflicts, told.length]).toEqual([conflicts, conflicts]);
				expect(count.added).toBe([...file.keys()].filter((time) => !there.has(time)).length);
				expect(count.added + count.duplicates + count.completed).toBeLessThanOrEqual(file.size);
				if (conflicts === 0)
					expect(count.added + count.duplicates + count.completed).toBe(file.size);
			},
		),
		{ seed: 20_261_125, numRuns: 500 },
	);
});

test('a series with itself is the same and all duplicates', () => {
	fc.assert(
		fc.property(someRows, (there) => {
			const { rows, count } = mergeDay(dayOf(there), dayOf(there), 'refuse', () => {});
			expect(rowsOf(rows)).toEqual(rowsOf(dayOf(there)));
			expect(count).toEqual({ added: 0, duplicates: there.size, completed: 0, conflicts: 0 });
		}),
		{ seed: 5, numRuns: 100 },
	);
});

const DAY_S = Date.UTC(2026, 2, 2) / 1000;
const batchOf = (from_s: number, values: readonly number[]): LoggerBatch => ({
	count: values.length,
	time_s: Float64Array.from(values, (_, i) => from_s + i),
	mode: new Uint8Array(values.length),
	numbers: [{ id: 'feed_flow_m3_h', values: Float64Array.from(values), decimals: 0 }],
});

test('a killed import leaves a series as it was, and the next one clears what it left', async () => {
	const series = join(await emptyFolder(), 'drive.series');
	const first = new SeriesWriter(series);
	first.append(batchOf(DAY_S, [1, 2, 3]));
	await first.finish({ gapLimit_s: 10, sources: [] });
	const { manifest } = openArchive(series);

	// Killed while writing aside, and killed between moving a day and replacing the manifest.
	const second = new SeriesWriter(series, manifest);
	second.append(batchOf(DAY_S + 3, [4, 5]));
	second.endFile();
	writeFileSync(join(series, 'day=2026-03-02', 'series-2.parquet'), 'half');
	mkdirSync(join(series, 'day=2026-03-03'));
	writeFileSync(join(series, 'day=2026-03-03', 'series.parquet'), 'half');
	const archive = openArchive(series);
	expect(archive.manifest).toEqual(manifest);
	expect([...(await archive.span(0, 1e12)).time_s]).toEqual([DAY_S, DAY_S + 1, DAY_S + 2]);

	const third = new SeriesWriter(series, manifest);
	expect(readdirSync(join(series, 'day=2026-03-03'))).toEqual([]);
	third.append(batchOf(DAY_S + 2, [3, 4]));
	await third.finish({ gapLimit_s: 10, sources: [] });
	const grown = openArchive(series);
	expect(grown.manifest.days.map(({ file, rows }) => [file, rows])).toEqual([
		['day=2026-03-02/series-2.parquet', 4],
	]);
	expect(readdirSync(join(series, 'day=2026-03-02'))).toEqual(['series-2.parquet']);
	expect([...(await grown.span(0, 1e12)).feedFlow_m3_s].map((flow) => flow * 3600)).toEqual([
		1, 2, 3, 4,
	]);
});
