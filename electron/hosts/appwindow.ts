import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import type { Surroundings } from './folders.ts';

/** Browsers that can show one address as a window of its own, in order of preference. */
const NAMES = {
	linux: [
		'chromium',
		'chromium-browser',
		'google-chrome',
		'google-chrome-stable',
		'microsoft-edge',
		'microsoft-edge-stable',
		'brave-browser',
	],
	darwin: ['Chromium', 'Google Chrome', 'Microsoft Edge', 'Brave Browser'],
	win32: [
		['Chromium', 'Application', 'chrome.exe'],
		['Google', 'Chrome', 'Application', 'chrome.exe'],
		['Microsoft', 'Edge', 'Application', 'msedge.exe'],
	],
} as const;

/** Every place such a browser is usually installed at on this system, most preferred first. */
export function browserPlaces({ platform, home, env }: Surroundings): string[] {
	const chosen = env.CHROMIUM ? [env.CHROMIUM] : [];
	if (platform === 'win32') {
		const roots = [env.ProgramFiles, env['ProgramFiles(x86)'], env.LOCALAPPDATA];
		return [
			...chosen,
			...NAMES.win32.flatMap((parts) =>
				roots.filter((root) => root !== undefined).map((root) => join(root, ...parts)),
			),
		];
	}
	if (platform === 'darwin') {
		return [
			...chosen,
			...NAMES.darwin.flatMap((name) =>
				['/', home].map((root) =>
					join(root, 'Applications', `${name}.app`, 'Contents/MacOS', name),
				),
			),
		];
	}
	const folders = [...(env.PATH ?? '').split(delimiter), '/usr/bin', '/snap/bin'];
	return [
		...chosen,
		...NAMES.linux.flatMap((name) => folders.filter(Boolean).map((folder) => join(folder, name))),
	];
}

/** Switches of the window: its own profile, nothing in the background, no first-run pages. */
export function windowSwitches(address: string, profile: string, asRoot: boolean): string[] {
	return [
		`--app=${address}`,
		`--user-data-dir=${profile}`,
		'--no-first-run',
		'--no-default-browser-check',
		'--disable-background-networking',
		'--disable-component-update',
		'--disable-sync',
		// The browser refuses to run as root with its sandbox; only there is it left out.
		...(asRoot ? ['--no-sandbox'] : []),
	];
}

/**
 * Opens the address as an app window. Answers the program's path, or why no window was opened.
 * A browser that ends at once with an error counts as not opened.
 */
export async function openAppWindow(
	address: string,
	profile: string,
	around: Surroundings,
): Promise<{ program: string } | { why: string }> {
	const { platform, env } = around;
	const screenless =
		platform !== 'win32' && platform !== 'darwin' && !env.DISPLAY && !env.WAYLAND_DISPLAY;
	if (screenless) return { why: 'this machine has no screen to open a window on' };
	const program = browserPlaces(around).find((place) => existsSync(place));
	if (program === undefined) return { why: 'no Chromium, Chrome or Edge was found' };
	const asRoot = process.getuid?.() === 0;
	const child = spawn(program, windowSwitches(address, profile, asRoot), {
		detached: true,
		stdio: 'ignore',
	});
	const failed = await new Promise<boolean>((resolve) => {
		const settled = setTimeout(() => resolve(false), 1_500);
		const end = (bad: boolean) => {
			clearTimeout(settled);
			resolve(bad);
		};
		child.once('error', () => end(true));
		// Handing over to a window that is already open ends with 0.
		child.once('exit', (code) => end(code !== 0));
	});
	child.unref();
	return failed ? { why: `${program} did not start` } : { program };
}
