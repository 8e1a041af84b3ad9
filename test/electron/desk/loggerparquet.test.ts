import { copyFileSync, mkdirSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { beforeAll, expect, it } from 'vitest';
import { scratchFolder } from '../store/smalldrive.ts';
import { FIRST_START_S, iso, RING_S, startOf, TestDesk, writeInventedFolder } from './invented.ts';

// The Parquet files are written by DuckDB, a library that shares no line with ours.

const folder = scratchFolder();
const RINGS = 3;
const HEAD =
	'time,mode,feed_flow_m3_h,feed_density_t_m3,return_flow_m3_h,return_density_t_m3,chamber_level_m';

function lines(): string[] {
	const made: string[] = [];
	for (let t = FIRST_START_S - 3_600, n = 0; t < startOf(RINGS) + RING_S; t += 10, n++) {
		const inRing = (((t - FIRST_START_S) % RING_S) + RING_S) % RING_S;
		const advancing = t >= FIRST_START_S && inRing <= 2_700;
		made.push(
			[
				iso(t),
				advancing ? 'advance' : 'bypass',
				n % 89 === 3 ? '' : 1000 + (n % 9) / 7,
				(1.08 + (n % 5) / 1000).toFixed(3),
				(advancing ? 1155 : 1000) + (n % 4) / 3,
				advancing ? 1.19 : 1.085,
				(5 + (n % 6) / 100).toFixed(2),
			].join(','),
		);
	}
	return made;
}

/** `times`: how DuckDB is to keep the column of times. */
async function asParquet(csv: string, parquet: string, times: string): Promise<void> {
	const connection = await (await DuckDBInstance.create(':memory:')).connect();
	try {
		await connection.run(
			`COPY (SELECT * REPLACE (${times} AS time) FROM read_csv('${csv}', header = true, all_varchar = false, types = {'time': 'VARCHAR'})) TO '${parquet}' (FORMAT parquet)`,
		);
	} finally {
		connection.closeSync();
	}
}

const WAYS = [
	{ name: 'stamps', times: 'time::TIMESTAMPTZ' },
	{ name: 'milliseconds', times: "(time::TIMESTAMPTZ AT TIME ZONE 'UTC')::TIMESTAMP_MS" },
	{ name: 'texts', times: 'time' },
] as const;

async function ledgerOf(name: string): Promise<unknown> {
	const desk = new TestDesk(folder);
	await desk.create(name, `${name} made`);
	const { rows } = await desk.must('sheet.rows', { sheet: 'ledger' });
	desk.handle.close();
	return rows;
}

let fromCsv: unknown;
beforeAll(async () => {
	writeInventedFolder(join(folder, 'csv'), { rings: RINGS });
	writeFileSync(join(folder, 'csv', 'logger.csv'), `${[HEAD, ...lines()].join('\n')}\n`);
	fromCsv = await ledgerOf('csv');
});

function copyOf(name: string): string {
	const to = join(folder, name);
	mkdirSync(to);
	for (const file of readdirSync(join(folder, 'csv')))
		copyFileSync(join(folder, 'csv', file), join(to, file));
	return to;
}

it.each(WAYS)(
	'a logger.parquet with times as $name gives the figures of the same CSV',
	async ({ name, times }) => {
		const to = copyOf(name);
		await asParquet(join(to, 'logger.csv'), join(to, 'logger.parquet'), times);
		rmSync(join(to, 'logger.csv'));
		expect(fromCsv).toContainEqual(
			expect.objectContaining({ cells: expect.objectContaining({ source: 'logger' }) }),
		);
		expect(await ledgerOf(name)).toEqual(fromCsv);
	},
);

it('a record in both kinds of file is one record', async () => {
	const to = copyOf('both');
	const all = lines();
	const half = all.length >> 1;
	writeFileSync(join(to, 'logger.csv'), `${[HEAD, ...all.slice(half)].join('\n')}\n`);
	await asParquet(join(to, 'logger.csv'), join(to, 'logger-b.parquet'), 'time::TIMESTAMPTZ');
	writeFileSync(join(to, 'logger.csv'), `${[HEAD, ...all.slice(0, half)].join('\n')}\n`);
	expect(await ledgerOf('both')).toEqual(fromCsv);
});

it('tells what is wrong with it by file and column, and takes nothing', async () => {
	const to = copyOf('torn');
	const desk = new TestDesk(folder);
	const faultsOf = async () =>
		(await desk.must('project.inspectFolder', { folderId: await desk.placeOf('torn') })).faults;
	await asParquet(join(to, 'logger.csv'), join(to, 'logger.parquet'), 'time::TIMESTAMPTZ');
	// The same times in both files: a record goes forward only.
	expect(await faultsOf()).toContainEqual(
		expect.objectContaining({ code: 'stamp_out_of_order', weight: 'stop' }),
	);
	rmSync(join(to, 'logger.csv'));
	writeFileSync(
		join(to, 'other.csv'),
		'time,mode,feed_flow_m3_h\n2031-03-04T06:00:00Z,advance,900\n',
	);
	rmSync(join(to, 'logger.parquet'));
	await asParquet(join(to, 'other.csv'), join(to, 'logger.parquet'), 'time::TIMESTAMPTZ');
	expect(await faultsOf()).toContainEqual(
		expect.objectContaining({
			weight: 'stop',
			where: expect.objectContaining({ file: 'logger.parquet', column: 'feed_density_t_m3' }),
		}),
	);
	writeFileSync(join(to, 'logger.parquet'), 'PAR1');
	expect(await faultsOf()).toContainEqual(
		expect.objectContaining({
			code: 'file_unreadable',
			where: expect.objectContaining({ file: 'logger.parquet' }),
		}),
	);
	desk.handle.close();
});
