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

/** How long to wait before the n-th try to reach the desk again, ms. */
export function retryDelay_ms(tries: number): number {
	return Math.min(5000, 250 * 2 ** Math.min(tries, 10));
}

/**
 * The desk behind the loopback host: calls by POST, events by a WebSocket that is taken up again
 * whenever it breaks. While it is broken events are missed, so the owner reads everything anew when
 * the connection comes back.
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

	const connect = () => {
		const socket = new WebSocket(`${origin.replace(/^http/, 'ws')}/events`);
		socket.onopen = () => {
			tries = 0;
			set('open');
		};
		socket.onmessage = (message) => {
			let event: unknown;
			try {
				event = JSON.parse(String(message.data));
			} catch {
				return;
			}
			if (isEvent(event)) for (const hear of hearers) hear(event);
		};
		socket.onclose = () => {
			set('lost');
			setTimeout(connect, retryDelay_ms(tries++));
		};
	};
	connect();

	return {
		async call<V extends VerbName>(verb: V, ask: Ask<V>): Promise<Reply<Answer<V>>> {
			try {
				const response = await fetch(`${origin}/call`, {
					method: 'POST',
					headers: { 'Content-Type': 'application/json', 'X-Desk': '1' },
					body: JSON.stringify({ contract: CONTRACT_VERSION, verb, ask }),
				});
				const reply: unknown = await response.json();
				return isReply(reply) ? (reply as Reply<Answer<V>>) : UNREACHED;
			} catch {
				return UNREACHED;
			}
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
