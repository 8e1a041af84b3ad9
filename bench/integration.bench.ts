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

// 1 Hz for ten days: the integration itself, a whole import and a whole new project against DuckDB
// doing the per-ring integrals from the same file. Every run is a process of its own; ways are
// interleaved and compared within a round. `--days N`, `--rounds N`.

const HERE = fileURLToPath(import.meta.url);
const PROJECT_DESK = fileURLToPath(new URL('../dist/desk/desk.mjs', import.meta.url));

interface Measured {
	/** Work only, without the start of the process, ms. */
	readonly work_ms: number;
	/** Time all threads of the process were on a processor, its start included, ms; other load on the machine hardly moves it. */
	readonly cpu_ms: number;
	/** Highest memory of the process, MB. */
	readonly peak_MB: number;
	readonly digest: string;
	readonly sums: number[];
}

type Way = (folder: string) => Promise<{ sums: Float64Array; work_ms: number; digest?: string }>;

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
		const began = performance.now();
		const ran = spawnSync(process.execPath, [PROJECT_DESK, 'new', project, '--from', folder], {
			encoding: 'utf8',
		});
		if (ran.status !== 0) throw new Error(`desk new ended with ${ran.status}: ${ran.stderr}`);
		const work_ms = performance.now() - began;
		const ledger = spawnSync(process.execPath, [PROJECT_DESK, 'rings', project, '--json'], {
			encoding: 'utf8',
			maxBuffer: 1 << 28,
		});
		const rows = JSON.parse(ledger.stdout) as {
			volume_apparent_m3: number;
			dry_solids_t: number;
		}[];
		for (const name of readdirSync(folder))
			if (name.startsWith(`bench-${process.pid}.`))
				rmSync(join(folder, name), { recursive: true, force: true });
		return {
			sums: Float64Array.from(rows.flatMap((row) => [row.volume_apparent_m3, row.dry_solids_t])),
			work_ms,
		};
	};

async function duckdb(folder: string, order: 'file' | 'stamps'): ReturnType<Way> {
	const { DuckDBInstance } = await import('@duckdb/node-api');
	const began = performance.now();
	const instance = await DuckDBInstance.create(':memory:', {
		autoinstall_known_extensions: 'false',
	});
	const connection = await instance.connect();
	const reader = await connection.runAndReadAll(
		integralSql(join(folder, 'logger.csv'), join(folder, 'rings.csv'), order),
	);
	const rows = reader.getRows();
	const work_ms = performance.now() - began;
	return { sums: Float64Array.from(rows.flatMap((row) => row.slice(1).map(Number))), work_ms };
}

function ringsIn(folder: string): number {
	return readFileSync(join(folder, 'rings.csv'), 'utf8').trim().split('\n').length - 1;
}

/** Highest resident memory of this process, or of its largest child where that is larger, MB. */
function peak_MB(): number {
	const own = existsSync('/proc/self/status')
		? Number(/VmHWM:\s+(\d+)/u.exec(readFileSync('/proc/self/status', 'utf8'))?.[1] ?? 0)
		: process.resourceUsage().maxRSS;
	return own / 1024;
}

function cpu_ms(): number {
	const { user, system } = process.cpuUsage();
	return (user + system) / 1000;
}

async function one(way: string, folder: string): Promise<void> {
	const run = WAYS[way];
	if (run === undefined) throw new RangeError(`there is no way ${way}`);
	const { sums, work_ms } = await run(folder);
	const measured: Measured = {
		work_ms,
		cpu_ms: cpu_ms(),
		peak_MB: peak_MB(),
		digest: digestOf(sums),
		sums: [...sums],
	};
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
		const found = new Map(names.map((name) => [name, [] as (Measured & { process_ms: number })[]]));
		for (let round = 0; round < rounds; round++)
			for (const name of names) {
				const began = performance.now();
				const ran = spawnSync(process.execPath, [HERE, '--way', name, folder], {
					encoding: 'utf8',
					maxBuffer: 1 << 28,
				});
				const process_ms = performance.now() - began;
				if (ran.status !== 0) throw new Error(`${name}: ${ran.stderr}`);
				found.get(name)?.push({ ...(JSON.parse(ran.stdout) as Measured), process_ms });
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
