import { basename, dirname, resolve } from 'node:path';
import { faultLine } from '../../calc/fault/fault.ts';
import { createProject } from '../desk/create.ts';
import { newPath, PROJECT_ENDING } from '../desk/places.ts';
import type { ReadyThreads } from '../logger/readythreads.ts';
import { type Caller, type ExitCode, fail, type Streams } from './usage.ts';

/** Refusals that the listed faults of the folder explain. */
const FAULTS_LISTED: ReadonlySet<string> = new Set(['folder_has_faults', 'folder_impossible']);

/** Makes a project from a plain folder. Faults of the folder are listed whether it was made or not. */
export async function makeProject(
	project: string,
	folder: string,
	goodRows: boolean,
	caller: Caller,
	{ out, err }: Streams,
	threads?: ReadyThreads,
): Promise<ExitCode> {
	const path = resolve(project);
	const target = newPath(dirname(path), basename(path), PROJECT_ENDING);
	if (!target.ok) return fail(target, err);
	const made = await createProject({
		folder: resolve(folder),
		target: target.value,
		take: goodRows ? 'goodRows' : 'all',
		threads,
		...caller,
		onProgress: () => {},
	});
	for (const fault of made.faults) err(`${faultLine(fault)}\n`);
	if (made.moreFaults > 0) err(`and ${made.moreFaults} more faults\n`);
	// What stands in the list above need not be said again; any other reason must be.
	if (!made.ok) return FAULTS_LISTED.has(made.code) ? 1 : fail(made, err);
	const left = made.value.leftOutRows;
	out(`${target.value} is made${left > 0 ? `, ${left} rows with faults left out` : ''}.\n`);
	return 0;
}
