import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { CONTRACT_VERSION } from '../../../electron/contract/version.ts';
import type { DeskOptions } from '../../../electron/desk/door.ts';
import { type FakeDesk, fakeDesk } from './fakedesk.ts';
import { electron, FakeWindow, freshElectron, type MenuItem } from './fakeelectron.ts';

// The real main process runs here against a stand-in for the module `electron`. What it must refuse
// follows Electron's own security checklist (docs "Security", read for the main line of 2026).

let folder: string;
let desk: FakeDesk;
let options: DeskOptions;

vi.mock('../../../electron/desk/desk.ts', () => ({
	openDesk: (given: DeskOptions) => {
		options = given;
		return desk;
	},
}));
vi.mock('../../../electron/hosts/page.ts', async (real) => {
	const page = await real<typeof import('../../../electron/hosts/page.ts')>();
	return { ...page, readPage: (_: string, rules: never) => page.readPage(folder, rules) };
});

const RECENT = { ok: true as const, value: [{ placeId: 'a' }] };
const argv = process.argv;
let listeners: { signal: 'uncaughtException' | 'unhandledRejection'; known: unknown[] }[];

beforeEach(() => {
	folder = mkdtempSync(join(tmpdir(), 'main-'));
	writeFileSync(join(folder, 'index.html'), '<meta name="style-nonce" content="__STYLE_NONCE__">');
	freshElectron(folder);
	desk = fakeDesk({ 'recent.list': RECENT, 'desk.state': { ok: true, value: 7 } });
	stepIn();
	listeners = (['uncaughtException', 'unhandledRejection'] as const).map((signal) => ({
		signal,
		known: process.listeners(signal as 'uncaughtException'),
	}));
});
/** Every run of the main process is a new one that imports the stand-in as it is now. */
function stepIn(): void {
	vi.resetModules();
	vi.doMock('electron', () => ({ ...electron }));
}
afterEach(() => {
	process.argv = argv;
	for (const { signal, known } of listeners) {
		for (const listener of process.listeners(signal as 'uncaughtException')) {
			if (!known.includes(listener)) process.off(signal, listener);
		}
	}
	rmSync(folder, { recursive: true, force: true });
});

async function run(...args: string[]): Promise<FakeWindow> {
	process.argv = ['electron', '.', ...args];
	await import('../../../electron/hosts/main.ts');
	electron.app.ready();
	await vi.waitFor(() => expect(FakeWindow.made).toHaveLength(1));
	return FakeWindow.made[0] as FakeWindow;
}
const log = () => {
	try {
		return readFileSync(join(folder, 'run.log'), 'utf8');
	} catch {
		return '';
	}
};

describe('before the window', () => {
	it('switches the sandbox on and declares its scheme before it waits for the app', async () => {
		await run();
		expect(electron.app.order).toEqual(['enableSandbox', 'scheme', 'lock', 'whenReady']);
		expect(electron.protocol.schemes).toEqual([
			{ scheme: 'app', privileges: { standard: true, secure: true, codeCache: true } },
		]);
	});

	it('leaves at once when the app already runs', async () => {
		electron.app.first = false;
		await import('../../../electron/hosts/main.ts');
		expect(electron.app.quits).toBe(1);
		expect(electron.app.order).not.toContain('whenReady');
		expect(FakeWindow.made).toEqual([]);
	});

	it('opens the file named, the demo drive on a first start, else nothing', async () => {
		await run('--settings=x', '/drives/a.slurrybook');
		expect(desk.openedFiles).toEqual(['/drives/a.slurrybook']);
	});

	it('opens the demo drive when nothing was ever opened', async () => {
		desk.answers = {
			'recent.list': { ok: true, value: [] },
			'project.openDemo': { ok: true, value: {} },
		};
		await run();
		expect(desk.asked.map(({ verb }) => verb)).toEqual(['recent.list', 'project.openDemo']);
	});

	it('shows the start screen, and no file it was not given, later on', async () => {
		await run('--flag', 'notes.txt');
		expect(desk.asked.map(({ verb }) => verb)).toEqual(['recent.list']);
		expect(desk.openedFiles).toEqual([]);
	});
});

describe('the window', () => {
	it('holds a sandboxed page without Node and loads it from the app address', async () => {
		const window = await run();
		expect(window.loaded).toEqual(['app://desk/']);
		expect(window.options.webPreferences).toMatchObject({
			sandbox: true,
			contextIsolation: true,
			nodeIntegration: false,
			nodeIntegrationInWorker: false,
			nodeIntegrationInSubFrames: false,
			webSecurity: true,
			allowRunningInsecureContent: false,
			webviewTag: false,
			navigateOnDragDrop: false,
		});
		expect(window.options.webPreferences).not.toHaveProperty('enableBlinkFeatures');
		expect(window.options.webPreferences).not.toHaveProperty('experimentalFeatures');
	});

	it('has developer tools in a checkout and none in a packaged app', async () => {
		const open = await run();
		expect(open.options.webPreferences.devTools).toBe(true);
		expect(rolesOf(electron.Menu.template)).toContain('toggleDevTools');
		freshElectron(folder);
		electron.app.isPackaged = true;
		Object.assign(process, { resourcesPath: folder });
		stepIn();
		const shut = await run();
		expect(shut.options.webPreferences.devTools).toBe(false);
		expect(rolesOf(electron.Menu.template)).not.toContain('toggleDevTools');
		expect(rolesOf(electron.Menu.template)).not.toContain('reload');
		expect(options.demoFolder).toBe(join(folder, 'demo'));
	});

	it.each(['will-navigate', 'will-frame-navigate', 'will-redirect'])(
		'refuses %s to anywhere else',
		async (kind) => {
			const window = await run();
			const went = (url: string) => {
				let prevented = false;
				window.webContents.emit(kind, {
					url,
					preventDefault: () => {
						prevented = true;
					},
				});
				return !prevented;
			};
			expect(went('app://desk/')).toBe(true);
			for (const url of [
				'https://site.example/?app://desk/',
				'app://desk.example/',
				'app://desk@site.example/',
				'file:///etc/passwd',
				'javascript:alert(1)',
				'data:text/html,x',
				'app:desk',
				'',
			]) {
				expect([url, went(url)]).toEqual([url, false]);
			}
		},
	);

	it('refuses new windows, embedded foreign pages and downloads', async () => {
		const window = await run();
		expect(window.webContents.openHandler?.({ url: 'https://site.example' })).toEqual({
			action: 'deny',
		});
		for (const emit of [
			(event: object) => window.webContents.emit('will-attach-webview', event),
			(event: object) => electron.session.defaultSession.emit('will-download', event),
		]) {
			const preventDefault = vi.fn();
			emit({ preventDefault });
			expect(preventDefault).toHaveBeenCalledOnce();
		}
		expect(log()).toContain('A new window was refused.');
	});
});

const rolesOf = (items: readonly MenuItem[]): (string | undefined)[] =>
	items.flatMap((item) => [item.role, ...rolesOf(item.submenu ?? [])]);

describe('the session', () => {
	const PERMISSIONS = [
		'media',
		'geolocation',
		'notifications',
		'midi',
		'fileSystem',
		'openExternal',
		'hid',
		'serial',
		'usb',
		'display-capture',
		'local-fonts',
		'unknown',
	];
	it('denies every permission but copy and paste on its own page', async () => {
		const { webContents } = await run();
		const { handlers } = electron.session.defaultSession;
		const request = handlers.request as (c: unknown, p: string, d: (g: boolean) => void) => void;
		const check = handlers.check as (c: unknown, p: string, origin: string) => boolean;
		const asked = (permission: string) => {
			let granted: boolean | null = null;
			request(webContents, permission, (g) => {
				granted = g;
			});
			return granted;
		};
		for (const permission of PERMISSIONS) {
			expect([permission, asked(permission)]).toEqual([permission, false]);
			expect(check(webContents, permission, 'app://desk/')).toBe(false);
		}
		expect(asked('clipboard-read')).toBe(true);
		expect(check(webContents, 'clipboard-read', 'app://desk/')).toBe(true);
		expect(check(webContents, 'clipboard-read', 'https://site.example/')).toBe(false);
		webContents.address = 'https://site.example/';
		expect(asked('clipboard-read')).toBe(false);
		expect((handlers.device as () => boolean)()).toBe(false);
	});

	it('lets no request out to the network', async () => {
		await run();
		const network = electron.session.defaultSession.handlers.network as (
			request: { url: string },
			decide: (answer: { cancel: boolean }) => void,
		) => void;
		const cancelled = (url: string) => {
			let answer = false;
			network({ url }, ({ cancel }) => {
				answer = cancel;
			});
			return answer;
		};
		expect(cancelled('app://desk/assets/page.js')).toBe(false);
		for (const url of [
			'https://site.example/',
			'http://127.0.0.1/',
			'ws://127.0.0.1/line',
			'file:///etc/passwd',
			'app://other/',
		]) {
			expect([url, cancelled(url)]).toEqual([url, true]);
		}
		expect(electron.session.defaultSession.spelling).toBe(false);
	});
});

describe('the page address', () => {
	it('serves the page with its policy, by GET, from the one host', async () => {
		await run();
		const serve = electron.protocol.served.app as (r: { url: string; method: string }) => Response;
		const page = serve({ url: 'app://desk/', method: 'GET' });
		expect(page.status).toBe(200);
		const policy = page.headers.get('content-security-policy') ?? '';
		expect(policy).toContain("default-src 'none'");
		expect(policy).toContain("connect-src 'none'");
		expect(policy).not.toMatch(/unsafe-|\*/);
		const nonce = /'nonce-([^']+)'/.exec(policy)?.[1];
		expect(await page.text()).toBe(`<meta name="style-nonce" content="${nonce}">`);
		expect(serve({ url: 'app://desk/', method: 'POST' }).status).toBe(403);
		expect(serve({ url: 'app://other/', method: 'GET' }).status).toBe(403);
		expect(serve({ url: 'app://desk/../run.log', method: 'GET' }).status).toBe(404);
		expect(serve({ url: 'app://desk/%2e%2e%2frun.log', method: 'GET' }).status).toBe(404);
	});
});

describe('the gateway', () => {
	const call = (event: unknown, ...args: unknown[]) => {
		const [channel, ...more] = Object.keys(electron.ipcMain.channels);
		expect(more).toEqual([]);
		const answer = electron.ipcMain.channels[channel as string];
		return answer?.(event, ...args) as Promise<{ ok: boolean; code?: string; value?: unknown }>;
	};

	it('takes a call from the main frame of its own page', async () => {
		const { webContents } = await run();
		const event = { sender: webContents, senderFrame: webContents.mainFrame };
		expect(await call(event, CONTRACT_VERSION, 'desk.state', {})).toEqual({ ok: true, value: 7 });
		expect(await call(event, CONTRACT_VERSION + 1, 'desk.state', {})).toMatchObject({
			code: 'contract_mismatch',
		});
		expect(await call(event, CONTRACT_VERSION, '__proto__', {})).toMatchObject({
			code: 'unknown_verb',
		});
	});

	it('refuses a frame that is gone, a sub-frame, another window, and a page that went elsewhere', async () => {
		const { webContents } = await run();
		desk.asked.length = 0;
		const own = webContents.mainFrame;
		for (const event of [
			{ sender: webContents, senderFrame: null },
			{ sender: webContents, senderFrame: { url: 'app://desk/', parent: own } },
			{ sender: {}, senderFrame: own },
		]) {
			expect(await call(event, CONTRACT_VERSION, 'desk.state', {})).toMatchObject({
				ok: false,
				code: 'sender_refused',
			});
		}
		for (const url of ['https://site.example/', 'app://desk.example/', 'about:blank', '']) {
			own.url = url;
			const event = { sender: webContents, senderFrame: own };
			expect(await call(event, CONTRACT_VERSION, 'desk.state', {})).toMatchObject({ ok: false });
		}
		expect(desk.asked).toEqual([]);
		expect(log().match(/was refused/g)).toHaveLength(7);
	});

	it('passes events of the desk on to the page', async () => {
		const { webContents } = await run();
		const event = { event: 'progress' as const, what: 'ring 4', done: 1, of: 2 };
		desk.tell(event);
		expect(webContents.sent).toEqual([['desk.event', event]]);
	});

	it('gives the page two functions and nothing of Electron', async () => {
		await import('../../../electron/hosts/preload.ts');
		const api = electron.contextBridge.exposed.desk;
		expect(Object.keys(electron.contextBridge.exposed)).toEqual(['desk']);
		expect(Object.keys(api ?? {})).toEqual(['call', 'listen']);
		await api?.call?.('desk.state', {});
		expect(electron.ipcRenderer.invoked).toEqual([
			['desk.call', CONTRACT_VERSION, 'desk.state', {}],
		]);
		const heard: unknown[][] = [];
		const end = api?.listen?.((...args: unknown[]) => heard.push(args)) as () => void;
		electron.ipcRenderer.emit('desk.event', { sender: 'secret' }, { event: 'state' });
		end();
		electron.ipcRenderer.emit('desk.event', {}, { event: 'state' });
		expect(heard).toEqual([[{ event: 'state' }]]);
	});
});

describe('files from the system', () => {
	it('opens what a second start or a double click names, and says what went wrong', async () => {
		const window = await run();
		electron.app.emit('second-instance', {}, ['electron', '--x', 'b.slurrybook'], '/drives');
		const preventDefault = vi.fn();
		electron.app.emit('open-file', { preventDefault }, '/drives/c.slurrybook');
		await vi.waitFor(() => expect(desk.openedFiles).toHaveLength(2));
		expect(desk.openedFiles).toEqual(['/drives/b.slurrybook', '/drives/c.slurrybook']);
		expect(preventDefault).toHaveBeenCalledOnce();
		expect(window.focused).toBe(3);
		desk.openFile = async () => ({ ok: false, code: 'not_a_project', message: 'No project.' });
		electron.app.emit('open-file', { preventDefault }, '/drives/d.slurrybook');
		await vi.waitFor(() => expect(electron.dialog.told).toEqual(['No project.']));
	});

	it('keeps a double click that comes before the desk is there', async () => {
		process.argv = ['electron', '.'];
		await import('../../../electron/hosts/main.ts');
		electron.app.emit('open-file', { preventDefault: () => {} }, '/drives/early.slurrybook');
		electron.app.ready();
		await vi.waitFor(() => expect(desk.openedFiles).toEqual(['/drives/early.slurrybook']));
	});

	it('asks with the system dialogs and passes a cancel on as null', async () => {
		await run();
		const { dialog } = electron;
		for (const purpose of [
			'open-project',
			'open-folder',
			'save-project',
			'export-folder',
			'save-sheet',
		] as const) {
			dialog.answer = { canceled: true, filePath: '', filePaths: [] };
			expect(await options.choosePath?.(purpose, 'a')).toBeNull();
			dialog.answer = { canceled: false, filePath: '/d/a', filePaths: ['/d/a'] };
			expect(await options.choosePath?.(purpose, 'a')).toBe('/d/a');
		}
		dialog.answer = { canceled: true, filePath: '', filePaths: [] };
		expect(await options.chooseFiles?.('logger')).toBeNull();
		dialog.answer = { canceled: false, filePath: '', filePaths: ['/d/a.csv', '/d/b.csv'] };
		expect(await options.chooseFiles?.('logger')).toEqual(['/d/a.csv', '/d/b.csv']);
		expect(await options.chooseFiles?.('sheet')).toEqual(['/d/a.csv', '/d/b.csv']);
	});

	it('closes the document when the app ends', async () => {
		await run();
		electron.app.emit('will-quit');
		expect(desk.closed).toBe(1);
	});
});

describe('the menu', () => {
	it('does something under every entry', async () => {
		desk.answers = {
			'recent.list': RECENT,
			'places.choose': { ok: true, value: { placeId: 'p', title: 'a' } },
			'project.open': { ok: true, value: {} },
			'project.openDemo': { ok: true, value: {} },
			'project.close': { ok: true, value: {} },
			'history.undo': { ok: true, value: {} },
			'history.redo': { ok: true, value: {} },
		};
		await run();
		const entries = electron.Menu.template.flatMap((top) => top.submenu ?? []);
		const own = entries.filter((entry) => entry.role === undefined && entry.type !== 'separator');
		desk.asked.length = 0;
		for (const entry of own) await entry.click?.();
		await vi.waitFor(() =>
			expect(desk.asked.map(({ verb }) => verb).sort()).toEqual([
				'history.redo',
				'history.undo',
				'places.choose',
				'project.close',
				'project.open',
				'project.openDemo',
			]),
		);
		expect(electron.dialog.told).toEqual([]);
	});
});
