import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Chance } from '../calc/drive/chance.ts';
import { type FormulaColumn, planFormulas } from '../calc/formula/columns.ts';
import { FormulaFigures, type FormulaRows } from '../calc/formula/recalculate.ts';
import type { UnitId } from '../calc/quantity/unit.ts';
import { usage } from './tellusage.mjs';

/**
 * Ten formula columns over the readings of 5,000 rings × 60: working out all, and again after one
 * edited reading. Beside ours the same formulas in a general-purpose open-source spreadsheet engine,
 * and compiled by the expression library and run row by row. Each in a process of its own, so that
 * its memory is its own; all in one run, and the same figures must come out.
 *
 * The spreadsheet engine (hyperformula, GPL-3.0) is no dependency: it is put into a temporary folder
 * for the run and taken away again.
 *
 * npm run bench -- formula [rings]
 */
const ENGINE = 'hyperformula@3.5.0';
const READINGS_PER_RING = 60;
/** Turns of an edit: as many as fit into a while, the same while for each way; an even number, so that all end alike. */
const MOST_EDITS = 300;
const FEWEST_EDITS = 4;
const EDITS_FOR_MS = 3_000;
const WANTED = { build: 50, edit: 100, memory: 10 } as const;

interface Told {
	readonly build_ms: number;
	/** Of the formulas alone, before there are rows. */
	readonly read_ms: number;
	/** Median of an edit in the first, a middle and the last reading. */
	readonly edit_ms: readonly [first: number, middle: number, last: number];
	readonly peak_MB: number;
	/** Peak less what the process held when data were made and the engine loaded. */
	readonly own_MB: number;
	/** Figures of some rows, by column. */
	readonly sample: readonly (readonly (number | null)[])[];
}

/** Unit, our formula, and the same for the spreadsheet engine in row r (first row 1; p: the row before, w: the first of the last five). */
const COLUMNS: readonly [
	id: string,
	unit: UnitId | null,
	ours: string,
	sheet: (r: number) => string | null,
][] = [
	['rise', 't/m3', 'return_density_t_m3 - feed_density_t_m3', (r) => `=D${r}-B${r}`],
	['flow_rise', 'm3/h', 'return_flow_m3_h - feed_flow_m3_h', (r) => `=C${r}-A${r}`],
	[
		'excess',
		't/h',
		'return_flow_m3_h * return_density_t_m3 - feed_flow_m3_h * feed_density_t_m3',
		(r) => `=C${r}*D${r}-A${r}*B${r}`,
	],
	['flow_ratio', null, 'return_flow_m3_h / feed_flow_m3_h', (r) => `=C${r}/A${r}`],
	['calm', 't/m3', 'mean(rise, 5)', (r) => (r < 5 ? null : `=AVERAGE(E${r - 4}:E${r})`)],
	['swing', 'm3/h', 'std(flow_rise, 5)', (r) => (r < 5 ? null : `=STDEV.S(F${r - 4}:F${r})`)],
	['jump', 'm3/h', 'change(feed_flow_m3_h)', (r) => (r < 2 ? null : `=A${r}-A${r - 1}`)],
	[
		'dug',
		't',
		'total(max(excess, 0 t/h)) * 1 min',
		(r) => (r < 2 ? `=MAX(G${r},0)/60` : `=L${r - 1}+MAX(G${r},0)/60`),
	],
	[
		'odd',
		null,
		'flow_rise > 80 m^3/h or flow_rise < 50 m^3/h ? 1 : 0',
		(r) => `=IF(OR(F${r}>80,F${r}<50),1,0)`,
	],
	['lean', 't/m3', 'excess / max(flow_rise, 1 m^3/h)', (r) => `=G${r}/MAX(F${r},1)`],
];
const INPUTS = [
	'feed_flow_m3_h',
	'feed_density_t_m3',
	'return_flow_m3_h',
	'return_density_t_m3',
] as const;

function inputs(rows: number): Record<(typeof INPUTS)[number], Float64Array> {
	const chance = new Chance(11, 'formula bench');
	const made = {
		feed_flow_m3_h: new Float64Array(rows),
		feed_density_t_m3: new Float64Array(rows),
		return_flow_m3_h: new Float64Array(rows),
		return_density_t_m3: new Float64Array(rows),
	};
	for (let row = 0; row < rows; row++) {
		made.feed_flow_m3_h[row] = chance.between(1000, 1200);
		made.feed_density_t_m3[row] = chance.between(1.05, 1.12);
		made.return_flow_m3_h[row] = made.feed_flow_m3_h[row]! + chance.between(45, 85);
		made.return_density_t_m3[row] = chance.between(1.15, 1.25);
	}
	return made;
}

const sampleRows = (rows: number): number[] => [
	0,
	3,
	4,
	5,
	Math.floor(rows / 3),
	Math.floor(rows / 2),
	rows - 2,
	rows - 1,
];
const median = (times: number[]): number =>
	times.sort((a, b) => a - b)[Math.floor(times.length / 2)] ?? Number.NaN;
/** A feed flow to set, another than the last. */
const flowOf = (turn: number): number => 1050 + (turn % 2);

/** Times edits of the feed flow in three places; leaves what it found in the last turn behind, alike for all. */
function timeEdits(rows: number, edit: (row: number, flow: number) => void): Told['edit_ms'] {
	const [first = 0, middle = 0, last = 0] = [0, Math.floor(rows / 2), rows - 1].map((row) => {
		const times: number[] = [];
		const begun = performance.now();
		for (let turn = 0; turn < MOST_EDITS; turn++) {
			const enough = turn >= FEWEST_EDITS && performance.now() - begun > EDITS_FOR_MS;
			if (enough && turn % 2 === 0) break;
			const from = performance.now();
			edit(row, flowOf(turn));
			times.push(performance.now() - from);
		}
		return median(times);
	});
	return [first, middle, last];
}

function ours(rows: number): Told {
	const data = inputs(rows);
	const feed: FormulaRows = {
		count: rows,
		cell: (id, row) => data[id as (typeof INPUTS)[number]]?.[row] ?? null,
		faceShare: () => null,
		ring: () => null,
		name: (row) => `reading ${row + 1}`,
		hasStratum: () => false,
	};
	const columns = COLUMNS.map(
		([id, unit, expression]): FormulaColumn => ({
			id,
			sheet: 'readings',
			heading: id,
			unit,
			decimals: 2,
			expression,
			note: null,
		}),
	);
	const before = usage().peak_MB;
	const start = performance.now();
	const plan = planFormulas('readings', columns);
	const planned = performance.now();
	for (const { column, fault } of plan.columns)
		if (fault !== null) throw new Error(`${column.id}: ${fault.message}`);
	const figures = new FormulaFigures(plan, feed);
	const build_ms = performance.now() - start;
	const edit_ms = timeEdits(rows, (row, flow) => {
		data.feed_flow_m3_h[row] = flow;
		figures.update([row]);
	});
	return {
		build_ms,
		read_ms: planned - start,
		edit_ms,
		...memory(before),
		sample: COLUMNS.map(([id]) => sampleRows(rows).map((row) => figures.value(id, row))),
	};
}

function memory(before: number): Pick<Told, 'peak_MB' | 'own_MB'> {
	const { peak_MB } = usage();
	return { peak_MB, own_MB: peak_MB - before };
}

/** The little of the spreadsheet engine that is called. */
interface SheetEngine {
	setCellContents(at: { sheet: number; row: number; col: number }, content: number): unknown;
	getCellValue(at: { sheet: number; row: number; col: number }): unknown;
}

function spreadsheet(rows: number, folder: string): Told {
	const require = createRequire(join(folder, 'package.json'));
	const { HyperFormula } = require('hyperformula') as {
		HyperFormula: {
			buildFromArray(
				cells: (number | string | null)[][],
				options: Record<string, unknown>,
			): SheetEngine;
		};
	};
	const data = inputs(rows);
	const before = usage().peak_MB;
	const start = performance.now();
	const cells: (number | string | null)[][] = [];
	for (let row = 0; row < rows; row++)
		cells.push([
			...INPUTS.map((id) => data[id][row]!),
			...COLUMNS.map(([, , , sheet]) => sheet(row + 1)),
		]);
	const read_ms = performance.now() - start;
	const sheet = HyperFormula.buildFromArray(cells, {
		licenseKey: 'gpl-v3',
		maxRows: rows + 1,
		useStats: false,
	});
	const build_ms = performance.now() - start;
	const edit_ms = timeEdits(rows, (row, flow) => {
		sheet.setCellContents({ sheet: 0, row, col: 0 }, flow);
	});
	const sample = COLUMNS.map((_, at) =>
		sampleRows(rows).map((row) => {
			const value = sheet.getCellValue({ sheet: 0, row, col: INPUTS.length + at });
			return typeof value === 'number' ? value : null;
		}),
	);
	return { build_ms, read_ms, edit_ms, ...memory(before), sample };
}

/** Compiled by the library, run with a scope of the row's figures; rolling figures as functions in the scope. */
async function library(rows: number): Promise<Told> {
	const { all, create } = await import('mathjs');
	if (all === undefined) throw new Error('mathjs without its functions');
	const math = create(all);
	const data = inputs(rows);
	const before = usage().peak_MB;
	const start = performance.now();
	// Without units: the library would take hundreds of times as long with them.
	const texts = COLUMNS.map(([, , text]) =>
		text.replaceAll(/ (t\/h|m\^3\/h)/g, '').replace('1 min', '1 / 60'),
	);
	const codes = texts.map((text) =>
		math
			.parse(text)
			.transform((node) => {
				// The first figure of a rolling function is looked up in other rows: by its name.
				if (node.type !== 'FunctionNode') return node;
				const call = node as unknown as { fn: { name: string }; args: { toString(): string }[] };
				if (!['mean', 'std', 'change'].includes(call.fn.name)) return node;
				return math.parse(`${call.fn.name}("${call.args[0]?.toString()}", 5)`);
			})
			.compile(),
	);
	const read_ms = performance.now() - start;
	const results = Object.fromEntries(
		COLUMNS.map(([id]) => [id, new Float64Array(rows).fill(Number.NaN)]),
	);
	const held: Record<string, Float64Array> = { ...data, ...results };
	let row = 0;
	let sum = 0;
	const last = (id: string, n: number): number[] =>
		row + 1 < n ? [] : Array.from(held[id]!.subarray(row + 1 - n, row + 1));
	const mean = (id: string, n: number): number => {
		const values = last(id, n);
		return values.reduce((a, b) => a + b, 0) / (values.length || Number.NaN);
	};
	const scope: Record<string, unknown> = {
		mean,
		std: (id: string, n: number) => {
			const values = last(id, n);
			if (values.length === 0) return Number.NaN;
			const middle = mean(id, n);
			return Math.sqrt(values.reduce((a, b) => a + (b - middle) ** 2, 0) / (values.length - 1));
		},
		change: (id: string) => (row === 0 ? Number.NaN : held[id]![row]! - held[id]![row - 1]!),
		total: (x: number) => {
			sum += x;
			return sum;
		},
	};
	const ids = COLUMNS.map(([id]) => id);
	const dug = ids.indexOf('dug');
	const run = (from: number, to: number, only: (column: number) => boolean): void => {
		for (row = from; row < to; row++) {
			for (const id of INPUTS) scope[id] = data[id][row];
			for (let at = 0; at < codes.length; at++) {
				if (only(at)) results[ids[at]!]![row] = Number(codes[at]!.evaluate(scope));
				scope[ids[at]!] = results[ids[at]!]![row];
			}
		}
	};
	run(0, rows, () => true);
	const build_ms = performance.now() - start;
	const edit_ms = timeEdits(rows, (edited, flow) => {
		data.feed_flow_m3_h[edited] = flow;
		sum = edited === 0 ? 0 : results.dug![edited - 1]! * 60;
		const near = Math.min(rows, edited + 5);
		run(edited, near, () => true);
		run(near, rows, (column) => column === dug);
	});
	const sample = COLUMNS.map(([id]) =>
		sampleRows(rows).map((at) => {
			const value = results[id]![at]!;
			return Number.isNaN(value) ? null : value;
		}),
	);
	return { build_ms, read_ms, edit_ms, ...memory(before), sample };
}

/** Runs one way in a process of its own. */
function inOwnProcess(way: string, rows: number, folder: string): Told {
	const ran = spawnSync(
		process.execPath,
		[
			'--max-old-space-size=16000',
			fileURLToPath(import.meta.url),
			`--way=${way}`,
			`${rows}`,
			folder,
		],
		{ encoding: 'utf8', maxBuffer: 1 << 26, stdio: ['ignore', 'pipe', 'inherit'] },
	);
	if (ran.status !== 0) throw new Error(`${way} ended with ${ran.status ?? ran.signal}`);
	return JSON.parse(ran.stdout) as Told;
}

/** Largest difference of two ways' figures, in proportion. */
function farthest(a: Told, b: Told): number {
	let most = 0;
	a.sample.forEach((column, at) => {
		column.forEach((value, row) => {
			const other = b.sample[at]?.[row] ?? null;
			if (value === null || other === null) {
				if (value !== other) most = Number.POSITIVE_INFINITY;
				return;
			}
			most = Math.max(most, Math.abs(value - other) / Math.max(Math.abs(value), 1e-3));
		});
	});
	return most;
}

function line(name: string, told: Told): string {
	const ms = (x: number) => (x >= 100 ? x.toFixed(0) : x.toFixed(3)).padStart(11);
	const mega = (x: number) => x.toFixed(0).padStart(8);
	return `${name.padEnd(34)}${ms(told.build_ms)}${told.edit_ms.map(ms).join('')}${mega(told.peak_MB)}${mega(told.own_MB)}`;
}

function compare(rings: number): void {
	const rows = rings * READINGS_PER_RING;
	const folder = mkdtempSync(join(tmpdir(), 'formula-bench-'));
	try {
		console.log(
			`Putting ${ENGINE} (GPL-3.0, not a dependency) into a temporary folder for this run.`,
		);
		writeFileSync(join(folder, 'package.json'), '{ "private": true }\n');
		const put = spawnSync(
			'npm',
			['install', '--ignore-scripts', '--no-audit', '--no-fund', '--no-save', ENGINE],
			{ cwd: folder, stdio: ['ignore', 'ignore', 'inherit'], shell: process.platform === 'win32' },
		);
		if (put.status !== 0) throw new Error('npm could not put the spreadsheet engine there');
		console.log(`${rows} readings, ${COLUMNS.length} formula columns, times in ms`);
		console.log(
			`${''.padEnd(34)}${['build', 'edit first', 'middle', 'last'].map((one) => one.padStart(11)).join('')}${['MB', 'own MB'].map((one) => one.padStart(8)).join('')}`,
		);
		const mine = inOwnProcess('ours', rows, folder);
		console.log(line('formula columns', mine));
		const theirs = inOwnProcess('spreadsheet', rows, folder);
		console.log(line(ENGINE, theirs));
		const plain = inOwnProcess('library', rows, folder);
		console.log(line('expression library, row by row', plain));
		const [first, middle, last] = mine.edit_ms.map((ms, at) => (theirs.edit_ms[at] ?? 0) / ms);
		const build = theirs.build_ms / mine.build_ms;
		const smaller = theirs.peak_MB / mine.peak_MB;
		console.log(
			`largest difference to the spreadsheet engine ${farthest(mine, theirs).toExponential(1)}, to the library ${farthest(mine, plain).toExponential(1)}`,
		);
		console.log(
			`build ${build.toFixed(0)} times as fast (wanted ${WANTED.build}), ${(plain.build_ms / mine.build_ms).toFixed(0)} times the library`,
		);
		console.log(
			`edit ${[first, middle, last].map((one) => (one ?? 0).toFixed(0)).join(' / ')} times as fast (wanted ${WANTED.edit}), ${plain.edit_ms.map((ms, at) => (ms / (mine.edit_ms[at] ?? 1)).toFixed(0)).join(' / ')} times the library`,
		);
		console.log(
			`memory 1/${smaller.toFixed(1)} (wanted 1/${WANTED.memory}), 1/${(theirs.own_MB / mine.own_MB).toFixed(1)} beside data and program`,
		);
	} finally {
		rmSync(folder, { recursive: true, force: true });
	}
}

const [way, rows, folder] = process.argv.slice(2);
const WAYS: Record<string, () => Told | Promise<Told>> = {
	'--way=ours': () => ours(Number(rows)),
	'--way=spreadsheet': () => spreadsheet(Number(rows), folder ?? ''),
	'--way=library': () => library(Number(rows)),
};
const chosen = way === undefined ? undefined : WAYS[way];
if (chosen !== undefined) process.stdout.write(JSON.stringify(await chosen()));
else compare(Number(way ?? 5_000));
