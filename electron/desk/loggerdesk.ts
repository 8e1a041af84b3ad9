import { createHash } from 'node:crypto';
import { createReadStream, existsSync, statSync } from 'node:fs';
import { basename } from 'node:path';
import { isoTime } from '../../calc/quantity/time.ts';
import {
	type LoggerImported,
	type LoggerInspection,
	type LoggerLayout,
	loggerLayout,
	type UnfinishedImport,
} from '../contract/loggerimport.ts';
import { READING_LOGGER } from '../contract/progress.ts';
import type { Answer, Reply } from '../contract/verbs.ts';
import { openArchive, type SeriesArchive } from '../logger/archive.ts';
import { importLogger, type LoggerImport } from '../logger/import.ts';
import { lookAt } from '../logger/layout/look.ts';
import { ParquetUnreadable } from '../logger/layout/parquetreader.ts';
import { fieldsOf } from '../logger/layout/rowreader.ts';
import { isZone } from '../logger/layout/zone.ts';
import type { OnConflict } from '../logger/mergeday.ts';
import { SeriesDamaged } from '../logger/parquet/decode.ts';
import { dropUnfinished, type Unfinished } from '../logger/unfinished.ts';
import { unfinishedImport } from '../logger/unfinishedreader.ts';
import { errorCode, refuse } from '../store/header.ts';
import type { By, OpenDocument } from './document.ts';
import { firstFault } from './firstfault.ts';
import type { Progress } from './loggerseries.ts';
import { seriesFolderOf } from './placing.ts';
import { openSeriesIn } from './series.ts';

/** No ring looks farther than this from where its balance ends, s. */
const FARTHEST_LOOK_S = 4 * 86_400;
const MOST_FAULTS_SHOWN = 500;

export interface ImportAsk {
	/** Absolute paths. */
	readonly files: readonly string[];
	readonly layout: LoggerLayout;
	readonly saveAs: string | null;
	readonly conflicts: OnConflict;
	readonly take: 'all' | 'goodRows';
}

/** A place as the page knows it and its path. */
export interface ChosenFile {
	readonly placeId: string;
	readonly path: string;
}

export type ImportReply = Reply<{
	readonly answer: LoggerImported;
	readonly renewed: OpenDocument | null;
}>;

interface Profile {
	readonly name: string;
	readonly layout: LoggerLayout;
	readonly usedAt_s: number;
}

/** Imports of logger files into the open document: looking, importing, breaking off, profiles, sources. */
export class LoggerDesk {
	#running: AbortController | null = null;

	/**
	 * Looks at the first of the files by a layout, a profile, or the profile that fits, else by a guess.
	 * Refusals: `profile_unknown`, `file_unreadable`.
	 */
	async inspect(
		document: OpenDocument,
		files: readonly ChosenFile[],
		by: { readonly layout: LoggerLayout | null; readonly profile: string | null },
	): Promise<Reply<LoggerInspection>> {
		const [first] = files;
		if (first === undefined) return refuse('file_unreadable', 'No file was chosen.');
		const kept = profilesOf(document);
		const named = by.profile === null ? null : kept.find(({ name }) => name === by.profile);
		if (named === undefined)
			return refuse('profile_unknown', `The project has no profile "${by.profile}".`);
		const { utcOffset_min } = document.facts;
		const zone = utcOffset_min === 0 ? 'UTC' : isoTime(0, utcOffset_min).slice(-6);
		try {
			let look = await lookAt(first.path, by.layout ?? named?.layout ?? null, zone);
			let profile = by.layout === null ? (named?.name ?? null) : nameOf(by.layout, kept);
			if (by.layout === null && named === null) {
				const headings = look.fields.map(({ heading }) => heading);
				const fitting = kept.find((one) => fits(one.layout, look.layout, headings));
				if (fitting !== undefined) {
					look = await lookAt(first.path, fitting.layout, zone);
					profile = fitting.name;
				}
			}
			const { bytes: _bytes, rows, ...shown } = look;
			const { size } = statSync(first.path);
			const sources = document.file.sources();
			const found: LoggerInspection['files'] = [];
			for (const { placeId, path } of files) {
				const { size: bytes } = statSync(path);
				found.push({
					placeId,
					name: basename(path),
					bytes,
					rows: path === first.path ? rows : size === 0 ? null : Math.round((rows * bytes) / size),
					importedBefore: await isKnown(path, bytes, sources),
				});
			}
			return { ok: true, value: { ...shown, files: found, profile } };
		} catch (error) {
			const why = error instanceof ParquetUnreadable ? error.message : errorCode(error);
			if (!(error instanceof ParquetUnreadable) && !/^E[A-Z]+$/u.test(why)) throw error;
			return refuse('file_unreadable', `"${basename(first.path)}" cannot be read (${why}).`);
		}
	}

	/**
	 * Imports files into the series beside the document, all of them or nothing, and gives the document
	 * anew with its rings balanced from it; `renewed` is null if the series is as it was. What an import
	 * that was broken off has left is removed. Refusals: `read_only`, `series_damaged`, `bad_layout`,
	 * `import_running`.
	 */
	import(document: OpenDocument, ask: ImportAsk, by: By, progress: Progress): Promise<ImportReply> {
		return this.#run(document, ask, null, by, progress);
	}

	/**
	 * Goes on with the import that was broken off. Refusals besides those of an import: `nothing_unfinished`,
	 * `cannot_go_on`, `files_changed`; the days kept aside stay for when the files are back.
	 */
	async goOn(document: OpenDocument, by: By, progress: Progress): Promise<ImportReply> {
		const found = unfinishedImport(seriesFolderOf(document.path));
		if (found === null)
			return refuse('nothing_unfinished', 'There is no import that was broken off.');
		const why = notNow(document, found);
		if (why !== null) return refuse('cannot_go_on', why);
		return this.#run(document, found.ask, found, by, progress);
	}

	/** The import that was broken off, if there is one that can go on. */
	unfinished(document: OpenDocument): UnfinishedImport | null {
		const found = this.#running === null ? unfinishedImport(seriesFolderOf(document.path)) : null;
		if (found === null) return null;
		return {
			files: found.ask.files.map((path) => basename(path)),
			read: found.read.reduce((sum, { bytes }) => sum + bytes, 0),
			ofBytes: found.ofBytes,
			days: found.writer.days.length,
			upTo_s: found.writer.day * 86_400,
			begun_s: found.begun_s,
			notNow: notNow(document, found),
		};
	}

	/** Removes what an import that was broken off has left. Refusals: `read_only`, `import_running`. */
	discard(document: OpenDocument): Reply<{ discarded: boolean }> {
		const { readOnlyWhy } = document.state();
		if (readOnlyWhy !== null)
			return refuse('read_only', `The project cannot be changed here: ${readOnlyWhy}`);
		if (this.#running !== null) return refuse('import_running', 'An import is under way.');
		const seriesFolder = seriesFolderOf(document.path);
		const discarded = unfinishedImport(seriesFolder) !== null;
		dropUnfinished(seriesFolder);
		return { ok: true, value: { discarded } };
	}

	async #run(
		document: OpenDocument,
		ask: ImportAsk,
		goOn: Unfinished | null,
		by: By,
		progress: Progress,
	): Promise<ImportReply> {
		const { readOnlyWhy } = document.state();
		if (readOnlyWhy !== null)
			return refuse('read_only', `The project cannot be changed here: ${readOnlyWhy}`);
		if (this.#running !== null) return refuse('import_running', 'An import is under way.');
		const { zone } = ask.layout.time;
		if (zone !== 'stamps' && !isZone(zone))
			return refuse('bad_layout', `The time zone ${zone} is not known here.`);
		const seriesFolder = seriesFolderOf(document.path);
		const stop = new AbortController();
		this.#running = stop;
		const began_ms = performance.now();
		const took_s = (): number => (performance.now() - began_ms) / 1000;
		try {
			const present = existsSync(seriesFolder) ? openArchive(seriesFolder) : null;
			present?.close();
			if (present !== null) document.file.noteBalancesSeries(seriesId(seriesFolder));
			const made = await importLogger({
				files: ask.files,
				seriesFolder,
				base: present?.manifest ?? null,
				layout: ask.layout,
				onConflict: ask.conflicts,
				inputs: null,
				take: ask.take,
				signal: stop.signal,
				keepAside: {
					ask: { ...ask, files: [...ask.files] },
					begun_s: goOn?.begun_s ?? by.at_s,
					base: present === null ? null : seriesId(seriesFolder),
				},
				...(goOn === null ? {} : { goOn }),
				onProgress: ({ rows, bytes, ofBytes }) =>
					progress(READING_LOGGER, rows, bytes === 0 ? null : Math.round((rows * ofBytes) / bytes)),
			});
			const why = refusedWhy(made, ask);
			if (why !== null)
				return {
					ok: true,
					value: { answer: answerOf(made, ask, 'refused', why, 0, took_s()), renewed: null },
				};
			const standing = standingBalances(document, made);
			this.#record(document, made, ask, by, standing.gone);
			if (!made.kept)
				return {
					ok: true,
					value: { answer: answerOf(made, ask, 'done', null, 0, took_s()), renewed: null },
				};
			const renewed = await document.renewed(progress);
			if (!renewed.ok) return renewed;
			const rings = renewed.value.model.rings.filter(
				({ row, input }) =>
					renewed.value.ledger.balance(row)?.source === 'logger' && !standing.kept.has(input.ring),
			).length;
			const answer = answerOf(made, ask, 'done', null, rings, took_s());
			return { ok: true, value: { answer, renewed: renewed.value } };
		} catch (error) {
			if (stop.signal.aborted)
				return {
					ok: true,
					value: {
						answer: cancelled(took_s(), unfinishedImport(seriesFolder) !== null),
						renewed: null,
					},
				};
			if ((error as Error).name === 'FilesChanged')
				return refuse(
					'files_changed',
					`It cannot go on: ${(error as Error).message}. With the file as it was it can; else discard what was read and import anew.`,
				);
			if (error instanceof SeriesDamaged || (error as Error).name === 'SeriesDamaged')
				return refuse(
					'series_damaged',
					`The logger's series beside the project is damaged: ${(error as Error).message}. Nothing was imported.`,
				);
			throw error;
		} finally {
			this.#running = null;
		}
	}

	/** Breaks the import under way off, if there is one. */
	cancel(): boolean {
		this.#running?.abort(new Error('the import was cancelled'));
		return this.#running !== null;
	}

	profiles(document: OpenDocument): Answer<'logger.profiles'> {
		return profilesOf(document).map((one) => ({ ...one }));
	}

	/** Files of the series in order of import. */
	sources(document: OpenDocument): Answer<'logger.sources'> {
		const kept = document.file.sources();
		const archive = archiveOf(document.path);
		archive?.close();
		const listed =
			archive?.manifest.sources ??
			kept.flatMap((one) => (one.rows === null ? [] : [{ ...one, rows: one.rows }]));
		return listed.map(({ file, sha256, bytes, rows }) => {
			const known = kept.find((one) => one.sha256 === sha256);
			return {
				file: known?.file ?? file,
				sha256,
				bytes,
				rows,
				first_s: known?.firstTime_s ?? null,
				last_s: known?.lastTime_s ?? null,
			};
		});
	}

	#record(
		document: OpenDocument,
		made: LoggerImport,
		ask: ImportAsk,
		by: By,
		goneRings: readonly number[],
	): void {
		const { saveAs, layout, conflicts, take } = ask;
		const { growth, sources } = made;
		if (!made.kept && saveAs === null) return;
		const count =
			sources.length === 1 ? (sources[0]?.file ?? '') : `${sources.length} logger files`;
		const kept = { layout, usedAt_s: by.at_s, savedBy: by.who };
		document.file.recordImport({
			...by,
			label: made.kept ? `import of ${count}` : `logger profile ${saveAs}`,
			content: JSON.stringify({
				logger: {
					files: made.kept ? sources : [],
					added: growth.added,
					duplicates: growth.duplicates,
					completed: growth.completed,
					conflicts: growth.conflicts,
					onConflict: conflicts,
					take,
					profile: saveAs,
					layout,
				},
			}),
			sources: made.kept
				? sources.map((source) => {
						// A file that could not be read has no source: spans go by file, not by place in the list.
						const at = ask.files.findIndex((path) => basename(path) === source.file);
						const span = made.spanByFile[at];
						return { ...source, firstTime_s: span?.from_s ?? null, lastTime_s: span?.to_s ?? null };
					})
				: [],
			profile: saveAs === null ? null : { name: saveAs, text: JSON.stringify(kept) },
			modeRules: made.kept ? made.modeRules : [],
			series: made.kept ? { id: seriesId(seriesFolderOf(document.path)), goneRings } : null,
		});
	}
}

function archiveOf(projectPath: string): SeriesArchive | null {
	try {
		return openArchive(seriesFolderOf(projectPath));
	} catch (error) {
		if (error instanceof SeriesDamaged) return null;
		throw error;
	}
}

function seriesId(seriesFolder: string): string {
	const series = openSeriesIn(seriesFolder);
	series.close();
	return series.id;
}

function profilesOf(document: OpenDocument): Profile[] {
	return document.file.loggerProfiles().flatMap(({ name, text }) => {
		try {
			const { layout, usedAt_s } = JSON.parse(text) as { layout: unknown; usedAt_s: unknown };
			const read = loggerLayout.safeParse(layout);
			return read.success ? [{ name, layout: read.data, usedAt_s: Number(usedAt_s) }] : [];
		} catch {
			return [];
		}
	});
}

const nameOf = (layout: LoggerLayout, kept: readonly Profile[]): string | null =>
	kept.find((one) => JSON.stringify(one.layout) === JSON.stringify(layout))?.name ?? null;

/** True if the file has every field the layout reads, under the headings it knows them by. */
function fits(layout: LoggerLayout, guessed: LoggerLayout, headings: readonly string[]): boolean {
	if (layout.format !== guessed.format || layout.delimiter !== guessed.delimiter) return false;
	if (layout.headings === undefined) return false;
	const fieldAt = fieldsOf(layout, headings);
	return [...layout.time.fields, ...layout.columns.map(({ field }) => field)].every(
		(field) => fieldAt(field) !== null,
	);
}

/** A source of the same size is read through for its hash; others cannot be the same. */
async function isKnown(
	path: string,
	bytes: number,
	sources: readonly { readonly bytes: number; readonly sha256: string }[],
): Promise<boolean> {
	const alike = sources.filter((source) => source.bytes === bytes);
	if (alike.length === 0) return false;
	const hash = createHash('sha256');
	for await (const chunk of createReadStream(path)) hash.update(chunk as Buffer);
	const digest = hash.digest('hex');
	return alike.some(({ sha256 }) => sha256 === digest);
}

/** Rings whose kept balances the import leaves as they are, and those it does not. */
function standingBalances(
	document: OpenDocument,
	{ growth: { changed }, gapLimit_s }: LoggerImport,
): { kept: ReadonlySet<number>; gone: number[] } {
	const kept = new Set<number>();
	const gone: number[] = [];
	const present = archiveOf(document.path);
	present?.close();
	const before = new Map(
		document.model.rings.map(({ row, input }) => [input.ring, document.ledger.balance(row)]),
	);
	for (const { ring } of document.file.balances()) {
		const balance = before.get(ring);
		const apart =
			changed !== null &&
			balance !== undefined &&
			gapLimit_s === present?.gapLimit_s &&
			(balance.looksTo_s < changed.from_s - FARTHEST_LOOK_S ||
				balance.looksFrom_s > changed.to_s + FARTHEST_LOOK_S);
		if (changed === null || apart) kept.add(ring);
		else gone.push(ring);
	}
	return { kept, gone };
}

function refusedWhy(made: LoggerImport, { take, conflicts }: ImportAsk): string | null {
	const { growth, faults, moreFaults, stops } = made;
	if (stops > 0 && take === 'all')
		return `Something cannot be read; nothing was imported. ${firstFault(faults, moreFaults)}`;
	if (growth.conflicts > 0 && conflicts === 'refuse')
		return `${growth.conflicts} figures differ from those the project has for the same times; nothing was imported.`;
	if (made.rows === 0) return `There is no row to import. ${firstFault(faults, moreFaults)}`.trim();
	return null;
}

function answerOf(
	made: LoggerImport,
	{ conflicts }: ImportAsk,
	outcome: LoggerImported['outcome'],
	why: string | null,
	rings: number,
	took_s: number,
): LoggerImported {
	const { growth } = made;
	const shown = made.faults.slice(0, MOST_FAULTS_SHOWN);
	return {
		outcome,
		why,
		sources: made.sources.map((source) => ({ ...source })),
		rows: made.rows,
		added: growth.added + growth.completed,
		duplicates: growth.duplicates,
		conflicts: growth.conflicts,
		overlap: growth.overlap === null ? null : { ...growth.overlap },
		conflictList: growth.conflictsListed.map(({ time_s, column, present, offered }) => ({
			time_s,
			column,
			before: String(present),
			file: String(offered),
			kept: conflicts === 'takeFile' && outcome === 'done' ? 'file' : 'before',
		})),
		first_s: made.firstTime_s,
		last_s: made.lastTime_s,
		rings,
		took_s,
		faults: shown.map((fault) => ({ ...fault, where: { ...fault.where } })),
		moreFaults: made.moreFaults + made.faults.length - shown.length,
	};
}

/** Why an import that was broken off cannot go on as things are; null: it can. */
function notNow(document: OpenDocument, { ask, base }: Unfinished): string | null {
	const seriesFolder = seriesFolderOf(document.path);
	try {
		const now = existsSync(seriesFolder) ? seriesId(seriesFolder) : null;
		if (now !== base)
			return 'The series of the project has changed since the import was broken off: what was read then cannot be gone on with.';
	} catch (error) {
		if (!(error instanceof SeriesDamaged)) throw error;
		return `The logger's series beside the project is damaged: ${error.message}.`;
	}
	const gone = ask.files.filter((path) => !existsSync(path)).map((path) => basename(path));
	if (gone.length === 0) return null;
	return `${gone.join(', ')} ${gone.length === 1 ? 'is' : 'are'} not where ${gone.length === 1 ? 'it was' : 'they were'} when the import began.`;
}

const cancelled = (took_s: number, canGoOn: boolean): LoggerImported => ({
	outcome: 'cancelled',
	why: canGoOn
		? 'The project is as it was. What was read is kept aside: the import can go on where it stopped, or be discarded.'
		: 'Nothing was kept: the project is as it was. Importing the same files again begins anew.',
	sources: [],
	rows: 0,
	added: 0,
	duplicates: 0,
	conflicts: 0,
	overlap: null,
	conflictList: [],
	first_s: null,
	last_s: null,
	rings: 0,
	took_s,
	faults: [],
	moreFaults: 0,
});
