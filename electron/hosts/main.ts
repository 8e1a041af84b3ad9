import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { app, type BrowserWindow, dialog, Menu, protocol, session } from 'electron';
import { openDesk } from '../desk/desk.ts';
import type { DeskHandle } from '../desk/door.ts';
import { declareAppScheme, serveAppScheme } from './appscheme.ts';
import { systemDialogs, systemFileDialog } from './dialogs.ts';
import { firstDocument } from './firstdocument.ts';
import { APP_VERSION, demoFolder, PRODUCT, personName } from './folders.ts';
import { openGateway } from './gateway.ts';
import { lockNavigation, lockSession } from './lockdown.ts';
import { buildMenu } from './menu.ts';
import { projectAmong } from './openrequests.ts';
import { readPage } from './page.ts';
import { openRunLog } from './runlog.ts';
import { openWindow } from './window.ts';

const now_s = () => Date.now() / 1000;
const beside = (place: string) => fileURLToPath(new URL(place, import.meta.url));
const switchValue = (name: string) => app.commandLine.getSwitchValue(name);

app.enableSandbox();
app.setName(PRODUCT);
if (switchValue('settings') !== '') app.setPath('userData', switchValue('settings'));
declareAppScheme(protocol);

const log = openRunLog(app.getPath('userData'), now_s);
let window: BrowserWindow | null = null;
let desk: DeskHandle | null = null;
/** A file the system asked for before the desk was there. */
let waiting = projectAmong(process.argv.slice(1), process.cwd());

if (app.requestSingleInstanceLock()) {
	lockNavigation(app, log);
	app.on('second-instance', (_, args, folder) => {
		show();
		const file = projectAmong(args.slice(1), folder);
		if (file !== null) void openFile(file);
	});
	app.on('open-file', (event, path) => {
		event.preventDefault();
		void openFile(path);
	});
	app.on('window-all-closed', () => app.quit());
	app.on('will-quit', () => desk?.close());
	app.on('render-process-gone', (_, __, { reason }) => log(`The page's process ended: ${reason}.`));
	app.on('child-process-gone', (_, { type, reason }) => log(`A ${type} process ended: ${reason}.`));
	process.on('uncaughtException', (error) => fail(error));
	process.on('unhandledRejection', (error) => fail(error));
	void app.whenReady().then(begin);
} else {
	app.quit();
}

async function begin(): Promise<void> {
	lockSession(session.defaultSession, log);
	serveAppScheme(protocol, readPage(beside('../page/'), { connect: "'none'" }));
	const documents = switchValue('documents') || app.getPath('documents');
	const opened = openDesk({
		host: 'electron',
		appVersion: APP_VERSION,
		now_s,
		person: personName(),
		settingsFolder: app.getPath('userData'),
		documentsFolder: documents,
		demoFolder: app.isPackaged ? join(process.resourcesPath, 'demo') : demoFolder(),
		choosePath: systemDialogs(() => window, documents),
		chooseFiles: systemFileDialog(() => window, documents),
	});
	desk = opened;
	openGateway(opened, () => window, log);
	Menu.setApplicationMenu(buildMenu(menuActions(opened), process.platform, !app.isPackaged));
	const file = waiting;
	waiting = null;
	const problem = await firstDocument(opened, file);
	window = openWindow(beside('./preload.cjs'), !app.isPackaged);
	window.on('closed', () => {
		window = null;
	});
	if (problem !== null) tell(problem);
}

function menuActions(opened: DeskHandle) {
	const call = async (verb: string, ask: unknown) => {
		const reply = await opened.handle(verb, ask);
		if (!reply.ok) tell(reply.message);
		return reply;
	};
	return {
		openProject: async () => {
			const chosen = await call('places.choose', { purpose: 'open-project' });
			const place = chosen.ok ? (chosen.value as { placeId: string } | null) : null;
			if (place !== null) await call('project.open', { placeId: place.placeId });
		},
		openDemo: () => void call('project.openDemo', {}),
		closeProject: () => void call('project.close', {}),
		undo: () => void call('history.undo', {}),
		redo: () => void call('history.redo', {}),
	};
}

async function openFile(path: string): Promise<void> {
	if (desk === null) {
		waiting = path;
		return;
	}
	show();
	const reply = await desk.openFile(path);
	if (!reply.ok) tell(reply.message);
}

function show(): void {
	if (window === null) return;
	if (window.isMinimized()) window.restore();
	window.focus();
}

function tell(message: string): void {
	const words = { type: 'warning' as const, title: PRODUCT, message, buttons: ['Close'] };
	void (window === null ? dialog.showMessageBox(words) : dialog.showMessageBox(window, words));
}

/** A defect: it is written down without the document's data, and the file is closed in order. */
function fail(error: unknown): void {
	const stack = error instanceof Error ? (error.stack ?? error.name) : 'unknown';
	// The first line is the message, which may quote a figure; the places in the code cannot.
	log(`Failed at${stack.split('\n').slice(1, 8).join(' ')}`);
	desk?.close();
	dialog.showErrorBox(
		PRODUCT,
		'Something went wrong in the desk and it has to close. Every confirmed edit is in the file.',
	);
	app.exit(1);
}
