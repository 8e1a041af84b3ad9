import type { Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { type OpenDemo, openDemo } from './openpage.ts';

/** Arranging sheets over the real desk and the demo drive, with the keys a person presses. */

let demo: OpenDemo;
let page: Page;

beforeAll(async () => {
	demo = await openDemo();
	page = demo.page;
	await page.locator('.sheet-grid .ag-row').first().waitFor();
});
afterAll(() => demo?.close());
beforeEach(async () => {
	await page.keyboard.press('Escape');
	await page.keyboard.press('Escape');
});

const soon = <T>(look: () => T) => expect.poll(look, { timeout: 20_000 });
const sheet = (name: string) => page.locator(`.sheet-grid[data-sheet="${name}"]`);
const panel = () => page.getByRole('complementary', { name: /^Arrange / });
const columnBox = (id: string) => panel().locator(`input[data-column="${id}"]`);
async function go(key: number, name: string): Promise<void> {
	await page.keyboard.press(`Alt+${key}`);
	await sheet(name).locator('.ag-row').first().waitFor();
}
/** Opens the panel by its key, at one of its two parts. */
async function arrange(part: 'Columns' | 'Groups and layouts'): Promise<void> {
	if ((await panel().count()) === 0) await page.keyboard.press('F8');
	await panel().getByRole('tab', { name: part }).click();
}
/** Headings of a sheet from left to right, of the sheet's own columns, with whether they stay in sight. */
async function headings(name: string): Promise<{ id: string; left: number; pinned: boolean }[]> {
	const found = await sheet(name)
		.locator('.ag-header-cell[col-id]')
		.evaluateAll((cells) =>
			cells.map((cell) => ({
				id: cell.getAttribute('col-id') ?? '',
				left: cell.getBoundingClientRect().left,
				pinned: cell.closest('.ag-pinned-left-header, .ag-pinned-left-section') !== null,
			})),
		);
	return found.filter(({ id }) => !/^(ag-Grid|row[-_])/.test(id)).sort((a, b) => a.left - b.left);
}
const order = async (name: string) => (await headings(name)).map(({ id }) => id);

describe('columns', () => {
	it('are hidden, moved and frozen by keyboard, and stay so when the sheet is left and after a reload', async () => {
		await go(3, 'rings');
		await arrange('Columns');
		const before = await order('rings');
		expect(before.slice(0, 3)).toEqual(['ring', 'advance_start', 'advance_end']);
		await page.keyboard.press('Tab');
		await panel().getByLabel('Look for a column').focus();
		await page.keyboard.press('ArrowDown');
		await page.keyboard.press('ArrowDown');
		await page.keyboard.press('ArrowDown');
		expect(await columnBox('advance_end').evaluate((e) => e === document.activeElement)).toBe(true);
		await page.keyboard.press('Space');
		await soon(() => order('rings')).not.toContain('advance_end');
		await page.keyboard.press('End');
		await page.keyboard.press('Alt+ArrowUp');
		await page.keyboard.press('Alt+ArrowUp');
		await soon(async () => (await order('rings')).indexOf('spoil_moisture_pct')).toBe(
			before.indexOf('spoil_moisture_pct') - 3,
		);
		expect(
			await columnBox('spoil_moisture_pct').evaluate((e) => e === document.activeElement),
		).toBe(true);
		await columnBox('stroke_start_mm').focus();
		await page.keyboard.press('f');
		await soon(() => panel().getByRole('status').textContent()).toContain('4 frozen');
		// Headings glide to their places.
		await soon(async () => (await order('rings')).slice(0, 3)).toEqual([
			'ring',
			'advance_start',
			'stroke_start_mm',
		]);
		const arranged = await order('rings');
		await go(1, 'ledger');
		await go(3, 'rings');
		await soon(() => order('rings')).toEqual(arranged);
		await page.reload();
		await sheet('ledger').locator('.ag-row').first().waitFor();
		await go(3, 'rings');
		await soon(() => order('rings')).toEqual(arranged);
		await arrange('Columns');
		expect(await panel().getByRole('status').textContent()).toContain('4 frozen');
	});

	it('are moved by dragging in the list, and found by search and by subject', async () => {
		await go(3, 'rings');
		await arrange('Columns');
		const entry = (id: string) =>
			panel().locator('.column-entry', { has: page.locator(`[data-column="${id}"]`) });
		await entry('spoil_wet_t').dragTo(entry('advance_start'));
		await soon(async () => (await order('rings')).indexOf('spoil_wet_t')).toBe(1);
		await panel().getByRole('tab', { name: 'By subject' }).click();
		await panel().getByRole('heading', { name: 'Spoil' }).waitFor();
		await panel().getByLabel('Look for a column').fill('stroke');
		expect(await panel().locator('.column-entry').count()).toBe(2);
		await panel().getByLabel('Look for a column').fill('');
		await panel().getByRole('tab', { name: 'In their order' }).click();
	});

	it('are saved as a layout by name, set back to the default, and brought back', async () => {
		await go(3, 'rings');
		const arranged = await order('rings');
		await arrange('Groups and layouts');
		await panel().getByLabel('Name of a layout').fill('Morning');
		await page.keyboard.press('Enter');
		const layouts = panel().getByLabel('Layout in use');
		await soon(() => layouts.inputValue()).toBe('Morning');
		await layouts.selectOption({ label: 'Default' });
		await soon(() => order('rings')).toContain('advance_end');
		expect((await order('rings'))[1]).toBe('advance_start');
		await layouts.selectOption({ label: 'Morning' });
		await soon(() => order('rings')).toEqual(arranged);
		// As one saved before a column was renamed.
		await page.evaluate(() => {
			const key = 'slurry-ledger.layouts.rings';
			const text = localStorage.getItem(key) ?? '';
			localStorage.setItem(key, text.replaceAll('spoil_wet_t', 'spoil_gone_t'));
		});
		await page.reload();
		await sheet('ledger').locator('.ag-row').first().waitFor();
		await go(3, 'rings');
		await arrange('Groups and layouts');
		await layouts.selectOption({ label: 'Default' });
		await layouts.selectOption({ label: 'Morning' });
		await soon(async () => (await order('rings')).includes('advance_end')).toBe(false);
		expect(await order('rings')).toContain('spoil_wet_t');
		await panel().getByRole('button', { name: 'Delete' }).click();
		await panel().getByRole('button', { name: 'Back to default' }).click();
		await soon(() => order('rings')).toContain('advance_end');
	});
});

describe('sort and filter', () => {
	it('work by keyboard; a filter is said in words with its count, and taken away there', async () => {
		await go(3, 'rings');
		const header = sheet('rings').locator('.ag-header-cell[col-id="stroke_start_mm"]');
		await header.focus();
		await page.keyboard.press('Enter');
		await soon(() => header.getAttribute('aria-sort')).toBe('ascending');
		await page.keyboard.press('Enter');
		await soon(() => header.getAttribute('aria-sort')).toBe('descending');
		await page.keyboard.press('Control+Enter');
		const typed = page.locator('.ag-filter-body input').first();
		await typed.waitFor();
		await typed.focus();
		await page.keyboard.type('360');
		const line = page.getByRole('region', { name: 'Filters' });
		await line.waitFor();
		await soon(() => line.locator('.filter-chip').textContent()).toBe('Stroke at start is 360 mm ');
		await soon(() => line.getByRole('status').textContent()).toMatch(/^Showing \d of 40 rings:$/);
		await page.keyboard.press('Escape');
		await line.getByRole('button', { name: 'Show all' }).focus();
		await page.keyboard.press('Enter');
		await line.waitFor({ state: 'detached' });
		await header.focus();
		await page.keyboard.press('Enter');
		await soon(() => header.getAttribute('aria-sort')).toBe('none');
	});

	it('show only rows of which something is to be said', async () => {
		await go(1, 'ledger');
		const shown = () => sheet('ledger').locator('.ag-row').count();
		const all = await shown();
		await page.getByRole('button', { name: 'Remarks only' }).click();
		await page.getByRole('region', { name: 'Filters' }).getByText('only with remarks').waitFor();
		await soon(shown).toBeLessThan(all);
		await soon(async () => {
			const marks = await sheet('ledger').locator('.ag-row .row-mark').allTextContents();
			return [...new Set(marks)].sort().join();
		}).toMatch(/^(figure missing|note|figure missing,note)$/);
		await page.getByRole('button', { name: 'Remarks only' }).click();
		await soon(shown).toBe(all);
	});
});

describe('groups', () => {
	const lines = (name: string) => sheet(name).locator('.ag-row.group-line');
	const line = (name: string, at: number) => lines(name).nth(at);

	it('hold rings by shift; a line is opened and shut by key, and its figures are the sums', async () => {
		await go(1, 'ledger');
		await arrange('Groups and layouts');
		await panel().getByLabel('Group rows by').selectOption({ label: 'Shift' });
		await line('ledger', 0).waitFor();
		await panel().getByRole('button', { name: 'Shut all' }).click();
		await soon(() => sheet('ledger').locator('.ag-row:not(.group-line)').count()).toBe(0);
		await page.keyboard.press('Escape');
		const label = (await line('ledger', 0).locator('[col-id="row_group"]').textContent()) ?? '';
		expect(label).toMatch(/^\d{4}-\d\d-\d\d 06:00–14:00 · \d+$/);
		const count = Number(label.split(' · ')[1]);
		const told = await line('ledger', 0).locator('[col-id="volume_expected_m3"]').textContent();
		await line('ledger', 0).locator('[col-id="volume_expected_m3"]').click();
		await line('ledger', 0).locator('[col-id="row_group"]').click();
		await soon(() => sheet('ledger').locator('.ag-row:not(.group-line)').count()).toBe(count);
		const volumes = await sheet('ledger')
			.locator('.ag-row:not(.group-line) [col-id="volume_expected_m3"]')
			.allTextContents();
		const sum = volumes.reduce((total, text) => total + Number(text), 0);
		// Each line on screen is rounded to a hundredth.
		expect(Math.abs(Number(told?.replaceAll(/[^\d.]/g, '')) - sum)).toBeLessThan(
			0.005 * (count + 1),
		);
		await page.keyboard.press('Enter');
		await soon(() => sheet('ledger').locator('.ag-row:not(.group-line)').count()).toBe(0);
		await page.keyboard.press('Shift+Enter');
		await soon(() => sheet('ledger').locator('.ag-row:not(.group-line)').count()).toBeGreaterThan(
			count,
		);
	});

	it('hold readings by ring; an edit in a group changes its line, and finding opens a group that is shut', async () => {
		await go(2, 'readings');
		await arrange('Groups and layouts');
		await panel().getByLabel('Group rows by').selectOption({ label: 'Ring' });
		await panel().getByRole('button', { name: 'Shut all' }).click();
		await soon(() => sheet('readings').locator('.ag-row:not(.group-line)').count()).toBe(0);
		await page.keyboard.press('Escape');
		const third = sheet('readings').locator('.ag-row.group-line', { hasText: /Ring 3 ·/ });
		await third.locator('[col-id="row_group"]').click();
		const row = sheet('readings').locator('.ag-row:not(.group-line)').first();
		await row.waitFor();
		const mean = () => third.locator('[col-id="feed_flow_m3_h"]').textContent();
		const before = await mean();
		expect(before).toMatch(/^x̄ \d+$/);
		await row.locator('[col-id="feed_flow_m3_h"]').click();
		await page.keyboard.type('1990');
		await page.keyboard.press('Enter');
		await soon(mean).not.toBe(before);
		await page.keyboard.press('Control+z');
		await soon(mean).toBe(before);
		await third.locator('[col-id="feed_flow_m3_h"]').dblclick();
		await page.keyboard.type('5');
		expect(await page.locator('input.cell-editor').count()).toBe(0);
		await third.locator('[col-id="row_group"]').click();
		await soon(() => sheet('readings').locator('.ag-row:not(.group-line)').count()).toBe(0);
		await page.keyboard.press('Control+f');
		await page.keyboard.type('2026-03-02 06:19:01');
		const found = page.getByRole('region', { name: 'Find in this sheet' });
		await soon(() => found.getByRole('status').textContent()).toBe('1 cell');
		await page.keyboard.press('Enter');
		await soon(() => sheet('readings').locator('.ag-row:not(.group-line)').count()).toBeGreaterThan(
			0,
		);
		await page.keyboard.press('Escape');
		await arrange('Groups and layouts');
		await panel().getByRole('button', { name: 'Back to default' }).click();
		await lines('readings').first().waitFor({ state: 'detached' });
	});

	it('hold the ledger by main stratum, and shifts begin when the person says', async () => {
		await go(1, 'ledger');
		await arrange('Groups and layouts');
		const starts = panel().getByLabel('Shifts begin at');
		await starts.fill('7:00 19:00');
		await page.keyboard.press('Enter');
		await soon(() => starts.inputValue()).toBe('07:00, 19:00');
		// The first ring of the drive begins before seven.
		await soon(() => line('ledger', 0).locator('[col-id="row_group"]').textContent()).toMatch(
			/ 19:00–07:00 · 1$/,
		);
		await starts.fill('25:00');
		await panel()
			.getByText(/One to eight different clock times/)
			.waitFor();
		await panel().getByLabel('Group rows by').selectOption({ label: 'Main stratum' });
		await panel().getByRole('button', { name: 'Shut all' }).click();
		await soon(() => lines('ledger').locator('[col-id="row_group"]').allTextContents()).toContain(
			'fine sand · 16',
		);
		await panel().getByLabel('Group rows by').selectOption({ label: 'nothing' });
		await lines('ledger').first().waitFor({ state: 'detached' });
	});
});

describe('the parts around a sheet', () => {
	it('have room at twice the text size: nothing beside the window, every control in reach', async () => {
		await page.setViewportSize({ width: 960, height: 540 });
		await go(3, 'rings');
		await arrange('Columns');
		await page.keyboard.press('Control+h');
		await page.getByRole('region', { name: 'Find in this sheet' }).waitFor();
		const wide = await page.evaluate(
			() => document.documentElement.scrollWidth - window.innerWidth,
		);
		expect(wide).toBeLessThanOrEqual(0);
		for (const name of ['Find', 'Arrange', 'Remarks only', 'Replace all…']) {
			const box = await page.getByRole('button', { name, exact: true }).first().boundingBox();
			expect(box, name).not.toBeNull();
			expect((box?.x ?? -1) >= 0 && (box?.x ?? 0) + (box?.width ?? 0) <= 960, name).toBe(true);
		}
		await page.setViewportSize({ width: 1920, height: 1080 });
	});

	it('complain of nothing on the way', () => {
		expect(demo.complaints).toEqual([]);
	});
});
