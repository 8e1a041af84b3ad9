import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core';
import { installedChromium } from '../gate/chromium.ts';

/** The start command running by itself, with folders of its own that are gone afterwards. */
export interface RunningDesk {
	/** Address with the token that admits one browser. */
	readonly entrance: string;
	/** Where the demo drive and new projects go. */
	readonly documents: string;
	/** Everything it printed so far. */
	printed(): string;
	/** Its exit code, once it has ended. */
	readonly ended: Promise<number | null>;
	/** Ends it as Ctrl-C does and removes its folders. */
	stop(): Promise<void>;
	process: ChildProcess;
}

/** Runs `npm start -- --loopback --no-open` and waits until it is ready. */
export async function startDesk(...args: string[]): Promise<RunningDesk> {
	const folder = mkdtempSync(join(tmpdir(), 'slurry-desk-'));
	const child = spawn(
		process.execPath,
		[
			'electron/launch/start.mjs',
			'--loopback',
			'--no-open',
			`--settings=${join(folder, 'settings')}`,
			`--documents=${folder}`,
			...args,
		],
		{ stdio: ['ignore', 'pipe', 'pipe'] },
	);
	let text = '';
	const ended = new Promise<number | null>((resolve) => child.once('close', resolve));
	const entrance = await new Promise<string>((resolve, reject) => {
		const hear = (piece: Buffer) => {
			text += piece;
			const address = /http:\/\/127\.0\.0\.1:\d+\/\?token=\S+/.exec(text)?.[0];
			if (address !== undefined) resolve(address);
		};
		child.stdout.on('data', hear);
		child.stderr.on('data', hear);
		void ended.then((code) => reject(new Error(`The desk ended with ${code}:\n${text}`)));
	});
	return {
		entrance,
		documents: folder,
		printed: () => text,
		ended,
		process: child,
		async stop() {
			child.kill('SIGTERM');
			await ended;
			rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
		},
	};
}

/** A page that notes what a person would never see: errors, refused content, requests to elsewhere. */
export interface WatchedPage {
	readonly page: Page;
	readonly context: BrowserContext;
	readonly complaints: string[];
}

/** Starts the installed Chromium without a window. */
export async function launchBrowser(): Promise<Browser> {
	const executablePath = installedChromium();
	if (executablePath === null) throw new Error('There is no Chromium; run npm test for advice.');
	return chromium.launch({
		executablePath,
		args: [
			'--disable-gpu',
			'--disable-quic',
			'--no-first-run',
			'--disable-background-networking',
			'--disable-component-update',
			'--disable-sync',
			...(process.getuid?.() === 0 ? ['--no-sandbox'] : []),
		],
	});
}

/** Opens the address in a fresh profile and watches the page. */
export async function openPage(
	browser: Browser,
	address: string,
	size = { width: 1440, height: 900 },
): Promise<WatchedPage> {
	const context = await browser.newContext({ viewport: size, locale: 'en-GB' });
	const page = await context.newPage();
	const complaints: string[] = [];
	page.on('pageerror', (error) => complaints.push(`error: ${error.message}`));
	page.on('console', (message) => {
		if (message.type() === 'error' || message.type() === 'warning') {
			complaints.push(`${message.type()}: ${message.text()}`);
		}
	});
	const home = new URL(address).host;
	page.on('request', (request) => {
		const { host, protocol } = new URL(request.url());
		if (host !== home && protocol !== 'data:' && protocol !== 'blob:') {
			complaints.push(`request to elsewhere: ${request.url()}`);
		}
	});
	await page.goto(address);
	return { page, context, complaints };
}

/** The demo drive as a person meets it: a browser, the desk by itself, its page on a common screen. */
export interface OpenDemo extends WatchedPage {
	readonly browser: Browser;
	readonly desk: RunningDesk;
	close(): Promise<void>;
}

export async function openDemo(size = { width: 1920, height: 1080 }): Promise<OpenDemo> {
	const browser = await launchBrowser();
	try {
		const desk = await startDesk();
		const close = async () => {
			await browser.close();
			await desk.stop();
		};
		try {
			return { ...(await openPage(browser, desk.entrance, size)), browser, desk, close };
		} catch (error) {
			await desk.stop();
			throw error;
		}
	} catch (error) {
		await browser.close();
		throw error;
	}
}
