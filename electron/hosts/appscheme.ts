import type { Protocol } from 'electron';
import type { Page } from './page.ts';

/** The page lives under an address of its own, not under file:, so it has an origin to check. */
export const APP_SCHEME = 'app';
export const APP_HOST = 'desk';
export const APP_ORIGIN = `${APP_SCHEME}://${APP_HOST}`;

/** To be called before the app is ready: the scheme counts as a secure site with its own origin. */
export function declareAppScheme(protocol: Protocol): void {
	protocol.registerSchemesAsPrivileged([
		{ scheme: APP_SCHEME, privileges: { standard: true, secure: true, codeCache: true } },
	]);
}

/** Serves the built page: GET, the one host, the listed files; everything else is refused. */
export function serveAppScheme(protocol: Protocol, page: Page): void {
	protocol.handle(APP_SCHEME, (request) => {
		const address = new URL(request.url);
		if (request.method !== 'GET' || address.host !== APP_HOST) {
			return new Response('Only the files of the page are here.', { status: 403 });
		}
		const { status, headers, body } = page.answer(address.pathname);
		return new Response(body, { status, headers });
	});
}

/** Whether an address belongs to the page. Compared part by part, never by its beginning. */
export function isAppAddress(address: string): boolean {
	try {
		const { protocol, host } = new URL(address);
		return protocol === `${APP_SCHEME}:` && host === APP_HOST;
	} catch {
		return false;
	}
}
