import type { App, Session } from 'electron';
import { isAppAddress } from './appscheme.ts';

/**
 * What the page may ask the system for; everything else is denied. Copy and paste of cells is the
 * one thing a ledger needs.
 */
const ALLOWED: ReadonlySet<string> = new Set(['clipboard-sanitized-write', 'clipboard-read']);

/** No page of this app goes anywhere else, opens a window, or holds a foreign one. */
export function lockNavigation(app: App, log: (line: string) => void): void {
	app.on('web-contents-created', (_, contents) => {
		const stay = (event: { preventDefault(): void; url?: string }) => {
			if (event.url !== undefined && isAppAddress(event.url)) return;
			event.preventDefault();
			log('A way out of the page was refused.');
		};
		contents.on('will-navigate', stay);
		contents.on('will-frame-navigate', stay);
		contents.on('will-redirect', stay);
		contents.on('will-attach-webview', (event) => event.preventDefault());
		contents.setWindowOpenHandler(() => {
			log('A new window was refused.');
			return { action: 'deny' };
		});
	});
}

/** Permissions, devices and the network of the page's session. */
export function lockSession(session: Session, log: (line: string) => void): void {
	session.setPermissionRequestHandler((contents, permission, decide) => {
		const granted = ALLOWED.has(permission) && isAppAddress(contents.getURL());
		if (!granted) log(`The permission ${permission} was refused.`);
		decide(granted);
	});
	session.setPermissionCheckHandler(
		(_, permission, origin) => ALLOWED.has(permission) && isAppAddress(origin),
	);
	session.setDevicePermissionHandler(() => false);
	session.setDisplayMediaRequestHandler((_, decide) => decide(null));
	session.setSpellCheckerEnabled(false);
	session.webRequest.onBeforeRequest((request, decide) => {
		const own = isAppAddress(request.url) || request.url.startsWith('devtools:');
		if (!own && !request.url.startsWith('data:')) log('A request to the network was refused.');
		decide({ cancel: !own && !request.url.startsWith('data:') });
	});
	session.on('will-download', (event) => event.preventDefault());
}
