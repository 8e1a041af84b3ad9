import { cpSync, existsSync, rmSync } from 'node:fs';
import { build } from 'vite';
import { inRoot } from './place.mjs';

// Run by the project's own Node: `bundle.mjs page desk` builds the parts named.
const parts = process.argv.slice(2);
const log = { logLevel: 'warn', clearScreen: false };
if (parts.includes('page')) {
	await build({ ...log, configFile: inRoot('renderer', 'vite.config.ts') });
}
if (parts.includes('desk')) {
	rmSync(inRoot('dist', 'desk'), { recursive: true, force: true });
	await bundle(
		{
			main: inRoot('electron', 'hosts', 'main.ts'),
			loopback: inRoot('electron', 'hosts', 'loopbackmain.ts'),
			desk: inRoot('electron', 'command', 'desk.ts'),
			...workers(),
		},
		'es',
		'mjs',
	);
	// The sandbox gives a preload script no module loader: one file, CommonJS.
	await bundle({ preload: inRoot('electron', 'hosts', 'preload.ts') }, 'cjs', 'cjs');
	copyDemo();
}

/**
 * Every file of the desk ends up in one folder, so an address made from import.meta.url means the
 * same in whichever bundle the code landed.
 */
async function bundle(input, format, ending) {
	await build({
		...log,
		configFile: false,
		root: inRoot(),
		publicDir: false,
		plugins: [workerEndings()],
		ssr: { noExternal: true, external: ['electron'] },
		build: {
			ssr: true,
			outDir: inRoot('dist', 'desk'),
			emptyOutDir: false,
			target: 'node24',
			minify: false,
			sourcemap: true,
			rolldownOptions: {
				input,
				external: ['electron'],
				output: {
					format,
					entryFileNames: `[name].${ending}`,
					chunkFileNames: `part-[name]-[hash].${ending}`,
				},
			},
		},
	});
}

/** Worker scripts by the name they are started under. */
function workers() {
	const worker = inRoot('electron', 'logger', 'worker.ts');
	return existsSync(worker) ? { worker } : {};
}

/** Sources start their worker as `./worker.ts`; beside the bundles the same file is `./worker.mjs`. */
function workerEndings() {
	return {
		name: 'worker-endings',
		transform(code, id) {
			if (!id.includes('/electron/') || !code.includes('new Worker(')) return null;
			const own = /new URL\((['"])\.\/(\w+)\.ts\1, import\.meta\.url\)/g;
			// Columns move by one letter and lines not at all, so the map may stay as it is.
			return { code: code.replace(own, 'new URL($1./$2.mjs$1, import.meta.url)'), map: null };
		},
	};
}

function copyDemo() {
	const from = inRoot('examples', 'demo-drive');
	const to = inRoot('dist', 'demo');
	rmSync(to, { recursive: true, force: true });
	cpSync(from, to, { recursive: true });
}
