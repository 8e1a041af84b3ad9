import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { runNpm } from './npm.mjs';
import { inRoot, NEEDED_MAJOR, OWN_NODE } from './place.mjs';

const STAMP = inRoot('node_modules', '.slurry-ledger-set-up');

/**
 * Makes sure that the installed packages are those of package-lock.json and that a Node of the
 * needed major is there. Each repair is tried once.
 *
 * @param {(line: string) => void} [say] where progress is told; default stderr
 * @returns {Promise<string>} path of the Node to run the project with
 * @throws {SetUpFailed} with what the person has to do
 */
export async function setUp(say = (line) => process.stderr.write(`${line}\n`)) {
	const lockText = readFileSync(inRoot('package-lock.json'), 'utf8');
	const lockHash = createHash('sha256').update(lockText).digest('hex');
	if (readIfThere(STAMP) === lockHash && existsSync(OWN_NODE)) return OWN_NODE;
	const wanting = missingPackages(JSON.parse(lockText), installedLock());
	if (wanting.length > 0) {
		say(
			`Setting up: ${wanting.length} packages of package-lock.json are not installed as listed. Installing them (once, about half a minute).`,
		);
		const code = await runNpm(['ci', '--no-fund', '--no-audit', '--loglevel=error']);
		if (code !== 0) {
			throw new SetUpFailed(
				`npm ci ended with code ${code}; its message is above. Set-up needs the package registry once; afterwards everything runs offline.`,
			);
		}
	}
	const node = await findNode(say);
	writeFileSync(STAMP, lockHash);
	return node;
}

/** The set-up could not be finished; the message says what to do. */
export class SetUpFailed extends Error {
	name = 'SetUpFailed';
}

/**
 * Packages of the lock that are not installed in the locked version, by their path. Packages for
 * other systems are optional in the lock and may be absent.
 *
 * @param {{packages: Record<string, {version?: string, optional?: boolean, peer?: boolean}>}} lock
 * @param {{packages: Record<string, {version?: string}>} | null} installed npm's own record
 * @returns {string[]}
 */
export function missingPackages(lock, installed) {
	const wanting = [];
	for (const [path, entry] of Object.entries(lock.packages)) {
		if (path === '') continue;
		const there = installed?.packages[path];
		if (there === undefined ? !entry.optional : there.version !== entry.version) {
			wanting.push(path);
		}
	}
	return wanting;
}

function installedLock() {
	const text = readIfThere(inRoot('node_modules', '.package-lock.json'));
	try {
		return text === null ? null : JSON.parse(text);
	} catch {
		return null;
	}
}

function readIfThere(path) {
	try {
		return readFileSync(path, 'utf8');
	} catch {
		return null;
	}
}

async function findNode(say) {
	if (majorOf(OWN_NODE) === NEEDED_MAJOR) return OWN_NODE;
	const running = Number(process.versions.node.split('.')[0]);
	if (running >= NEEDED_MAJOR) return process.execPath;
	say(`Setting up: fetching Node ${NEEDED_MAJOR} (its install script has not run yet).`);
	await runNpm(['rebuild', 'node', '--loglevel=error']);
	if (majorOf(OWN_NODE) === NEEDED_MAJOR) return OWN_NODE;
	throw new SetUpFailed(
		[
			`Node ${NEEDED_MAJOR} is needed and this is Node ${process.versions.node}.`,
			'The package "node" fetches it in its install script, and npm did not run that script. Any one of these helps:',
			'  npm install-scripts approve node && npm rebuild node',
			'  npm config delete ignore-scripts && npm rebuild node',
			`  or install Node ${NEEDED_MAJOR} yourself and put it first on the PATH.`,
		].join('\n'),
	);
}

function majorOf(program) {
	if (!existsSync(program)) return null;
	const told = spawnSync(program, ['-p', 'process.versions.node'], { encoding: 'utf8' });
	return told.status === 0 ? Number(told.stdout.split('.')[0]) : null;
}
