import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import * as workbooks from '@e965/xlsx';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { launchBrowser, openPage, type RunningDesk, startDesk } from './openpage.ts';

/** Sheets of the demo drive out to files and in from files, on the real desk. */

let browser: Browser;
let desk: RunningDesk;
let page: Page;
let complaints: readonly string[];

beforeAll(async () => {
	browser = await launchBrowser();
	desk = await startDesk();
	({ page, complaints } = await openPage(browser, desk.entrance, { width: 1440, height: 900 }));
	page.setDefaultTimeout(20_000);
	await page.locator('[role=grid], [role=treegrid]').first().waitFor();
});
afterAll(async () => {
	await browser?.close();
	await desk?.stop();
});
beforeEach(() => {
	expect(complaints).toEqual([]);
});

/** A loaded machine is slower than the usual second. */
const soon = <T>(look: () => T) => expect.poll(look, { timeout: 20_000 });
const dialog = () => page.getByRole('dialog');
const dialogGone = () => page.locator('dialog').waitFor({ state: 'detached' });
const menu = async (entry: string | RegExp) => {
	await page.getByRole('button', { name: 'File', exact: true }).click();
	await page.getByRole('menuitem', { name: entry }).click();
};
const sheet = async (key: number, heading: string) => {
	await page.keyboard.press(`Alt+${key}`);
	await page.getByRole('heading', { name: heading, exact: true }).waitFor();
};
const file = (name: string, text: string) => writeFileSync(join(desk.documents, name), text);
const choose = async (name: string) => {
	await page.getByRole('option', { name }).dblclick();
	await page.getByRole('tab', { name: /File and fields/ }).waitFor();
};
const fills = (heading: string) => page.getByLabel(`${heading} fills`, { exact: true });
const rowsStep = () => page.getByRole('tab', { name: /Rows/ }).click();
const figures = async () =>
	Object.fromEntries(
		await page
			.locator('.summary > div')
			.evaluateAll((parts) =>
				parts.map((part) => [
					part.querySelector('dt')?.textContent ?? '',
					Number((part.querySelector('dd')?.textContent ?? '').replaceAll('\u202f', '')),
				]),
			),
	);

describe('the sheet on screen', () => {
	it('is written as a workbook with all its rows', async () => {
		await sheet(3, 'Rings');
		await menu('Export rings…');
		await dialog().getByRole('button', { name: 'Choose where…' }).click();
		await page.getByLabel('Name').fill('Ring list.xlsx');
		await page.getByRole('button', { name: 'Write here' }).click();
		await page.getByRole('dialog', { name: 'The sheet is written' }).waitFor();
		expect(await dialog().textContent()).toContain('Ring list.xlsx: 40 rows');
		await dialog().getByRole('button', { name: 'Done' }).click();
		await dialogGone();
		const book = workbooks.read(readFileSync(join(desk.documents, 'Ring list.xlsx')));
		expect(book.Sheets.Rings?.A2).toMatchObject({ t: 'n', v: 1 });
	});

	it('is never written over a file that is there', async () => {
		await menu('Export rings…');
		await dialog().getByRole('button', { name: 'Choose where…' }).click();
		await page.getByLabel('Name').fill('Ring list');
		await page.getByRole('button', { name: 'Write here' }).click();
		await page.getByRole('dialog', { name: 'The sheet was not written' }).waitFor();
		expect(await dialog().textContent()).toContain('"Ring list.xlsx" is already there');
		await dialog().getByRole('button', { name: 'Cancel' }).click();
		await dialogGone();
	});

	it('is written as CSV and Parquet too', async () => {
		await sheet(1, 'Ring ledger');
		for (const [form, ending] of [
			['CSV text', 'csv'],
			['Parquet table', 'parquet'],
		] as const) {
			await menu('Export ledger…');
			await dialog().getByRole('radio', { name: form }).check();
			await dialog().getByRole('button', { name: 'Choose where…' }).click();
			expect(await page.getByLabel('Name').inputValue()).toMatch(new RegExp(`ledger\\.${ending}$`));
			await page.getByRole('button', { name: 'Write here' }).click();
			await page.getByRole('dialog', { name: 'The sheet is written' }).waitFor();
			await dialog().getByRole('button', { name: 'Done' }).click();
			await dialogGone();
		}
		const names = readdirSync(desk.documents);
		expect(names.filter((name) => /ledger\.(csv|parquet)$/u.test(name)).length).toBe(2);
	});

	it('takes no rows where it is worked out', async () => {
		await page.getByRole('button', { name: 'File', exact: true }).click();
		const entry = page.getByRole('menuitem', { name: 'Import into this sheet…' });
		expect(await entry.getAttribute('aria-disabled')).toBe('true');
		await page.keyboard.press('Escape');
	});
});

describe('a file of another make', () => {
	it('is understood by its headings, with values read in the units of the columns', async () => {
		file(
			'shift.csv',
			[
				'Time;Circuit mode;Feed flow [L/s];Feed density [kg/m³];Return flow [L/s];Return density [kg/m³];Sand;Weather',
				'2031-04-07 06:00;by-pass;250,5;1080;250;1081;2,5;rain',
				'2031-04-07 06:30;stop;0;1080;0;1081;;sun',
				'2031-04-07 07:00;stop;many;1080;0;1081;;sun',
				'',
			].join('\r\n'),
		);
		await sheet(2, 'Shift readings');
		await menu('Import into readings…');
		await choose('shift.csv');
		expect(await page.getByLabel('Between fields').inputValue()).toBe(';');
		expect(await page.getByLabel('Decimal mark of texts').inputValue()).toBe(',');
		expect(await fills('Circuit mode').inputValue()).toBe('mode');
		expect(await fills('Weather').inputValue()).toBe('');
		const row = page.locator('.exchange-fields tr', { has: fills('Feed flow [L/s]') });
		// 250.5 L/s are 901.8 m³/h, shown without decimals.
		expect(await row.textContent()).toContain('902');
		await page.getByLabel('Unit of Feed flow [L/s]').selectOption('m3/h');
		await soon(() => row.textContent()).toContain('251');
		await page.getByLabel('Unit of Feed flow [L/s]').selectOption('L/s');
		await soon(() => row.textContent()).toContain('902');
	});

	it('can have any field mapped by hand', async () => {
		await fills('Weather').selectOption('note');
		await soon(() => fills('Weather').inputValue()).toBe('note');
		const row = page.locator('.exchange-fields tr', { has: fills('Weather') });
		await soon(() => row.textContent()).toContain('by hand');
	});

	it('shows every fault, and takes nothing before it is accepted', async () => {
		await rowsStep();
		await soon(figures).toMatchObject({ 'Rows in the file': 3, New: 2, 'With faults': 1 });
		const faults = page.getByRole('region', { name: 'List of faults' }).locator('tbody tr');
		expect(await faults.count()).toBe(1);
		expect(await faults.first().textContent()).toMatch(/shift\.csv4.*feed_flow_m3_h.*many/u);
		const take = dialog().getByRole('button', { name: 'Import 2 rows' });
		expect(await take.isDisabled()).toBe(true);
		await page.getByLabel(/^Leave out the row with/).check();
		await take.click();
		await page.getByRole('dialog', { name: 'The rows are taken' }).waitFor();
		expect(await dialog().textContent()).toContain('2 rows new, 0 rows updated.');
		await dialog().getByRole('button', { name: 'Done' }).click();
		await dialogGone();
	});

	it('is one step back', async () => {
		const count = async () =>
			Number((await page.locator('.sheet-count').first().textContent())?.replace(/\D/gu, ''));
		await soon(count).toBe(1695);
		await page.getByRole('button', { name: 'Undo import of 2 rows from shift.csv' }).click();
		await page.getByRole('button', { name: 'Redo import of 2 rows from shift.csv' }).waitFor();
		await soon(count).toBe(1693);
	});
});

describe('rows that are there already', () => {
	it('are told from new ones, and updated or left as they are', async () => {
		file('spoil.csv', 'Ring,Spoil weighed [t]\n1,99.5\n2,88.25\n');
		await sheet(3, 'Rings');
		await menu('Import into rings…');
		await choose('spoil.csv');
		await rowsStep();
		await soon(figures).toMatchObject({ 'To be updated': 2, New: 0, Skipped: 0 });
		await page.getByLabel('stay as they are').check();
		await soon(figures).toMatchObject({ 'To be updated': 0, Skipped: 2 });
		expect(await dialog().getByRole('button', { name: 'Nothing to import' }).isDisabled()).toBe(
			true,
		);
		await page.getByLabel(/^are updated from the file/).check();
		await dialog().getByRole('button', { name: 'Import 2 rows' }).click();
		await page.getByRole('dialog', { name: 'The rows are taken' }).waitFor();
		await dialog().getByRole('button', { name: 'Done' }).click();
		await dialogGone();
		await menu('Import into rings…');
		await choose('spoil.csv');
		await rowsStep();
		await soon(figures).toMatchObject({ 'There already, the same': 2, 'To be updated': 0 });
		await page.keyboard.press('Escape');
		await dialogGone();
	});

	it('come back from our own workbook as they went out', async () => {
		await menu('Import into rings…');
		await choose('Ring list.xlsx');
		expect(await page.getByLabel('Worksheet').inputValue()).toBe('Rings');
		await rowsStep();
		// The weights that have come since are no fields of the workbook: they stay.
		await soon(figures).toMatchObject({ 'Rows in the file': 40, 'There already, the same': 40 });
		await page.keyboard.press('Escape');
		await dialogGone();
	});
});

describe('a file that cannot be read', () => {
	it('is refused in words', async () => {
		file('picture.xlsx', 'PK\u0003\u0004 but no workbook');
		await menu('Import into rings…');
		await page.getByRole('option', { name: 'picture.xlsx' }).dblclick();
		await page.getByText('The file could not be read').waitFor();
		expect(await dialog().textContent()).toContain('This is not an XLSX workbook.');
		await page.getByRole('button', { name: 'Choose another file…' }).click();
		await page.getByRole('dialog', { name: 'Choose a file' }).waitFor();
		await page.keyboard.press('Escape');
		await dialogGone();
	});
});
