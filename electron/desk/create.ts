import { createHash } from 'node:crypto';
import { createReadStream, existsSync, statSync } from 'node:fs';
import { basename, join } from 'node:path';
import type { Fault } from '../../calc/fault/fault.ts';
import type { FolderSummary, Reply } from '../contract/verbs.ts';
import type { FolderContent, RowCells } from '../folder/content.ts';
import { DRIVE_FILE } from '../folder/drivefile.ts';
import { readFolder } from '../folder/read.ts';
import { SHEET_FILES } from '../folder/sheetfile.ts';
import { inspectLogger } from '../logger/import.ts';
import type { ReadyThreads } from '../logger/readythreads.ts';
import { errorCode, refuse } from '../store/header.ts';
import { NewFile } from '../store/newfile.ts';
import type { SourceFile } from '../store/projectfile.ts';
import { firstFault } from './firstfault.ts';
import { takeLogger } from './loggerintake.ts';
import type { Progress } from './loggerseries.ts';
import { Placing } from './placing.ts';

interface NewDocument {
	readonly target: string;
	readonly person: string;
	readonly now_s: number;
	readonly appVersion: string;
}

export interface CreateAsk extends NewDocument {
	readonly folder: string;
	readonly take: 'all' | 'goodRows';
	readonly onProgress: Progress;
	/** Threads for the logger started ahead; what is left of them is the caller's to end. */
	readonly threads?: ReadyThreads | undefined;
}

export type Created = Reply<{ readonly leftOutRows: number }> & {
	readonly faults: readonly Fault[];
	/** Found beyond those listed. */
	readonly moreFaults: number;
};

/** What a page is shown of a folder's faults; the rest is counted. */
const MOST_FAULTS_SHOWN = 500;

/** Reads a plain folder, its logger files too, and says what is in it and wrong with it. Nothing is written. */
export async function inspectFolder(
	folder: string,
	onProgress: Progress,
): Promise<Reply<FolderSummary>> {
	const content = await readFolder(folder);
	const logger = await loggerFaults(content, onProgress);
	const found = [...content.faults, ...logger.faults];
	const listed = found.slice(0, MOST_FAULTS_SHOWN);
	return {
		ok: true,
		value: {
			title: typeof content.drive.title === 'string' ? content.drive.title : basename(folder),
			rings: content.rings.length,
			readings: content.readings.length,
			loggerRows: logger.rows,
			faultyRows: content.faultyRows,
			faults: listed.map((fault) => ({ ...fault, where: { ...fault.where } })),
			moreFaults: content.moreFaults + logger.moreFaults + found.length - listed.length,
			impossible: content.impossible,
		},
	};
}

/** What is wrong with a folder's logger files, read through without keeping anything. */
async function loggerFaults(
	{ loggerFiles }: FolderContent,
	onProgress: Progress,
): Promise<{
	readonly rows: number;
	readonly faults: readonly Fault[];
	readonly moreFaults: number;
}> {
	if (loggerFiles.length === 0) return { rows: 0, faults: [], moreFaults: 0 };
	return inspectLogger(loggerFiles, {
		onProgress: ({ rows }) => onProgress('reading the logger', rows, null),
	});
}

/**
 * Makes a project from a plain folder beside nothing it would overwrite, whole or not at all.
 * Refusals: `folder_impossible`, `folder_has_faults` (with `take: 'all'`), `create_failed`. The
 * faults found come with either answer, for whoever lists them.
 */
export async function createProject(ask: CreateAsk): Promise<Created> {
	const content = inOrder(await readFolder(ask.folder));
	const { faults, moreFaults } = content;
	const refuseWith = async (code: string, message: string): Promise<Created> => {
		const logger = await loggerFaults(content, ask.onProgress);
		const all = [...faults, ...logger.faults];
		const more = moreFaults + logger.moreFaults;
		return {
			...refuse(code, `${message} ${firstFault(all, more)}`.trim()),
			faults: all,
			moreFaults: more,
		};
	};
	if (content.impossible) return refuseWith('folder_impossible', 'The folder cannot be taken.');
	if (ask.take === 'all' && content.stopped)
		return refuseWith('folder_has_faults', 'The folder has faults, nothing was taken.');
	const placing = new Placing(ask.target);
	let file: NewFile | null = null;
	try {
		// The logger is read by other threads: meanwhile the rows are written here.
		const [read, prepared] = await Promise.allSettled([
			takeLogger(content, placing.series, ask.take, ask.onProgress, ask.threads),
			handSources(ask.folder).then((sources) => ({
				sources,
				file: new NewFile(placing.file, content),
			})),
		]);
		if (prepared.status === 'rejected') throw prepared.reason;
		file = prepared.value.file;
		if (read.status === 'rejected') throw read.reason;
		const taken = read.value;
		const found = {
			faults: [...faults, ...taken.faults],
			moreFaults: moreFaults + taken.moreFaults,
		};
		if (!taken.ok) return { ...taken, ...found };
		const logger = taken.value;
		file.finish({
			person: ask.person,
			facts: {
				utcOffset_min: content.utcOffset_min,
				invented: content.invented,
				created_s: ask.now_s,
				appVersion: ask.appVersion,
				hasLogger: logger.sources.length > 0,
			},
			sources: [...prepared.value.sources, ...logger.sources],
			balances: logger.balances,
			label: `import of the folder ${basename(ask.folder)}`,
			kind: 'import',
			leftOutRows: content.faultyRows,
		});
		placing.finish();
		return {
			ok: true,
			value: { leftOutRows: content.faultyRows },
			...found,
		};
	} catch (error) {
		return {
			...refuse('create_failed', `The project could not be made (${errorCode(error)}).`),
			faults,
			moreFaults,
		};
	} finally {
		file?.close();
		placing.drop();
	}
}

/** Makes a project that knows its drive and holds no rows yet. */
export function createEmptyProject(
	ask: NewDocument & {
		readonly drive: {
			readonly title: string;
			readonly excavated_diameter_m: number;
			readonly nominal_advance_m: number;
		};
	},
): Reply<null> {
	const placing = new Placing(ask.target);
	try {
		NewFile.write(placing.file, {
			person: ask.person,
			drive: { ...ask.drive },
			rings: [],
			ground: [],
			readings: [],
			meters: [],
			bypass_decisions: [],
			mode_overrides: [],
			formulas: [],
			limits: [],
			facts: {
				utcOffset_min: localOffset_min(ask.now_s),
				invented: false,
				created_s: ask.now_s,
				appVersion: ask.appVersion,
				hasLogger: false,
			},
			sources: [],
			balances: [],
			label: 'new drive',
			kind: 'create',
			leftOutRows: 0,
		});
		placing.finish();
		return { ok: true, value: null };
	} catch (error) {
		return refuse('create_failed', `The project could not be made (${errorCode(error)}).`);
	} finally {
		placing.drop();
	}
}

/** A drive begun by hand keeps its times in the offset of the machine it was begun on. */
function localOffset_min(now_s: number): number {
	return -new Date(now_s * 1000).getTimezoneOffset();
}

/** Rows in the order of their sheet, which is the order they are numbered in. */
function inOrder(content: FolderContent): FolderContent {
	const by = (rows: readonly RowCells[], key: string): RowCells[] =>
		[...rows].sort((a, b) => Number(a[key]) - Number(b[key]));
	return {
		...content,
		rings: by(content.rings, 'ring'),
		readings: by(content.readings, 'time'),
		meters: by(content.meters, 'valid_from'),
		bypass_decisions: by(content.bypass_decisions, 'from_time'),
		mode_overrides: by(content.mode_overrides, 'from_time'),
	};
}

async function handSources(folder: string): Promise<SourceFile[]> {
	const found: SourceFile[] = [];
	for (const file of [DRIVE_FILE, ...Object.values(SHEET_FILES)]) {
		const path = join(folder, file);
		if (!existsSync(path)) continue;
		const hash = createHash('sha256');
		for await (const chunk of createReadStream(path)) hash.update(chunk as Buffer);
		found.push({
			file,
			sha256: hash.digest('hex'),
			bytes: statSync(path).size,
			rows: null,
			firstTime_s: null,
			lastTime_s: null,
		});
	}
	return found;
}
