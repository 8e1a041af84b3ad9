import type { Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { type OpenDemo, openDemo } from './openpage.ts';

/** Finding and replacing over the real desk and the demo drive, with the keys a person presses. */

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
	await page.keyboard.press('Alt+3');
	await sheet('rings').locator('.ag-row').first().waitFor();
	await rowInSight('rings');
});

const soon = <T>(look: () => T) => expect.poll(look, { timeout: 20_000 });
const sheet = (name: string) => page.locator(`.sheet-grid[data-sheet="${name}"]`);
/** Id of a row in sight, once the grid has come to rest: it scrolls to the ring in hand some moments after its rows are there. */
async function rowInSight(name: string): Promise<number> {
	let id = 0;
	await soon(async () => {
		const before = id;
		const middle = await sheet(name)
			.locator('.ag-grid-viewport')
			.evaluate((view) => {
				const { top, height } = view.getBoundingClientRect();
				const rows = [...view.querySelectorAll<HTMLElement>('.ag-row[row-id]')];
				const seen = rows.find((row) => row.getBoundingClientRect().top > top + height / 2);
				return Number(seen?.getAttribute('row-id') ?? 0);
			});
		id = middle;
		await page.waitForTimeout(400);
		return id > 0 && id === before;
	}).toBe(true);
	return id;
}
const bar = () => page.getByRole('region', { name: 'Find in this sheet' });
const said = () => bar().getByRole('status').textContent();
const preview = () => page.getByRole('dialog', { name: 'Replace' });
const cellText = (row: number, column: string) =>
	sheet('rings').locator(`.ag-row[row-id="${row}"] [col-id="${column}"]`).textContent();
/** Row and column the grid has in hand, whoever has the keyboard. */
const inHand = () =>
	page.evaluate(() => {
		const cell = document.querySelector('.sheet-grid .ag-cell-focus');
		return {
			row: Number(cell?.closest('.ag-row')?.getAttribute('row-id')),
			column: cell?.getAttribute('col-id'),
			text: cell?.textContent,
		};
	});
async function type(text: string): Promise<void> {
	await page.keyboard.press('Control+a');
	await page.keyboard.type(text);
}
/** Opens the bar with its options as they are of themselves. */
async function find(text: string, key: 'f' | 'h' = 'f'): Promise<void> {
	await page.keyboard.press(`Control+${key}`);
	await bar().waitFor();
	await type(text);
}

describe('finding', () => {
	it('goes from cell to cell by Enter and Shift+Enter, counts them, and leaves the keyboard in the field', async () => {
		await find('2026-03-03 1');
		await soon(said).toMatch(/^\d+ cells$/);
		const count = Number.parseInt((await said()) ?? '', 10);
		expect(count).toBeGreaterThan(6);
		await page.keyboard.press('Enter');
		await soon(said).toBe(`1 of ${count}`);
		const first = await inHand();
		expect(first.text).toContain('2026-03-03 1');
		await page.keyboard.press('Enter');
		await soon(said).toBe(`2 of ${count}`);
		expect((await inHand()).text).toContain('2026-03-03 1');
		await page.keyboard.press('Shift+Enter');
		await soon(said).toBe(`1 of ${count}`);
		expect(await inHand()).toEqual(first);
		await page.keyboard.press('Shift+Enter');
		await soon(said).toBe(`${count} of ${count}`);
		expect(
			await bar()
				.getByLabel('Find', { exact: true })
				.evaluate((e) => e === document.activeElement),
		).toBe(true);
		const last = await inHand();
		await page.keyboard.press('Escape');
		await bar().waitFor({ state: 'detached' });
		expect(await inHand()).toEqual(last);
		expect(await page.evaluate(() => document.activeElement?.getAttribute('col-id'))).toBe(
			last.column,
		);
	});

	it('brings a cell into sight that is far away, on the readings as well', async () => {
		await page.keyboard.press('Alt+2');
		await sheet('readings').locator('.ag-row').first().waitFor();
		const from = await rowInSight('readings');
		await sheet('readings').locator(`.ag-row[row-id="${from}"] [col-id="mode"]`).click();
		await find('2026-03-05 0');
		await soon(said).toMatch(/cells/);
		await page.keyboard.press('Shift+Enter');
		await soon(async () => (await inHand()).text ?? '').toContain('2026-03-05 0');
		expect(Math.abs((await inHand()).row - from)).toBeGreaterThan(100);
		expect(await sheet('readings').locator('.ag-cell-focus').isVisible()).toBe(true);
	});

	it('keeps to whole cells, to one column and to case where it is told to', async () => {
		const row = await rowInSight('rings');
		await sheet('rings').locator(`.ag-row[row-id="${row}"] [col-id="ring"]`).click();
		await find('3');
		await soon(said).toMatch(/cell|of/);
		const anywhere = Number((await said())?.replaceAll(/\D|of.*$/g, '') ?? 0);
		await bar().getByLabel('Only in Ring').check();
		await bar().getByLabel('Whole cell').check();
		await soon(said).toMatch(/^1 (cell|of 1)/);
		expect(anywhere).toBeGreaterThan(1);
		await bar().getByLabel('Only in Ring').uncheck();
		await bar().getByLabel('Whole cell').uncheck();
		await page.keyboard.press('Escape');
		await page.keyboard.press('Alt+1');
		await sheet('ledger').locator('.ag-row').first().waitFor();
		await find('FINE SAND');
		await soon(said).toMatch(/^\d+ cells$/);
		await bar().getByLabel('Match case').check();
		await soon(said).toBe('not found');
		expect(await bar().getByRole('button', { name: 'Replace' }).count()).toBe(0);
	});
});

describe('replacing', () => {
	it('shows old and new, changes entries in one step by name, and takes it back in one', async () => {
		const row = await rowInSight('rings');
		const before = await cellText(row, 'stroke_start_mm');
		await sheet('rings').locator(`.ag-row[row-id="${row}"] [col-id="stroke_start_mm"]`).click();
		await find('3', 'h');
		await bar().getByLabel('Only in Stroke at start').check();
		await bar().getByLabel('Replace with').fill('4');
		await soon(said).toMatch(/^\d+ cells$/);
		const count = Number.parseInt((await said()) ?? '', 10);
		await bar().getByRole('button', { name: 'Replace all…' }).click();
		await preview().waitFor();
		const line = preview().locator('tbody tr').first();
		const [, heading, is, becomes] = await line.locator('td').allTextContents();
		expect(heading).toBe('Stroke at start');
		expect(becomes).toBe(is?.replaceAll('3', '4'));
		await preview()
			.getByRole('button', { name: `Replace in ${count} cells` })
			.click();
		await preview().waitFor({ state: 'detached' });
		await soon(() => cellText(row, 'stroke_start_mm')).toBe(before?.replaceAll('3', '4'));
		await soon(() => page.locator('.status-strip-last').textContent()).toContain(
			`replace in ${count} cells`,
		);
		await page.keyboard.press('Escape');
		await page.keyboard.press('Control+z');
		await soon(() => cellText(row, 'stroke_start_mm')).toBe(before);
	});

	it('changes nothing when the desk would not take one of them, and shows each refusal', async () => {
		const row = await rowInSight('rings');
		const before = await cellText(row, 'stroke_end_mm');
		await sheet('rings').locator(`.ag-row[row-id="${row}"] [col-id="stroke_end_mm"]`).click();
		await find('18', 'h');
		await bar().getByLabel('Only in Stroke at end').check();
		await bar().getByLabel('Replace with').fill('x');
		await soon(said).toMatch(/^\d+ cells$/);
		const count = Number.parseInt((await said()) ?? '', 10);
		await bar().getByRole('button', { name: 'Replace all…' }).click();
		await preview()
			.getByRole('button', { name: `Replace in ${count} cells` })
			.click();
		await preview().getByText('Nothing was replaced').waitFor();
		expect(await preview().locator('.replace-refused').count()).toBe(count);
		await preview().getByRole('button', { name: 'Cancel' }).click();
		expect(await cellText(row, 'stroke_end_mm')).toBe(before);
		await page.keyboard.press('Escape');
	});

	it('acts on all digits of a number, never on the rounded ones, and leaves computed figures alone', async () => {
		await page.keyboard.press('Alt+2');
		await sheet('readings').locator('.ag-row').first().waitFor();
		const row = await rowInSight('readings');
		const flow = () =>
			sheet('readings').locator(`.ag-row[row-id="${row}"] [col-id="feed_density_t_m3"]`);
		await flow().click();
		await page.keyboard.type('1.07149');
		await page.keyboard.press('Enter');
		await soon(() => flow().textContent()).toBe('1.071');
		await flow().click();
		await find('1.071', 'h');
		await bar().getByLabel('Only in Feed density').check();
		await bar().getByLabel('Whole cell').check();
		await bar().getByLabel('Replace with').fill('1.08');
		await soon(said).toMatch(/cell|of/);
		await bar().getByRole('button', { name: 'Replace all…' }).click();
		await preview()
			.getByText(/whose value does not have the digits shown/)
			.waitFor();
		await preview().getByRole('button', { name: 'Cancel' }).click();
		await bar().getByLabel('Whole cell').uncheck();
		await soon(said).toMatch(/cell|of/);
		await bar().getByRole('button', { name: 'Replace all…' }).click();
		const line = preview().locator('tbody tr', { hasText: '1.07149' });
		expect(await line.locator('td').allTextContents()).toEqual([
			expect.any(String),
			'Feed density',
			'1.07149',
			'1.0849',
		]);
		await preview().getByRole('button', { name: 'Cancel' }).click();
		await bar().getByLabel('Only in Feed density').uncheck();
		await page.keyboard.press('Escape');
		await page.keyboard.press('Control+z');
	});

	it('complains of nothing on the way', () => {
		expect(demo.complaints).toEqual([]);
	});
});
