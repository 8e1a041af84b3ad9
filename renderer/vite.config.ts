import { fileURLToPath } from 'node:url';
import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

export default defineConfig({
	root: fileURLToPath(new URL('.', import.meta.url)),
	plugins: [react()],
	// The hosts put the nonce of each load in its place; the page finds it in the meta element.
	html: { cspNonce: '__STYLE_NONCE__' },
	build: {
		outDir: fileURLToPath(new URL('../dist/page', import.meta.url)),
		emptyOutDir: true,
		target: 'chrome140',
		// Fonts and pictures stay files: the page's policy allows no data: fonts.
		assetsInlineLimit: 0,
		modulePreload: { polyfill: false },
		chunkSizeWarningLimit: 4_000,
	},
});
