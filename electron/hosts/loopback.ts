import { randomBytes } from 'node:crypto';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { Duplex } from 'node:stream';
import { type WebSocket, WebSocketServer } from 'ws';
import type { DeskHandle } from '../desk/door.ts';
import {
	type Admission,
	cookieRefusal,
	hostRefusal,
	originRefusal,
	type Refusal,
	sameSecret,
} from './admission.ts';
import { LINE_LIMIT_BYTES, type LineCall, parseLineCall, readCall } from './callbody.ts';
import { callDesk } from './deskcall.ts';
import { guardHeaders, type Page } from './page.ts';

export interface LoopbackOptions {
	readonly desk: DeskHandle;
	readonly page: Page;
	/** 0 lets the system choose. */
	readonly port: number;
	/** How long after the last page left the host stays: a reload comes back sooner. */
	readonly patience_ms: number;
	/** Called once when the last page has left for good; the host is closed by then. */
	readonly onLeft: () => void;
	/** Time a slow request gets to arrive in full. */
	readonly slowest_ms?: number;
}

export interface LoopbackHost {
	/** Address with the token that admits one browser, once. */
	readonly entrance: string;
	readonly origin: string;
	close(): Promise<void>;
}

/** A page that stops reading is let go before its unread events fill the memory. */
const UNREAD_LIMIT_BYTES = 32 * 1024 * 1024;
const PULSE_MS = 20_000;
/** How long a page gets to say goodbye when the host closes. */
const FAREWELL_MS = 500;

/**
 * Serves one desk to pages on this machine: the page itself, the line it talks on (WebSocket /line:
 * its calls, their replies, the desk's events) and calls by POST /call for what the line is not for.
 * Listens on 127.0.0.1 only.
 */
export async function serveLoopback(options: LoopbackOptions): Promise<LoopbackHost> {
	const { desk, page, patience_ms } = options;
	const secret = () => randomBytes(32).toString('base64url');
	let token: string | null = secret();
	const slowest_ms = options.slowest_ms ?? 15_000;
	const server = createServer(
		{ requestTimeout: slowest_ms, headersTimeout: slowest_ms, connectionsCheckingInterval: 1_000 },
		(request, response) => void answer(request, response),
	);
	const port = await listen(server, options.port);
	const admission: Admission = { port, cookieName: `slurry_desk_${port}`, session: secret() };
	const origin = `http://127.0.0.1:${port}`;
	const entrance = `${origin}/?token=${token}`;

	async function answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
		const refused = hostRefusal(request.headers, admission);
		if (refused !== null) return refuse(response, refused);
		const [path = '', query] = (request.url ?? '').split('?', 2);
		if (request.method === 'GET' || request.method === 'HEAD') {
			const given = path === '/' ? new URLSearchParams(query).get('token') : null;
			if (given !== null) return admit(given, request, response);
			const stranger = cookieRefusal(request.headers, admission);
			if (stranger !== null) return refuse(response, stranger);
			const { status, headers, body } = page.answer(path);
			response.writeHead(status, headers).end(request.method === 'HEAD' ? undefined : body);
			return;
		}
		if (request.method === 'POST' && path === '/call') return answerCall(request, response);
		refuse(response, { status: 405, message: 'Nothing is done by this request.' });
	}

	/** The token is good once; a browser that is already in is simply sent to the page. */
	function admit(given: string, request: IncomingMessage, response: ServerResponse): void {
		const inside = cookieRefusal(request.headers, admission) === null;
		if (!inside && (token === null || !sameSecret(given, token))) {
			refuse(response, {
				status: 403,
				message:
					'This address was used before or is not the one printed. Start again for a new one.',
			});
			return;
		}
		const headers: Record<string, string> = { ...guardHeaders(), Location: '/' };
		if (!inside) {
			token = null;
			headers['Set-Cookie'] =
				`${admission.cookieName}=${admission.session}; Path=/; HttpOnly; SameSite=Strict`;
		}
		response.writeHead(303, headers).end();
	}

	async function answerCall(request: IncomingMessage, response: ServerResponse): Promise<void> {
		const refused = cookieRefusal(request.headers, admission) ?? callRefusal(request, admission);
		if (refused !== null) return refuse(response, refused);
		const body = await readCall(request);
		if (body.kind === 'gone') return;
		if (body.kind === 'tooLarge') {
			return refuse(response, { status: 413, message: 'The call is larger than 8 MB.' });
		}
		if (body.kind === 'notACall') {
			return refuse(response, { status: 415, message: 'A call is JSON {contract, verb, ask}.' });
		}
		const reply = await callDesk(desk, body.contract, body.verb, body.ask);
		response
			.writeHead(200, { ...guardHeaders(), 'Content-Type': 'application/json' })
			.end(JSON.stringify(reply));
	}

	const pages = new Set<WebSocket>();
	const sockets = new WebSocketServer({
		noServer: true,
		maxPayload: LINE_LIMIT_BYTES,
		perMessageDeflate: false,
	});
	let leaving: NodeJS.Timeout | null = null;

	server.on('upgrade', (request, socket: Duplex, head) => {
		socket.on('error', () => socket.destroy());
		const refused =
			hostRefusal(request.headers, admission) ??
			cookieRefusal(request.headers, admission) ??
			originRefusal(request.headers, admission);
		if (refused !== null || request.url !== '/line') {
			socket.end('HTTP/1.1 403 Forbidden\r\nConnection: close\r\nContent-Length: 0\r\n\r\n');
			return;
		}
		sockets.handleUpgrade(request, socket, head, welcome);
	});

	function welcome(socket: WebSocket): void {
		if (leaving !== null) clearTimeout(leaving);
		leaving = null;
		pages.add(socket);
		let alive = true;
		const pulse = setInterval(() => {
			if (!alive) return socket.terminate();
			alive = false;
			socket.ping();
		}, PULSE_MS);
		socket.on('pong', () => {
			alive = true;
		});
		socket.on('message', (data, isBinary) => {
			void answerOnLine(socket, isBinary ? null : parseLineCall(String(data)));
		});
		socket.on('error', () => socket.terminate());
		socket.on('close', () => {
			clearInterval(pulse);
			pages.delete(socket);
			if (pages.size === 0 && !closed) leaving = setTimeout(lastLeft, patience_ms);
		});
	}

	/** A call on the line costs a fraction of a request: an edited cell is on screen the sooner. */
	async function answerOnLine(socket: WebSocket, call: LineCall | null): Promise<void> {
		if (call === null) {
			socket.close(1008, 'A call on this line is JSON {call, contract, verb, ask}.');
			return;
		}
		const reply = await callDesk(desk, call.contract, call.verb, call.ask);
		send(socket, JSON.stringify({ call: call.call, reply }));
	}

	function send(socket: WebSocket, text: string): void {
		if (socket.bufferedAmount > UNREAD_LIMIT_BYTES) socket.terminate();
		else socket.send(text);
	}

	const deaf = desk.listen((event) => {
		const text = JSON.stringify(event);
		for (const socket of pages) send(socket, text);
	});

	let closed = false;
	async function close(): Promise<void> {
		if (closed) return;
		closed = true;
		if (leaving !== null) clearTimeout(leaving);
		deaf();
		for (const socket of pages) socket.close(1001, 'Slurry Ledger is closing.');
		const done = new Promise<void>((resolve) => server.close(() => resolve()));
		server.closeAllConnections();
		sockets.close();
		const rest = setTimeout(() => {
			for (const socket of pages) socket.terminate();
		}, FAREWELL_MS);
		await done;
		clearTimeout(rest);
	}
	async function lastLeft(): Promise<void> {
		await close();
		options.onLeft();
	}

	return { entrance, origin, close };
}

function callRefusal(request: IncomingMessage, admission: Admission): Refusal | null {
	const { headers } = request;
	const foreign = originRefusal(headers, admission);
	if (foreign !== null) return foreign;
	// A form or a simple request of another site cannot set this header without being asked first.
	if (headers['x-desk'] !== '1') return { status: 403, message: 'The header X-Desk is missing.' };
	if (headers['content-type']?.split(';')[0]?.trim().toLowerCase() !== 'application/json') {
		return { status: 415, message: 'A call is sent as application/json.' };
	}
	return null;
}

function refuse(response: ServerResponse, { status, message }: Refusal): void {
	response
		.writeHead(status, {
			...guardHeaders(),
			'Content-Type': 'text/plain; charset=utf-8',
			Connection: 'close',
		})
		.end(message);
}

function listen(server: Server, port: number): Promise<number> {
	return new Promise((resolve, reject) => {
		server.once('error', reject);
		server.listen({ host: '127.0.0.1', port, exclusive: true }, () => {
			server.off('error', reject);
			resolve((server.address() as AddressInfo).port);
		});
	});
}
