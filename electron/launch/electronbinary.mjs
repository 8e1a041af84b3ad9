import { spawn } from 'node:child_process';
import {
	existsSync,
	mkdirSync,
	readdirSync,
	readFileSync,
	rmSync,
	statSync,
	writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { inRoot } from './place.mjs';

const PACKAGE = inRoot('node_modules', 'electron');
const MISSED = inRoot('node_modules', '.slurry-ledger-electron-missed');
const SILENCE_MS = 15_000;
const WHOLE_MS = 10 * 60_000;
const ASK_AGAIN_AFTER_MS = 24 * 60 * 60_000;

/**
 * Path of Electron's program, fetching it when it is not there yet. The package comes without its
 * program; its own installer fetches it. A fetch that makes no progress is stopped, and one that
 * failed is not tried again for a day, so that a machine without the internet starts at once.
 *
 * @param {string} node
 * @param {{say: (line: string) => void, insist?: boolean}} options `insist`: try although it failed lately
 * @returns {Promise<{program: string} | {why: string}>}
 */
export async function electronProgram(node, { say, insist = false }) {
	const there = installedProgram();
	if (there !== null) return { program: there };
	if (!insist && Date.now() - changed_ms(MISSED) < ASK_AGAIN_AFTER_MS) {
		return { why: 'its program could not be fetched lately; --electron tries again' };
	}
	say('Fetching Electron (once, about 120 MB) …');
	const problem = await fetchProgram(node, say);
	const now = installedProgram();
	if (now !== null) {
		rmSync(MISSED, { force: true });
		return { program: now };
	}
	writeFileSync(MISSED, `${problem}\n`);
	return { why: `its program could not be fetched: ${problem}` };
}

function installedProgram() {
	try {
		const wanted = JSON.parse(readFileSync(join(PACKAGE, 'package.json'), 'utf8')).version;
		const have = readFileSync(join(PACKAGE, 'dist', 'version'), 'utf8')
			.trim()
			.replace(/^v/, '');
		const program = join(PACKAGE, 'dist', readFileSync(join(PACKAGE, 'path.txt'), 'utf8'));
		return have === wanted && existsSync(program) ? program : null;
	} catch {
		return null;
	}
}

/** Runs the package's installer with a download folder of our own, whose growth is its progress. */
function fetchProgram(node, say) {
	const folder = inRoot('node_modules', '.electron-download');
	rmSync(folder, { recursive: true, force: true });
	mkdirSync(folder, { recursive: true });
	return new Promise((resolve) => {
		const child = spawn(node, [join(PACKAGE, 'install.js')], {
			stdio: ['ignore', 'ignore', 'pipe'],
			env: { ...process.env, TMPDIR: folder, TEMP: folder, TMP: folder },
		});
		let words = '';
		child.stderr.on('data', (piece) => {
			words = (words + piece).slice(-4_000);
		});
		const began = Date.now();
		let size = 0;
		let grew = began;
		let stopped = null;
		const watch = setInterval(() => {
			const now = bytesBelow(folder) + bytesBelow(join(PACKAGE, 'dist'));
			if (now !== size) {
				size = now;
				grew = Date.now();
				say(`  ${Math.round(size / 1e6)} MB`);
			}
			if (Date.now() - grew > SILENCE_MS) stopped = 'nothing arrived for 15 seconds';
			else if (Date.now() - began > WHOLE_MS) stopped = 'it took more than 10 minutes';
			if (stopped !== null) child.kill('SIGKILL');
		}, 2_000);
		const end = (problem) => {
			clearInterval(watch);
			rmSync(folder, { recursive: true, force: true, maxRetries: 3 });
			resolve(problem);
		};
		child.once('error', (error) => end(error.message));
		child.once('close', () => end(stopped ?? reason(words)));
	});
}

/** The line of the installer's words that says what went wrong, without its stack. */
function reason(words) {
	const lines = words.split('\n').map((line) => line.trim());
	const telling = lines.find((line) => /error|ENOTFOUND|ECONN|EAI_AGAIN|status/i.test(line));
	const why = telling ?? lines.find(Boolean) ?? 'its installer gave no reason';
	return /fetch failed/i.test(why) ? 'its server was not reached' : why.slice(0, 200);
}

function bytesBelow(folder) {
	try {
		return readdirSync(folder, { recursive: true, withFileTypes: true })
			.filter((entry) => entry.isFile())
			.reduce((sum, entry) => sum + statSync(join(entry.parentPath, entry.name)).size, 0);
	} catch {
		return 0;
	}
}

function changed_ms(file) {
	try {
		return statSync(file).mtimeMs;
	} catch {
		return 0;
	}
}
