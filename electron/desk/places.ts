import { randomBytes } from 'node:crypto';
import { accessSync, constants, existsSync, readdirSync, statSync } from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import type { PlaceListing, Reply } from '../contract/verbs.ts';
import { errorCode, refuse } from '../store/header.ts';

export const PROJECT_ENDING = '.slurrybook';

/** More entries than this are not listed; a folder of that size is not where drives are kept. */
const MOST_ENTRIES = 5_000;

/**
 * Files and folders as a page knows them: opaque tokens, each standing for a path that only the
 * desk holds. A token is good for as long as the desk lives.
 */
export class Places {
	readonly #paths = new Map<string, string>();
	readonly #tokens = new Map<string, string>();

	tokenOf(path: string): string {
		const whole = resolve(path);
		const known = this.#tokens.get(whole);
		if (known !== undefined) return known;
		const token = randomBytes(18).toString('base64url');
		this.#tokens.set(whole, token);
		this.#paths.set(token, whole);
		return token;
	}

	pathOf(token: string): Reply<string> {
		const path = this.#paths.get(token);
		return path === undefined
			? refuse('unknown_place', 'This place is not known to the desk any more; choose it again.')
			: { ok: true, value: path };
	}

	list(folder: string): Reply<PlaceListing> {
		let names: string[];
		try {
			names = readdirSync(folder);
		} catch (error) {
			return refuse('cannot_read', `The folder cannot be read (${errorCode(error)}).`);
		}
		const entries: PlaceListing['entries'] = [];
		for (const name of names.sort(byName)) {
			if (name.startsWith('.') || entries.length >= MOST_ENTRIES) continue;
			const path = join(folder, name);
			try {
				const stat = statSync(path);
				const kind = stat.isDirectory()
					? existsSync(join(path, 'drive.json'))
						? 'driveFolder'
						: 'folder'
					: !stat.isFile()
						? null
						: name.endsWith(PROJECT_ENDING)
							? 'project'
							: 'file';
				if (kind !== null)
					entries.push({
						placeId: this.tokenOf(path),
						name,
						kind,
						modified_s: Math.floor(stat.mtimeMs / 1000),
					});
			} catch {
				// Gone since it was listed, or not ours to look at: it is not offered.
			}
		}
		const parent = dirname(folder);
		return {
			ok: true,
			value: {
				placeId: this.tokenOf(folder),
				title: titleOf(folder),
				parent:
					parent === folder ? null : { placeId: this.tokenOf(parent), title: titleOf(parent) },
				writable: isWritable(folder),
				entries,
			},
		};
	}
}

/** Name shown for a path; a root has no name of its own. */
export function titleOf(path: string): string {
	return basename(path) || path;
}

/** A name that nothing in the folder bears yet: the wished one, else the same with a number behind. */
export function freeName(folder: string, wished: string): string {
	let name = wished;
	for (let number = 2; existsSync(join(folder, name)); number++) name = `${wished} ${number}`;
	return name;
}

export function isWritable(path: string): boolean {
	try {
		accessSync(path, constants.W_OK);
		return true;
	} catch {
		return false;
	}
}

/**
 * The path of a new file or folder `name` in `folder`, with `ending` added if it is missing.
 * Refuses names that would leave the folder or that some systems do not take, and names already taken.
 */
export function newPath(folder: string, name: string, ending: string): Reply<string> {
	const trimmed = name.trim();
	if (
		trimmed === '' ||
		trimmed.startsWith('.') ||
		/[. ]$/.test(trimmed) ||
		// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
		/[\u0000-\u001f<>:"/\\|?*]/.test(trimmed) ||
		/^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i.test(trimmed)
	)
		return refuse(
			'bad_name',
			'The name must not be empty, begin with a dot, end with a dot or blank, hold any of < > : " / \\ | ? *, or be one that some systems keep for devices (con, prn, aux, nul, com1, lpt1 …).',
		);
	const whole = trimmed.endsWith(ending) ? trimmed : `${trimmed}${ending}`;
	if (Buffer.byteLength(whole) > 200) return refuse('bad_name', 'The name is too long.');
	try {
		if (!statSync(folder).isDirectory())
			return refuse('not_a_folder', 'The place is not a folder.');
	} catch (error) {
		return refuse('not_a_folder', `The folder cannot be found (${errorCode(error)}).`);
	}
	const path = join(folder, whole);
	if (existsSync(path))
		return refuse('name_taken', `"${whole}" is already there; nothing is overwritten.`);
	return { ok: true, value: path };
}

function byName(a: string, b: string): number {
	const [x, y] = [a.toLowerCase(), b.toLowerCase()];
	return x < y ? -1 : x > y ? 1 : a < b ? -1 : 1;
}
