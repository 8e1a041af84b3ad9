import {
	type Answer,
	type Ask,
	CONTRACT_VERSION,
	type DeskDoor,
	type DeskEvent,
	type Reply,
	type VerbName,
} from '../../electron/contract/verbs.ts';

/** `lost`: calls fail and no events come; `mending`: trying again. */
export type Connection = 'open' | 'lost';

/** The door a page stands at, and whether anyone is behind it. */
export interface PageDoor extends DeskDoor {
	connection(): Connection;
	/** Called whenever the connection changes. Returns the function that ends it. */
	onConnection(hear: (connection: Connection) => void): () => void;
}

declare global {
	interface Window {
		/** Put there by the preload of the desktop shell. */
		readonly desk?: DeskDoor;
	}
}

/** Reply given when the desk cannot be reached at all. */
const UNREACHED = {
	ok: false,
	code: 'desk_unreached',
	message: 'The desk does not answer. Nothing was changed.',
} as const;

/** Reply given when the line breaks between a call and its reply. */
const BROKEN_OFF = {
	ok: false,
	code: 'desk_unreached',
	message:
		'The line to the desk broke before it answered. Look whether the change is there before it is made again.',
} as const;

/** Longer calls go by POST: the line is for what must be quick. */
const LONGEST_ON_LINE = 1_000_000;

/** The desk behind the desktop shell: always there as long as the window is. */
export function shellDoor(desk: DeskDoor): PageDoor {
	return {
		call: (verb, ask) => desk.call(verb, ask),
		listen: (hear) => desk.listen(hear),
		connection: () => 'open',
		onConnection: () => () => {},
	};
}

const isEvent = (value: unknown): value is DeskEvent =>
	typeof value === 'object' &&
	value !== null &&
	'event' in value &&
	(value.event === 'changed' || value.event === 'state' || value.event === 'progress');

const isReply = (value: unknown): value is Reply<unknown> =>
	typeof value === 'object' && value !== null && 'ok' in value && typeof value.ok === 'boolean';

const isReplyOnLine = (
	value: unknown,
): value is { readonly call: number; readonly reply: Reply<unknown> } =>
	typeof value === 'object' &&
	value !== null &&
	'call' in value &&
	typeof value.call === 'number' &&
	'reply' in value &&
	isReply(value.reply);

/** How long to wait before the n-th try to reach the desk again, ms. */
export function retryDelay_ms(tries: number): number {
	return Math.min(5000, 250 * 2 ** Math.min(tries, 10));
}

/**
 * The desk behind the loopback host: calls, their replies and events on one WebSocket, which is taken
 * up again whenever it breaks; long calls, and those made before it stands, by POST. While it is broken
 * events are missed, so the owner reads everything anew when the connection comes back.
 */
export function loopbackDoor(origin: string = window.location.origin): PageDoor {
	const hearers = new Set<(event: DeskEvent) => void>();
	const watchers = new Set<(connection: Connection) => void>();
	let connection: Connection = 'open';
	let tries = 0;
	const set = (next: Connection) => {
		if (next === connection) return;
		connection = next;
		for (const hear of watchers) hear(next);
	};

	let line: WebSocket | null = null;
	let calls = 0;
	const awaited = new Map<number, (reply: Reply<unknown>) => void>();
	const answer = (call: number, reply: Reply<unknown>) => {
		awaited.get(call)?.(reply);
		awaited.delete(call);
	};

	const connect = () => {
		const socket = new WebSocket(`${origin.replace(/^http/, 'ws')}/line`);
		socket.onopen = () => {
			line = socket;
			tries = 0;
			set('open');
		};
		socket.onmessage = (message) => {
			let heard: unknown;
			try {
				heard = JSON.parse(String(message.data));
			} catch {
				return;
			}
			if (isEvent(heard)) for (const hear of hearers) hear(heard);
			else if (isReplyOnLine(heard)) answer(heard.call, heard.reply);
		};
		socket.onclose = () => {
			line = null;
			for (const call of [...awaited.keys()]) answer(call, BROKEN_OFF);
			set('lost');
			setTimeout(connect, retryDelay_ms(tries++));
		};
	};
	connect();

	const post = async (body: string): Promise<Reply<unknown>> => {
		try {
			const response = await fetch(`${origin}/call`, {
				method: 'POST',
				headers: { 'Content-Type': 'application/json', 'X-Desk': '1' },
				body,
			});
			const reply: unknown = await response.json();
			return isReply(reply) ? reply : UNREACHED;
		} catch {
			return UNREACHED;
		}
	};

	return {
		async call<V extends VerbName>(verb: V, ask: Ask<V>): Promise<Reply<Answer<V>>> {
			const call = ++calls;
			const body = JSON.stringify({ call, contract: CONTRACT_VERSION, verb, ask });
			const socket = line;
			const reply =
				socket === null || body.length > LONGEST_ON_LINE
					? await post(body)
					: await new Promise<Reply<unknown>>((resolve) => {
							awaited.set(call, resolve);
							socket.send(body);
						});
			return reply as Reply<Answer<V>>;
		},
		listen(hear) {
			hearers.add(hear);
			return () => hearers.delete(hear);
		},
		connection: () => connection,
		onConnection(hear) {
			watchers.add(hear);
			return () => watchers.delete(hear);
		},
	};
}

/** The door of this page, whichever host it stands on. */
export function openDoor(): PageDoor {
	return window.desk ? shellDoor(window.desk) : loopbackDoor();
}
