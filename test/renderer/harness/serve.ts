import { globSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import react from '@vitejs/plugin-react';
import { build, preview } from 'vite';

/** Builds the harness pages of test/renderer into a folder of their own and serves them on a free port. */
export async function serveHarness(): Promise<{ url: string; close: () => Promise<void> }> {
	const outDir = await mkdtemp(join(tmpdir(), 'harness-'));
	const root = fileURLToPath(new URL('..', import.meta.url));
	const shared = { configFile: false, root, logLevel: 'error' } as const;
	await build({
		...shared,
		plugins: [react()],
		build: {
			outDir,
			emptyOutDir: true,
			target: 'chrome140',
			minify: false,
			assetsInlineLimit: 0,
			chunkSizeWarningLimit: 8_000,
			rolldownOptions: {
				input: globSync('*/index.html', { cwd: root }).map((page) => join(root, page)),
			},
		},
	});
	const server = await preview({
		...shared,
		build: { outDir },
		preview: { port: 0, host: '127.0.0.1' },
	});
	const address = server.httpServer.address();
	if (!address || typeof address === 'string') throw new Error('the harness has no port');
	return {
		url: `http://127.0.0.1:${address.port}/harness/index.html`,
		close: async () => {
			await server.close();
			await rm(outDir, { recursive: true, force: true });
		},
	};
}
