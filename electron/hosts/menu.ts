import { Menu, type MenuItemConstructorOptions } from 'electron';
import { PRODUCT } from './folders.ts';

export interface MenuActions {
	readonly openProject: () => void;
	readonly openDemo: () => void;
	readonly closeProject: () => void;
	readonly undo: () => void;
	readonly redo: () => void;
}

/**
 * The application menu. Undo and redo are the desk's, not the text field's; cut, copy and paste are
 * the system's, so they work in fields and reach the grid as clipboard events.
 */
export function buildMenu(actions: MenuActions, platform: NodeJS.Platform, inspect: boolean): Menu {
	const mac = platform === 'darwin';
	// The page has the keys: in a field they take back typing, in the grid the desk's step. A Mac
	// cannot show a key in the menu without taking it, so there none is shown.
	const shownOnly = (accelerator: string) =>
		mac ? {} : { accelerator, registerAccelerator: false };
	const template: MenuItemConstructorOptions[] = [
		...(mac ? [{ label: PRODUCT, role: 'appMenu' as const }] : []),
		{
			label: 'File',
			submenu: [
				{ label: 'Open project…', accelerator: 'CmdOrCtrl+O', click: actions.openProject },
				{ label: 'Open the demo drive', click: actions.openDemo },
				{ type: 'separator' },
				{ label: 'Close project', accelerator: 'CmdOrCtrl+Shift+W', click: actions.closeProject },
				{ role: mac ? 'close' : 'quit' },
			],
		},
		{
			label: 'Edit',
			submenu: [
				{ label: 'Undo last step', ...shownOnly('Ctrl+Z'), click: actions.undo },
				{ label: 'Redo step', ...shownOnly('Ctrl+Y'), click: actions.redo },
				{ type: 'separator' },
				{ role: 'cut' },
				{ role: 'copy' },
				{ role: 'paste' },
				{ role: 'selectAll' },
			],
		},
		{
			label: 'View',
			submenu: [
				{ role: 'resetZoom' },
				{ role: 'zoomIn' },
				{ role: 'zoomOut' },
				{ role: 'togglefullscreen' },
				...(inspect
					? [
							{ type: 'separator' as const },
							{ role: 'reload' as const },
							{ role: 'toggleDevTools' as const },
						]
					: []),
			],
		},
	];
	return Menu.buildFromTemplate(template);
}
