import { spawnSync } from 'node:child_process';

import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { runToEnd } from '../../../electron/launch/child.mjs';

const quiet = { stdio: 'ignore' as const };
const node = (script: string) => runToEnd(process.execPath, ['-e', script], quiet);

// Exit codes as POSIX shells give them: the program's own, 128 + signal, 127 for none.
describe('a program that is run to its end', () => {
	it('passes its exit code on', async () => {
		expect(await node('')).toBe(0);
		expect(await node('process.exit(2)')).toBe(2);
	});

	it('tells the signal that ended it', async () => {
		// Windows has no signals: there the process simply ends with 1.
		const [term, kill] = process.platform === 'win32' ? [1, 1] : [143, 137];
		expect(await node("process.kill(process.pid, 'SIGTERM')")).toBe(term);
		expect(await node("process.kill(process.pid, 'SIGKILL')")).toBe(kill);
	});

	it('says when it is not there', async () => {
		expect(await runToEnd(join(tmpdir(), 'no-such-program'), [], quiet)).toBe(127);
	});
});

describe('the start command', () => {
	const start = (...args: string[]) =>
		spawnSync(process.execPath, ['electron/launch/start.mjs', ...args], { encoding: 'utf8' });

	it('explains itself, and refuses what it does not know', () => {
		expect(start('--help')).toMatchObject({
			status: 0,
			stderr: expect.stringContaining('--loopback'),
		});
		const wrong = start('--loop');
		expect(wrong.status).toBe(2);
		expect(wrong.stderr).toContain("'--loop'");
		expect(start('a.slurrybook', 'b.slurrybook').status).toBe(2);
	});
});

describe('the headless command', () => {
	it('keeps its stdout for the verb and passes wrong use on as 2', () => {
		const wrong = spawnSync(process.execPath, ['electron/launch/desk.mjs', 'no-such-verb'], {
			encoding: 'utf8',
		});
		expect(wrong.status).toBe(2);
		expect(wrong.stdout).toBe('');
		expect(wrong.stderr).not.toBe('');
	});
});
