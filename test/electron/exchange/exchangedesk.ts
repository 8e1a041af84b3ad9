import { copyFileSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { SheetReading } from '../../../electron/contract/sheetexchange.ts';
import type { Ask } from '../../../electron/contract/verbs.ts';
import { createProject } from '../../../electron/desk/create.ts';
import { OpenDocument } from '../../../electron/desk/document.ts';
import { inspectSheet, takeSheet } from '../../../electron/desk/sheetexchange.ts';
import { ProjectFile } from '../../../electron/store/projectfile.ts';

/** Projects in a folder of their own, for tests of files of single sheets. */

export const BY = { who: 'Tester', at_s: 1_900_000_000 };
const CALLER = { person: BY.who, now_s: BY.at_s, appVersion: '0' };
const DEMO = 'examples/demo-drive';

export class ExchangeFolder {
	readonly path = mkdtempSync(join(tmpdir(), 'slurry-exchange-'));

	in(name: string): string {
		return join(this.path, name);
	}

	write(name: string, content: string | Uint8Array): string {
		writeFileSync(this.in(name), content);
		return this.in(name);
	}

	/** The demo drive as it stands. */
	demo(name: string): Promise<OpenDocument> {
		return this.#made(DEMO, name);
	}

	/** A drive with the demo's settings and no rows. */
	async empty(name: string): Promise<OpenDocument> {
		const folder = this.in(`${name} folder`);
		mkdirSync(folder);
		copyFileSync(join(DEMO, 'drive.json'), join(folder, 'drive.json'));
		writeFileSync(
			join(folder, 'rings.csv'),
			'ring,advance_start,advance_end,stroke_start_mm,stroke_end_mm\n',
		);
		return this.#made(folder, name);
	}

	async #made(folder: string, name: string): Promise<OpenDocument> {
		const target = this.in(`${name}.slurrybook`);
		must(await createProject({ ...CALLER, folder, target, take: 'all', onProgress: () => {} }));
		const file = must(ProjectFile.open({ path: target, for: 'write', ...CALLER }));
		return must(await OpenDocument.open(file, () => {}));
	}

	remove(): void {
		rmSync(this.path, { recursive: true, force: true });
	}
}

type Reply<T> = { ok: true; value: T } | { ok: false; code: string; message: string };

export function must<T>(reply: Reply<T>): T {
	if (!reply.ok) throw new Error(`${reply.code}: ${reply.message}`);
	return reply.value;
}

export async function addRows(
	document: OpenDocument,
	sheet: Ask<'sheet.add'>['sheet'],
	rows: readonly Record<string, string>[],
): Promise<void> {
	const { refused } = must(
		await document.add({ sheet, rows: [...rows], typed: { decimal: '.' } }, BY),
	);
	if (refused.length > 0) throw new Error(JSON.stringify(refused));
}

type Sheet = Ask<'exchange.inspect'>['sheet'];

export const look = async (
	document: OpenDocument,
	sheet: Sheet,
	path: string,
	reading: Partial<SheetReading> = {},
) => must(await inspectSheet(document, sheet, path, { existing: 'update', ...reading }));

export const take = async (
	document: OpenDocument,
	sheet: Sheet,
	path: string,
	reading: Partial<SheetReading> = {},
	goodRows = false,
) =>
	must(
		await takeSheet(
			document,
			{
				sheet,
				path,
				reading: { existing: 'update', ...reading },
				sha256: null,
				take: goodRows ? 'goodRows' : 'all',
			},
			BY,
		),
	).taken;

/** Cells of a sheet in the order it is shown. */
export const cellsOf = (document: OpenDocument, sheet: Sheet) =>
	document.sheetOrder(sheet).map((row) => document.model.rows[sheet].get(row));
