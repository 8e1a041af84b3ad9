import { randomUUID } from 'node:crypto';
import { cpSync, existsSync, renameSync, rmSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { backup } from 'node:sqlite';
import type { Reply } from '../contract/verbs.ts';
import type { RowCells } from '../folder/content.ts';
import type { ListSheetId } from '../folder/sheetfile.ts';
import { writeFolder } from '../folder/write.ts';
import { errorCode, refuse } from '../store/header.ts';
import type { OpenDocument } from './document.ts';
import { exportSeries } from './loggerexport.ts';
import type { Progress } from './loggerseries.ts';
import { Placing, seriesFolderOf } from './placing.ts';

/** Copies the open document, with the logger's series beside it, while it stays open. Nothing is overwritten. */
export async function saveCopyOf(
	document: OpenDocument,
	target: string,
	progress: Progress,
): Promise<Reply<{ file: string }>> {
	const placing = new Placing(target);
	try {
		await backup(document.file.database, placing.file, {
			rate: 2_000,
			progress: ({ totalPages, remainingPages }) =>
				progress('copying the project', totalPages - remainingPages, totalPages),
		});
		const series = seriesFolderOf(document.path);
		if (existsSync(series))
			cpSync(series, placing.series, { recursive: true, errorOnExist: true, dereference: false });
		placing.finish();
		return { ok: true, value: { file: basename(target) } };
	} catch (error) {
		return refuse('copy_failed', `The copy could not be made (${errorCode(error)}).`);
	} finally {
		placing.drop();
	}
}

/** Writes the open document as a plain folder, whole or not at all. Rows are in the order of their sheet. */
export async function exportDocument(
	document: OpenDocument,
	target: string,
): Promise<Reply<{ folder: string; files: string[] }>> {
	const part = join(dirname(target), `.${basename(target)}.${randomUUID()}.part`);
	try {
		const rows = (sheet: ListSheetId): RowCells[] =>
			document.sheetOrder(sheet).map((row) => document.model.rows[sheet].get(row)!);
		const files = await writeFolder(part, {
			drive: document.model.drive,
			rings: rows('rings'),
			ground: rows('ground'),
			readings: rows('readings'),
			meters: rows('meters'),
			bypass_decisions: rows('bypass_decisions'),
			mode_overrides: rows('mode_overrides'),
			formulas: rows('formulas'),
			limits: rows('limits'),
			utcOffset_min: document.facts.utcOffset_min,
			invented: document.facts.invented,
		});
		const series = seriesFolderOf(document.path);
		if (document.facts.hasLogger && existsSync(series)) {
			await exportSeries(series, join(part, 'logger.csv'), document.facts.utcOffset_min);
			files.push('logger.csv');
		}
		if (existsSync(target))
			return refuse(
				'name_taken',
				`"${basename(target)}" is already there; nothing is overwritten.`,
			);
		renameSync(part, target);
		return { ok: true, value: { folder: target, files } };
	} catch (error) {
		return refuse('export_failed', `The folder could not be written (${errorCode(error)}).`);
	} finally {
		rmSync(part, { recursive: true, force: true });
	}
}
