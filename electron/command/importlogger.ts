import { existsSync, readFileSync } from 'node:fs';
import { basename, resolve } from 'node:path';
import { type Fault, faultLine } from '../../calc/fault/fault.ts';
import { isoTime } from '../../calc/quantity/time.ts';
import {
	type LoggerInspection,
	type LoggerLayout,
	loggerLayout,
} from '../contract/loggerimport.ts';
import { OpenDocument } from '../desk/document.ts';
import { type ImportReply, LoggerDesk } from '../desk/loggerdesk.ts';
import { isPlain } from '../logger/layout/plain.ts';
import type { OnConflict } from '../logger/mergeday.ts';
import { ProjectFile } from '../store/projectfile.ts';
import type { Caller, ExitCode, Streams } from './usage.ts';

export interface ImportOptions {
	/** Profile of the project. */
	readonly profile: string | null;
	/** File with a layout as JSON. */
	readonly map: string | null;
	/** Keeps the layout under this name. */
	readonly saveAs: string | null;
	readonly conflicts: OnConflict;
	readonly goodRows: boolean;
	/** Only says how the first file would be read. */
	readonly look: boolean;
}

/**
 * Imports logger files into a project. Without profile or map the profile that fits is taken, and
 * failing that only the plain dialect: a guess is for a person to confirm, with `look` first.
 */
export async function importLoggerFiles(
	project: string,
	files: readonly string[],
	options: ImportOptions,
	caller: Caller,
	{ out, err }: Streams,
): Promise<ExitCode> {
	const fail = (message: string): ExitCode => {
		err(`${message}\n`);
		return 1;
	};
	const missing = [project, ...files].find((path) => !existsSync(resolve(path)));
	if (missing !== undefined) return fail(`There is no file ${missing}.`);
	const map = options.map === null ? null : layoutIn(options.map);
	if (typeof map === 'string') return fail(map);
	const file = ProjectFile.open({
		path: resolve(project),
		for: options.look ? 'read' : 'write',
		...caller,
	});
	if (!file.ok) return fail(file.message);
	const opened = await OpenDocument.open(file.value, () => {});
	if (!opened.ok) return fail(opened.message);
	let document = opened.value;
	const desk = new LoggerDesk();
	try {
		const looked = await desk.inspect(
			document,
			files.map((path) => ({ placeId: path, path: resolve(path) })),
			{ layout: map, profile: options.profile },
		);
		if (!looked.ok) return fail(looked.message);
		const { layout, profile, notYet } = looked.value;
		if (options.look) {
			for (const line of doubtsOf(looked.value)) err(`${line}\n`);
			out(`${JSON.stringify(layout, null, '\t')}\n`);
			return notYet === null ? 0 : 1;
		}
		if (notYet !== null) return fail(notYet);
		const isSaid = map !== null || profile !== null;
		if (!isSaid && !isPlain(layout, looked.value.head[0] ?? ''))
			return fail(
				`${basename(files[0] ?? '')} is not in the plain dialect. See how it would be read with --look, put that right in a file, and name the file with --map.`,
			);
		const left = desk.unfinished(document);
		if (left !== null)
			return fail(
				`An import of ${left.files.join(', ')} was broken off. Go on with it by --go-on, or remove what it has left by --discard.`,
			);
		const made = await desk.import(
			document,
			{
				files: files.map((path) => resolve(path)),
				layout,
				saveAs: options.saveAs,
				conflicts: options.conflicts,
				take: options.goodRows ? 'goodRows' : 'all',
			},
			{ who: caller.person, at_s: caller.now_s },
			() => {},
		);
		if (made.ok) document = made.value.renewed ?? document;
		return tellImport(made, document, { out, err });
	} finally {
		document.close();
	}
}

/** Goes on with the import of a project that was broken off, or removes what it has left. */
export async function goOnImport(
	project: string,
	what: 'go on' | 'discard',
	caller: Caller,
	streams: Streams,
): Promise<ExitCode> {
	const fail = (message: string): ExitCode => {
		streams.err(`${message}\n`);
		return 1;
	};
	if (!existsSync(resolve(project))) return fail(`There is no file ${project}.`);
	const file = ProjectFile.open({ path: resolve(project), for: 'write', ...caller });
	if (!file.ok) return fail(file.message);
	const opened = await OpenDocument.open(file.value, () => {});
	if (!opened.ok) return fail(opened.message);
	let document = opened.value;
	const desk = new LoggerDesk();
	try {
		if (what === 'discard') {
			const reply = desk.discard(document);
			if (!reply.ok) return fail(reply.message);
			if (!reply.value.discarded) return fail('There is no import that was broken off.');
			streams.out('What was read is removed.\n');
			return 0;
		}
		const by = { who: caller.person, at_s: caller.now_s };
		const made = await desk.goOn(document, by, () => {});
		if (made.ok) document = made.value.renewed ?? document;
		return tellImport(made, document, streams);
	} finally {
		document.close();
	}
}

/** Says what has come of an import. */
function tellImport(made: ImportReply, document: OpenDocument, { out, err }: Streams): ExitCode {
	if (!made.ok) {
		err(`${made.message}\n`);
		return 1;
	}
	const { answer } = made.value;
	for (const fault of answer.faults) err(`${faultLine(fault as Fault)}\n`);
	if (answer.moreFaults > 0) err(`and ${answer.moreFaults} more faults\n`);
	for (const { time_s, column, before, file: offered } of answer.conflictList)
		err(
			`${isoTime(time_s, document.facts.utcOffset_min)} ${column}: the project has ${before}, the file ${offered}\n`,
		);
	if (answer.outcome !== 'done') {
		err(`${answer.why ?? 'Nothing was imported.'}\n`);
		return 1;
	}
	out(
		`${answer.rows} rows read, ${answer.added} new, ${answer.duplicates} there already, ${answer.conflicts} figures that differ; ${answer.rings} rings balanced anew.\n`,
	);
	return 0;
}

/** The layout in a file, or why there is none. */
function layoutIn(path: string): LoggerLayout | string {
	try {
		const read = loggerLayout.safeParse(JSON.parse(readFileSync(resolve(path), 'utf8')));
		if (read.success) return read.data;
		const [issue] = read.error.issues;
		return `${path} holds no layout: ${issue?.path.join('.') ?? ''} ${issue?.message ?? ''}`;
	} catch (error) {
		return `${path} cannot be read as a layout (${(error as Error).name}).`;
	}
}

function doubtsOf({ time, fields, faults, notYet, profile }: LoggerInspection): string[] {
	return [
		...(profile === null ? [] : [`read by the profile ${profile}`]),
		...time.doubts.map((doubt) => `time: ${doubt}`),
		...fields.flatMap(({ heading, doubts }) => doubts.map((doubt) => `${heading}: ${doubt}`)),
		...faults.map((fault) => faultLine(fault as Fault)),
		...(notYet === null ? [] : [notYet]),
	];
}
