import { createHash, timingSafeEqual } from 'node:crypto';
import type { IncomingHttpHeaders } from 'node:http';

/**
 * Who may talk to the loopback host. A page of another site can make a browser send requests to
 * 127.0.0.1, and a name that resolves to 127.0.0.1 can make them look local; so the address asked
 * for, the page that asks and the secret of this run are each checked.
 */
export interface Admission {
	readonly port: number;
	readonly cookieName: string;
	readonly session: string;
}

/** Why a request is turned away. */
export interface Refusal {
	readonly status: 403 | 405 | 411 | 413 | 415;
	readonly message: string;
}

/** The Host header must be one of the two ways to write this very address. */
export function hostRefusal(headers: IncomingHttpHeaders, { port }: Admission): Refusal | null {
	const host = headers.host?.toLowerCase();
	return host === `127.0.0.1:${port}` || host === `localhost:${port}`
		? null
		: { status: 403, message: 'This host answers only to its own loopback address.' };
}

/** The session cookie of this run must come along. */
export function cookieRefusal(headers: IncomingHttpHeaders, admission: Admission): Refusal | null {
	const sent = cookieValue(headers.cookie, admission.cookieName);
	return sent !== null && sameSecret(sent, admission.session)
		? null
		: {
				status: 403,
				message: 'This page is not admitted. Open the address the start command printed.',
			};
}

/** The asking page must be the one served under the address it asks. */
export function originRefusal(headers: IncomingHttpHeaders, admission: Admission): Refusal | null {
	const site = headers['sec-fetch-site'];
	const foreign = site !== undefined && site !== 'same-origin';
	return headers.origin === `http://${headers.host?.toLowerCase()}` &&
		hostRefusal(headers, admission) === null &&
		!foreign
		? null
		: { status: 403, message: 'Only the page of this host may ask.' };
}

/** Compares without telling by its duration how much was right. */
export function sameSecret(given: string, wanted: string): boolean {
	const digest = (text: string) => createHash('sha256').update(text).digest();
	return timingSafeEqual(digest(given), digest(wanted));
}

function cookieValue(header: string | undefined, name: string): string | null {
	for (const part of header?.split(';') ?? []) {
		const cut = part.indexOf('=');
		if (cut > 0 && part.slice(0, cut).trim() === name) return part.slice(cut + 1).trim();
	}
	return null;
}
