import { describe, expect, it } from 'vitest';
import { browserPlaces, openAppWindow, windowSwitches } from '../../../electron/hosts/appwindow.ts';
import { firstDocument } from '../../../electron/hosts/firstdocument.ts';
import {
	demoFolder,
	documentsFolder,
	type Surroundings,
	settingsFolder,
} from '../../../electron/hosts/folders.ts';
import { projectAmong } from '../../../electron/hosts/openrequests.ts';
import { fakeDesk } from './fakedesk.ts';

// Places follow the XDG base directory specification, the XDG user directories file, and the usual
// folders of Windows and macOS (common practice, no source).

const machine = (over: Partial<Surroundings>): Surroundings => ({
	platform: 'linux',
	home: '/home/op',
	env: {},
	read: () => null,
	exists: () => true,
	...over,
});

describe('folders', () => {
	it('keeps settings where each system keeps them', () => {
		expect(settingsFolder(machine({}))).toBe('/home/op/.config/slurry-ledger');
		expect(settingsFolder(machine({ env: { XDG_CONFIG_HOME: '/cfg' } }))).toBe(
			'/cfg/slurry-ledger',
		);
		expect(settingsFolder(machine({ platform: 'darwin' }))).toBe(
			'/home/op/Library/Application Support/Slurry Ledger',
		);
		expect(settingsFolder(machine({ platform: 'win32', env: { APPDATA: '/roaming' } }))).toBe(
			'/roaming/Slurry Ledger',
		);
	});

	it('finds the documents folder under its translated name, else the home folder', () => {
		const named = (line: string) => machine({ read: () => `# made by the desktop\n${line}\n` });
		expect(documentsFolder(named('XDG_DOCUMENTS_DIR="$HOME/Dokumente"'))).toBe(
			'/home/op/Dokumente',
		);
		expect(documentsFolder(named('XDG_DOCUMENTS_DIR="/data/docs"'))).toBe('/data/docs');
		expect(documentsFolder(machine({}))).toBe('/home/op/Documents');
		expect(documentsFolder(machine({ exists: () => false }))).toBe('/home/op');
	});

	it('finds the demo drive of a checkout', () => {
		expect(demoFolder()).toMatch(/demo/);
	});
});

describe('the app window', () => {
	it('looks for a browser in the places of each system, a chosen one first', () => {
		const linux = browserPlaces(machine({ env: { PATH: '/opt/bin', CHROMIUM: '/my/chromium' } }));
		expect(linux[0]).toBe('/my/chromium');
		expect(linux).toContain('/opt/bin/google-chrome');
		expect(linux).toContain('/usr/bin/chromium');
		expect(browserPlaces(machine({ platform: 'darwin' }))).toContain(
			'/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
		);
		const windows = browserPlaces(machine({ platform: 'win32', env: { ProgramFiles: '/pf' } }));
		expect(windows).toContain('/pf/Microsoft/Edge/Application/msedge.exe');
	});

	it('gives up the sandbox of the browser only as root', () => {
		expect(windowSwitches('http://127.0.0.1:1/', '/p', false)).not.toContain('--no-sandbox');
		expect(windowSwitches('http://127.0.0.1:1/', '/p', true)).toContain('--no-sandbox');
		expect(windowSwitches('http://127.0.0.1:1/', '/p', false)).toEqual(
			expect.arrayContaining(['--app=http://127.0.0.1:1/', '--user-data-dir=/p']),
		);
	});

	it('says why none was opened', async () => {
		expect(await openAppWindow('http://127.0.0.1:1/', '/p', machine({}))).toEqual({
			why: 'this machine has no screen to open a window on',
		});
		const broken = machine({ env: { DISPLAY: ':9', CHROMIUM: '/bin/false' } });
		expect(await openAppWindow('http://127.0.0.1:1/', '/p', broken)).toEqual({
			why: '/bin/false did not start',
		});
	});
});

describe('what is opened first', () => {
	it('says what is wrong with a file that cannot be opened', async () => {
		const desk = fakeDesk();
		desk.openFile = async () => ({ ok: false, code: 'gone', message: 'The file is gone.' });
		expect(await firstDocument(desk, '/a.slurrybook')).toBe('The file is gone.');
	});

	it('does not open the demo drive over a recent list that cannot be read', async () => {
		const desk = fakeDesk();
		expect(await firstDocument(desk, null)).toBeNull();
		expect(desk.asked.map(({ verb }) => verb)).toEqual(['recent.list']);
	});

	it.each([
		[['--x', 'a.slurrybook'], '/d/a.slurrybook'],
		[['/b/A.SLURRYBOOK'], '/b/A.SLURRYBOOK'],
		[['a.slurrybook', 'b.slurrybook'], '/d/b.slurrybook'],
		[['--file=a.slurrybook'], null],
		[['a.slurrybook.exe'], null],
		[['a\0.slurrybook'], null],
		[[], null],
	])('takes from %j the file %s', (args, file) => {
		expect(projectAmong(args, '/d')).toBe(file);
	});
});
