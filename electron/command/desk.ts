import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { APP_VERSION, personName } from '../hosts/folders.ts';
import { ReadyThreads } from '../logger/readythreads.ts';
import { type Caller, type ExitCode, type Streams, USAGE } from './usage.ts';

/** One reads, the other writes. */
const LOGGER_THREADS = 2;
/** What can be done with figures that differ. */
const WAYS = ['refuse', 'keepBefore', 'takeFile'] as const;

/** Runs one verb of the headless command and gives its exit code. Only what the verb needs is loaded. */
export async function runCommand(
	args: readonly string[],
	caller: Caller,
	streams: Streams,
): Promise<ExitCode> {
	const [verb, ...rest] = args;
	const misused = (why: string): ExitCode => {
		streams.err(`${why}\n\n${USAGE}`);
		return 2;
	};
	const readAny = <T extends Record<string, { type: 'string' | 'boolean' }>>(options: T) => {
		try {
			return parseArgs({ args: [...rest], options, allowPositionals: true, strict: true });
		} catch {
			return null;
		}
	};
	const read = <T extends Record<string, { type: 'string' | 'boolean' }>>(
		options: T,
		places: number,
	) => {
		const read = readAny(options);
		return read?.positionals.length === places ? read : null;
	};
	switch (verb) {
		case undefined:
			return misused('Say what to do.');
		case 'help':
		case '--help':
		case '-h': {
			const { SIMULATE_USAGE } = await import('./simulate.ts');
			streams.out(`${USAGE}\n${SIMULATE_USAGE}`);
			return 0;
		}
		case 'new': {
			const given = read({ from: { type: 'string' }, 'good-rows': { type: 'boolean' } }, 1);
			const [project] = given?.positionals ?? [];
			const from = given?.values.from;
			if (project === undefined || typeof from !== 'string')
				return misused('"new" takes a project and --from with a folder.');
			const goodRows = given?.values['good-rows'] === true;
			// With a logger the threads that read it load while everything else does.
			const hasLogger = existsSync(join(from, 'logger.csv'));
			const threads = new ReadyThreads(hasLogger ? LOGGER_THREADS : 0);
			try {
				const { makeProject } = await import('./makeproject.ts');
				return await makeProject(project, from, goodRows, caller, streams, threads);
			} finally {
				await threads.end();
			}
		}
		case 'rings': {
			const given = read({ json: { type: 'boolean' }, csv: { type: 'boolean' } }, 1);
			const [project] = given?.positionals ?? [];
			if (project === undefined || (given?.values.json && given.values.csv))
				return misused('"rings" takes a project, and --json or --csv.');
			const form = given?.values.json ? 'json' : given?.values.csv ? 'csv' : 'table';
			const { printRings } = await import('./verbs.ts');
			return printRings(project, form, caller, streams);
		}
		case 'export': {
			const [project, folder] = read({}, 2)?.positionals ?? [];
			if (project === undefined || folder === undefined)
				return misused('"export" takes a project and a folder.');
			const { exportProject } = await import('./verbs.ts');
			return exportProject(project, folder, caller, streams);
		}
		case 'import': {
			const given = readAny({
				profile: { type: 'string' },
				map: { type: 'string' },
				save: { type: 'string' },
				conflicts: { type: 'string' },
				'good-rows': { type: 'boolean' },
				look: { type: 'boolean' },
				'go-on': { type: 'boolean' },
				discard: { type: 'boolean' },
			});
			const [project, ...files] = given?.positionals ?? [];
			const { profile, map, save, conflicts } = given?.values ?? {};
			const way = WAYS.find((each) => each === (conflicts ?? 'refuse'));
			const goesOn = given?.values['go-on'] === true;
			if (project !== undefined && (goesOn || given?.values.discard === true)) {
				if (files.length > 0 || Object.keys(given?.values ?? {}).length > 1)
					return misused('--go-on and --discard take a project and nothing else.');
				const { goOnImport } = await import('./importlogger.ts');
				return goOnImport(project, goesOn ? 'go on' : 'discard', caller, streams);
			}
			if (project === undefined || files.length === 0 || way === undefined || (profile && map))
				return misused('"import" takes a project, files, and --profile or --map.');
			const options = {
				profile: profile === undefined ? null : String(profile),
				map: map === undefined ? null : String(map),
				saveAs: save === undefined ? null : String(save),
				conflicts: way,
				goodRows: given?.values['good-rows'] === true,
				look: given?.values.look === true,
			};
			const { importLoggerFiles } = await import('./importlogger.ts');
			return importLoggerFiles(project, files, options, caller, streams);
		}
		case 'export-sheet': {
			const [project, sheet, file] = read({}, 3)?.positionals ?? [];
			if (project === undefined || sheet === undefined || file === undefined)
				return misused('"export-sheet" takes a project, a sheet and a file.');
			const { exportSheetFile } = await import('./sheetfiles.ts');
			return exportSheetFile(project, sheet, file, caller, streams);
		}
		case 'import-sheet': {
			const given = read(
				{
					existing: { type: 'string' },
					read: { type: 'string' },
					'good-rows': { type: 'boolean' },
					look: { type: 'boolean' },
				},
				3,
			);
			const [project, sheet, file] = given?.positionals ?? [];
			const { existing = 'update', read: said } = given?.values ?? {};
			if (
				project === undefined ||
				sheet === undefined ||
				file === undefined ||
				(existing !== 'update' && existing !== 'skip')
			)
				return misused('"import-sheet" takes a project, a sheet, a file and its options.');
			const { importSheetFile } = await import('./sheetfiles.ts');
			const options = {
				existing,
				read: said === undefined ? null : String(said),
				goodRows: given?.values['good-rows'] === true,
				look: given?.values.look === true,
			} as const;
			return importSheetFile(project, sheet, file, options, caller, streams);
		}
		case 'check': {
			const [project] = read({}, 1)?.positionals ?? [];
			if (project === undefined) return misused('"check" takes a project.');
			const { checkProject } = await import('./verbs.ts');
			return checkProject(project, caller, streams);
		}
		case 'simulate': {
			const { simulate } = await import('./simulate.ts');
			return simulate(rest, streams);
		}
		default:
			return misused(`There is no "${verb}".`);
	}
}

if (import.meta.main) {
	// A reader that has seen enough (`… | head`) closes the pipe: that is no error.
	process.stdout.on('error', (error: NodeJS.ErrnoException) => {
		if (error.code !== 'EPIPE') throw error;
		process.exit(0);
	});
	process.exitCode = await runCommand(
		process.argv.slice(2),
		{ person: personName(), now_s: Date.now() / 1000, appVersion: APP_VERSION },
		{
			out: (text) => process.stdout.write(text),
			err: (text) => process.stderr.write(text),
		},
	);
}
