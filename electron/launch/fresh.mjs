import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { runToEnd } from './child.mjs';
import { inRoot, ROOT } from './place.mjs';

/** What the built page and bundles are made of. */
const SOURCES = {
	page: ['renderer', 'calc', 'electron/contract', 'package-lock.json'],
	desk: ['electron', 'calc', 'examples', 'package-lock.json', 'package.json'],
};
const STAMP = inRoot('dist', 'built.json');

/**
 * Builds the page and the desk's bundles when their sources changed since the last build.
 *
 * @param {string} node the Node to build with
 * @param {{always?: boolean, say?: (line: string) => void}} [options]
 * @returns {Promise<number>} exit code of the build; 0 when nothing had to be done
 */
export async function freshBuild(node, { always = false, say = tellStderr } = {}) {
	const now = Object.fromEntries(
		Object.entries(SOURCES).map(([part, places]) => [part, fingerprint(places)]),
	);
	const before = always ? {} : lastBuild();
	const stale = Object.keys(now).filter((part) => before[part] !== now[part]);
	if (stale.length === 0) return 0;
	say(`Building ${stale.join(' and ')} …`);
	const code = await runToEnd(node, [inRoot('electron', 'launch', 'bundle.mjs'), ...stale], {
		cwd: ROOT,
		stdio: ['ignore', 2, 2],
		// What is built is what is shipped, whoever asked for it: a test run sets this otherwise.
		env: { ...process.env, NODE_ENV: 'production' },
	});
	if (code === 0) writeFileSync(STAMP, JSON.stringify({ ...before, ...now }));
	return code;
}

function tellStderr(line) {
	process.stderr.write(`${line}\n`);
}

function lastBuild() {
	const whole = ['page/index.html', 'desk/loopback.mjs', 'desk/main.mjs', 'desk/preload.cjs'];
	if (!whole.every((file) => existsSync(inRoot('dist', ...file.split('/'))))) return {};
	try {
		return JSON.parse(readFileSync(STAMP, 'utf8'));
	} catch {
		return {};
	}
}

/** One hash over names and contents of all files below the places. */
function fingerprint(places) {
	const hash = createHash('sha256');
	for (const file of places.flatMap((place) => filesBelow(inRoot(place)))) {
		hash.update(relative(ROOT, file)).update('\0').update(readFileSync(file)).update('\0');
	}
	return hash.digest('hex');
}

function filesBelow(path) {
	if (!existsSync(path)) return [];
	const entries = safeList(path);
	if (entries === null) return [path];
	return entries
		.filter((entry) => entry.isDirectory() || entry.isFile())
		.map((entry) => entry.name)
		.sort()
		.flatMap((name) => filesBelow(join(path, name)));
}

function safeList(path) {
	try {
		return readdirSync(path, { withFileTypes: true });
	} catch (error) {
		if (error.code === 'ENOTDIR') return null;
		throw error;
	}
}
