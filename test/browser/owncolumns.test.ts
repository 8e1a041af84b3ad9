import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { columnsOf } from '../../calc/sheet/catalogue.ts';
import {
	launchBrowser,
	openPage,
	type RunningDesk,
	startDesk,
	type WatchedPage,
} from './openpage.ts';

/** What a heading says of itself and columns of one's own, over the real desk and the demo drive. */

let browser: Browser;
let desk: RunningDesk;
let watched: WatchedPage;
let page: Page;

beforeAll(async () => {
	browser = await launchBrowser();
	desk = await startDesk();
	watched = await openPage(browser, desk.entrance, { width: 1920, height: 1080 });
	page = watched.page;
	page.setDefaultTimeout(20_000);
	await cell('ledger', 1, 'ring').waitFor();
});
afterAll(async () => {
	await browser?.close();
	await desk?.stop();
});
beforeEach(() => {
	expect(watched.complaints).toEqual([]);
});

const soon = <T>(look: () => T) => expect.poll(look, { timeout: 20_000 });
const sheet = (name: string) => page.locator(`.sheet-grid[data-sheet="${name}"]`);
const cell = (name: string, row: number, column: string) =>
	sheet(name).locator(`.ag-row[row-id="${row}"] [col-id="${column}"]`);
const heading = (name: string, column: string) =>
	sheet(name).locator(`.ag-header-cell[col-id="${column}"]`);
const focusedColumn = () =>
	page.evaluate(() => document.activeElement?.closest('[col-id]')?.getAttribute('col-id') ?? null);
async function go(key: number, name: string): Promise<void> {
	await page.keyboard.press(`Alt+${key}`);
	await sheet(name).locator('.ag-row').first().waitFor();
}

describe('a heading', () => {
	const card = () => page.locator('.column-help');

	it('explains itself from a cell below it, and gives the keyboard back', async () => {
		await go(1, 'ledger');
		await cell('ledger', 1, 'volume_apparent_m3').click();
		await page.keyboard.press('Shift+F1');
		await card().waitFor();
		const column = columnsOf('ledger').find((each) => each.id === 'volume_apparent_m3');
		const text = (await card().textContent()) ?? '';
		for (const part of [column?.heading, column?.help, column?.formula, column?.source, 'm³']) {
			expect(text).toContain(part);
		}
		expect(await page.getByRole('dialog', { name: 'Keys' }).count()).toBe(0);
		await page.keyboard.press('Escape');
		await card().waitFor({ state: 'detached' });
		expect(await focusedColumn()).toBe('volume_apparent_m3');
	});

	it('explains itself when the heading has the keyboard', async () => {
		await go(2, 'readings');
		await heading('readings', 'feed_density_t_m3').focus();
		await page.keyboard.press('Shift+F1');
		await card().waitFor();
		const text = (await card().textContent()) ?? '';
		const column = columnsOf('readings').find((each) => each.id === 'feed_density_t_m3');
		expect(text).toContain(column?.help);
		expect(text).toContain(`${column?.max}\u00a0t/m³`);
		await page.keyboard.press('Escape');
		await card().waitFor({ state: 'detached' });
		expect(await focusedColumn()).toBe('feed_density_t_m3');
	});

	it('explains itself to the mouse by its question mark, without sorting', async () => {
		await go(2, 'readings');
		const before = await heading('readings', 'feed_flow_m3_h').getAttribute('aria-sort');
		await heading('readings', 'feed_flow_m3_h').hover();
		await heading('readings', 'feed_flow_m3_h').locator('.heading-ask').click();
		await card().waitFor();
		expect(await card().getAttribute('aria-label')).toBe('About Feed flow');
		expect(await heading('readings', 'feed_flow_m3_h').getAttribute('aria-sort')).toBe(before);
		await cell('readings', 1, 'time').click();
		await card().waitFor({ state: 'detached' });
	});

	it('is found among the keys', async () => {
		await page.keyboard.press('F1');
		await page.getByRole('dialog', { name: 'Keys' }).waitFor();
		await soon(() => page.locator('.key-list').allTextContents()).toContainEqual(
			expect.stringContaining('Shift+F1'),
		);
		await page.keyboard.press('Escape');
		await page.locator('dialog').waitFor({ state: 'detached' });
	});
});

describe('the limits of a column', () => {
	const card = () => page.locator('.column-help');
	const marked = (column: string) =>
		sheet('ledger').locator(`.ag-row .cell-above[col-id="${column}"]`);
	const figures = () =>
		sheet('ledger')
			.locator('.ag-row [col-id="volume_apparent_m3"]')
			.evaluateAll((cells) => cells.map((each) => Number(each.textContent)));

	it('are set by the keyboard and mark the figures outside, with an arrow and a word', async () => {
		await go(1, 'ledger');
		await cell('ledger', 1, 'volume_apparent_m3').click();
		const sorted = (await figures()).sort((a, b) => a - b);
		const limit = sorted[Math.floor(sorted.length / 2)] ?? 0;
		const over = sorted.filter((figure) => figure > limit).length;
		expect(over).toBeGreaterThan(0);
		await page.keyboard.press('Shift+F1');
		await card().waitFor();
		await card().getByRole('textbox', { name: 'Above' }).focus();
		await page.keyboard.type(String(limit));
		await page.keyboard.press('Tab');
		await page.keyboard.type('agreed with the site');
		await page.keyboard.press('Enter');
		await soon(() => marked('volume_apparent_m3').count()).toBe(over);
		await page.keyboard.press('Escape');
		await card().waitFor({ state: 'detached' });
		expect(await focusedColumn()).toBe('volume_apparent_m3');
		const first = marked('volume_apparent_m3').first();
		const mark = await first.evaluate((each) => getComputedStyle(each, '::after').content);
		expect(mark).toContain('↑');
		expect(mark).toContain('above its high limit');
		await first.click();
		await soon(() => page.locator('.cell-line').textContent()).toContain(
			`Above the high limit ${limit}\u00a0m³ (agreed with the site)`,
		);
	});

	it('are refused where they cross, and stay as they were', async () => {
		await page.keyboard.press('Shift+F1');
		await card().getByRole('textbox', { name: 'Below' }).fill('100000');
		await page.keyboard.press('Enter');
		await card().getByText('The high limit is not above the low one.').waitFor();
		await page.keyboard.press('Escape');
		expect(await marked('volume_apparent_m3').count()).toBeGreaterThan(0);
	});

	it('are taken back and given again as one step', async () => {
		await cell('ledger', 1, 'ring').click();
		await page.keyboard.press('Control+z');
		await soon(() => marked('volume_apparent_m3').count()).toBe(0);
		await page.keyboard.press('Control+y');
		await soon(() => marked('volume_apparent_m3').count()).toBeGreaterThan(0);
	});

	it('go when they are removed', async () => {
		await cell('ledger', 1, 'volume_apparent_m3').click();
		await page.keyboard.press('Shift+F1');
		await card().getByRole('button', { name: 'Remove limits' }).click();
		await soon(() => marked('volume_apparent_m3').count()).toBe(0);
		await page.keyboard.press('Escape');
		await card().waitFor({ state: 'detached' });
		expect(await focusedColumn()).toBe('volume_apparent_m3');
	});
});
