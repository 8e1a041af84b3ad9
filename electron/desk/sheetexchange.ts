import { createHash } from 'node:crypto';
import {
	closeSync,
	constants,
	fstatSync,
	fsyncSync,
	openSync,
	readSync,
	rmSync,
	writeSync,
} from 'node:fs';
import { basename } from 'node:path';
import { formulaColumn } from '../../calc/formula/columns.ts';
import { findColumn } from '../../calc/sheet/catalogue.ts';
import type { Column } from '../../calc/sheet/column.ts';
import {
	type ExportedSheetId,
	type ExportForm,
	type ImportedSheetId,
	SHEET_TITLES,
	type SheetInspection,
	type SheetReading,
	type SheetTaken,
} from '../contract/sheetexchange.ts';
import type { Reply } from '../contract/verbs.ts';
import { sheetTable } from '../exchange/exportcolumns.ts';
import { unitsOf } from '../exchange/fieldmatch.ts';
import { readSheet, type SheetFileLook } from '../exchange/readsheet.ts';
import { KEY_COLUMNS } from '../exchange/rowkeys.ts';
import { SourceCache } from '../exchange/sourcecache.ts';
import { fieldText, SOURCE_LIMITS } from '../exchange/sourcetable.ts';
import { sheetBytes } from '../exchange/writesheet.ts';
import { errorCode, refuse } from '../store/header.ts';
import type { By, Edited, OpenDocument } from './document.ts';
import type { Taking } from './takerows.ts';

/** Single sheets of the open document as files: out, looked at, and in. */

/** Rows of the file shown for choosing the heading row, and characters of each. */
const HEAD_ROWS = 12;
const HEAD_WIDTH = 160;
/** Characters of the file's name in the label of the step. */
const NAME_IN_LABEL = 60;

/** Writes a sheet as it is shown to a new file, whole or not at all. */
export async function exportSheet(
	document: OpenDocument,
	sheet: ExportedSheetId,
	form: ExportForm,
	target: string,
): Promise<Reply<{ file: string; rows: number; columns: number }>> {
	const { rows } = document.sheetRows(sheet, null, null);
	const table = sheetTable(
		sheet,
		rows.map(({ id, cells, flags }) =>
			flags === undefined ? { id, cells } : { id, cells, flags },
		),
		document.facts.utcOffset_min,
		ownColumns(document, sheet),
	);
	const bytes = await sheetBytes(table, form);
	try {
		writeNew(target, bytes);
	} catch (error) {
		return refuse('export_failed', `The file could not be written (${errorCode(error)}).`);
	}
	return {
		ok: true,
		value: { file: basename(target), rows: rows.length, columns: table.columns.length },
	};
}

function writeNew(path: string, bytes: Uint8Array): void {
	const fd = openSync(path, constants.O_WRONLY | constants.O_CREAT | constants.O_EXCL, 0o666);
	try {
		for (let at = 0; at < bytes.length; ) at += writeSync(fd, bytes, at);
		fsyncSync(fd);
	} catch (error) {
		closeSync(fd);
		rmSync(path, { force: true });
		throw error;
	}
	closeSync(fd);
}

const caches = new WeakMap<OpenDocument, SourceCache>();

function cacheOf(document: OpenDocument): SourceCache {
	const cache = caches.get(document) ?? new SourceCache();
	caches.set(document, cache);
	return cache;
}

/** The columns of a sheet that the project works out by formulas of its own, in the order they were entered. */
function ownColumns(document: OpenDocument, sheet: ExportedSheetId): Column[] {
	return document.sheetOrder('formulas').flatMap((row) => {
		const own = formulaColumn(document.model.rows.formulas.get(row) ?? {});
		if (own?.sheet !== sheet) return [];
		const { id, heading, unit, decimals, expression, note } = own;
		return {
			id,
			sheet,
			heading,
			unit,
			decimals,
			kind: 'computed',
			type: 'number',
			required: false,
			help: note ?? '',
			formula: expression,
		};
	});
}

interface Looked {
	readonly look: SheetFileLook;
	readonly taking: Taking;
	readonly sha256: string;
	readonly bytes: number;
	/** Why nothing can be taken; null: it can. */
	readonly notYet: string | null;
}

/** Reads a file as rows of a sheet and says what would become of each; nothing is taken. Refusals: `file_unreadable` and codes of the file's own faults. */
export async function inspectSheet(
	document: OpenDocument,
	sheet: ImportedSheetId,
	path: string,
	reading: SheetReading,
): Promise<Reply<SheetInspection>> {
	const looked = await lookAtFile(document, sheet, path, reading);
	if (!looked.ok) return looked;
	const { look, taking, sha256, bytes, notYet } = looked.value;
	return {
		ok: true,
		value: {
			file: basename(path),
			form: look.table.form,
			bytes,
			sha256,
			worksheets: [...look.table.worksheets],
			reading: look.reading,
			head: look.table.rows
				.slice(0, HEAD_ROWS)
				.map(({ line, fields }) =>
					`${line}: ${fields.map(fieldText).join(' | ')}`.slice(0, HEAD_WIDTH),
				),
			fields: look.fields.map(({ heading, column, unit, by, remark, texts, read }, field) => ({
				field,
				heading: heading.slice(0, HEAD_WIDTH),
				column: column?.id ?? null,
				unit,
				by,
				remark,
				texts: texts.map((text) => text.slice(0, 80)),
				read: [...read],
			})),
			columns: look.columns.map((column) => ({
				id: column.id,
				heading: column.heading,
				required: column.required,
				units: unitsOf(column),
			})),
			key: KEY_COLUMNS[sheet].map((id) => findColumn(sheet, id)?.heading ?? id),
			...countsOf(taking, look),
			notYet,
		},
	};
}

/** Takes the rows of a file as one step. Refused as a whole where a fault stops it, the file has changed since it was looked at, or nothing of it can be taken. */
export async function takeSheet(
	document: OpenDocument,
	ask: {
		readonly sheet: ImportedSheetId;
		readonly path: string;
		readonly reading: SheetReading;
		/** null: whatever the file holds now. */
		readonly sha256: string | null;
		readonly take: 'all' | 'goodRows';
	},
	by: By,
): Promise<Reply<{ readonly taken: SheetTaken; readonly edited: Edited | null }>> {
	const looked = await lookAtFile(document, ask.sheet, ask.path, ask.reading);
	if (!looked.ok) return looked;
	const { look, taking, sha256, notYet } = looked.value;
	cacheOf(document).forget();
	const counts = countsOf(taking, look);
	const refused = (why: string): Reply<{ taken: SheetTaken; edited: null }> => ({
		ok: true,
		value: { taken: { outcome: 'refused', why, label: null, ...counts }, edited: null },
	});
	if (ask.sha256 !== null && ask.sha256 !== sha256)
		return refuse('file_changed', 'The file has changed since it was looked at; look at it again.');
	if (notYet !== null) return refused(notYet);
	if (ask.take === 'all' && taking.faulty > 0)
		return refused(
			`${taking.faulty} ${taking.faulty === 1 ? 'row has' : 'rows have'} faults; nothing was taken.`,
		);
	const count = taking.added + taking.updated;
	if (count === 0)
		return {
			ok: true,
			value: { taken: { outcome: 'done', why: null, label: null, ...counts }, edited: null },
		};
	const label = `import of ${count} ${count === 1 ? 'row' : 'rows'} from ${shortName(basename(ask.path))}`;
	const edited = await document.take(taking.changes, label, by);
	return edited.ok
		? {
				ok: true,
				value: {
					taken: { outcome: 'done', why: null, label, ...counts },
					edited: edited.value,
				},
			}
		: edited;
}

async function lookAtFile(
	document: OpenDocument,
	sheet: ImportedSheetId,
	path: string,
	reading: SheetReading,
): Promise<Reply<Looked>> {
	const file = basename(path);
	let bytes: Uint8Array;
	try {
		bytes = readAtMost(path, SOURCE_LIMITS.bytes + 1);
	} catch (error) {
		return refuse('file_unreadable', `"${file}" cannot be read (${errorCode(error)}).`);
	}
	const { utcOffset_min } = document.facts;
	const own = ownColumns(document, sheet);
	const sha256 = createHash('sha256').update(bytes).digest('hex');
	const sources = cacheOf(document);
	const cache = { sources, sha256 };
	const read = await readSheet({ sheet, file, bytes, reading, utcOffset_min, own, cache });
	if ('fault' in read) {
		const { code, message, where } = read.fault;
		const row = where.row === undefined ? '' : ` row ${where.row}`;
		const expected = where.expected === undefined ? '' : ` Expected ${where.expected}.`;
		return refuse(code, `${file}${row}: ${message}${expected}`);
	}
	const { look } = read;
	const taking = document.taking(sheet, file, look.rows, reading.existing);
	const filled = new Set(look.fields.map(({ column }) => column?.id));
	const lacking = KEY_COLUMNS[sheet].flatMap((id) => {
		const column = findColumn(sheet, id);
		return column?.required && !filled.has(id) ? [column.heading] : [];
	});
	return {
		ok: true,
		value: {
			look,
			taking,
			sha256,
			bytes: bytes.length,
			notYet:
				lacking.length > 0
					? `No field fills ${lacking.join(', ')}, by which rows of ${SHEET_TITLES[sheet].toLowerCase()} are told apart.`
					: taking.notYet,
		},
	};
}

/** A file's content; one longer than `most` is cut there, which the reader then refuses for its size. */
function readAtMost(path: string, most: number): Uint8Array {
	const fd = openSync(path, 'r');
	try {
		const bytes = new Uint8Array(Math.min(most, fstatSync(fd).size));
		let at = 0;
		for (;;) {
			const count = readSync(fd, bytes, at, bytes.length - at, at);
			if (count === 0) return bytes.subarray(0, at);
			at += count;
		}
	} finally {
		closeSync(fd);
	}
}

function countsOf(taking: Taking, look: SheetFileLook) {
	const { rows, added, updated, same, skipped, faulty, moreFaults } = taking;
	return {
		rows,
		added,
		updated,
		same,
		skipped,
		faulty,
		faults: [...look.faults, ...taking.faults].map((fault) => ({
			...fault,
			where: { ...fault.where },
		})),
		moreFaults,
	};
}

const shortName = (name: string): string =>
	name.length > NAME_IN_LABEL ? `${name.slice(0, NAME_IN_LABEL - 1)}…` : name;
