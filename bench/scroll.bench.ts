import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { CDPSession, Page } from 'playwright-core';
import { launchBrowser, openPage, startDesk } from '../test/browser/openpage.ts';
import { makeLongProject } from './manyreadings.ts';

/**
 * The readings of a long drive on screen, all the rows a page holds at once and every column: how soon
 * they are painted once they have come, and how many frames a second there are while they are scrolled
 * at a steady pace. Beside it, as the measure of the machine: the same page, the same frames, standing
 * still; and the time the page's own thread computes for a frame, which other work on the machine hardly
 * touches: above 1000/55 ms of it no machine of this kind reaches 55 frames.
 */
const RINGS = 333;
const READINGS_PER_RING = 60;
const SECONDS = Number(process.argv[2] ?? 4);
const WANTED_FPS = 55;
const WANTED_FIRST_PAINT_MS = 1000;
/** A message this long is the rows of a sheet. */
const ROWS_MESSAGE = 500_000;

declare global {
	interface Window {
		/** When the rows last came, and when rows were first on screen after that. */
		rowsCame?: number;
		rowsPainted?: number;
	}
}

const quantile = (sorted: readonly number[], q: number): number =>
	sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))] ?? Number.NaN;

/** Notes in the page when rows come over the line, and when the first frame with rows of the readings was painted. */
async function watchArrival(page: Page): Promise<void> {
	await page.addInitScript((long) => {
		const Line = window.WebSocket;
		window.WebSocket = class extends Line {
			constructor(address: string | URL, protocols?: string | string[]) {
				super(address, protocols);
				this.addEventListener('message', ({ data }) => {
					if (String(data).length > long) window.rowsCame = performance.now();
				});
			}
		};
		new MutationObserver((_changes, watch) => {
			if (!document.querySelector('.sheet-grid[data-sheet="readings"] .ag-row .ag-cell')) return;
			watch.disconnect();
			requestAnimationFrame(() =>
				setTimeout(() => {
					window.rowsPainted = performance.now();
				}),
			);
		}).observe(document, { subtree: true, childList: true });
	}, ROWS_MESSAGE);
}

interface Pace {
	readonly down: number;
	readonly right: number;
}

/** Time between frames, ms, while the readings are scrolled by so many px each frame, to and fro. */
async function frames(page: Page, pace: Pace, seconds: number): Promise<number[]> {
	return page.evaluate(
		({ down, right, until }) =>
			new Promise<number[]>((resolve) => {
				const view = document.querySelector('.sheet-grid[data-sheet="readings"] .ag-grid-viewport');
				const across = document.querySelector(
					'.sheet-grid[data-sheet="readings"] .ag-body-horizontal-scroll-viewport, .sheet-grid[data-sheet="readings"] .ag-center-cols-viewport',
				);
				if (!view) throw new Error('the readings are not on screen');
				const took: number[] = [];
				const start = performance.now();
				let last = start;
				let way = 1;
				const frame = (now: number) => {
					took.push(now - last);
					last = now;
					const before = view.scrollTop;
					view.scrollTop += way * down;
					if (across && right > 0) {
						const was = across.scrollLeft;
						across.scrollLeft += way * right;
						if (across.scrollLeft === was) way = -way;
					} else if (down > 0 && view.scrollTop === before) way = -way;
					if (now - start < until) requestAnimationFrame(frame);
					else resolve(took.slice(5));
				};
				requestAnimationFrame(frame);
			}),
		{ ...pace, until: seconds * 1000 },
	);
}

/** Seconds of processor the page's thread has used for its tasks so far. */
async function threadTime(cdp: CDPSession): Promise<number> {
	const { metrics } = await cdp.send('Performance.getMetrics');
	return metrics.find(({ name }) => name === 'TaskDuration')?.value ?? Number.NaN;
}

/** Scrolls and prints one line; the frames a second at the median frame. */
async function run(page: Page, cdp: CDPSession, name: string, pace: Pace): Promise<number> {
	const before = await threadTime(cdp);
	const took = await frames(page, pace, SECONDS);
	const computed_ms = ((await threadTime(cdp)) - before) * 1000;
	const sorted = [...took].sort((a, b) => a - b);
	const fps = 1000 / quantile(sorted, 0.5);
	const cells = [
		fps.toFixed(1).padStart(7),
		(1000 / quantile(sorted, 0.95)).toFixed(1).padStart(9),
		quantile(sorted, 1).toFixed(0).padStart(12),
		(computed_ms / took.length).toFixed(1).padStart(13),
	];
	process.stdout.write(`${name.padEnd(36)}${cells.join('')}  (${took.length} frames)\n`);
	return fps;
}

const PACES: readonly (readonly [string, Pace])[] = [
	['standing still', { down: 0, right: 0 }],
	['down, one row a frame', { down: 28, right: 0 }],
	['down, six rows a frame', { down: 168, right: 0 }],
	['down, a screen every two frames', { down: 420, right: 0 }],
	['across, 30 px a frame', { down: 0, right: 30 }],
];

const folder = mkdtempSync(join(tmpdir(), 'slurry-bench-'));
const project = makeLongProject(folder, RINGS, READINGS_PER_RING);

const desk = await startDesk(project);
const browser = await launchBrowser();
let short = false;
try {
	const { page, complaints } = await openPage(browser, desk.entrance, {
		width: 1920,
		height: 1080,
	});
	await page.locator('.sheet-grid .ag-row').first().waitFor();
	await watchArrival(page);
	await page.reload();
	await page.locator('.sheet-grid .ag-row').first().waitFor();
	await page.waitForTimeout(1500);
	await page.keyboard.press('Alt+2');
	await page.waitForFunction(() => window.rowsPainted !== undefined);
	const first_ms = await page.evaluate(
		() => (window.rowsPainted ?? Number.NaN) - (window.rowsCame ?? Number.NaN),
	);
	const count = await page.locator('.sheet-count').textContent();
	short ||= !(first_ms < WANTED_FIRST_PAINT_MS);
	process.stdout.write(
		`${count}: painted ${first_ms.toFixed(0)} ms after they came (wanted: < ${WANTED_FIRST_PAINT_MS})\n`,
	);
	await page.waitForTimeout(3000);
	const cdp = await page.context().newCDPSession(page);
	await cdp.send('Performance.enable', { timeDomain: 'threadTicks' });
	process.stdout.write(
		`${'frames a second'.padEnd(36)} median  slow 5 %  longest, ms  computed, ms\n`,
	);
	for (const [name, pace] of PACES)
		short = (await run(page, cdp, name, pace)) < WANTED_FPS || short;
	await page.keyboard.press('F8');
	await page.getByRole('tab', { name: 'Groups and layouts' }).click();
	await page.getByLabel('Group rows by').selectOption('ring');
	await page.locator('.ag-row.group-line').first().waitFor();
	await page.keyboard.press('Escape');
	await page.waitForTimeout(1000);
	const grouped = await run(page, cdp, 'grouped by ring, six rows a frame', {
		down: 168,
		right: 0,
	});
	short ||= grouped < WANTED_FPS;
	if (complaints.length > 0) throw new Error(complaints.join('\n'));
	process.stdout.write(
		short ? `Short of ${WANTED_FPS} frames a second or of the first paint.\n` : 'All as wanted.\n',
	);
} finally {
	await browser.close();
	await desk.stop();
	rmSync(folder, { recursive: true, force: true });
}
process.exitCode = short ? 1 : 0;
