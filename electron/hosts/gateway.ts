import { type BrowserWindow, type IpcMainInvokeEvent, ipcMain } from 'electron';
import type { Reply } from '../contract/verbs.ts';
import type { DeskHandle } from '../desk/door.ts';
import { isAppAddress } from './appscheme.ts';
import { CALL_CHANNEL, EVENT_CHANNEL } from './channels.ts';
import { callDesk } from './deskcall.ts';

/**
 * The one way from a page into the main process. A call is taken only from the main frame of the
 * app's own window while it shows the app's own page; everything else is answered with a refusal.
 */
export function openGateway(
	desk: DeskHandle,
	window: () => BrowserWindow | null,
	log: (line: string) => void,
): void {
	ipcMain.handle(
		CALL_CHANNEL,
		async (event, contract: unknown, verb: unknown, ask: unknown): Promise<Reply<unknown>> => {
			if (!isOwnPage(event, window())) {
				log('A call from outside the page was refused.');
				return { ok: false, code: 'sender_refused', message: 'Only the page of this app may ask.' };
			}
			return callDesk(desk, contract, verb, ask);
		},
	);
	desk.listen((event) => {
		const contents = window()?.webContents;
		if (contents !== undefined && !contents.isDestroyed()) contents.send(EVENT_CHANNEL, event);
	});
}

function isOwnPage(event: IpcMainInvokeEvent, window: BrowserWindow | null): boolean {
	const frame = event.senderFrame;
	return (
		window !== null &&
		frame !== null &&
		event.sender === window.webContents &&
		frame === window.webContents.mainFrame &&
		frame.parent === null &&
		isAppAddress(frame.url)
	);
}
