import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { browserPlaces } from '../../electron/hosts/appwindow.ts';
import { hereAndNow } from '../../electron/hosts/folders.ts';

/** Path of an installed Chromium, Chrome or Edge (CHROMIUM names one by hand), or null. */
export function installedChromium(): string | null {
	return browserPlaces(hereAndNow()).find((place) => existsSync(place)) ?? null;
}

/** What a person types to get one on this machine. */
export function chromiumAdvice(platform: NodeJS.Platform): string {
	switch (platform) {
		case 'win32':
			return 'Install Edge or Chrome, or set CHROMIUM to the path of chrome.exe.';
		case 'darwin':
			return 'Install it with "brew install --cask chromium" (or Chrome), or set CHROMIUM to its program.';
		default:
			return 'Install the package "chromium" (Debian, Ubuntu: apt-get install chromium; Fedora: dnf install chromium), or set CHROMIUM to its path.';
	}
}

/** On Debian and its kin, as root, installs the package; elsewhere does nothing. Returns success. */
function installOnDebian(): boolean {
	if (process.platform !== 'linux' || process.getuid?.() !== 0) return false;
	if (!existsSync('/usr/bin/apt-get') || !/debian|ubuntu/i.test(osRelease())) return false;
	process.stderr.write('Installing Chromium for the browser tests (apt-get install chromium) …\n');
	const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
	const apt = (...args: string[]) =>
		spawnSync('apt-get', ['-q', ...args], { stdio: ['ignore', 2, 2], env }).status === 0;
	return apt('update') && apt('install', '-y', '--no-install-recommends', 'chromium');
}

function osRelease(): string {
	try {
		return readFileSync('/etc/os-release', 'utf8');
	} catch {
		return '';
	}
}

// As a command: prints the path, installing the browser where that can be done; else ends with 1.
if (import.meta.main) {
	const found = installedChromium() ?? (installOnDebian() ? installedChromium() : null);
	if (found === null) {
		process.stderr.write(
			`The browser tests need a Chromium and none is here. ${chromiumAdvice(process.platform)}\n`,
		);
		process.exitCode = 1;
	} else {
		process.stdout.write(found);
	}
}
