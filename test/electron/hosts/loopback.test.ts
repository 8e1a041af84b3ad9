import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { type IncomingHttpHeaders, request } from 'node:http';
import { connect, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import { CONTRACT_VERSION } from '../../../electron/contract/version.ts';
import { type LoopbackHost, serveLoopback } from '../../../electron/hosts/loopback.ts';
import { readPage } from '../../../electron/hosts/page.ts';
import { type FakeDesk, fakeDesk } from './fakedesk.ts';

// Rules held here: OWASP guidance on DNS rebinding, cross-site request forgery and cross-site
// WebSocket hijacking; Fetch and CSP3 for the headers (from memory, no clause quoted).

let base: string;
let folder: string;
let desk: FakeDesk;
let host: LoopbackHost;
let left: number;
let port: number;

beforeEach(async () => {
	base = mkdtempSync(join(tmpdir(), 'loopback-'));
	folder = join(base, 'page');
	mkdirSync(join(folder, 'assets'), { recursive: true });
	writeFileSync(join(folder, 'index.html'), '<meta name="style-nonce" content="__STYLE_NONCE__">');
	writeFileSync(join(folder, 'assets', 'page.js'), 'export {}');
	writeFileSync(join(folder, 'notes.txt'), 'not of a kind a page is made of');
	writeFileSync(join(base, 'outside.html'), 'outside');
	symlinkSync(join(base, 'outside.html'), join(folder, 'link.html'));
	desk = fakeDesk({ 'desk.state': { ok: true, value: { title: 'ring 1' } } });
	left = 0;
	host = await serveLoopback({
		desk,
		page: readPage(folder, { connect: "'self'" }),
		port: 0,
		patience_ms: 200,
		slowest_ms: 1_000,
		onLeft: () => left++,
	});
	port = Number(new URL(host.origin).port);
});

afterEach(async () => {
	await host.close();
	rmSync(base, { recursive: true, force: true });
});

interface Asked {
	method?: string;
	path?: string;
	headers?: Record<string, string | undefined>;
	body?: string | Buffer;
}
interface Told {
	status: number;
	headers: IncomingHttpHeaders;
	body: string;
}

/** Raw request: unlike fetch it sends any Host, Origin and path as they are written. */
function ask({ method = 'GET', path = '/', headers = {}, body }: Asked): Promise<Told> {
	return new Promise((resolve, reject) => {
		const sent = Object.fromEntries(Object.entries(headers).filter(([, v]) => v !== undefined));
		const call = request(
			{ host: '127.0.0.1', port, method, path, headers: sent as Record<string, string> },
			(response) => {
				let text = '';
				response.setEncoding('utf8');
				response.on('data', (piece) => {
					text += piece;
				});
				response.on('end', () =>
					resolve({ status: response.statusCode ?? 0, headers: response.headers, body: text }),
				);
			},
		);
		call.on('error', reject);
		call.end(body);
	});
}

async function comeIn(): Promise<string> {
	const entrance = new URL(host.entrance);
	const { status, headers } = await ask({ path: `${entrance.pathname}${entrance.search}` });
	expect(status).toBe(303);
	expect(headers.location).toBe('/');
	const [cookie] = headers['set-cookie'] ?? [];
	expect(cookie).toMatch(/; Path=\/; HttpOnly; SameSite=Strict$/);
	return (cookie as string).split(';')[0] as string;
}

const callOf = (cookie: string, over: Record<string, string | undefined> = {}): Asked => ({
	method: 'POST',
	path: '/call',
	headers: {
		cookie,
		origin: host.origin,
		'x-desk': '1',
		'content-type': 'application/json',
		...over,
	},
	body: JSON.stringify({ contract: CONTRACT_VERSION, verb: 'desk.state', ask: {} }),
});

describe('who is let in', () => {
	it('listens on the loopback address only', async () => {
		expect(new URL(host.origin).hostname).toBe('127.0.0.1');
		// Another loopback address of the same machine reaches a server that listens on all of them.
		const reached = await new Promise<boolean>((resolve) => {
			const socket = connect({ host: '127.0.0.2', port });
			socket.once('connect', () => resolve(true)).once('error', () => resolve(false));
			socket.once('connect', () => socket.destroy());
		});
		expect(reached).toBe(false);
	});

	it('turns the token into a cookie once and takes it out of the address', async () => {
		const cookie = await comeIn();
		expect((await ask({ headers: { cookie } })).status).toBe(200);
		expect(cookie).not.toContain(new URL(host.entrance).searchParams.get('token'));
	});

	it('refuses a token used before, a wrong one and none', async () => {
		const { search } = new URL(host.entrance);
		await comeIn();
		for (const path of [`/${search}`, '/?token=wrong', '/?token=', '/']) {
			const answer = await ask({ path });
			expect([path, answer.status]).toEqual([path, 403]);
			expect(answer.headers['set-cookie']).toBeUndefined();
		}
	});

	it('lets a browser that is in follow the same address again', async () => {
		const cookie = await comeIn();
		const again = await ask({ path: `/${new URL(host.entrance).search}`, headers: { cookie } });
		expect([again.status, again.headers.location]).toEqual([303, '/']);
	});

	it.each([
		'ledger.example',
		'127.0.0.1',
		'127.0.0.1:1',
		'localhost.example',
		'127.0.0.1.nip.example',
	])('refuses the Host %s, cookie or not', async (named) => {
		const cookie = await comeIn();
		expect((await ask({ headers: { cookie, host: named } })).status).toBe(403);
		const call = await ask(callOf(cookie, { host: named, origin: `http://${named}` }));
		expect(call.status).toBe(403);
		expect(desk.asked).toEqual([]);
	});

	it('answers under localhost too', async () => {
		const cookie = await comeIn();
		const call = await ask(
			callOf(cookie, { host: `localhost:${port}`, origin: `http://localhost:${port}` }),
		);
		expect(call.status).toBe(200);
	});

	it('takes only the cookie of this run', async () => {
		const cookie = await comeIn();
		const name = cookie.split('=')[0];
		for (const wrong of ['', `${name}=`, `${name}=guess`, `other=${cookie.split('=')[1]}`]) {
			expect((await ask({ headers: { cookie: wrong } })).status).toBe(403);
			expect((await ask(callOf(wrong))).status).toBe(403);
		}
		expect(desk.asked).toEqual([]);
	});
});

describe('the page', () => {
	it('comes with a policy that allows its own files and a nonce of its own each time', async () => {
		const cookie = await comeIn();
		const [one, two] = [await ask({ headers: { cookie } }), await ask({ headers: { cookie } })];
		const policy = String(one.headers['content-security-policy']);
		const nonce = /'nonce-([^']+)'/.exec(policy)?.[1] as string;
		expect(one.body).toBe(`<meta name="style-nonce" content="${nonce}">`);
		expect(two.body).not.toBe(one.body);
		expect(policy).toContain("default-src 'none'");
		expect(policy).toContain("script-src 'self';");
		expect(policy).toContain("frame-ancestors 'none'");
		expect(policy).not.toMatch(/unsafe-|\*|https?:/);
		expect(one.headers).toMatchObject({
			'x-content-type-options': 'nosniff',
			'cache-control': 'no-store',
			'referrer-policy': 'no-referrer',
			'cross-origin-opener-policy': 'same-origin',
			'cross-origin-resource-policy': 'same-origin',
		});
		expect(one.headers['permissions-policy']).toContain('camera=()');
		expect(one.headers['access-control-allow-origin']).toBeUndefined();
	});

	it.each([
		'/../outside.html',
		'/..%2foutside.html',
		'/%2e%2e/outside.html',
		'/assets/../../outside.html',
		'/assets/..%5c..%5coutside.html',
		'//outside.html',
		'/link.html',
		'/notes.txt',
		'/assets',
		'/assets/',
		'/assets/page.js%00.html',
		'/__proto__',
		'/constructor',
		'http://127.0.0.1/etc/passwd',
	])('has nothing at %s', async (path) => {
		const cookie = await comeIn();
		const answer = await ask({ path, headers: { cookie } });
		expect(answer.status).toBe(404);
		expect(answer.body).not.toContain('outside');
	});

	it('serves a listed file by its kind, and only to who is in', async () => {
		const cookie = await comeIn();
		const script = await ask({ path: '/assets/page.js', headers: { cookie } });
		expect([script.status, script.headers['content-type'], script.body]).toEqual([
			200,
			'text/javascript; charset=utf-8',
			'export {}',
		]);
		expect((await ask({ path: '/assets/page.js' })).status).toBe(403);
	});

	it.each(['PUT', 'DELETE', 'OPTIONS', 'PATCH', 'TRACE'])('does nothing on %s', async (method) => {
		const cookie = await comeIn();
		expect((await ask({ ...callOf(cookie), method })).status).toBe(405);
		expect(desk.asked).toEqual([]);
	});
});

describe('a call', () => {
	it('reaches the desk and brings its reply', async () => {
		const cookie = await comeIn();
		const answer = await ask(callOf(cookie));
		expect(JSON.parse(answer.body)).toEqual({ ok: true, value: { title: 'ring 1' } });
		expect(desk.asked).toEqual([{ verb: 'desk.state', ask: {} }]);
	});

	it.each([
		['no Origin', { origin: undefined }, 403],
		['the Origin of another site', { origin: 'https://site.example' }, 403],
		['the Origin of another local port', { origin: 'http://127.0.0.1:1' }, 403],
		['an opaque Origin', { origin: 'null' }, 403],
		['a cross-site fetch', { 'sec-fetch-site': 'cross-site' }, 403],
		['a fetch from another local port', { 'sec-fetch-site': 'same-site' }, 403],
		['no X-Desk header', { 'x-desk': undefined }, 403],
		['a form body', { 'content-type': 'application/x-www-form-urlencoded' }, 415],
		['plain text', { 'content-type': 'text/plain' }, 415],
		['no content type', { 'content-type': undefined }, 415],
	])('with %s is refused', async (_, over, status) => {
		const cookie = await comeIn();
		expect((await ask(callOf(cookie, over))).status).toBe(status);
		expect(desk.asked).toEqual([]);
	});

	it.each(['', '{', '[]', 'null', '"desk.state"', '7'])(
		'that is no call (%j) is refused',
		async (body) => {
			const cookie = await comeIn();
			expect((await ask({ ...callOf(cookie), body })).status).toBe(415);
			expect(desk.asked).toEqual([]);
		},
	);

	it('for an unknown verb gets the refusal of the desk', async () => {
		const cookie = await comeIn();
		const body = JSON.stringify({ contract: CONTRACT_VERSION, verb: '__proto__', ask: {} });
		expect(JSON.parse((await ask({ ...callOf(cookie), body })).body)).toMatchObject({
			ok: false,
			code: 'unknown_verb',
		});
	});

	it('of a page of another version is told to reload and does not reach the desk', async () => {
		const cookie = await comeIn();
		const body = JSON.stringify({ contract: CONTRACT_VERSION + 1, verb: 'desk.state', ask: {} });
		expect(JSON.parse((await ask({ ...callOf(cookie), body })).body)).toMatchObject({
			ok: false,
			code: 'contract_mismatch',
		});
		expect(desk.asked).toEqual([]);
	});

	it('of more than 8 MB is refused, whether its length is told or not', async () => {
		const cookie = await comeIn();
		const big = Buffer.alloc(8 * 1024 * 1024 + 1, 0x20);
		for (const extra of [
			{ 'content-length': String(big.length) },
			{ 'transfer-encoding': 'chunked' },
		]) {
			const status = await ask({ ...callOf(cookie, extra), body: big })
				.then((answer) => answer.status)
				// The host may close the line while the rest is still being sent.
				.catch((error: NodeJS.ErrnoException) => error.code);
			expect([413, 'EPIPE', 'ECONNRESET']).toContain(status);
		}
		expect(desk.asked).toEqual([]);
		expect((await ask(callOf(cookie))).status).toBe(200);
	});

	it('that trickles in is cut off', async () => {
		const cookie = await comeIn();
		const socket = connect({ host: '127.0.0.1', port });
		const closed = new Promise<string>((resolve) => {
			let text = '';
			socket.on('data', (piece) => {
				text += piece;
			});
			socket.on('error', () => resolve(text));
			socket.on('close', () => resolve(text));
		});
		socket.write(
			`POST /call HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nCookie: ${cookie}\r\nOrigin: ${host.origin}\r\nX-Desk: 1\r\nContent-Type: application/json\r\nContent-Length: 1000\r\n\r\n{`,
		);
		expect(await closed).toMatch(/^(HTTP\/1\.1 408|$)/);
		expect(desk.asked).toEqual([]);
	});

	it('whose desk throws is answered without the text of the error', async () => {
		const cookie = await comeIn();
		desk.handle = () => Promise.reject(new Error('feed flow 812'));
		const answer = await ask(callOf(cookie));
		expect(JSON.parse(answer.body)).toMatchObject({ ok: false, code: 'desk_failed' });
		expect(answer.body).not.toContain('812');
	});
});

/** Opens the page's line; resolves with the socket, or with the status it was refused with. */
function listenIn(headers: Record<string, string>, path = '/line'): Promise<WebSocket | number> {
	return new Promise((resolve) => {
		const socket = new WebSocket(`ws://127.0.0.1:${port}${path}`, { headers });
		socket.once('open', () => resolve(socket));
		socket.on('error', () => {});
		socket.once('unexpected-response', (_, response) => {
			resolve(response.statusCode ?? 0);
			socket.terminate();
		});
	});
}
const closeOf = (socket: WebSocket) =>
	new Promise<number>((resolve) => socket.once('close', (code) => resolve(code)));
const later = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));

describe('the line', () => {
	it('brings what the desk tells', async () => {
		const cookie = await comeIn();
		const socket = (await listenIn({ cookie, origin: host.origin })) as WebSocket;
		const heard = new Promise<string>((resolve) => {
			socket.once('message', (data) => resolve(String(data)));
		});
		desk.tell({ event: 'progress', what: 'ring 4', done: 4, of: 9 });
		expect(JSON.parse(await heard)).toEqual({ event: 'progress', what: 'ring 4', done: 4, of: 9 });
	});

	it('is refused without the cookie, from another origin, without one, and elsewhere', async () => {
		const cookie = await comeIn();
		expect(await listenIn({ origin: host.origin })).toBe(403);
		expect(await listenIn({ cookie, origin: 'https://site.example' })).toBe(403);
		expect(await listenIn({ cookie })).toBe(403);
		expect(await listenIn({ cookie, origin: host.origin, host: 'site.example' })).toBe(403);
		expect(await listenIn({ cookie, origin: host.origin }, '/call')).toBe(403);
	});

	it('takes calls and answers each by its number', async () => {
		desk.answers['recent.list'] = { ok: true, value: [] };
		const cookie = await comeIn();
		const socket = (await listenIn({ cookie, origin: host.origin })) as WebSocket;
		const heard: unknown[] = [];
		const both = new Promise<void>((resolve) => {
			socket.on('message', (data) => {
				heard.push(JSON.parse(String(data)));
				if (heard.length === 2) resolve();
			});
		});
		socket.send(
			JSON.stringify({ call: 8, contract: CONTRACT_VERSION, verb: 'recent.list', ask: { a: 1 } }),
		);
		socket.send(JSON.stringify({ call: 9, contract: -1, verb: 'recent.list', ask: {} }));
		await both;
		expect(heard).toContainEqual({ call: 8, reply: { ok: true, value: [] } });
		expect(heard).toContainEqual({
			call: 9,
			reply: expect.objectContaining({ ok: false, code: 'contract_mismatch' }),
		});
		expect(desk.asked).toEqual([{ verb: 'recent.list', ask: { a: 1 } }]);
	});

	it('is closed on a page that sends what is no call', async () => {
		const cookie = await comeIn();
		const polite = (await listenIn({ cookie, origin: host.origin })) as WebSocket;
		const talker = (await listenIn({ cookie, origin: host.origin })) as WebSocket;
		talker.send('{"verb":"desk.state"}');
		expect(await closeOf(talker)).toBe(1008);
		const flood = (await listenIn({ cookie, origin: host.origin })) as WebSocket;
		flood.send(`{"call":1,"ask":"${'x'.repeat(5_000_000)}"}`);
		expect(await closeOf(flood)).toBe(1009);
		const binary = (await listenIn({ cookie, origin: host.origin })) as WebSocket;
		binary.send(Buffer.from('{"call":1,"verb":"desk.state"}'), { binary: true });
		expect(await closeOf(binary)).toBe(1008);
		expect(polite.readyState).toBe(WebSocket.OPEN);
		expect(desk.asked).toEqual([]);
	});
});

describe('closing', () => {
	it('stays as long as no page has come', async () => {
		await later(500);
		expect(left).toBe(0);
	});

	it('stays over a reload and closes once the last page has left', async () => {
		const cookie = await comeIn();
		const first = (await listenIn({ cookie, origin: host.origin })) as WebSocket;
		first.close();
		await later(50);
		const second = (await listenIn({ cookie, origin: host.origin })) as WebSocket;
		await later(500);
		expect(left).toBe(0);
		expect((await ask({ headers: { cookie } })).status).toBe(200);
		second.close();
		await later(800);
		expect(left).toBe(1);
		await expect(ask({})).rejects.toThrow();
	});

	it('frees its port and tells the pages', async () => {
		const cookie = await comeIn();
		const socket = (await listenIn({ cookie, origin: host.origin })) as WebSocket;
		const code = closeOf(socket);
		await host.close();
		expect(await code).toBe(1001);
		const taken = createServer();
		await new Promise<void>((resolve, reject) => {
			taken.once('error', reject);
			taken.listen(port, '127.0.0.1', () => resolve());
		});
		taken.close();
		expect(left).toBe(0);
	});
});
