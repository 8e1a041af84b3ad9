import { freshBuild } from './fresh.mjs';
import { SetUpFailed, setUp } from './setup.mjs';

// `npm run build`: page, desk, hosts and demo folder into dist/. With --if-stale only what changed.
try {
	const node = await setUp();
	process.exitCode = await freshBuild(node, { always: !process.argv.includes('--if-stale') });
} catch (error) {
	if (!(error instanceof SetUpFailed)) throw error;
	process.stderr.write(`${error.message}\n`);
	process.exitCode = 1;
}
