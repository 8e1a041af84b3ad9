import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join, relative, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import { houseFaults } from './houserules.ts';
import type { SourceFile } from './imports.ts';

// Prints every broken rule of the house and ends with 1 if there is one.
const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const PLACES = ['calc', 'electron', 'renderer', 'test', 'bench'];

function sources(): SourceFile[] {
	return PLACES.flatMap((place) =>
		readdirSync(join(ROOT, place), { withFileTypes: true, recursive: true })
			.filter((entry) => entry.isFile() && /\.(ts|tsx|mjs|cjs|js)$/.test(entry.name))
			.map((entry) => join(entry.parentPath, entry.name))
			.map((file) => ({
				path: relative(ROOT, file).split(sep).join('/'),
				text: readFileSync(file, 'utf8'),
			})),
	);
}

/** Entries of the top folder under version control; without one, the ones that are there. */
function topEntries(): string[] {
	const listed = spawnSync('git', ['ls-files', '--cached', '--others', '--exclude-standard'], {
		cwd: ROOT,
		encoding: 'utf8',
	});
	const names =
		listed.status === 0
			? listed.stdout.split('\n').map((path) => path.split('/')[0] ?? '')
			: readdirSync(ROOT).filter(
					(name) => !['.git', 'node_modules', 'dist', 'release'].includes(name),
				);
	return [...new Set(names)].filter((name) => name !== '');
}

const files = sources();
const faults = houseFaults(files, topEntries());
for (const { path, line, rule } of faults) process.stdout.write(`${path}:${line} ${rule}\n`);
process.stdout.write(`${files.length} files looked at, ${faults.length} rules broken\n`);
process.exitCode = faults.length === 0 ? 0 : 1;
