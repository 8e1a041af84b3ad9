import { createHash } from 'node:crypto';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { MODES } from '../../../calc/circuit/samples.ts';
import type { LoggerLayout } from '../../../electron/contract/loggerimport.ts';
import { FaultList } from '../../../electron/folder/faultlist.ts';
import { openArchive } from '../../../electron/logger/archive.ts';
import { importLogger } from '../../../electron/logger/import.ts';
import { CsvReader } from '../../../electron/logger/layout/csvreader.ts';
import { lookAt } from '../../../electron/logger/layout/look.ts';
import { isPlain } from '../../../electron/logger/layout/plain.ts';
import { DIALECTS } from './madelayouts.ts';
import { emptyFolder, HEAD, madeInputs, madeRecord, parse } from './madelogger.ts';

const digestOf = (series: string): string => {
	const hash = createHash('sha256');
	for (const day of readdirSync(series)
		.filter((name) => name.startsWith('day='))
		.sort())
		hash.update(day).update(readFileSync(join(series, day, 'series.parquet')));
	return hash.digest('hex');
};

async function imported(file: string, layout: LoggerLayout | null, series: string) {
	const made = await importLogger({
		files: [file],
		seriesFolder: series,
		layout,
		inputs: madeInputs(3),
		take: 'all',
	});
	return { ...made, digest: made.kept ? digestOf(series) : '' };
}

describe('the same record in another dialect', () => {
	test('is found out and gives the same archive and balances to the bit', async () => {
		const folder = await emptyFolder();
		const plain = madeRecord(3 * 3600);
		writeFileSync(join(folder, 'logger.csv'), plain);
		const own = await imported(join(folder, 'logger.csv'), null, join(folder, 'own.series'));
		expect(own.balances).toHaveLength(3);
		for (const [at, dialect] of DIALECTS.entries()) {
			const file = join(folder, `export-${at}.${dialect.ending}`);
			writeFileSync(file, dialect.write(plain));
			const look = await lookAt(file, null, '+01:00');
			expect([dialect.name, look.notYet, look.faults]).toEqual([dialect.name, null, []]);
			const made = await imported(file, look.layout, join(folder, `${at}.series`));
			expect([dialect.name, made.faults]).toEqual([dialect.name, []]);
			expect([dialect.name, made.digest]).toEqual([dialect.name, own.digest]);
			expect(made.balances).toEqual(own.balances);
		}
	});

	test('as Parquet written by DuckDB, packed by snappy and by zstd, too', async () => {
		const folder = await emptyFolder();
		const plain = madeRecord(3 * 3600);
		const csv = join(folder, 'logger.csv');
		writeFileSync(csv, plain);
		const own = await imported(csv, null, join(folder, 'own.series'));
		const connection = await (await DuckDBInstance.create(':memory:')).connect();
		for (const codec of ['snappy', 'zstd', 'gzip']) {
			const file = join(folder, `${codec}.parquet`);
			await connection.run(
				`COPY (SELECT time::TIMESTAMPTZ AS stamp, mode AS "Circuit mode", feed_flow_m3_h AS "Feed flow [m³/h]", feed_density_t_m3::DECIMAL(9, 4) AS "Feed density [t/m³]", return_flow_m3_h, return_density_t_m3, chamber_level_m, feed_total_m3
				FROM read_csv('${csv}', header = true, delim = ',')) TO '${file}' (FORMAT parquet, COMPRESSION ${codec}, ROW_GROUP_SIZE 4096)`,
			);
			const look = await lookAt(file, null, '+01:00');
			expect([look.notYet, look.rows, look.time.step_s]).toEqual([null, 10_800, 1]);
			const made = await imported(file, look.layout, join(folder, `${codec}.series`));
			expect(made.faults).toEqual([]);
			// Doubles tell no decimals, so the day files are packed otherwise; the figures are the same bits.
			expect(made.balances).toEqual(own.balances);
		}
		connection.closeSync();
	});
});

describe('a look', () => {
	test('maps headings and units, and says what it is not sure of', async () => {
		const folder = await emptyFolder();
		const file = join(folder, 'export.csv');
		const rows = Array.from(
			{ length: 30 },
			(_, i) =>
				`2026-03-02 08:00:${String(i).padStart(2, '0')};${250 + i},5;1085;${262 + i},1;1190;2,61;0;100;x`,
		);
		writeFileSync(
			file,
			`Zeit/Time;Supply flow [L/s];Supply density [kg/m³];Discharge flow (l/s);Discharge density kg/m3;Support pressure [bar];Bypass valve [%];Chamber valve [%];Remark\n${rows.join('\n')}\n`,
		);
		const look = await lookAt(file, null, '+01:00');
		expect(look.layout).toMatchObject({
			delimiter: ';',
			decimal: ',',
			headingRow: 1,
			firstRow: 2,
			time: { fields: [0], format: 'iso', zone: '+01:00' },
			columns: [
				{ field: 1, to: 'feed_flow_m3_h', unit: 'L/s' },
				{ field: 2, to: 'feed_density_t_m3', unit: 'kg/m3' },
				{ field: 3, to: 'return_flow_m3_h', unit: 'L/s' },
				{ field: 4, to: 'return_density_t_m3', unit: 'kg/m3' },
				{ field: 5, to: 'face_pressure_bar', unit: 'bar' },
				{ field: 6, to: 'signal:bypassValve_1', unit: '%' },
				{ field: 7, to: 'signal:chamberValve_1', unit: '%' },
			],
		});
		// 1 L/s is 3.6 m³/h.
		expect(look.fields[1]).toMatchObject({ filled: 30, read: 30, min: 901.8 });
		expect(look.fields[2]?.parsed[0]).toBe(1.085);
		expect(look.time.doubts[0]).toMatch(/no offset/u);
		expect(look.modes.from).toBe('rules');
		expect(look.modes.rules.map((rule) => rule.id)).toContain('bypass_open');
		expect(look.notYet).toBeNull();
	});

	test('tells day-first from month-first where the file does, and doubts where it does not', async () => {
		const folder = await emptyFolder();
		const write = async (name: string, dates: string[]) => {
			const file = join(folder, name);
			const rows = dates.map((date, i) => `${date} 10:00:0${i},900,1.08`);
			writeFileSync(file, `Time,Feed flow [m3/h],Feed density [t/m3]\n${rows.join('\n')}\n`);
			return lookAt(file, null, 'UTC');
		};
		const month = await write('m.csv', ['03/13/2026', '03/14/2026', '03/15/2026']);
		expect(month.layout.time.format).toBe('mdy');
		const day = await write('d.csv', ['13/03/2026', '14/03/2026']);
		expect(day.layout.time.format).toBe('dmy');
		// The first of February to April goes forward as days and as months.
		const open = await write('o.csv', ['01/02/2026', '02/03/2026']);
		expect(open.time.doubts.join(' ')).toMatch(/other way round/u);
	});

	test('of what is no record says why it cannot be read yet', async () => {
		const folder = await emptyFolder();
		const file = join(folder, 'notes.csv');
		writeFileSync(file, 'a,b\nhello,world\nand,more\n');
		expect((await lookAt(file, null, 'UTC')).notYet).toMatch(/time/iu);
		writeFileSync(join(folder, 'not.parquet'), 'PAR1 not really PAR1');
		await expect(lookAt(join(folder, 'not.parquet'), null, 'UTC')).rejects.toThrow();
	});

	test('sees that a file is in the plain dialect', async () => {
		const folder = await emptyFolder();
		const file = join(folder, 'logger.csv');
		writeFileSync(file, madeRecord(100));
		const look = await lookAt(file, null, 'UTC');
		const head = madeRecord(1).split('\n')[0] ?? '';
		expect(isPlain(look.layout, head)).toBe(true);
		expect(isPlain({ ...look.layout, delimiter: ';' }, head)).toBe(false);
		expect(isPlain({ ...look.layout, columns: look.layout.columns.slice(1) }, head)).toBe(false);
	});
});

/** A local record as text, read by a layout. */
function read(text: string, layout: LoggerLayout, cuts: readonly number[] = [1 << 20]) {
	const faults = new FaultList();
	const time_s: number[] = [];
	const flow: number[] = [];
	const mode: number[] = [];
	const reader = new CsvReader({
		file: 'export.csv',
		layout,
		faults,
		take: (batch) => {
			time_s.push(...batch.time_s.subarray(0, batch.count));
			mode.push(...batch.mode.subarray(0, batch.count));
			flow.push(...(batch.numbers[0]?.values.subarray(0, batch.count) ?? []));
		},
	});
	const bytes = new TextEncoder().encode(text);
	for (let at = 0, k = 0; at < bytes.length; k++) {
		const size = Math.max(1, cuts[k % cuts.length] ?? 1);
		reader.push(bytes.slice(at, at + size));
		at += size;
	}
	reader.end();
	return { time_s, flow, mode, faults };
}

const LOCAL: LoggerLayout = {
	format: 'csv',
	encoding: 'utf-8',
	delimiter: ';',
	decimal: ',',
	headingRow: 1,
	firstRow: 2,
	time: { fields: [0], format: 'dmy', zone: 'Europe/Berlin' },
	columns: [{ field: 1, to: 'feed_flow_m3_h', unit: 'm3/h' }],
	modeWords: [],
	modeRules: [],
};

describe('daylight saving', () => {
	// tz database: Europe/Berlin goes from +1 to +2 on 2026-03-29 and back on 2026-10-25, both at 01:00 UTC.
	const AUTUMN_S = Date.UTC(2026, 9, 25, 0) / 1000;
	const local = (utc_s: number, offset_h: number): string => {
		const text = new Date((utc_s + offset_h * 3600) * 1000).toISOString();
		return `${text.slice(8, 10)}.${text.slice(5, 7)}.${text.slice(0, 4)} ${text.slice(11, 19)}`;
	};

	test('the hour that is shown twice is told apart by the order of the rows, and noted', () => {
		const rows = [];
		for (let t = AUTUMN_S - 1800; t < AUTUMN_S + 3 * 3600; t += 60)
			rows.push(`${local(t, t < AUTUMN_S + 3600 ? 2 : 1)};900,5`);
		const { time_s, faults } = read(`Zeit;Q\n${rows.join('\n')}\n`, LOCAL);
		expect(time_s).toEqual(rows.map((_, i) => AUTUMN_S - 1800 + i * 60));
		expect(faults.listed.map(({ code, weight }) => [code, weight])).toEqual([
			['hour_repeated', 'note'],
		]);
		expect(faults.listed[0]?.message).toMatch(/ 120 /u);
	});

	test('a time in the hour that is left out is no time', () => {
		const { time_s, faults } = read(
			'Zeit;Q\n29.03.2026 01:59:59;1\n29.03.2026 02:30:00;2\n29.03.2026 03:00:00;3\n',
			LOCAL,
		);
		expect(time_s).toEqual([
			Date.UTC(2026, 2, 29, 0, 59, 59) / 1000,
			Date.UTC(2026, 2, 29, 1) / 1000,
		]);
		expect(faults.listed.map(({ code, where }) => [code, where.row])).toEqual([
			['hour_missing', 3],
		]);
	});

	test('every UTC second of a year survives the way to local time and back', () => {
		fc.assert(
			fc.property(fc.integer({ min: 0, max: 365 * 86_400 - 1 }), (offset) => {
				const t = Date.UTC(2026, 0, 1) / 1000 + offset;
				const inSummer =
					t >= Date.UTC(2026, 2, 29, 1) / 1000 && t < Date.UTC(2026, 9, 25, 1) / 1000;
				const { time_s } = read(`Zeit;Q\n${local(t, inSummer ? 2 : 1)};1\n`, LOCAL);
				const repeated = t >= AUTUMN_S + 3600 && t < AUTUMN_S + 7200;
				// Alone, a time of the repeated hour is taken for its first showing.
				expect(time_s).toEqual([repeated ? t - 3600 : t]);
			}),
			{ seed: 7, numRuns: 300 },
		);
	});
});

test('however the bytes are cut, a file with marks, quotation marks and line breaks in them reads the same', () => {
	const layout: LoggerLayout = {
		...LOCAL,
		time: { fields: [0], format: 'iso', zone: 'UTC' },
	};
	const text = `\uFEFFTime;"Flow ""Q"""\r\n${Array.from(
		{ length: 40 },
		(_, i) => `2026-03-02 08:00:${String(i).padStart(2, '0')};"${i},2${i % 7 === 0 ? '\r\n' : ''}"`,
	).join('\r\n')}\r\n`;
	const whole = read(text, layout);
	expect([whole.time_s.length, whole.flow[39], whole.faults.listed]).toEqual([40, 39.2, []]);
	fc.assert(
		fc.property(
			fc.array(fc.integer({ min: 1, max: 60 }), { minLength: 1, maxLength: 6 }),
			(cuts) => {
				const cut = read(text, layout, cuts);
				expect([cut.time_s, cut.flow]).toEqual([whole.time_s, whole.flow]);
			},
		),
		{ seed: 3, numRuns: 60 },
	);
});

test('figures are the doubles nearest to what is written, in whichever dialect', () => {
	fc.assert(
		fc.property(
			fc.array(fc.tuple(fc.integer({ min: 0, max: 999_999 }), fc.integer({ min: 0, max: 5 })), {
				minLength: 1,
				maxLength: 30,
			}),
			(figures) => {
				const written = figures.map(([whole, decimals]) =>
					(whole / 10 ** decimals).toFixed(decimals),
				);
				const stamp = (i: number): string => `2026-03-02T08:00:${String(i).padStart(2, '0')}`;
				const plain = parse(
					`${HEAD}\n${written.map((text, i) => `${stamp(i)}Z,stop,${text},,,`).join('\n')}\n`,
				);
				const foreign = read(
					`Zeit;Q\n${written.map((text, i) => `${stamp(i)};${text.replace('.', ',')}`).join('\n')}\n`,
					{ ...LOCAL, time: { fields: [0], format: 'iso', zone: 'UTC' } },
				);
				expect(foreign.time_s).toEqual(plain.time_s);
				expect(foreign.flow).toEqual(plain.numbers.feed_flow_m3_h);
				expect(foreign.faults.stops).toBe(plain.faults.stops);
			},
		),
		{ seed: 11, numRuns: 200 },
	);
});

test('modes are told by rules where no field has them, and reach the archive', async () => {
	const folder = await emptyFolder();
	const rows = Array.from({ length: 60 }, (_, i) => {
		const open = i >= 20 && i < 40 ? 100 : 0;
		return `2026-03-02 08:00:${String(i).padStart(2, '0')};900,0;${open};${100 - open}`;
	});
	const file = join(folder, 'export.csv');
	writeFileSync(file, `Time;Feed flow;Bypass valve [%];Chamber valve [%]\n${rows.join('\n')}\n`);
	const look = await lookAt(file, null, 'UTC');
	expect(look.modes.from).toBe('rules');
	await imported(file, look.layout, join(folder, 'own.series'));
	const archive = openArchive(join(folder, 'own.series'));
	const { mode } = await archive.span(0, 1e12);
	// The change counts from where the valve has turned, though it is told three seconds later.
	const expected = rows.map((_, i) => MODES.indexOf(i >= 20 && i < 40 ? 'bypass' : 'advance'));
	expect([...mode]).toEqual(expected);
	expect(archive.manifest.columns).toEqual(['feed_flow_m3_h']);
});

test('faults name file, row, column and what was expected', () => {
	const { time_s, flow, faults } = read(
		'Zeit;Q\n01.03.2026 08:00:00;1.180\n01.03.2026 08:00:01;1.180,5\n01.03.2026 08:00:02;1;2\nnonsense;5\n01.03.2026 08:00:01;7\n01.03.2026 08:00:03;-99999999\n',
		LOCAL,
	);
	expect([time_s.length, flow]).toEqual([3, [Number.NaN, 1180.5, Number.NaN]]);
	expect(faults.listed.map(({ code, where }) => [code, where.row, where.column])).toEqual([
		['number_text', 2, 'feed_flow_m3_h'],
		['fields_number', 4, undefined],
		['time_text', 5, 'time'],
		['stamp_twice', 6, 'time'],
		['value_below', 7, 'feed_flow_m3_h'],
	]);
});
