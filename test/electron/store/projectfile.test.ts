import { spawn } from 'node:child_process';
import {
	copyFileSync,
	existsSync,
	readdirSync,
	readFileSync,
	statSync,
	symlinkSync,
	truncateSync,
	writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { columnsOf } from '../../../calc/sheet/catalogue.ts';
import { SHEETS } from '../../../calc/sheet/column.ts';
import { checkFile } from '../../../electron/store/checkfile.ts';
import { holdPath } from '../../../electron/store/holder.ts';
import { NewFile } from '../../../electron/store/newfile.ts';
import { ENTERED_SHEETS, ProjectFile } from '../../../electron/store/projectfile.ts';
import { newestVersion, SCHEMA_HISTORY, TABLE_COLUMNS } from '../../../electron/store/schema.ts';
import { openForWriting, scratchFolder, smallDrive } from './smalldrive.ts';

const folder = scratchFolder();
let made = 0;
function newFile(change = {}): string {
	const path = join(folder, `drive-${++made}.slurrybook`);
	NewFile.write(path, smallDrive(change));
	return path;
}
const open = (path: string, history = SCHEMA_HISTORY) =>
	ProjectFile.open({ path, for: 'write', person: 'C', now_s: 1, history });

describe('what is written comes back', () => {
	it('keeps every row of every sheet as entered', () => {
		const drive = smallDrive();
		const file = openForWriting(newFile());
		expect(file.rows('drive')).toEqual([{ id: 1, cells: drive.drive }]);
		for (const sheet of ENTERED_SHEETS.filter((one) => one !== 'drive'))
			expect(file.rows(sheet).map((row) => row.cells)).toEqual(drive[sheet]);
		expect(file.facts()).toEqual(drive.facts);
		expect(file.sources()).toEqual(drive.sources);
		expect(checkFile(file).findings).toEqual([]);
		file.close();
	});

	it('has a table column for every column a person can enter', () => {
		for (const [sheet, columns] of Object.entries(TABLE_COLUMNS)) {
			const entered = columnsOf(sheet as keyof typeof TABLE_COLUMNS)
				.filter((column) => column.kind === 'entered')
				.map((column) => column.id);
			expect([...columns].sort()).toEqual(entered.sort());
		}
		const db = new DatabaseSync(':memory:');
		for (const step of SCHEMA_HISTORY) step.apply(db);
		for (const [sheet, columns] of Object.entries(TABLE_COLUMNS))
			expect(
				db
					.prepare(`PRAGMA table_info(${sheet})`)
					.all()
					.map((row) => row.name),
			).toEqual(['id', ...columns]);
		db.close();
	});

	it('keeps any number, text and missing cell to the bit', () => {
		const path = newFile();
		const file = openForWriting(path);
		let row = file.nextRow('readings');
		fc.assert(
			fc.property(
				fc.record({
					time: fc.double({ noNaN: true, noDefaultInfinity: true }),
					mode: fc.constantFrom('advance', 'stop'),
					note: fc.oneof(fc.constant(null), fc.string({ unit: 'binary', maxLength: 40 })),
					ph: fc.oneof(fc.constant(null), fc.double({ noNaN: true, noDefaultInfinity: true })),
				}),
				(cells) => {
					// SQLite text ends at no character but a lone surrogate has no UTF-8 form.
					fc.pre(cells.note === null || cells.note.isWellFormed());
					file.commit({
						kind: 'add',
						label: 'add',
						why: null,
						who: 'C',
						at_s: 5,
						changes: [{ kind: 'row', sheet: 'readings', row, before: null, after: cells }],
					});
					const back = file.rows('readings').find((one) => one.id === row)?.cells;
					row++;
					// SQLite keeps no sign of zero.
					expect(back?.time).toBe(cells.time + 0);
					expect(back?.note ?? null).toBe(cells.note);
					expect(back?.ph ?? null).toBe(cells.ph === null ? null : cells.ph + 0);
				},
			),
			{ numRuns: 60, seed: 7 },
		);
		expect(checkFile(file).findings).toEqual([]);
		file.close();
	});

	it('refuses a value that is not finite, and changes nothing then', () => {
		const file = openForWriting(newFile());
		const edit = (after: number) => () =>
			file.commit({
				kind: 'edit',
				label: 'e',
				why: null,
				who: 'C',
				at_s: 1,
				changes: [
					{ kind: 'cell', sheet: 'readings', row: 1, column: 'ph', before: 9.5, after: 9.6 },
					{ kind: 'cell', sheet: 'readings', row: 2, column: 'ph', before: null, after },
				],
			});
		expect(edit(Number.NaN)).toThrow(RangeError);
		expect(edit(Number.POSITIVE_INFINITY)).toThrow(RangeError);
		expect(file.rows('readings')[0]?.cells.ph).toBe(9.5);
		expect(file.journalEntries).toBe(1);
		file.close();
	});

	it('never gives a row number twice, also after the row is gone and the file is opened again', () => {
		const path = newFile();
		const file = openForWriting(path);
		const row = file.nextRow('meters');
		const cells = { meter: 'return_flow', valid_from: 1, slope: 1, offset: 0 };
		const base = { label: '', why: null, who: 'C', at_s: 1 };
		file.commit({
			...base,
			kind: 'add',
			changes: [{ kind: 'row', sheet: 'meters', row, before: null, after: cells }],
		});
		file.commit({
			...base,
			kind: 'delete',
			changes: [{ kind: 'row', sheet: 'meters', row, before: cells, after: null }],
		});
		file.close();
		const again = openForWriting(path);
		expect(again.nextRow('meters')).toBe(row + 1);
		again.close();
	});
});

describe('a file that is not a sound project of ours is refused with a reason', () => {
	const refusalOf = (path: string, history = SCHEMA_HISTORY) => {
		const before = existsSync(path) && statSync(path).isFile() ? readFileSync(path) : null;
		const opened = open(path, history);
		if (opened.ok) opened.value.close();
		if (before !== null) expect(readFileSync(path).equals(before)).toBe(true);
		expect(existsSync(holdPath(path))).toBe(false);
		return opened.ok ? null : opened.code;
	};
	const tampered = (sql: string): string => {
		const path = newFile();
		const db = new DatabaseSync(path);
		db.exec(sql);
		db.close();
		return path;
	};

	it('tells what it is not', () => {
		const text = join(folder, 'text.slurrybook');
		writeFileSync(text, 'time,mode\n'.repeat(50));
		expect(refusalOf(text)).toBe('not_a_project');
		const empty = join(folder, 'empty.slurrybook');
		writeFileSync(empty, '');
		expect(refusalOf(empty)).toBe('not_a_project');
		expect(refusalOf(join(folder, 'nowhere.slurrybook'))).toBe('cannot_read');
		expect(refusalOf(folder)).toBe('not_a_file');
		const link = join(folder, 'link.slurrybook');
		symlinkSync(newFile(), link);
		expect(refusalOf(link)).toBe('not_a_file');
		expect(refusalOf(tampered('PRAGMA application_id = 1'))).toBe('not_a_project');
	});

	it('refuses a newer version, and does not write it', () => {
		expect(refusalOf(tampered('PRAGMA user_version = 99'))).toBe('newer_version');
		expect(refusalOf(tampered('PRAGMA user_version = 0'))).toBe('not_a_project');
	});

	it('refuses tables, triggers, views and indexes that are not ours', () => {
		for (const sql of [
			'CREATE TRIGGER t AFTER UPDATE ON readings BEGIN DELETE FROM journal; END',
			'CREATE VIEW v AS SELECT * FROM readings',
			'CREATE TABLE extra (a)',
			'CREATE INDEX i ON readings (time)',
			'DROP TABLE meters',
			'ALTER TABLE readings ADD COLUMN more TEXT',
			'DROP TABLE meters; CREATE VIEW meters AS SELECT 1 AS id',
		])
			expect(refusalOf(tampered(sql)), sql).toBe('foreign_schema');
	});

	it('survives truncation at every page and flipped bytes: a refusal, or a document with all its rows', () => {
		const whole = newFile();
		const bytes = statSync(whole).size;
		const page = 4096;
		const outcomes = new Set<string>();
		const tryOpen = (path: string) => {
			const opened = open(path);
			if (!opened.ok) {
				outcomes.add('refused');
				expect(opened.message.length).toBeGreaterThan(20);
				return;
			}
			outcomes.add('opened');
			expect(opened.value.rows('readings')).toHaveLength(600);
			opened.value.close();
		};
		for (let size = 0; size < bytes; size += page) {
			const path = join(folder, 'cut.slurrybook');
			copyFileSync(whole, path);
			truncateSync(path, size);
			const opened = open(path);
			expect(opened.ok, `cut to ${size}`).toBe(false);
		}
		for (let at = 0; at < 100; at++) {
			const path = join(folder, 'flipped.slurrybook');
			const content = readFileSync(whole);
			content[at] = content[at]! ^ 0xff;
			writeFileSync(path, content);
			tryOpen(path);
		}
		expect(outcomes).toEqual(new Set(['refused', 'opened']));
	});
});

describe('one writer', () => {
	it('opens a second time read only and says who holds it; free again when the first closes', () => {
		const path = newFile();
		const first = openForWriting(path);
		const second = open(path);
		if (!second.ok) throw new Error(second.message);
		expect(second.value.readOnly).toBe(true);
		expect(second.value.readOnlyWhy).toContain('Engineer B');
		expect(second.value.readOnlyWhy).toContain(String(process.pid));
		expect(() =>
			second.value.commit({ kind: 'edit', label: '', why: null, who: '', at_s: 0, changes: [] }),
		).toThrow();
		// What the first confirms is seen by the second.
		const version = second.value.dataVersion();
		first.commit({
			kind: 'edit',
			label: 'e',
			why: null,
			who: 'B',
			at_s: 1,
			changes: [{ kind: 'cell', sheet: 'readings', row: 2, column: 'ph', before: null, after: 8 }],
		});
		expect(second.value.dataVersion()).not.toBe(version);
		expect(second.value.rows('readings')[1]?.cells.ph).toBe(8);
		first.close();
		second.value.close();
		expect(readdirSync(folder).filter((name) => name.endsWith('-writer'))).toEqual([]);
		const third = openForWriting(path);
		expect(third.readOnly).toBe(false);
		third.close();
	});

	it('takes over from a process that was killed, and not from one that lives', async () => {
		const path = newFile();
		const holder = spawn(
			process.execPath,
			[
				'--input-type=module',
				'-e',
				`import { ProjectFile } from ${JSON.stringify(new URL('../../../electron/store/projectfile.ts', import.meta.url).href)};
				const o = ProjectFile.open({ path: ${JSON.stringify(path)}, for: 'write', person: 'Night shift', now_s: 0 });
				console.log(o.ok && !o.value.readOnly ? 'held' : 'not held');
				setInterval(() => o, 1000);`,
			],
			{ stdio: ['ignore', 'pipe', 'ignore'] },
		);
		const said = await new Promise((resolve) =>
			holder.stdout.once('data', (data) => resolve(String(data).trim())),
		);
		expect(said).toBe('held');
		const while_ = open(path);
		expect(while_.ok && while_.value.readOnlyWhy).toContain('Night shift');
		if (while_.ok) while_.value.close();
		const gone = new Promise((resolve) => holder.once('exit', resolve));
		holder.kill('SIGKILL');
		await gone;
		const after = openForWriting(path);
		expect(after.readOnly).toBe(false);
		after.close();
	});

	it('does not write through a link laid in the place of its mark', () => {
		const path = newFile();
		const target = join(folder, 'precious.db');
		writeFileSync(target, '');
		symlinkSync(target, holdPath(path));
		const opened = open(path);
		expect(opened.ok && opened.value.readOnly).toBe(true);
		expect(statSync(target).size).toBe(0);
		if (opened.ok) opened.value.close();
	});
});

describe('coming versions', () => {
	const next = newestVersion(SCHEMA_HISTORY) + 1;
	const withNext = (apply: (db: DatabaseSync) => void) => [
		...SCHEMA_HISTORY,
		{ version: next, what: 'a table that only this test knows', apply },
	];

	it('brings an older file forward and keeps a copy of it as it was', () => {
		const path = newFile();
		const before = readFileSync(path);
		const opened = open(
			path,
			withNext((db) => db.exec('CREATE TABLE later (a REAL) STRICT')),
		);
		if (!opened.ok) throw new Error(opened.message);
		expect(opened.value.backup).not.toBeNull();
		expect(readFileSync(opened.value.backup!).equals(before)).toBe(true);
		expect(opened.value.rows('readings')).toHaveLength(600);
		expect(opened.value.database.prepare('PRAGMA user_version').get()?.user_version).toBe(next);
		opened.value.close();
		// The program of the version before now says that the file is newer than it.
		const old = open(path);
		expect(old.ok ? null : old.code).toBe('newer_version');
		const copy = open(`${path}.version-${next - 1}.bak`);
		expect(copy.ok).toBe(true);
		if (copy.ok) copy.value.close();
	});

	it('leaves the file as it was when a step fails', () => {
		const path = newFile();
		const opened = open(
			path,
			withNext((db) =>
				db.exec('CREATE TABLE later (a REAL) STRICT; INSERT INTO nowhere VALUES (1)'),
			),
		);
		expect(opened.ok ? null : opened.code).toBe('migration_failed');
		const file = openForWriting(path);
		expect(checkFile(file).findings).toEqual([]);
		file.close();
	});
});

it('knows every entered sheet', () => {
	expect([...ENTERED_SHEETS, 'ledger'].sort()).toEqual([...SHEETS].sort());
});
