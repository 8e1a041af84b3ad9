import { BrowserWindow } from 'electron';
import { APP_ORIGIN } from './appscheme.ts';
import { PRODUCT } from './folders.ts';

/** Opens the desk's window with the page in it. `preload` is the absolute path of the built preload. */
export function openWindow(preload: string, devTools: boolean): BrowserWindow {
	const window = new BrowserWindow({
		width: 1440,
		height: 900,
		minWidth: 900,
		minHeight: 560,
		title: PRODUCT,
		show: false,
		backgroundColor: '#f4f4f2',
		webPreferences: {
			preload,
			sandbox: true,
			contextIsolation: true,
			nodeIntegration: false,
			nodeIntegrationInWorker: false,
			nodeIntegrationInSubFrames: false,
			webSecurity: true,
			allowRunningInsecureContent: false,
			webviewTag: false,
			navigateOnDragDrop: false,
			spellcheck: false,
			devTools,
		},
	});
	window.once('ready-to-show', () => window.show());
	window.on('page-title-updated', (event) => event.preventDefault());
	void window.loadURL(`${APP_ORIGIN}/`);
	return window;
}
