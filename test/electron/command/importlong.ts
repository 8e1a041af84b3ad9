import { runCommand } from '../../../electron/command/desk.ts';

/** Run as a process of its own, to be killed: imports a file into a project as the headless command does. */
const [project, file] = process.argv.slice(2);
if (project === undefined || file === undefined) throw new Error('importlong PROJECT FILE');
const caller = { person: 'Script', now_s: 1_780_000_000, appVersion: '0.0.0' };
process.exitCode = await runCommand(['import', project, file], caller, {
	out: (text) => process.stdout.write(text),
	err: (text) => process.stderr.write(text),
});
