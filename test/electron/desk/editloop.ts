import { dirname } from 'node:path';
import { openDesk } from '../../../electron/desk/desk.ts';

/** Run as a process of its own: edits one reading after the other and says each edit that was confirmed, until it is killed. */
const [path, from] = process.argv.slice(2);
if (path === undefined || from === undefined) throw new Error('editloop PROJECT FROM');
const folder = dirname(path);
const desk = openDesk({
	host: 'headless',
	appVersion: '0',
	now_s: () => 1_780_000_000,
	person: 'Loop',
	settingsFolder: `${folder}/loop settings`,
	documentsFolder: folder,
	demoFolder: folder,
});
const opened = await desk.openFile(path);
if (!opened.ok) throw new Error(opened.message);
const typed = { decimal: '.' };
for (let n = Number(from); ; n++) {
	// Every fifth gesture is a paste over two sheets' worth of cells, every seventh is undone at once.
	const rows = n % 5 === 0 ? [1, 2, 3, 4, 5, 6, 7, 8] : [1 + (n % 90)];
	const edits = rows.map((row) => ({ row, column: 'note', text: `edit ${n}` }));
	const reply = await desk.handle('sheet.edit', { sheet: 'readings', edits, typed });
	if (!reply.ok) throw new Error(reply.message);
	process.stdout.write(`${n}\n`);
	if (n % 7 === 0) {
		const undone = await desk.handle('history.undo', {});
		if (!undone.ok) throw new Error(undone.message);
		process.stdout.write(`undone ${n}\n`);
	}
}
