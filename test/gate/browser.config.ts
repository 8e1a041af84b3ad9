import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

export default defineConfig({
	root: fileURLToPath(new URL('../..', import.meta.url)),
	test: {
		include: ['test/browser/**/*.test.ts', 'test/built/**/*.test.ts'],
		environment: 'node',
		testTimeout: 120_000,
		hookTimeout: 120_000,
		// Each file starts a desk and a browser; two at once would fight for the machine.
		fileParallelism: false,
	},
});
