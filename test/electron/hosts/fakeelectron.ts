import { EventEmitter } from 'node:events';

// Stands in for the module `electron`, which only exists inside Electron: it notes what the main
// process registers, so that a test can knock at each of its doors.

type Handler = (...args: never[]) => unknown;

class FakeContents extends EventEmitter {
	openHandler: ((details: { url: string }) => { action: string }) | null = null;
	sent: unknown[][] = [];
	mainFrame = { url: 'app://desk/', parent: null as unknown };
	address = 'app://desk/';
	setWindowOpenHandler(handler: (details: { url: string }) => { action: string }): void {
		this.openHandler = handler;
	}
	getURL(): string {
		return this.address;
	}
	isDestroyed(): boolean {
		return false;
	}
	send(...args: unknown[]): void {
		this.sent.push(args);
	}
}

export class FakeWindow extends EventEmitter {
	static made: FakeWindow[] = [];
	webContents = new FakeContents();
	loaded: string[] = [];
	focused = 0;
	readonly options: { webPreferences: Record<string, unknown> } & Record<string, unknown>;
	constructor(options: { webPreferences: Record<string, unknown> }) {
		super();
		this.options = options;
		FakeWindow.made.push(this);
		electron.app.emit('web-contents-created', {}, this.webContents);
	}
	async loadURL(url: string): Promise<void> {
		this.loaded.push(url);
	}
	show(): void {}
	isMinimized(): boolean {
		return false;
	}
	restore(): void {}
	focus(): void {
		this.focused++;
	}
}

class FakeApp extends EventEmitter {
	order: string[] = [];
	isPackaged = false;
	first = true;
	quits = 0;
	paths: Record<string, string> = {};
	ready: () => void = () => {};
	commandLine = { getSwitchValue: (name: string) => this.paths[`--${name}`] ?? '' };
	enableSandbox(): void {
		this.order.push('enableSandbox');
	}
	setName(): void {}
	setPath(name: string, path: string): void {
		this.paths[name] = path;
	}
	getPath(name: string): string {
		return this.paths[name] as string;
	}
	requestSingleInstanceLock(): boolean {
		this.order.push('lock');
		return this.first;
	}
	whenReady(): Promise<void> {
		this.order.push('whenReady');
		return new Promise((resolve) => {
			this.ready = resolve;
		});
	}
	quit(): void {
		this.quits++;
	}
	exit(): void {
		this.quits++;
	}
}

class FakeSession extends EventEmitter {
	handlers: Record<string, Handler> = {};
	spelling = true;
	webRequest = {
		onBeforeRequest: (handler: Handler) => {
			this.handlers.network = handler;
		},
	};
	setPermissionRequestHandler(handler: Handler): void {
		this.handlers.request = handler;
	}
	setPermissionCheckHandler(handler: Handler): void {
		this.handlers.check = handler;
	}
	setDevicePermissionHandler(handler: Handler): void {
		this.handlers.device = handler;
	}
	setDisplayMediaRequestHandler(handler: Handler): void {
		this.handlers.display = handler;
	}
	setSpellCheckerEnabled(on: boolean): void {
		this.spelling = on;
	}
}

interface Scheme {
	scheme: string;
	privileges: Record<string, boolean>;
}

export const electron = {
	app: new FakeApp(),
	BrowserWindow: FakeWindow,
	session: { defaultSession: new FakeSession() },
	protocol: {
		schemes: [] as Scheme[],
		served: {} as Record<string, (request: { url: string; method: string }) => Response>,
		registerSchemesAsPrivileged(schemes: Scheme[]): void {
			electron.app.order.push('scheme');
			this.schemes.push(...schemes);
		},
		handle(scheme: string, serve: (request: { url: string; method: string }) => Response): void {
			this.served[scheme] = serve;
		},
	},
	ipcMain: {
		channels: {} as Record<string, (event: unknown, ...args: unknown[]) => Promise<unknown>>,
		handle(
			channel: string,
			answer: (event: unknown, ...args: unknown[]) => Promise<unknown>,
		): void {
			this.channels[channel] = answer;
		},
	},
	ipcRenderer: Object.assign(new EventEmitter(), {
		invoked: [] as unknown[][],
		async invoke(...args: unknown[]): Promise<unknown> {
			this.invoked.push(args);
			return { ok: true, value: 1 };
		},
	}),
	contextBridge: {
		exposed: {} as Record<string, Record<string, (...args: unknown[]) => unknown>>,
		exposeInMainWorld(name: string, api: Record<string, (...args: unknown[]) => unknown>): void {
			this.exposed[name] = api;
		},
	},
	Menu: {
		template: [] as MenuItem[],
		buildFromTemplate(template: MenuItem[]): MenuItem[] {
			this.template = template;
			return template;
		},
		setApplicationMenu(): void {},
	},
	dialog: {
		told: [] as string[],
		answer: { canceled: true, filePath: '', filePaths: [] as string[] },
		async showMessageBox(...args: unknown[]): Promise<unknown> {
			this.told.push((args.at(-1) as { message: string }).message);
			return { response: 0 };
		},
		async showOpenDialog(): Promise<unknown> {
			return this.answer;
		},
		async showSaveDialog(): Promise<unknown> {
			return this.answer;
		},
		showErrorBox(_: string, message: string): void {
			this.told.push(message);
		},
	},
};

export interface MenuItem {
	label?: string;
	role?: string;
	type?: string;
	accelerator?: string;
	click?: () => unknown;
	submenu?: MenuItem[];
}

/** Forgets everything registered so far. */
export function freshElectron(folder: string): void {
	FakeWindow.made = [];
	electron.app = new FakeApp();
	electron.app.paths = { userData: folder, documents: folder };
	electron.session.defaultSession = new FakeSession();
	electron.protocol.schemes = [];
	electron.protocol.served = {};
	electron.ipcMain.channels = {};
	electron.dialog.told = [];
	electron.Menu.template = [];
}
