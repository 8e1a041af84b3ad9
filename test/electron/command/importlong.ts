import { existsSync } from 'node:fs';
import { runCommand } from '../../../electron/command/desk.ts';

/**
 * Run as a process of its own, to be killed: imports a file into a project as the headless command
 * does. Once there is a note of how to go on, it stands still, so that it is never over too soon.
 */
const [project, file, note] = process.argv.slice(2);
if (project === undefined || file === undefined || note === undefined)
	throw new Error('importlong PROJECT FILE NOTE');
setInterval(() => {
	if (existsSync(note)) Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0);
}, 1).unref();
const caller = { person: 'Script', now_s: 1_780_000_000, appVersion: '0.0.0' };
process.exitCode = await runCommand(['import', project, file], caller, {
	out: (text) => process.stdout.write(text),
	err: (text) => process.stderr.write(text),
});
