import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, statfsSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { RingInput } from '../calc/circuit/settings.ts';
import { ringInput } from '../calc/sheet/inputs.ts';
import { FaultList } from '../electron/folder/faultlist.ts';
import { readSheetFile } from '../electron/folder/sheetfile.ts';
import { HAND_FILE_LIMITS } from '../electron/folder/textfile.ts';
import { importLogger } from '../electron/logger/import.ts';
import { integralSql } from './integralsql.ts';
import { usage } from './tellusage.mjs';
import { MORE_COLUMNS, writeYear, yearWindows } from './yearfile.ts';

// A year of 1 Hz × 10 columns: the whole import with every ring balanced, against DuckDB's SQL doing
// only the per-ring integrals from the same CSV, and against a general streaming CSV library with a
// loop. Each run is a process of its own; ways take turns within a round. Files are made in a
// temporary folder and removed. Then the import alone at 1×, 2× and 4× of the fewest days.
// `--days N,N`, `--rounds N`, `--ways NAME|NAME`, `--only growth` or `--only compare`.

const HERE = fileURLToPath(import.meta.url);
/** Bytes of a day's text and of what is made from it, with room to spare. */
const DAY_BYTES = 12e6;

interface Measured {
	readonly work_ms: number;
	readonly cpu_ms: number;
	readonly peak_MB: number;
	readonly rings: number;
}

type Way = (folder: string) => Promise<Pick<Measured, 'work_ms' | 'rings'>>;

const WAYS: Record<string, Way> = {
	import: imported,
	'DuckDB, file order': (folder) => duckdb(folder, 'file'),
	'DuckDB, ORDER BY': (folder) => duckdb(folder, 'stamps'),
	'papaparse and a loop': papaparse,
};

async function ringsOf(folder: string): Promise<RingInput[]> {
	const faults = new FaultList();
	const { rows } = await readSheetFile({
		folder,
		sheet: 'rings',
		limits: HAND_FILE_LIMITS,
		faults,
	});
	return rows.map(ringInput);
}

async function imported(folder: string): Promise<Pick<Measured, 'work_ms' | 'rings'>> {
	const rings = await ringsOf(folder);
	const series = join(folder, `import-${process.pid}.series`);
	const began = performance.now();
	const made = await importLogger({
		files: [join(folder, 'logger.csv')],
		seriesFolder: series,
		inputs: {
			rings,
			settings: SETTINGS,
			ground: [
				{
					fromRing: 1,
					toRing: 100_000,
					stratum: 'sand',
					faceFraction: 1,
					grainDensity_kg_m3: 2650,
					dryDensity_kg_m3: 1700,
				},
			],
			meters: [],
			referenceLevel_m: 4,
		},
		take: 'all',
	});
	const work_ms = performance.now() - began;
	rmSync(series, { recursive: true, force: true });
	if (!made.kept) throw new Error('the invented record was not taken');
	return { work_ms, rings: made.balances.filter((b) => b.volumeApparent_m3.value !== null).length };
}

async function duckdb(folder: string, order: 'file' | 'stamps') {
	const { DuckDBInstance } = await import('@duckdb/node-api');
	const connection = await (await DuckDBInstance.create(':memory:')).connect();
	const sql = integralSql(
		join(folder, 'logger.csv'),
		join(folder, 'rings.csv'),
		order,
		MORE_COLUMNS,
	);
	const began = performance.now();
	const rings = (await connection.runAndReadAll(sql)).getRowsJS().length;
	const work_ms = performance.now() - began;
	connection.closeSync();
	return { work_ms, rings };
}

/** The four integrals of each ring by a loop over rows as the library hands them out. */
async function papaparse(folder: string) {
	const { default: Papa } = await import('papaparse');
	const { createReadStream } = await import('node:fs');
	const windows = yearWindows(ringCount(folder));
	const sums = new Float64Array(windows.length * 4);
	let ring = 0;
	let before = null as Float64Array | null;
	const row = (fields: readonly string[]): void => {
		const t = Date.parse(fields[0] ?? '') / 1000;
		if (Number.isNaN(t)) return;
		const now = Float64Array.of(
			t,
			Number(fields[2]) / 3600,
			Number(fields[3]),
			Number(fields[4]) / 3600,
			Number(fields[5]),
		);
		while (ring < windows.length && t > windows[ring]!.to_s) ring++;
		if (ring < windows.length && before !== null && before[0]! >= windows[ring]!.from_s) {
			const dt = t - before[0]!;
			for (const [k, q] of [1, 3].entries()) {
				const [q0, q1, r0, r1] = [before[q]!, now[q]!, before[q + 1]!, now[q + 1]!];
				sums[ring * 4 + k]! += (dt * (q0 + q1)) / 2;
				sums[ring * 4 + 2 + k]! += (dt * (2 * q0 * r0 + q0 * r1 + q1 * r0 + 2 * q1 * r1)) / 6;
			}
		}
		before = now;
	};
	const began = performance.now();
	const { promise, resolve, reject } = Promise.withResolvers<void>();
	Papa.parse(createReadStream(join(folder, 'logger.csv'), { highWaterMark: 1 << 20 }), {
		fastMode: true,
		delimiter: ',',
		newline: '\n',
		chunk: ({ data }: { data: string[][] }) => {
			for (const fields of data) row(fields);
		},
		complete: () => resolve(),
		error: reject,
	});
	await promise;
	const work_ms = performance.now() - began;
	return { work_ms, rings: windows.filter((_, at) => sums[at * 4]! > 0).length };
}

function ringCount(folder: string): number {
	return readFileSync(join(folder, 'rings.csv'), 'utf8').trim().split('\n').length - 1;
}

const SETTINGS = {
	title: 'Invented drive for measuring',
	excavatedDiameter_m: 6.6,
	nominalAdvance_m: 1.5,
	overcut_m: null,
	overcutAngle_rad: null,
	workingChamberArea_m2: 10,
	chamberMixedVolume_m3: 20,
	feedLineDiameter_m: 0.3,
	returnLineDiameter_m: 0.3,
	returnMeterDistance_m: 1500,
	lineGrowth_m_per_ring: 0.1,
	waterTemperature_c: 15,
	waterSalinity_g_kg: 0,
	bentoniteGrainDensity_kg_m3: null,
	uncertainty: {
		flowScale_rel: 0.005,
		flowOffset_m3_s: 0,
		densityOffset_kg_m3: 2,
		densityScale_rel: 0.01,
		diameter_m: 0.01,
		stroke_m: 0.005,
		grainDensity_kg_m3: 20,
		dryDensity_kg_m3: 20,
		level_m: 0.02,
	},
};

const median = (values: readonly number[]): number => {
	const sorted = [...values].sort((a, b) => a - b);
	return sorted[sorted.length >> 1] ?? Number.NaN;
};

function argument(name: string, otherwise: string): string {
	const at = process.argv.indexOf(name);
	return at < 0 ? otherwise : (process.argv[at + 1] ?? otherwise);
}

function runWay(name: string, folder: string): Measured {
	const ran = spawnSync(process.execPath, [HERE, '--way', name, folder], {
		encoding: 'utf8',
		maxBuffer: 1 << 26,
	});
	if (ran.status !== 0) throw new Error(`${name}: ${ran.stderr}`);
	return JSON.parse(ran.stdout) as Measured;
}

function withYear(days: number, work: (folder: string, about: string) => void): void {
	const { bavail, bsize } = statfsSync(tmpdir());
	if (bavail * bsize < days * DAY_BYTES * 1.5)
		throw new Error(`there is no room for ${days} days in ${tmpdir()}`);
	const folder = mkdtempSync(join(tmpdir(), 'slurry-year-'));
	try {
		const { bytes, rings } = writeYear(folder, days);
		work(
			folder,
			`${days} days at 1 Hz × 10 columns: ${days * 86_400} rows, ${(bytes / 1e9).toFixed(2)} GB, ${rings} rings`,
		);
	} finally {
		rmSync(folder, { recursive: true, force: true });
	}
}

function compare(days: number, rounds: number): void {
	withYear(days, (folder, about) => {
		process.stdout.write(`${about}; ${rounds} rounds\n`);
		const names = argument('--ways', Object.keys(WAYS).join('|')).split('|');
		const found = new Map(names.map((name) => [name, [] as Measured[]]));
		for (let round = 0; round < rounds; round++)
			for (const name of names) found.get(name)?.push(runWay(name, folder));
		const ours = found.get('import') ?? [];
		console.table(
			names.map((name) => {
				const runs = found.get(name) ?? [];
				const ratio = (key: 'work_ms' | 'cpu_ms'): string =>
					median(runs.map((run, at) => run[key] / (ours[at]?.[key] ?? Number.NaN))).toFixed(2);
				return {
					way: name,
					'work s': (median(runs.map((run) => run.work_ms)) / 1000).toFixed(1),
					'this / import, work': ratio('work_ms'),
					'processor s': (median(runs.map((run) => run.cpu_ms)) / 1000).toFixed(1),
					'this / import, processor': ratio('cpu_ms'),
					'peak MB': Math.round(Math.max(...runs.map((run) => run.peak_MB))),
					rings: runs[0]?.rings,
				};
			}),
		);
	});
}

function growth(days: number): void {
	const table = [1, 2, 4].map((times) => {
		let row: Record<string, string | number> = {};
		withYear(days * times, (folder) => {
			const { work_ms, cpu_ms, peak_MB } = runWay('import', folder);
			row = {
				days: days * times,
				'work s': (work_ms / 1000).toFixed(1),
				'work ms a day': (work_ms / days / times).toFixed(1),
				'processor ms a day': (cpu_ms / days / times).toFixed(1),
				'peak MB': Math.round(peak_MB),
			};
		});
		return row;
	});
	process.stdout.write('growth of the import\n');
	console.table(table);
}

const wayAt = process.argv.indexOf('--way');
if (wayAt >= 0) {
	const run = WAYS[process.argv[wayAt + 1] ?? ''];
	if (run === undefined) throw new RangeError('there is no such way');
	const measured = await run(process.argv[wayAt + 2] ?? '');
	process.stdout.write(JSON.stringify({ ...usage(), ...measured }));
} else {
	process.stdout.write(`Node ${process.version}, ${cpus().length} cores\n`);
	const days = argument('--days', '60,365').split(',').map(Number);
	const rounds = Number(argument('--rounds', '3'));
	const only = argument('--only', '');
	if (only !== 'growth') for (const each of days) compare(each, rounds);
	if (only !== 'compare') growth(Math.min(...days));
}
