import { createHash } from 'node:crypto';
import {
	existsSync,
	mkdirSync,
	readdirSync,
	readFileSync,
	truncateSync,
	writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { describe, expect, test } from 'vitest';
import { balanceRing } from '../../../calc/circuit/balance.ts';
import { loggerGapLimit_s } from '../../../calc/circuit/gap.ts';
import type { RingBalance } from '../../../calc/circuit/ringbalance.ts';
import type { Samples } from '../../../calc/circuit/samples.ts';
import { openArchive } from '../../../electron/logger/archive.ts';
import { importLogger, inspectLogger } from '../../../electron/logger/import.ts';
import { SeriesDamaged } from '../../../electron/logger/parquet/decode.ts';
import type { DriveInputs } from '../../../electron/logger/ringwindow.ts';
import { SampleBuffer } from '../../../electron/logger/samplebuffer.ts';
import { emptyFolder, HEAD, madeInputs, madeRecord, parse, START_S } from './madelogger.ts';

/** The whole record at once, the way no import holds it. */
function wholeRecord(text: string): Samples {
	const { time_s, mode, numbers } = parse(text);
	const buffer = new SampleBuffer();
	buffer.append({
		count: time_s.length,
		time_s: Float64Array.from(time_s),
		mode: Uint8Array.from(mode),
		numbers: Object.entries(numbers).map(([id, values]) => ({
			id,
			values: Float64Array.from(values),
		})),
	});
	return buffer.samples();
}

function balanced(inputs: DriveInputs, samples: Samples): RingBalance[] {
	const { rings, ...drive } = inputs;
	return rings.map((ring) =>
		balanceRing({
			...drive,
			ring,
			samples,
			source: 'logger',
			gapLimit_s: loggerGapLimit_s(samples.time_s),
		}),
	);
}

async function written(
	files: Record<string, string>,
): Promise<{ folder: string; paths: string[]; series: string }> {
	const folder = await emptyFolder();
	for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text);
	return {
		folder,
		paths: Object.keys(files).map((name) => join(folder, name)),
		series: join(folder, 'drive.series'),
	};
}

describe('an import', () => {
	test('gives the balances of the whole record, the hashes of its files and a series beside the project', async () => {
		// Seven hours over midnight UTC: two day files, more than one batch, and samples dropped on the way.
		const text = madeRecord(7 * 3600);
		const lines = text.trimEnd().split('\n');
		const [head, ...rows] = lines;
		const first = `${[head, ...rows.slice(0, 9000)].join('\n')}\n`;
		const second = `${[head, ...rows.slice(9000)].join('\n')}\n`;
		// Named against their order in time.
		const { paths, series, folder } = await written({
			'logger-b.csv': first,
			'logger-a.csv': second,
		});
		const inputs = madeInputs(13);
		const told: number[] = [];
		const made = await importLogger({
			files: paths,
			seriesFolder: series,
			inputs,
			take: 'all',
			onProgress: ({ rows }) => told.push(rows),
		});

		expect(made.faults).toEqual([]);
		expect(made).toMatchObject({
			rows: 25_200,
			firstTime_s: START_S,
			lastTime_s: START_S + 25_199,
			kept: true,
			gapLimit_s: 10,
		});
		expect(told.at(-1)).toBe(25_200);
		expect(made.sources).toEqual(
			[first, second].map((content, at) => ({
				file: ['logger-b.csv', 'logger-a.csv'][at],
				sha256: createHash('sha256').update(content).digest('hex'),
				bytes: content.length,
				rows: [9000, 16_200][at],
			})),
		);
		expect(made.balances).toEqual(balanced(inputs, wholeRecord(text)));
		expect(made.balances[3]?.volumeApparent_m3.value).toBeGreaterThan(5);
		expect(readdirSync(series)).toEqual(['day=2026-03-01', 'day=2026-03-02', 'series.json']);
		expect(readdirSync(folder)).toEqual(['drive.series', 'logger-a.csv', 'logger-b.csv']);
	});

	test('is the same to the bit each time', async () => {
		const { paths, folder } = await written({ 'logger.csv': madeRecord(20_000) });
		const inputs = madeInputs(10);
		const digests = [];
		for (const name of ['one', 'two']) {
			const series = join(folder, name);
			const { balances } = await importLogger({
				files: paths,
				seriesFolder: series,
				inputs,
				take: 'all',
			});
			const files = readdirSync(series, { recursive: true, withFileTypes: true }).filter((entry) =>
				entry.isFile(),
			);
			const hash = createHash('sha256').update(JSON.stringify(balances));
			for (const file of files) hash.update(readFileSync(join(file.parentPath, file.name)));
			digests.push(hash.digest('hex'));
		}
		expect(digests[1]).toBe(digests[0]);
	});

	test('leaves out rings the record does not reach over', async () => {
		const { paths, series } = await written({ 'logger.csv': madeRecord(4000) });
		const { balances } = await importLogger({
			files: paths,
			seriesFolder: series,
			inputs: madeInputs(5),
			take: 'all',
		});
		expect(balances.map((balance) => balance.ring)).toEqual([1, 2]);
	});

	test('with a stop fault keeps nothing, or what can be read if that is accepted', async () => {
		const bad = madeRecord(3000).replace(/\n[^\n]*,advance,/u, '\n2026-03-01T22:00:00Z,drilling,');
		const { paths, series, folder } = await written({ 'logger.csv': bad });
		const all = await importLogger({
			files: paths,
			seriesFolder: series,
			inputs: madeInputs(1),
			take: 'all',
		});
		expect([all.kept, all.stops, all.faults[0]?.code, all.faults[0]?.where.row]).toEqual([
			false,
			1,
			'choice_unknown',
			2,
		]);
		expect(readdirSync(folder)).toEqual(['logger.csv']);
		const some = await importLogger({
			files: paths,
			seriesFolder: series,
			inputs: madeInputs(1),
			take: 'goodRows',
		});
		expect([some.kept, some.rows]).toEqual([true, 3000]);
		expect(existsSync(join(series, 'series.json'))).toBe(true);
	});

	test('of a file that cannot be read says so and leaves nothing', async () => {
		const { paths, series, folder } = await written({ 'logger.csv': madeRecord(10) });
		const made = await importLogger({
			files: [...paths, join(folder, 'gone.csv')],
			seriesFolder: series,
			inputs: madeInputs(1),
			take: 'all',
		});
		expect(made.faults.map((fault) => [fault.code, fault.where.file])).toEqual([
			['file_unreadable', 'gone.csv'],
		]);
		expect(readdirSync(folder)).toEqual(['logger.csv']);
	});

	test('can be broken off and leaves nothing', async () => {
		const { paths, series, folder } = await written({ 'logger.csv': madeRecord(60_000) });
		const stop = new AbortController();
		const importing = importLogger({
			files: paths,
			seriesFolder: series,
			inputs: madeInputs(5),
			take: 'all',
			signal: stop.signal,
		});
		setTimeout(() => stop.abort(new Error('the person changed their mind')), 60);
		await expect(importing).rejects.toThrow('the person changed their mind');
		expect(readdirSync(folder)).toEqual(['logger.csv']);
		await expect(
			importLogger({
				files: paths,
				seriesFolder: series,
				inputs: madeInputs(5),
				take: 'all',
				signal: stop.signal,
			}),
		).rejects.toThrow('changed their mind');
	});

	test('clears what a killed one left, and never writes over a series', async () => {
		const { paths, series } = await written({ 'logger.csv': madeRecord(2000) });
		mkdirSync(join(`${series}.unfinished`, 'day=2026-03-01'), { recursive: true });
		writeFileSync(join(`${series}.unfinished`, 'day=2026-03-01', 'series.parquet'), 'half');
		await importLogger({ files: paths, seriesFolder: series, inputs: madeInputs(1), take: 'all' });
		expect(openArchive(series).manifest.rows).toBe(2000);
		await expect(
			importLogger({ files: paths, seriesFolder: series, inputs: madeInputs(1), take: 'all' }),
		).rejects.toThrow('already there');
	});
});

test('an inspection counts rows and faults and writes nothing', async () => {
	const { paths, folder } = await written({
		'logger.csv': madeRecord(500),
		'logger-2.csv': `${HEAD}\nx\n`,
	});
	const found = await inspectLogger(paths);
	expect(found).toMatchObject({ rows: 500, rowsByFile: [500, 0], stops: 1, firstTime_s: START_S });
	expect(readdirSync(folder)).toEqual(['logger-2.csv', 'logger.csv']);
});

describe('the series', () => {
	const made = async () => {
		const text = madeRecord(4 * 3600);
		const { paths, series } = await written({ 'logger.csv': text });
		await importLogger({ files: paths, seriesFolder: series, inputs: madeInputs(7), take: 'all' });
		return { text, series };
	};

	test('gives any span back as it was, to the bit, over midnight too', async () => {
		const { text, series } = await made();
		const archive = openArchive(series);
		const whole = wholeRecord(text);
		expect(await archive.span(-1e12, 1e12)).toEqual(whole);
		const part = await archive.span(START_S + 7000, START_S + 7400);
		expect([part.count, part.time_s[0], part.time_s[400]]).toEqual([
			401,
			START_S + 7000,
			START_S + 7400,
		]);
		expect(part.returnDensity_kg_m3).toEqual(whole.returnDensity_kg_m3.slice(7000, 7401));
		expect((await archive.span(0, 1)).count).toBe(0);
		expect([
			archive.covers(START_S, START_S + 3600),
			archive.covers(START_S - 60, START_S),
			archive.covers(START_S, START_S + 14_420),
		]).toEqual([true, false, false]);
		archive.close();
	});

	test('lies as Parquet that DuckDB reads as one table with units in the names', async () => {
		const { text, series } = await made();
		const connection = await (await DuckDBInstance.create(':memory:')).connect();
		const reader = await connection.runAndReadAll(
			`SELECT count(*)::INTEGER, min(epoch(time)), sum(feed_flow_m3_h)::DOUBLE, count(feed_flow_m3_h)::INTEGER, count(DISTINCT day)::INTEGER, mode(mode)
			FROM read_parquet('${series}/*/series.parquet', hive_partitioning = true)`,
		);
		const flows = (parse(text).numbers.feed_flow_m3_h ?? []).filter(
			(value) => !Number.isNaN(value),
		);
		// The sum of decimals is exact in DuckDB and rounded here.
		const sum = Math.round(flows.reduce((all, value) => all + value, 0) * 10) / 10;
		expect(reader.getRowsJS()[0]).toEqual([14_400, START_S, sum, flows.length, 2, 'bypass']);
		connection.closeSync();
	});

	test('is refused if a day is cut short or gone, or the manifest is not ours', async () => {
		const { series } = await made();
		const day = join(series, 'day=2026-03-01', 'series.parquet');
		truncateSync(day, 1000);
		await expect(openArchive(series).span(START_S, START_S + 10)).rejects.toThrow(SeriesDamaged);
		writeFileSync(
			join(series, 'series.json'),
			readFileSync(join(series, 'series.json'), 'utf8').replace(
				'day=2026-03-01/',
				'../day=2026-03-01/',
			),
		);
		expect(() => openArchive(series)).toThrow(SeriesDamaged);
		expect(() => openArchive(join(series, 'nowhere'))).toThrow(SeriesDamaged);
	});
});
