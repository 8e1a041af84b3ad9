import { runToEnd } from './child.mjs';
import { ROOT } from './place.mjs';

/**
 * Runs npm in the project's folder, all its words on stderr so that stdout stays the command's own.
 * Under `npm run` npm names its own script, which also spares Windows a shell.
 *
 * @param {readonly string[]} args fixed words only, never anything typed by a person
 * @returns {Promise<number>} npm's exit code
 */
export function runNpm(args) {
	const stdio = ['ignore', 2, 2];
	const script = process.env.npm_execpath;
	if (script?.endsWith('.js')) {
		return runToEnd(process.execPath, [script, ...args], { cwd: ROOT, stdio });
	}
	const shell = process.platform === 'win32';
	return runToEnd('npm', args, { cwd: ROOT, stdio, shell });
}
