import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { CONTRACT_VERSION, type DeskEvent } from '../../../electron/contract/verbs.ts';
import { loopbackDoor, retryDelay_ms, shellDoor } from '../../../renderer/desk/door.ts';

class MadeSocket {
	static readonly all: MadeSocket[] = [];
	onopen: (() => void) | null = null;
	onclose: (() => void) | null = null;
	onmessage: ((message: { data: unknown }) => void) | null = null;
	readonly sent: { call: number }[] = [];
	send(text: string) {
		this.sent.push(JSON.parse(text));
	}
	readonly address: string;
	constructor(address: string) {
		this.address = address;
		MadeSocket.all.push(this);
	}
}

beforeEach(() => {
	MadeSocket.all.length = 0;
	vi.useFakeTimers();
	vi.stubGlobal('WebSocket', MadeSocket);
});
afterEach(() => {
	vi.useRealTimers();
	vi.unstubAllGlobals();
});

const ORIGIN = 'http://127.0.0.1:5000';

describe('the loopback door', () => {
	it('posts, while the line does not stand, the verb with the contract version and the header no other site can send', async () => {
		const fetched = vi.fn(async () => new Response('{"ok":true,"value":[]}'));
		vi.stubGlobal('fetch', fetched);
		const reply = await loopbackDoor(ORIGIN).call('recent.list', {});
		expect(reply).toEqual({ ok: true, value: [] });
		const [address, init] = fetched.mock.calls[0] as unknown as [string, RequestInit];
		expect(address).toBe(`${ORIGIN}/call`);
		expect(init.headers).toMatchObject({ 'X-Desk': '1', 'Content-Type': 'application/json' });
		expect(JSON.parse(String(init.body))).toEqual({
			call: 1,
			contract: CONTRACT_VERSION,
			verb: 'recent.list',
			ask: {},
		});
	});

	it.each([
		['no network', () => Promise.reject(new TypeError('fetch failed'))],
		['no JSON', async () => new Response('<html>')],
		['JSON of another shape', async () => new Response('"fine"')],
	])('answers with a fault on %s, and never throws', async (_name, fetched) => {
		vi.stubGlobal('fetch', fetched);
		expect(await loopbackDoor(ORIGIN).call('desk.state', {})).toMatchObject({
			ok: false,
			code: 'desk_unreached',
		});
	});

	it('hands on events, and drops what is none', () => {
		const door = loopbackDoor(ORIGIN);
		const heard: DeskEvent[] = [];
		door.listen((event) => heard.push(event));
		const socket = MadeSocket.all[0];
		expect(socket?.address).toBe('ws://127.0.0.1:5000/line');
		const progress = { event: 'progress', what: 'reading', done: 1, of: null };
		for (const data of ['{', '7', 'null', '{"event":"evil"}', JSON.stringify(progress)])
			socket?.onmessage?.({ data });
		expect(heard).toEqual([progress]);
	});

	it('calls on the line once it stands, and gives each call its own reply', async () => {
		const door = loopbackDoor(ORIGIN);
		const socket = MadeSocket.all[0];
		socket?.onopen?.();
		const first = door.call('recent.list', {});
		const second = door.call('desk.state', {});
		expect(socket?.sent).toEqual([
			{ call: 1, contract: CONTRACT_VERSION, verb: 'recent.list', ask: {} },
			{ call: 2, contract: CONTRACT_VERSION, verb: 'desk.state', ask: {} },
		]);
		const no = { ok: false, code: 'x', message: 'no' };
		for (const said of [
			{ call: 7, reply: no },
			{ call: 1 },
			{ call: 1, reply: 'fine' },
			{ call: 2, reply: no },
			{ call: 1, reply: { ok: true, value: [] } },
		])
			socket?.onmessage?.({ data: JSON.stringify(said) });
		expect(await first).toEqual({ ok: true, value: [] });
		expect(await second).toEqual(no);
	});

	it('says of a call whose line broke that its outcome is not known', async () => {
		const door = loopbackDoor(ORIGIN);
		MadeSocket.all[0]?.onopen?.();
		const call = door.call('history.undo', {});
		MadeSocket.all[0]?.onclose?.();
		expect(await call).toMatchObject({
			ok: false,
			code: 'desk_unreached',
			message: expect.stringContaining('Look whether'),
		});
	});

	it('posts what is too long for the line', async () => {
		const fetched = vi.fn(async () => new Response('{"ok":true,"value":[]}'));
		vi.stubGlobal('fetch', fetched);
		const door = loopbackDoor(ORIGIN);
		MadeSocket.all[0]?.onopen?.();
		await door.call('sheet.edit', {
			sheet: 'readings',
			edits: [{ row: 1, column: 'note', text: 'x'.repeat(1_100_000) }],
			typed: { decimal: '.' },
		});
		expect(fetched).toHaveBeenCalledTimes(1);
		expect(MadeSocket.all[0]?.sent).toEqual([]);
	});

	it('says that the connection is lost, tries again, and says when it is back', () => {
		const door = loopbackDoor(ORIGIN);
		const heard: string[] = [];
		door.onConnection((connection) => heard.push(connection));
		MadeSocket.all[0]?.onclose?.();
		expect(door.connection()).toBe('lost');
		vi.advanceTimersByTime(retryDelay_ms(0));
		expect(MadeSocket.all).toHaveLength(2);
		MadeSocket.all[1]?.onclose?.();
		vi.advanceTimersByTime(retryDelay_ms(1) - 1);
		expect(MadeSocket.all).toHaveLength(2);
		vi.advanceTimersByTime(1);
		MadeSocket.all[2]?.onopen?.();
		expect(heard).toEqual(['lost', 'open']);
	});

	it('waits longer from try to try, but never beyond five seconds', () => {
		const delays = Array.from({ length: 40 }, (_, tries) => retryDelay_ms(tries));
		expect(delays.slice(0, 3)).toEqual([250, 500, 1000]);
		expect(Math.max(...delays)).toBe(5000);
		expect(delays).toEqual([...delays].sort((a, b) => a - b));
	});
});

describe('the desktop shell’s door', () => {
	it('passes everything on and is never lost', async () => {
		const call = vi.fn(async () => ({ ok: true as const, value: [] }));
		const door = shellDoor({ call, listen: () => () => {} } as never);
		await door.call('recent.list', {});
		expect(call).toHaveBeenCalledWith('recent.list', {});
		expect(door.connection()).toBe('open');
	});
});
