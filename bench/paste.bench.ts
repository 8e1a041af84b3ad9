import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { launchBrowser, openPage, startDesk } from '../test/browser/openpage.ts';
import { makeLongProject } from './manyreadings.ts';

/**
 * A block of 10,000 cells (2,500 readings × 4 meters) pasted into a drive of 1,000 rings × 60 readings,
 * in Chromium over the loopback host with the real clipboard: from the key press to the painted frame
 * in which the pasted cells in sight have changed, and to the answer of the desk by
 * which the ledger's rows are there. The paste is stored durably before it is shown.
 */
const RINGS = 1000;
const READINGS_PER_RING = 60;
const ROWS = 2500;
const TIMES = Number(process.argv[2] ?? 5);
const WANTED_MS = 1000;

const folder = mkdtempSync(join(tmpdir(), 'slurry-bench-'));
const project = makeLongProject(folder, RINGS, READINGS_PER_RING);

const desk = await startDesk(project);
const browser = await launchBrowser();
try {
	const { page, context, complaints } = await openPage(browser, desk.entrance);
	await page.locator('.ag-row').first().waitFor();
	await page.keyboard.press('Alt+2');
	await page.locator('.ag-row [col-id="return_flow_m3_h"]').first().waitFor();
	await page.waitForTimeout(1500);
	await page.keyboard.press('Control+Home');
	await page.keyboard.press('ArrowRight');
	await page.keyboard.press('ArrowRight');
	await page.waitForTimeout(500);
	const elsewhere = await context.newPage();
	await elsewhere.setContent('<textarea></textarea>');
	const taken: { shown: number; ledger: number }[] = [];
	for (let n = 0; n < TIMES; n += 1) {
		const block = Array.from({ length: ROWS }, (_, row) =>
			[
				(1100 + (row % 7) + n).toFixed(3),
				(1.08 + (row % 5) / 1e4 + n / 1e5).toFixed(5),
				(1172 + (row % 9) + n).toFixed(3),
				(1.135 + (row % 5) / 1e4 + n / 1e5).toFixed(5),
			].join('\t'),
		).join('\r\n');
		await elsewhere.bringToFront();
		await elsewhere.evaluate((data) => {
			document.addEventListener(
				'copy',
				(event) => {
					event.clipboardData?.setData('text/plain', data);
					event.preventDefault();
				},
				{ once: true },
			);
		}, block);
		await elsewhere.locator('textarea').focus();
		await elsewhere.keyboard.press('Control+c');
		await page.bringToFront();
		await page.waitForTimeout(400);
		await page.evaluate(() => {
			const told = () => document.querySelector('.status-strip')?.textContent ?? '';
			const cells = () =>
				[...document.querySelectorAll('.ag-row [col-id="feed_flow_m3_h"]')]
					.map((cell) => cell.textContent)
					.join(' ');
			const rows = cells();
			const strip = told();
			let from = 0;
			let shown = 0;
			window.addEventListener(
				'keydown',
				function hear(event) {
					if (event.key !== 'v') return;
					window.removeEventListener('keydown', hear, true);
					from = event.timeStamp;
				},
				true,
			);
			const frame = () =>
				new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve)));
			Object.assign(window, {
				pasted: (async () => {
					while (from === 0 || cells() === rows) await frame();
					shown = performance.now() - from;
					while (told() === strip) await frame();
					return { shown, ledger: performance.now() - from };
				})(),
			});
		});
		await page.keyboard.press('Control+v');
		taken.push(
			await page.evaluate(
				() => (window as unknown as { pasted: Promise<{ shown: number; ledger: number }> }).pasted,
			),
		);
		await page.waitForTimeout(800);
	}
	process.stdout.write(`\n${'ms'.padEnd(44)} median     max\n`);
	const line = (name: string, times: number[]) => {
		const sorted = times.sort((a, b) => a - b);
		const median = sorted[Math.floor(sorted.length / 2)] ?? Number.NaN;
		const most = sorted.at(-1) ?? Number.NaN;
		process.stdout.write(
			`${name.padEnd(44)}${median.toFixed(0).padStart(7)} ${most.toFixed(0).padStart(7)}\n`,
		);
		return median;
	};
	line(
		'paste of 10,000 cells → cells painted',
		taken.map((one) => one.shown),
	);
	const median = line(
		'→ page told of all, the ledger with it',
		taken.map((one) => one.ledger),
	);
	process.stdout.write(
		`\nwanted below ${WANTED_MS} ms: ${median < WANTED_MS ? 'reached' : 'NOT reached'}\n`,
	);
	const dialogs = await page.locator('dialog[open]').allTextContents();
	for (const each of [...dialogs, ...complaints]) process.stdout.write(`page: ${each}\n`);
} finally {
	await browser.close();
	await desk.stop();
	rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
}
