import { existsSync, readFileSync } from 'node:fs';
import { homedir, userInfo } from 'node:os';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import manifest from '../../package.json' with { type: 'json' };

export const PRODUCT = 'Slurry Ledger';
export const APP_VERSION: string = manifest.version;

/** What the folders are worked out from; handed in so that a test can be any system. */
export interface Surroundings {
	readonly platform: NodeJS.Platform;
	readonly home: string;
	readonly env: Record<string, string | undefined>;
	/** Text of a file, or null when it cannot be read. */
	readonly read: (path: string) => string | null;
	readonly exists: (path: string) => boolean;
}

/** Folder of this person's settings on this machine, where the system keeps such things. */
export function settingsFolder({ platform, home, env }: Surroundings): string {
	if (platform === 'win32') {
		return join(env.APPDATA ?? join(home, 'AppData', 'Roaming'), PRODUCT);
	}
	if (platform === 'darwin') return join(home, 'Library', 'Application Support', PRODUCT);
	return join(env.XDG_CONFIG_HOME || join(home, '.config'), 'slurry-ledger');
}

/**
 * Folder of this person's documents, or the home folder where there is none. On Linux the desktop
 * writes its (translated) name into user-dirs.dirs.
 */
export function documentsFolder({ platform, home, env, read, exists }: Surroundings): string {
	const candidates: string[] = [];
	if (platform !== 'win32' && platform !== 'darwin') {
		const list = read(join(env.XDG_CONFIG_HOME || join(home, '.config'), 'user-dirs.dirs'));
		const named = list?.match(/^XDG_DOCUMENTS_DIR="(\$HOME\/?)?([^"]*)"/m);
		if (named) candidates.push(resolve(named[1] === undefined ? '/' : home, named[2] ?? ''));
	}
	candidates.push(join(home, 'Documents'));
	return candidates.find(exists) ?? home;
}

/** Plain folder of the invented demo drive: beside the bundles, or in a checkout. */
export function demoFolder(): string {
	const places = ['../demo/', '../../examples/demo-drive/'];
	const paths = places.map((place) => fileURLToPath(new URL(place, import.meta.url)));
	return paths.find((path) => existsSync(path)) ?? (paths[0] as string);
}

/** Name the journal gives the person until they enter their own. */
export function personName(): string {
	try {
		return userInfo().username || 'person';
	} catch {
		return 'person';
	}
}

/** This machine. */
export function hereAndNow(): Surroundings {
	return {
		platform: process.platform,
		home: homedir(),
		env: process.env,
		exists: existsSync,
		read: (path) => {
			try {
				return readFileSync(path, 'utf8');
			} catch {
				return null;
			}
		},
	};
}
