import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { driveSettings, groundShare, meterCertificate, ringInput } from '../calc/sheet/inputs.ts';
import { FaultList } from '../electron/folder/faultlist.ts';
import { readFolder } from '../electron/folder/read.ts';
import type { LoggerBatch } from '../electron/logger/batch.ts';
import { importLogger } from '../electron/logger/import.ts';
import { readRecord } from '../electron/logger/readrecord.ts';
import { integralSql } from './integralsql.ts';
import { ringWindows, writeLoggerFolder } from './loggerfile.ts';
import { digestOf, INTEGRALS, RingIntegrals } from './ringintegrals.ts';
import { usage } from './tellusage.mjs';

// 1 Hz for ten days: the integration itself, a whole import and a whole new project against DuckDB
// doing the per-ring integrals from the same file. Every run is a process of its own; ways are
// interleaved and compared within a round. `--days N`, `--rounds N`.

const HERE = fileURLToPath(import.meta.url);
const TELL_USAGE = new URL('./tellusage.mjs', import.meta.url).href;
const DUCKDB = fileURLToPath(new URL('./duckdbprocess.mjs', import.meta.url));
const PROJECT_DESK = fileURLToPath(new URL('../dist/desk/desk.mjs', import.meta.url));

interface Measured {
	/** Work only, without the start of the process, ms. */
	readonly work_ms: number;
	/** From the start of the process to its end, ms. */
	readonly process_ms?: number;
	/** Time all threads of the process were on a processor, its start included, ms; other load on the machine hardly moves it. */
	readonly cpu_ms: number;
	/** Highest memory of the process, MB. */
	readonly peak_MB: number;
	readonly digest: string;
	readonly sums: number[];
}

type Way = (
	folder: string,
) => Promise<
	Pick<Measured, 'work_ms'> &
		Partial<Pick<Measured, 'process_ms' | 'cpu_ms' | 'peak_MB'>> & { sums: Float64Array }
>;

const WAYS: Record<string, Way> = {
	async kernel(folder) {
		const integrals = new RingIntegrals(ringWindows(ringsIn(folder)));
		const began = performance.now();
		const faults = new FaultList();
		let done: LoggerBatch | undefined;
		await readRecord([join(folder, 'logger.csv')], {
			faults,
			take: (batch) => {
				integrals.push(batch);
				done = batch;
			},
			// One batch is enough: it is done with when the integrals have seen it.
			spare: () => done,
		});
		if (faults.stops > 0) throw new Error('the invented record has faults');
		return { sums: integrals.sums, work_ms: performance.now() - began };
	},
	'duckdb, file order': (folder) => duckdb(folder, 'file'),
	'duckdb, by stamps': (folder) => duckdb(folder, 'stamps'),
	async import(folder) {
		const began = performance.now();
		const content = await readFolder(folder);
		const rings = content.rings.map(ringInput);
		const series = join(folder, `import-${process.pid}.series`);
		const made = await importLogger({
			files: content.loggerFiles,
			seriesFolder: series,
			inputs: {
				rings,
				settings: driveSettings(content.drive),
				ground: content.ground.map(groundShare),
				meters: content.meters.map(meterCertificate),
				referenceLevel_m: rings[0]?.chamberLevelStart_m ?? null,
			},
			take: 'all',
		});
		const work_ms = performance.now() - began;
		const sums = Float64Array.from(
			made.balances.flatMap(({ volumeApparent_m3, drySolids_kg }) => [
				volumeApparent_m3.value ?? Number.NaN,
				drySolids_kg.value ?? Number.NaN,
			]),
		);
		rmSync(series, { recursive: true, force: true });
		return { sums, work_ms };
	},
};
if (existsSync(PROJECT_DESK))
	WAYS['desk new'] = async (folder) => {
		const project = join(folder, `bench-${process.pid}.slurrybook`);
		const { process_ms, ...used } = program(folder, PROJECT_DESK, 'new', project, '--from', folder);
		const ledger = program(folder, PROJECT_DESK, 'rings', project, '--json');
		const rows = JSON.parse(ledger.output) as {
			volume_apparent_m3: number;
			dry_solids_t: number;
		}[];
		for (const name of readdirSync(folder))
			if (name.startsWith(`bench-${process.pid}.`))
				rmSync(join(folder, name), { recursive: true, force: true });
		return {
			...used,
			sums: Float64Array.from(rows.flatMap((row) => [row.volume_apparent_m3, row.dry_solids_t])),
			work_ms: process_ms,
			process_ms,
		};
	};

async function duckdb(folder: string, order: 'file' | 'stamps'): ReturnType<Way> {
	const sql = integralSql(join(folder, 'logger.csv'), join(folder, 'rings.csv'), order);
	const { output, ...used } = program(folder, DUCKDB, sql);
	const { work_ms, rows } = JSON.parse(output) as { work_ms: number; rows: number[][] };
	return { ...used, work_ms, sums: Float64Array.from(rows.flat()) };
}

/** Runs a program under this Node and says what it took as a whole process. */
function program(folder: string, ...words: string[]) {
	const told = join(folder, `bench-${process.pid}.usage`);
	const began = performance.now();
	const ran = spawnSync(process.execPath, ['--import', TELL_USAGE, ...words], {
		encoding: 'utf8',
		maxBuffer: 1 << 28,
		env: { ...process.env, BENCH_USAGE: told },
	});
	const process_ms = performance.now() - began;
	if (ran.status !== 0) throw new Error(`a program ended with ${ran.status}: ${ran.stderr}`);
	const used = JSON.parse(readFileSync(told, 'utf8')) as ReturnType<typeof usage>;
	rmSync(told);
	return { output: ran.stdout, process_ms, ...used };
}

function ringsIn(folder: string): number {
	return readFileSync(join(folder, 'rings.csv'), 'utf8').trim().split('\n').length - 1;
}

async function one(way: string, folder: string): Promise<void> {
	const run = WAYS[way];
	if (run === undefined) throw new RangeError(`there is no way ${way}`);
	const { sums, ...rest } = await run(folder);
	const measured: Measured = { ...usage(), ...rest, digest: digestOf(sums), sums: [...sums] };
	process.stdout.write(JSON.stringify(measured));
}

const median = (values: readonly number[]): number => {
	const sorted = [...values].sort((a, b) => a - b);
	return sorted[sorted.length >> 1] ?? Number.NaN;
};

function argument(name: string, otherwise: number): number {
	const at = process.argv.indexOf(name);
	return at < 0 ? otherwise : Number(process.argv[at + 1]);
}

function all(): void {
	const days = argument('--days', 10);
	const rounds = argument('--rounds', 5);
	const folder = mkdtempSync(join(tmpdir(), 'slurry-bench-'));
	try {
		const { bytes, rings } = writeLoggerFolder(folder, days);
		process.stdout.write(
			`${days} days at 1 Hz: ${days * 86_400} rows, ${(bytes / 1e6).toFixed(1)} MB, ${rings} rings; Node ${process.version}, ${cpus().length} cores, ${rounds} rounds\n`,
		);
		const names = Object.keys(WAYS);
		const found = new Map(names.map((name) => [name, [] as Required<Measured>[]]));
		for (let round = 0; round < rounds; round++)
			for (const name of names) {
				const began = performance.now();
				const ran = spawnSync(process.execPath, [HERE, '--way', name, folder], {
					encoding: 'utf8',
					maxBuffer: 1 << 28,
				});
				const process_ms = performance.now() - began;
				if (ran.status !== 0) throw new Error(`${name}: ${ran.stderr}`);
				found.get(name)?.push({ process_ms, ...(JSON.parse(ran.stdout) as Measured) });
			}
		const reference = found.get('duckdb, file order') ?? [];
		const table = names.map((name) => {
			const runs = found.get(name) ?? [];
			const ratio = (key: 'work_ms' | 'process_ms' | 'cpu_ms'): string =>
				median(runs.map((run, at) => (reference[at]?.[key] ?? Number.NaN) / run[key])).toFixed(2);
			return {
				way: name,
				'work ms': Math.round(median(runs.map((run) => run.work_ms))),
				'duckdb / this, work': ratio('work_ms'),
				'process ms': Math.round(median(runs.map((run) => run.process_ms))),
				'duckdb / this, process': ratio('process_ms'),
				'cpu ms': Math.round(median(runs.map((run) => run.cpu_ms))),
				'duckdb / this, cpu': ratio('cpu_ms'),
				'peak MB': Math.round(Math.max(...runs.map((run) => run.peak_MB))),
				'same bits': new Set(runs.map((run) => run.digest)).size === 1 ? 'yes' : 'no',
			};
		});
		console.table(table);
		const ours = found.get('kernel')?.[0]?.sums ?? [];
		const theirs = reference[0]?.sums ?? [];
		const apart = ours.reduce(
			(most, sum, at) => Math.max(most, Math.abs(sum - (theirs[at] ?? Number.NaN)) / Math.abs(sum)),
			0,
		);
		process.stdout.write(
			`Largest relative difference to DuckDB over ${ours.length / INTEGRALS} rings: ${apart.toExponential(1)}\n`,
		);
	} finally {
		rmSync(folder, { recursive: true, force: true });
	}
}

const wayAt = process.argv.indexOf('--way');
if (wayAt < 0) all();
else await one(process.argv[wayAt + 1] ?? '', process.argv[wayAt + 2] ?? '');
