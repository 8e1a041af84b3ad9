import type { IncomingMessage } from 'node:http';

/** A pasted block of cells is far below this; a larger body is not a page's. */
export const BODY_LIMIT_BYTES = 8 * 1024 * 1024;

/** Larger calls are not for the line; they come by POST. */
export const LINE_LIMIT_BYTES = 4 * 1024 * 1024;

/** What every call says, whichever way it comes; checked no further here. */
export interface Call {
	readonly contract: unknown;
	readonly verb: unknown;
	readonly ask: unknown;
}

/** A call on the page's line, with the number its reply will bear. */
export interface LineCall extends Call {
	readonly call: number;
}

export type CallBody =
	| ({ kind: 'call' } & Call)
	| { kind: 'tooLarge' }
	| { kind: 'notACall' }
	| { kind: 'gone' };

/** Reads the body of POST /call: JSON {contract, verb, ask}. Never rejects. */
export async function readCall(request: IncomingMessage): Promise<CallBody> {
	if (Number(request.headers['content-length'] ?? 0) > BODY_LIMIT_BYTES)
		return { kind: 'tooLarge' };
	const pieces: Buffer[] = [];
	let size = 0;
	try {
		for await (const piece of request as AsyncIterable<Buffer>) {
			size += piece.length;
			if (size > BODY_LIMIT_BYTES) return { kind: 'tooLarge' };
			pieces.push(piece);
		}
	} catch {
		return { kind: 'gone' };
	}
	const call = parseObject(Buffer.concat(pieces).toString('utf8'));
	if (call === null) return { kind: 'notACall' };
	return { kind: 'call', contract: call.contract, verb: call.verb, ask: call.ask };
}

/** A message of the line as a call; null when it is none. */
export function parseLineCall(text: string): LineCall | null {
	const message = parseObject(text);
	if (message === null || !Number.isSafeInteger(message.call)) return null;
	const { call, contract, verb, ask } = message;
	return { call: call as number, contract, verb, ask };
}

function parseObject(text: string): Record<string, unknown> | null {
	let value: unknown;
	try {
		value = JSON.parse(text);
	} catch {
		return null;
	}
	if (typeof value !== 'object' || value === null || Array.isArray(value)) return null;
	return value as Record<string, unknown>;
}
