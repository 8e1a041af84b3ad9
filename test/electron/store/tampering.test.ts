import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { describe, expect, it } from 'vitest';
import { checkFile } from '../../../electron/store/checkfile.ts';
import { CHAIN_START, entryHash } from '../../../electron/store/journal.ts';
import { NewFile } from '../../../electron/store/newfile.ts';
import { openForWriting, scratchFolder, smallDrive } from './smalldrive.ts';

const folder = scratchFolder();
let made = 0;

/** A drive with nine journal entries: six edits of readings 300–305, a row added, one deleted. */
function workedOn(): string {
	const path = join(folder, `worked-${++made}.slurrybook`);
	NewFile.write(path, smallDrive());
	const file = openForWriting(path);
	const base = { label: 'step', why: 'typing error', who: 'Operator A', at_s: 1_700_000_200 };
	for (let n = 0; n < 6; n++)
		file.commit({
			...base,
			kind: 'edit',
			changes: [
				{
					kind: 'cell',
					sheet: 'readings',
					row: 300 + n,
					column: 'feed_density_t_m3',
					before: 1.05,
					after: 1.06,
				},
			],
		});
	const added = { time: 50_000, mode: 'stop' };
	file.commit({
		...base,
		kind: 'add',
		changes: [{ kind: 'row', sheet: 'readings', row: 601, before: null, after: added }],
	});
	const before = file.rows('readings').find((row) => row.id === 10)!.cells;
	file.commit({
		...base,
		kind: 'delete',
		changes: [{ kind: 'row', sheet: 'readings', row: 10, before, after: null }],
	});
	file.close();
	return path;
}

function findingsAfter(sql: string | ((db: DatabaseSync) => void)) {
	const path = workedOn();
	const db = new DatabaseSync(path);
	if (typeof sql === 'string') db.exec(sql);
	else sql(db);
	db.close();
	const file = openForWriting(path);
	const { findings } = checkFile(file);
	file.close();
	return findings.map(({ code, where }) => ({ code, ...where }));
}

describe('the check of a document', () => {
	it('finds nothing in one that was only worked on', () => {
		expect(findingsAfter('SELECT 1')).toEqual([]);
	});

	it('finds an altered entry at its place', () => {
		expect(findingsAfter('UPDATE journal SET new = 1.07 WHERE seq = 4')).toContainEqual({
			code: 'journal_entry_altered',
			file: 'journal',
			row: 4,
		});
		expect(findingsAfter("UPDATE journal SET who = 'someone else' WHERE seq = 2")).toEqual([
			{ code: 'journal_entry_altered', file: 'journal', row: 2 },
		]);
		expect(findingsAfter("UPDATE journal SET kind = 'nonsense' WHERE seq = 2")).toContainEqual({
			code: 'journal_entry_unreadable',
			file: 'journal',
			row: 2,
		});
	});

	it('finds a deleted entry at its place, and that its row does not go back', () => {
		const findings = findingsAfter('DELETE FROM journal WHERE seq = 5');
		expect(findings).toContainEqual({ code: 'journal_entry_missing', file: 'journal', row: 5 });
		expect(findings).toContainEqual({ code: 'rows_not_as_imported', file: 'readings', row: 257 });
	});

	it('finds entries that changed places', () => {
		const codes = findingsAfter(
			'UPDATE journal SET seq = 1000 WHERE seq = 3; UPDATE journal SET seq = 3 WHERE seq = 4; UPDATE journal SET seq = 4 WHERE seq = 1000',
		).map((one) => `${one.code} ${one.row}`);
		expect(codes).toContain('journal_chain_broken 3');
		expect(codes).toContain('journal_entry_altered 3');
	});

	it('finds entries renumbered after one was taken out', () => {
		const codes = findingsAfter(
			'DELETE FROM journal WHERE seq = 4; UPDATE journal SET seq = -seq WHERE seq > 4; UPDATE journal SET seq = -seq - 1 WHERE seq < 0',
		).map((one) => one.code);
		expect(codes).toContain('journal_chain_broken');
		expect(codes).toContain('journal_cut');
	});

	it('finds a history cut off at its end', () => {
		expect(findingsAfter('DELETE FROM journal WHERE seq >= 8')).toContainEqual({
			code: 'journal_cut',
			file: 'journal',
			row: 8,
		});
	});

	it('finds a cut history also when the count and hash were made to agree, because the rows do not go back', () => {
		const findings = findingsAfter((db) => {
			db.exec('DELETE FROM journal WHERE seq >= 8');
			const last = db.prepare('SELECT hash FROM journal WHERE seq = 7').get();
			db.exec("UPDATE document SET value = 7 WHERE key = 'journal_count'");
			db.prepare("UPDATE document SET value = ? WHERE key = 'journal_hash'").run(
				last?.hash as string,
			);
		});
		expect(findings).toContainEqual({ code: 'rows_not_as_imported', file: 'readings', row: 1 });
		expect(findings).toContainEqual({ code: 'rows_not_as_imported', file: 'readings', row: 513 });
	});

	it('finds a row changed behind the journal: at the cell if it was edited before, else within its block', () => {
		expect(
			findingsAfter('UPDATE readings SET feed_density_t_m3 = 1.2 WHERE id = 302'),
		).toContainEqual({
			code: 'row_changed_outside',
			file: 'readings',
			row: 302,
			column: 'feed_density_t_m3',
		});
		expect(findingsAfter('UPDATE readings SET return_flow_m3_h = 1 WHERE id = 20')).toEqual([
			{ code: 'rows_not_as_imported', file: 'readings', row: 1 },
		]);
		expect(findingsAfter('DELETE FROM rings WHERE id = 2')).toEqual([
			{ code: 'rows_not_as_imported', file: 'rings', row: 1 },
		]);
		expect(
			findingsAfter("UPDATE drive SET value = 10 WHERE column_id = 'excavated_diameter_m'"),
		).toEqual([{ code: 'rows_not_as_imported', file: 'drive', row: 1 }]);
		expect(findingsAfter('UPDATE ground_passing SET passing_pct = 50')).toEqual([
			{ code: 'rows_not_as_imported', file: 'ground', row: 1 },
		]);
	});

	it('finds a row put in behind the journal', () => {
		expect(
			findingsAfter("INSERT INTO readings (id, time, mode) VALUES (700, 60000, 'stop')"),
		).toEqual([{ code: 'rows_not_as_imported', file: 'readings', row: 513 }]);
		expect(
			findingsAfter("INSERT INTO readings (id, time, mode) VALUES (10, 9270, 'stop')"),
		).toContainEqual({
			code: 'row_changed_outside',
			file: 'readings',
			row: 10,
		});
	});

	it('finds a missing or rewritten origin', () => {
		expect(findingsAfter('DELETE FROM journal WHERE seq = 1').map((one) => one.code)).toContain(
			'journal_origin_missing',
		);
		expect(
			findingsAfter("UPDATE journal SET new = '{}' WHERE seq = 1").map((one) => one.code),
		).toContain('journal_origin_missing');
	});
});

it('hashes an entry over all its parts', () => {
	const entry = {
		seq: 2,
		at_s: 1.5,
		who: 'a',
		gesture: 2,
		label: 'l',
		kind: 'edit',
		sheet: 'readings',
		row: 4,
		column: 'ph',
		old: 1,
		new: 2,
		why: 'w',
		prevHash: CHAIN_START,
	} as const;
	// SHA-256 of the JSON text, worked out with another implementation (coreutils sha256sum):
	// printf '[2,1.5,"a",2,"l","edit","readings",4,"ph",1,2,"w","000…000"]' | sha256sum
	expect(entryHash(entry)).toBe('fa3598d9c083c00233ef4a3184bf1b8e108a0dadf2e9b2b528050cc403f34692');
	const hashes = new Set([entryHash(entry)]);
	for (const part of Object.keys(entry) as (keyof typeof entry)[]) {
		const other = { ...entry, [part]: typeof entry[part] === 'number' ? 99 : 'undo' };
		hashes.add(entryHash(other as typeof entry));
	}
	expect(hashes.size).toBe(Object.keys(entry).length + 1);
});
