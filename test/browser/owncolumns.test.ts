import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { columnsOf } from '../../calc/sheet/catalogue.ts';
import { type OpenDemo, openDemo, openPage, startDesk } from './openpage.ts';

/** What a heading says of itself and columns of one's own, over the real desk and the demo drive. */

let demo: OpenDemo;
let page: Page;

beforeAll(async () => {
	demo = await openDemo();
	page = demo.page;
	page.setDefaultTimeout(20_000);
	await cell('ledger', 1, 'ring').waitFor();
});
afterAll(() => demo?.close());
beforeEach(() => {
	expect(demo.complaints).toEqual([]);
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

describe('own columns', () => {
	const dialog = () => page.getByRole('dialog', { name: 'Own columns of the ring ledger' });
	const field = (name: string) => dialog().getByRole('textbox', { name, exact: true });
	const formula = () => field('Formula');
	const offers = () => dialog().getByRole('listbox', { name: 'Offers' });
	const active = () => offers().locator('[aria-selected="true"] .choice-main').textContent();
	const entry = (id: string) => dialog().locator(`.own-entry[data-column="${id}"]`);
	const preview = () => dialog().locator('.own-preview tbody tr');
	const figure = async (row: number, column: string) =>
		Number(await cell('ledger', row, column).textContent());
	const idle = () =>
		soon(() => dialog().locator('.own-preview').getAttribute('data-current')).toBe('true');

	it('open by Alt+= and take a first column by the keyboard alone', async () => {
		await go(1, 'ledger');
		await cell('ledger', 1, 'ring').click();
		await page.keyboard.press('Alt+=');
		await dialog().waitFor();
		await soon(() => page.evaluate(() => document.activeElement?.getAttribute('data-field'))).toBe(
			'heading',
		);
		await page.keyboard.type('Volume loss');
		expect(await field('Name in formulas').inputValue()).toBe('volume_loss');
		await page.keyboard.press('Tab');
		await page.keyboard.press('Tab');
		await page.keyboard.type('volume');
		await dialog().getByRole('listbox', { name: 'Units' }).waitFor();
		await page.keyboard.press('Enter');
		expect(await dialog().getByRole('combobox', { name: 'Unit' }).inputValue()).toBe('m³');
		await page.keyboard.press('Tab');
		await page.keyboard.press('Tab');
	});

	it('offer columns while a formula is typed, taken by Enter and by Tab', async () => {
		await page.keyboard.type('volume_');
		await offers().waitFor();
		const first = await active();
		await page.keyboard.press('ArrowDown');
		expect(await active()).not.toBe(first);
		await page.keyboard.press('ArrowUp');
		expect(await active()).toBe(first);
		await page.keyboard.press('Escape');
		await offers().waitFor({ state: 'detached' });
		await dialog().waitFor();
		await page.keyboard.type('exp');
		await soon(active).toBe('volume_expected_m3');
		await page.keyboard.press('Enter');
		expect(await formula().inputValue()).toBe('volume_expected_m3');
		await page.keyboard.type(' - volume_app');
		await soon(active).toBe('volume_apparent_m3');
		await page.keyboard.press('Tab');
		expect(await formula().inputValue()).toBe('volume_expected_m3 - volume_apparent_m3');
		expect(await formula().evaluate((each) => each === document.activeElement)).toBe(true);
	});

	it('show what the last rows come to before anything is stored', async () => {
		await idle();
		await soon(() => preview().count()).toBeGreaterThan(3);
		expect(await dialog().locator('.expression-result').textContent()).toContain('a volume');
		const uses = await dialog().locator('.depends-side').first().textContent();
		expect(uses).toContain('Expected volume');
		expect(uses).toContain('Apparent volume');
		expect(await page.locator('.ag-header-cell[col-id="volume_loss"]').count()).toBe(0);
	});

	it('stand in the grid with the very difference of the two figures once stored', async () => {
		await page.keyboard.press('Control+Enter');
		await entry('volume_loss').waitFor();
		await page.keyboard.press('Escape');
		await dialog().waitFor({ state: 'detached' });
		await cell('ledger', 1, 'volume_loss').waitFor();
		for (const row of [1, 2, 3, 4]) {
			const difference =
				(await figure(row, 'volume_expected_m3')) - (await figure(row, 'volume_apparent_m3'));
			// Each of the three is rounded to two decimals.
			expect(
				Math.abs((await figure(row, 'volume_loss')) - difference),
				`row ${row}`,
			).toBeLessThanOrEqual(0.0151);
		}
		await page.getByRole('button', { name: /^Undo adding of own column/ }).waitFor();
	});

	it('say how a cell was computed, and what the column is', async () => {
		await cell('ledger', 2, 'volume_loss').click();
		const expected = await cell('ledger', 2, 'volume_expected_m3').textContent();
		await page.locator('.cell-line').getByRole('button', { name: 'How?' }).click();
		await page.locator('.how .how-result').waitFor();
		expect(await page.locator('.how').textContent()).toContain(expected?.trim());
		await cell('ledger', 2, 'volume_loss').click();
		await page.keyboard.press('Shift+F1');
		await soon(() => page.locator('.column-help').textContent()).toContain(
			'volume_expected_m3 - volume_apparent_m3',
		);
		await page.locator('.column-help').getByRole('button', { name: 'Change the formula' }).click();
		await dialog().waitFor();
		expect(await entry('volume_loss').getAttribute('aria-selected')).toBe('true');
	});

	it('name both sides of a sum of unlike units, and mark the place', async () => {
		await formula().focus();
		await page.keyboard.press('End');
		await page.keyboard.type(' + dry_solids_t');
		await page.keyboard.press('Escape');
		await idle();
		const fault = dialog().locator('.own-expression .field-fault');
		await fault.waitFor();
		const words = (await fault.textContent()) ?? '';
		expect(words).toContain('volume');
		expect(words).toContain('mass');
		expect(await formula().getAttribute('aria-invalid')).toBe('true');
		const text = await formula().inputValue();
		await fault.getByRole('button').click();
		const [from, to] = await formula().evaluate((each) => {
			const { selectionStart, selectionEnd } = each as HTMLTextAreaElement;
			return [selectionStart, selectionEnd];
		});
		const marked = await dialog().locator('.expression-mirror mark').textContent();
		expect(text.slice(from, to)).toBe(marked);
		expect(marked).toBe('+');
		await page.keyboard.press('Control+Enter');
		await page.waitForTimeout(300);
		expect(await page.locator('.own-entry').first().textContent()).not.toContain('dry_solids_t');
		await dialog().getByRole('button', { name: 'Take changes back' }).click();
		expect(await formula().inputValue()).toBe('volume_expected_m3 - volume_apparent_m3');
	});

	it('offer the units a result can be shown in', async () => {
		await dialog().getByRole('button', { name: 'New column' }).click();
		await field('Heading').fill('Mean loss of three');
		await dialog().getByRole('combobox', { name: 'Unit' }).fill('t');
		await page.keyboard.press('Escape');
		await formula().fill('mean(volume_loss, 3)');
		await idle();
		await dialog().locator('.own-units').getByRole('button', { name: 'L', exact: true }).click();
		await soon(() => preview().count()).toBeGreaterThan(3);
		await formula().focus();
		await page.keyboard.press('Control+Enter');
		await entry('mean_loss_of_three').waitFor();
	});

	it('lead along what uses what by click', async () => {
		await entry('mean_loss_of_three').click();
		await dialog().locator('.depends-column[data-own]').filter({ hasText: 'Volume loss' }).click();
		await soon(() => entry('volume_loss').getAttribute('aria-selected')).toBe('true');
		const usedBy = dialog().locator('.depends-side').last();
		await usedBy.locator('.depends-column').filter({ hasText: 'Mean loss of three' }).click();
		await soon(() => entry('mean_loss_of_three').getAttribute('aria-selected')).toBe('true');
		// The keyboard stands in the list now.
		await page.keyboard.press('Home');
		await soon(() => entry('volume_loss').getAttribute('aria-selected')).toBe('true');
	});

	it('refuse a circle and a name that is taken', async () => {
		await formula().fill('mean_loss_of_three * 2');
		await idle();
		const fault = dialog().locator('.own-expression .field-fault');
		await fault.waitFor();
		expect(await fault.textContent()).toContain('mean_loss_of_three');
		await dialog().getByRole('button', { name: 'Take changes back' }).click();
		await field('Name in formulas').fill('ring');
		await idle();
		await dialog().locator('.own-names .field-fault').first().waitFor();
		await dialog().getByRole('button', { name: 'Take changes back' }).click();
	});

	it('ask before one goes that others use, and name them', async () => {
		await dialog().getByRole('button', { name: 'Delete column' }).click();
		await dialog().getByText('Mean loss of three is worked out from it').waitFor();
		await dialog().getByRole('button', { name: 'Keep it' }).click();
		await entry('mean_loss_of_three').click();
		await soon(() => field('Name in formulas').inputValue()).toBe('mean_loss_of_three');
		await dialog().getByRole('button', { name: 'Delete column' }).click();
		await entry('mean_loss_of_three').waitFor({ state: 'detached' });
	});

	it('keep what is not stored until it is let go', async () => {
		await dialog().getByRole('button', { name: 'New column' }).click();
		await field('Heading').fill('Half');
		await page.keyboard.press('Escape');
		await dialog().getByText('Not stored yet').waitFor();
		await dialog().getByRole('button', { name: 'Close without storing' }).click();
		await dialog().waitFor({ state: 'detached' });
		await soon(() => page.locator('.ag-header-cell[col-id="volume_loss"]').count()).toBe(1);
	});

	it('can only be looked at in a project another desk holds', async () => {
		const file = readdirSync(demo.desk.documents).find((name) => name.endsWith('.slurrybook'));
		const second = await startDesk(join(demo.desk.documents, file ?? ''));
		try {
			const other = await openPage(demo.browser, second.entrance, { width: 1440, height: 900 });
			await other.page.locator('.ag-row').first().waitFor();
			await other.page.keyboard.press('Alt+=');
			const shown = other.page.getByRole('dialog', { name: /^Own columns/ });
			await shown.getByText('read-only').waitFor();
			await soon(() => shown.locator('.own-preview tbody tr').count()).toBeGreaterThan(3);
			expect(await shown.locator('textarea').getAttribute('readonly')).not.toBeNull();
			for (const name of ['New column', 'Delete column', 'Save changes']) {
				expect(await shown.getByRole('button', { name }).count(), name).toBe(0);
			}
			await other.context.close();
		} finally {
			await second.stop();
		}
	});
});
