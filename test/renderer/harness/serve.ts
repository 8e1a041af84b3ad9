import { fileURLToPath } from 'node:url';
import react from '@vitejs/plugin-react';
import { createServer } from 'vite';

/** Serves the harness page from source on a free port of this machine. */
export async function serveHarness(): Promise<{ url: string; close: () => Promise<void> }> {
	const root = fileURLToPath(new URL('../../..', import.meta.url));
	const server = await createServer({
		configFile: false,
		root,
		cacheDir: fileURLToPath(new URL('../../../node_modules/.vite-harness', import.meta.url)),
		plugins: [react()],
		logLevel: 'error',
		server: { port: 0, host: '127.0.0.1', hmr: false, watch: null },
		optimizeDeps: { entries: ['test/renderer/harness/index.html'] },
	});
	await server.listen();
	const address = server.httpServer?.address();
	if (!address || typeof address === 'string') throw new Error('the harness has no port');
	return {
		url: `http://127.0.0.1:${address.port}/test/renderer/harness/index.html`,
		close: () => server.close(),
	};
}
