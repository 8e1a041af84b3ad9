import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import react from '@vitejs/plugin-react';
import { build, preview } from 'vite';

/** Builds the harness page into a folder of its own and serves it on a free port of this machine. */
export async function serveHarness(): Promise<{ url: string; close: () => Promise<void> }> {
	const outDir = await mkdtemp(join(tmpdir(), 'panels-'));
	const shared = {
		configFile: false,
		root: fileURLToPath(new URL('.', import.meta.url)),
		logLevel: 'error',
	} as const;
	await build({
		...shared,
		plugins: [react()],
		build: { outDir, emptyOutDir: true, target: 'chrome140', minify: false },
	});
	const server = await preview({
		...shared,
		build: { outDir },
		preview: { port: 0, host: '127.0.0.1' },
	});
	const address = server.httpServer.address();
	if (!address || typeof address === 'string') throw new Error('the harness has no port');
	return {
		url: `http://127.0.0.1:${address.port}/`,
		close: async () => {
			await server.close();
			await rm(outDir, { recursive: true, force: true });
		},
	};
}
