import { defineConfig } from 'vitest/config';

export default defineConfig({
	root: new URL('..', import.meta.url).pathname,
	test: {
		include: ['test/**/*.test.ts', 'test/**/*.test.tsx'],
		exclude: ['test/browser/**', 'test/built/**', 'node_modules/**'],
		environment: 'node',
		testTimeout: 60_000,
		hookTimeout: 60_000,
		maxWorkers: 2,
	},
});
