import { dirname, extname, join } from 'node:path';
import { type BrowserWindow, dialog, type FileFilter } from 'electron';
import type { DeskOptions } from '../desk/door.ts';

const LOGGER_FILES: FileFilter[] = [
	{ name: 'Logger files', extensions: ['csv', 'txt', 'tsv', 'dat', 'asc', 'parquet'] },
	{ name: 'All files', extensions: ['*'] },
];
const SHEET_FILES: FileFilter[] = [
	{ name: 'CSV and XLSX files', extensions: ['csv', 'xlsx', 'txt', 'tsv'] },
	{ name: 'All files', extensions: ['*'] },
];
const PROJECTS: FileFilter[] = [{ name: 'Slurry Ledger project', extensions: ['slurrybook'] }];

/** The system's dialogs for the desk: an absolute path, or null when the person cancels. */
export function systemDialogs(
	window: () => BrowserWindow | null,
	documentsFolder: string,
): NonNullable<DeskOptions['choosePath']> {
	let lastFolder = documentsFolder;
	return async (purpose, suggest) => {
		const over = window();
		if (over === null) return null;
		const path = await ask(over, purpose, join(lastFolder, suggest ?? ''), lastFolder);
		if (path !== null) lastFolder = dirname(path);
		return path;
	};
}

/** The system's dialog for several files of a logger, or for one file of a sheet: absolute paths, or null when the person cancels. */
export function systemFileDialog(
	window: () => BrowserWindow | null,
	documentsFolder: string,
): NonNullable<DeskOptions['chooseFiles']> {
	let lastFolder = documentsFolder;
	return async (of) => {
		const over = window();
		if (over === null) return null;
		const { filePaths } = await dialog.showOpenDialog(over, {
			title: of === 'sheet' ? 'Choose a file' : 'Choose logger files',
			defaultPath: lastFolder,
			filters: of === 'sheet' ? SHEET_FILES : LOGGER_FILES,
			properties: of === 'sheet' ? ['openFile'] : ['openFile', 'multiSelections'],
		});
		const [first] = filePaths;
		if (first === undefined) return null;
		lastFolder = dirname(first);
		return filePaths;
	};
}

async function ask(
	over: BrowserWindow,
	purpose: Parameters<NonNullable<DeskOptions['choosePath']>>[0],
	suggested: string,
	folder: string,
): Promise<string | null> {
	switch (purpose) {
		case 'open-project': {
			const { filePaths } = await dialog.showOpenDialog(over, {
				title: 'Open a project',
				defaultPath: folder,
				filters: PROJECTS,
				properties: ['openFile'],
			});
			return filePaths[0] ?? null;
		}
		case 'open-folder': {
			const { filePaths } = await dialog.showOpenDialog(over, {
				title: 'Choose a drive folder',
				defaultPath: folder,
				properties: ['openDirectory'],
			});
			return filePaths[0] ?? null;
		}
		case 'save-project': {
			const { canceled, filePath } = await dialog.showSaveDialog(over, {
				title: 'Save the project as',
				defaultPath: suggested,
				filters: PROJECTS,
			});
			return canceled || filePath === '' ? null : filePath;
		}
		case 'save-sheet': {
			const ending = extname(suggested).slice(1);
			const { canceled, filePath } = await dialog.showSaveDialog(over, {
				title: 'Export the sheet as',
				defaultPath: suggested,
				filters: ending === '' ? [] : [{ name: ending.toUpperCase(), extensions: [ending] }],
			});
			return canceled || filePath === '' ? null : filePath;
		}
		case 'export-folder': {
			const { filePaths } = await dialog.showOpenDialog(over, {
				title: 'Choose where the folder is written',
				defaultPath: folder,
				properties: ['openDirectory', 'createDirectory'],
			});
			return filePaths[0] ?? null;
		}
	}
}
