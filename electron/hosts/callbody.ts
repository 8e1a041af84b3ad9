import type { IncomingMessage } from 'node:http';

/** A pasted block of cells is far below this; a larger body is not a page's. */
export const BODY_LIMIT_BYTES = 8 * 1024 * 1024;

export type CallBody =
	| { kind: 'call'; contract: unknown; verb: unknown; ask: unknown }
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
	return parseCall(Buffer.concat(pieces).toString('utf8'));
}

function parseCall(text: string): CallBody {
	let value: unknown;
	try {
		value = JSON.parse(text);
	} catch {
		return { kind: 'notACall' };
	}
	if (typeof value !== 'object' || value === null || Array.isArray(value)) {
		return { kind: 'notACall' };
	}
	const { contract, verb, ask } = value as Record<string, unknown>;
	return { kind: 'call', contract, verb, ask };
}
