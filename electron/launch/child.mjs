import { spawn } from 'node:child_process';

/**
 * Runs a program to its end and gives its exit code; 128 + signal number when a signal ended it,
 * 127 when it could not be started. Ctrl-C reaches the child through the terminal's process group,
 * so this process only waits for it to finish in its own way.
 *
 * @param {string} program
 * @param {readonly string[]} args
 * @param {import('node:child_process').SpawnOptions} [options]
 * @returns {Promise<number>}
 */
export function runToEnd(program, args, options = {}) {
	return new Promise((resolve) => {
		const child = spawn(program, args, { stdio: 'inherit', ...options });
		const wait = () => {};
		const pass = () => child.kill('SIGTERM');
		process.on('SIGINT', wait);
		process.on('SIGTERM', pass);
		const end = (code) => {
			process.off('SIGINT', wait);
			process.off('SIGTERM', pass);
			resolve(code);
		};
		child.once('error', () => end(127));
		child.once('close', (code, signal) => end(code ?? 128 + (SIGNAL_NUMBERS[signal] ?? 0)));
	});
}

const SIGNAL_NUMBERS = { SIGHUP: 1, SIGINT: 2, SIGQUIT: 3, SIGKILL: 9, SIGSEGV: 11, SIGTERM: 15 };
