import { contextBridge, ipcRenderer } from 'electron';
import type { DeskDoor, DeskEvent } from '../contract/verbs.ts';
import { CONTRACT_VERSION } from '../contract/version.ts';
import { CALL_CHANNEL, EVENT_CHANNEL } from './channels.ts';

// The page gets two functions and nothing of Electron: no channel names, no event objects.
contextBridge.exposeInMainWorld('desk', {
	call: (verb, ask) => ipcRenderer.invoke(CALL_CHANNEL, CONTRACT_VERSION, verb, ask),
	listen(hear) {
		const pass = (_: unknown, event: DeskEvent) => hear(event);
		ipcRenderer.on(EVENT_CHANNEL, pass);
		return () => {
			ipcRenderer.removeListener(EVENT_CHANNEL, pass);
		};
	},
} satisfies DeskDoor);
