import { copyFileSync, existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { checkFile } from '../../../electron/store/checkfile.ts';
import { ProjectFile } from '../../../electron/store/projectfile.ts';
import { newestVersion, SCHEMA_HISTORY } from '../../../electron/store/schema.ts';
import { TestDesk } from '../desk/invented.ts';
import { openForWriting, scratchFolder } from './smalldrive.ts';

/**
 * A file as the program wrote it while its tables were of version 1: three rings, readings every ten
 * minutes, one reading edited, one certificate added, one reading deleted and put back.
 */
const FIXTURE = new URL('./fixtures/version-1.sqlite', import.meta.url).pathname;

const folder = scratchFolder();
let made = 0;
function copyOfIt(): string {
	const path = join(folder, `old-${++made}.slurrybook`);
	copyFileSync(FIXTURE, path);
	return path;
}

describe('a file of version 1', () => {
	it('is brought forward with a copy beside it, and its history still leads back to its origin', () => {
		const path = copyOfIt();
		const file = openForWriting(path);
		expect(file.backup).not.toBeNull();
		expect(readFileSync(file.backup!).equals(readFileSync(FIXTURE))).toBe(true);
		expect(file.rows('rings').map((row) => row.cells.ring)).toEqual([1, 2, 3]);
		expect(file.rows('meters').map((row) => row.cells.certificate)).toEqual(['C-1', 'C-2']);
		expect(file.rows('readings').find((row) => row.id === 5)?.cells.return_flow_m3_h).toBe(1003);
		expect(file.rows('bypass_decisions')).toEqual([]);
		expect(file.rows('mode_overrides')).toEqual([]);
		expect(file.journalEntries).toBe(5);
		expect(checkFile(file).findings).toEqual([]);
		file.close();
		const again = openForWriting(path);
		expect(again.backup).toBeNull();
		again.close();
		expect(existsSync(`${path}.version-1.bak`)).toBe(true);
	});

	it('takes the new sheets and columns once it is brought forward', async () => {
		const path = copyOfIt();
		const desk = new TestDesk(folder);
		await desk.handle.openFile(path);
		const before = (await desk.must('sheet.rows', { sheet: 'ledger' })).rows;
		expect(before).toHaveLength(3);
		const typed = { decimal: '.' } as const;
		const added = await desk.must('sheet.add', {
			sheet: 'mode_overrides',
			rows: [
				{
					from_time: '2026-03-01T05:35:00Z',
					to_time: '2026-03-01T05:45:00Z',
					mode: 'stop',
					why: 'pump tripped',
				},
			],
			typed,
		});
		expect(added.refused).toEqual([]);
		const edited = await desk.must('sheet.edit', {
			sheet: 'readings',
			edits: [{ row: 5, column: 'mud_balance_feed_t_m3', text: '1.08' }],
			typed,
		});
		expect(edited.refused).toEqual([]);
		expect((await desk.must('project.check', {})).findings).toEqual([]);
		desk.handle.close();
	});

	it('is not opened where it cannot be written, and stays as it is', () => {
		const path = copyOfIt();
		const opened = ProjectFile.open({ path, for: 'read', person: 'C', now_s: 1 });
		expect(opened.ok ? null : opened.code).toBe('older_version');
		expect(readFileSync(path).equals(readFileSync(FIXTURE))).toBe(true);
		expect(newestVersion(SCHEMA_HISTORY)).toBeGreaterThan(1);
	});
});
