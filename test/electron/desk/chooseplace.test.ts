import { existsSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { scratchFolder } from '../store/smalldrive.ts';
import { TestDesk, writeInventedFolder } from './invented.ts';

const folder = scratchFolder();
let chosen: string | null = null;
let files: readonly string[] | null = null;
const desk = new TestDesk(folder, {
	choosePath: async () => chosen,
	chooseFiles: async () => files,
});

beforeAll(() => {
	writeInventedFolder(join(folder, 'plain'), { rings: 2 });
	mkdirSync(join(folder, 'else', 'where'), { recursive: true });
});

/** What a page does: ask the system's dialog, hand the answer on. */
describe("a place chosen in the system's dialog", () => {
	it('is where a project is made, under the name chosen there', async () => {
		chosen = join(folder, 'plain');
		const from = await desk.must('places.choose', { purpose: 'open-folder' });
		expect(from?.title).toBe('plain');
		chosen = join(folder, 'else', 'East drive.slurrybook');
		const into = await desk.must('places.choose', { purpose: 'save-project', suggest: 'Drive' });
		expect(into?.title).toBe('East drive.slurrybook');
		await desk.must('project.create', {
			folderId: from?.placeId ?? '',
			intoId: into?.placeId ?? '',
			name: into?.title ?? '',
			take: 'all',
		});
		expect(existsSync(chosen)).toBe(true);
	});

	it('is what is opened', async () => {
		const open = await desk.must('places.choose', { purpose: 'open-project' });
		const state = await desk.must('project.open', { placeId: open?.placeId ?? '' });
		expect(state.document?.file).toBe('East drive.slurrybook');
	});

	it('holds an exported folder under the suggested name, and a second one under a free name', async () => {
		chosen = join(folder, 'else', 'where');
		for (const name of ['Out', 'Out 2', 'Out 3']) {
			const into = await desk.must('places.choose', { purpose: 'export-folder', suggest: 'Out' });
			expect(into?.title).toBe(name);
			await desk.must('project.exportFolder', {
				intoId: into?.placeId ?? '',
				name: into?.title ?? '',
			});
			expect(existsSync(join(chosen, name, 'rings.csv'))).toBe(true);
		}
	});

	it('is nothing when the person cancels', async () => {
		chosen = null;
		expect(await desk.must('places.choose', { purpose: 'save-project' })).toBeNull();
	});
});

describe("files chosen in the system's dialog", () => {
	it('become places, several at once and in their order; none when the person cancels', async () => {
		files = ['b.csv', 'a.csv'].map((name) => join(folder, name));
		const places = await desk.must('places.chooseFiles', {});
		expect(places?.map(({ title }) => title)).toEqual(['b.csv', 'a.csv']);
		expect(new Set(places?.map(({ placeId }) => placeId)).size).toBe(2);
		expect(JSON.stringify(places)).not.toContain(folder);
		files = null;
		expect(await desk.must('places.chooseFiles', {})).toBeNull();
	});
});
