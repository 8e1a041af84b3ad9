import { fileURLToPath } from 'node:url';
import react from '@vitejs/plugin-react';
import { defineConfig, type Plugin } from 'vite';

const NONCE = 'style-nonce';

/** Puts the mark into the page that the hosts replace by the nonce of each load. */
function styleNonce(): Plugin {
	return {
		name: NONCE,
		transformIndexHtml(html) {
			if (html.includes(`name="${NONCE}"`)) return html;
			const attrs = { name: NONCE, content: '__STYLE_NONCE__' };
			return { html, tags: [{ tag: 'meta', attrs, injectTo: 'head-prepend' }] };
		},
	};
}

export default defineConfig({
	root: fileURLToPath(new URL('.', import.meta.url)),
	plugins: [react(), styleNonce()],
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
