import { runToEnd } from './child.mjs';
import { inRoot } from './place.mjs';
import { SetUpFailed, setUp } from './setup.mjs';

// The headless command. What set-up says goes to stderr; stdout belongs to the verb.
try {
	const node = await setUp();
	const command = inRoot('electron', 'command', 'desk.ts');
	process.exitCode = await runToEnd(node, [command, ...process.argv.slice(2)]);
} catch (error) {
	if (!(error instanceof SetUpFailed)) throw error;
	process.stderr.write(`${error.message}\n`);
	process.exitCode = 1;
}
