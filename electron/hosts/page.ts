import { randomBytes } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { extname, join, relative, sep } from 'node:path';

/** What a host answers to a request for a file of the page. */
export interface PageAnswer {
	readonly status: 200 | 404;
	readonly headers: Record<string, string>;
	readonly body: string | Uint8Array<ArrayBuffer>;
}

/** The built page, read once: a request can only name one of these files, never a place on disk. */
export interface Page {
	/** `path` as in the request line, still percent-encoded; the query is not part of it. */
	answer(path: string): PageAnswer;
}

export interface PageRules {
	/** What the page may connect to: its own host, or nothing where a preload carries the calls. */
	readonly connect: "'self'" | "'none'";
}

/** Stands in the built index.html wherever the nonce of one load belongs. */
export const NONCE_MARK = '__STYLE_NONCE__';

/** Endings the page is made of. A file with another ending is not served. */
const TYPES: Record<string, string> = {
	'.html': 'text/html; charset=utf-8',
	'.js': 'text/javascript; charset=utf-8',
	'.css': 'text/css; charset=utf-8',
	'.svg': 'image/svg+xml',
	'.png': 'image/png',
	'.ico': 'image/x-icon',
	'.woff2': 'font/woff2',
	'.json': 'application/json',
};

/**
 * Reads the built page. `folder` holds index.html; links and files of unknown kind are left out.
 * Throws when index.html is not there, because then nothing was built.
 */
export function readPage(folder: string, rules: PageRules): Page {
	const files = new Map<string, { type: string; body: Uint8Array<ArrayBuffer> }>();
	for (const entry of readdirSync(folder, { withFileTypes: true, recursive: true })) {
		const type = TYPES[extname(entry.name)];
		if (!entry.isFile() || type === undefined) continue;
		const file = join(entry.parentPath, entry.name);
		const address = `/${relative(folder, file).split(sep).join('/')}`;
		files.set(address, { type, body: new Uint8Array(readFileSync(file)) });
	}
	const index = files.get('/index.html');
	if (index === undefined) throw new Error('The page is not built: index.html is missing.');
	const indexText = Buffer.from(index.body).toString('utf8');

	return {
		answer(path) {
			if (path === '/' || path === '/index.html') {
				const nonce = randomBytes(18).toString('base64');
				return {
					status: 200,
					headers: { 'Content-Type': index.type, ...pageHeaders(nonce, rules) },
					body: indexText.replaceAll(NONCE_MARK, nonce),
				};
			}
			const file = files.get(path);
			if (file === undefined) {
				return {
					status: 404,
					headers: { 'Content-Type': 'text/plain; charset=utf-8', ...guardHeaders() },
					body: 'There is no such file in this page.',
				};
			}
			return {
				status: 200,
				headers: { 'Content-Type': file.type, ...guardHeaders() },
				body: file.body,
			};
		},
	};
}

/** Headers of every answer, page or not. */
export function guardHeaders(): Record<string, string> {
	return {
		'Cache-Control': 'no-store',
		'X-Content-Type-Options': 'nosniff',
		'Referrer-Policy': 'no-referrer',
		'Cross-Origin-Opener-Policy': 'same-origin',
		'Cross-Origin-Embedder-Policy': 'require-corp',
		'Cross-Origin-Resource-Policy': 'same-origin',
		'Content-Security-Policy': "default-src 'none'; frame-ancestors 'none'",
	};
}

function pageHeaders(nonce: string, { connect }: PageRules): Record<string, string> {
	return {
		...guardHeaders(),
		'Content-Security-Policy': [
			"default-src 'none'",
			"script-src 'self'",
			// The grid writes its theme into <style> elements; they carry this load's nonce.
			`style-src 'self' 'nonce-${nonce}'`,
			"img-src 'self' data:",
			"font-src 'self'",
			`connect-src ${connect}`,
			"worker-src 'self'",
			"object-src 'none'",
			"base-uri 'none'",
			"form-action 'none'",
			"frame-src 'none'",
			"frame-ancestors 'none'",
		].join('; '),
		'Permissions-Policy': DENIED_FEATURES.map((feature) => `${feature}=()`).join(', '),
	};
}

/** Powerful features a ledger has no use for. The clipboard stays, for copy and paste of cells. */
const DENIED_FEATURES = [
	'accelerometer',
	'camera',
	'display-capture',
	'geolocation',
	'gyroscope',
	'hid',
	'magnetometer',
	'microphone',
	'midi',
	'payment',
	'serial',
	'usb',
	'xr-spatial-tracking',
];
