import { execFileSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { type OpenDemo, openDemo, openPage, startDesk } from './openpage.ts';

/** Sheets over the real desk and the demo drive: what is typed reaches the file, the ledger and every page. */

let demo: OpenDemo;
let page: Page;

beforeAll(async () => {
	demo = await openDemo();
	page = demo.page;
	await cellsOf('ledger', 'ring').first().waitFor();
});
afterAll(() => demo?.close());
beforeEach(async () => {
	await page.keyboard.press('Escape');
	await page.keyboard.press('Escape');
});

const soon = <T>(look: () => T) => expect.poll(look, { timeout: 20_000 });
const sheet = (name: string) => page.locator(`.sheet-grid[data-sheet="${name}"]`);
const cellsOf = (name: string, column: string) =>
	sheet(name).locator(`.ag-row [col-id="${column}"]`);
const cell = (name: string, row: number, column: string) =>
	sheet(name).locator(`.ag-row[row-id="${row}"] [col-id="${column}"]`);
const refusal = () => page.getByRole('alertdialog');

async function toTop(name: string): Promise<void> {
	await sheet(name)
		.locator('.ag-grid-viewport')
		.evaluate((element) => {
			element.scrollTop = 0;
		});
}
async function go(key: number, name: string): Promise<void> {
	await page.keyboard.press(`Alt+${key}`);
	await sheet(name).locator('.ag-row').first().waitFor();
}

/** What the headless command says of the same file. */
function headless(): {
	ring: number;
	volume_apparent_m3: number | null;
	dry_solids_t: number | null;
}[] {
	const file = readdirSync(demo.desk.documents).find((name) => name.endsWith('.slurrybook'));
	if (!file) throw new Error('there is no project in the documents folder');
	const text = execFileSync(
		process.execPath,
		['electron/launch/desk.mjs', 'rings', join(demo.desk.documents, file), '--json'],
		{ encoding: 'utf8', maxBuffer: 64 * 1024 * 1024, stdio: ['ignore', 'pipe', 'ignore'] },
	);
	return JSON.parse(text);
}

/** Figures of the ledger's rows on screen, by ring. */
async function ledgerOnScreen(): Promise<Map<number, { volume: string; solids: string }>> {
	const rows = await sheet('ledger')
		.locator('.ag-row')
		.evaluateAll((elements) =>
			elements.map((row) => {
				const text = (id: string) => row.querySelector(`[col-id="${id}"]`)?.textContent ?? null;
				return [text('ring'), text('volume_apparent_m3'), text('dry_solids_t')];
			}),
		);
	const found = new Map<number, { volume: string; solids: string }>();
	for (const [ring, volume, solids] of rows) {
		if (ring && volume !== null && volume !== undefined && solids)
			found.set(Number(ring), { volume, solids });
	}
	return found;
}

const shown = (value: number | null): string => (value === null ? '—' : value.toFixed(2));

describe('the demo drive', () => {
	it('shows a ledger line for each ring, with the very figures the command gives', async () => {
		await go(1, 'ledger');
		const rings = headless();
		expect(rings.length).toBeGreaterThan(10);
		expect(await page.locator('.sheet-count').textContent()).toBe(`${rings.length} rings`);
		const screen = await ledgerOnScreen();
		expect(screen.size).toBeGreaterThan(8);
		for (const [ring, figures] of screen) {
			const said = rings.find((each) => each.ring === ring);
			expect(said, `ring ${ring}`).toBeDefined();
			expect(figures, `ring ${ring}`).toEqual({
				volume: shown(said?.volume_apparent_m3 ?? null),
				solids: shown(said?.dry_solids_t ?? null),
			});
		}
		expect(await page.locator('.title-bar').textContent()).toContain('invented data');
	});

	it('shows nothing but what its own rules allow', () => {
		expect(demo.complaints).toEqual([]);
	});
});

/** Ids of the rendered readings of a ring in advance mode, in the order of the screen. */
async function advanceRowsOf(ring: number): Promise<number[]> {
	return sheet('readings')
		.locator('.ag-row')
		.evaluateAll((elements, wanted) => {
			const found = elements
				.map((row) => ({
					id: Number(row.getAttribute('row-id')),
					at: Number(row.getAttribute('row-index')),
					mode: row.querySelector('[col-id="mode"]')?.textContent,
					ring: row.querySelector('[col-id="ring"]')?.textContent,
				}))
				.filter((row) => row.mode === 'advance' && row.ring === String(wanted))
				.sort((a, b) => a.at - b.at);
			return found.map((row) => row.id);
		}, ring);
}

/** A reading in the advance of ring 2, with its return flow as shown. */
async function readingOfRing(ring: number): Promise<number> {
	await go(1, 'ledger');
	await toTop('ledger');
	await cellsOf('ledger', 'ring').getByText(String(ring), { exact: true }).first().click();
	await go(2, 'readings');
	await cellsOf('readings', 'time').first().waitFor();
	// The grid scrolls to the ring in hand some moments after its first rows are there.
	let middle: number | undefined;
	let before = '';
	await soon(async () => {
		const rows = await advanceRowsOf(ring);
		middle = rows[Math.floor(rows.length / 2)];
		const came = rows.join();
		const still = came === before;
		before = came;
		return rows.length > 0 && still;
	}).toBe(true);
	if (middle === undefined) throw new Error(`no reading of ring ${ring} on screen`);
	return middle;
}

/** Rows of pinned and of other columns lie apart in the page: read one cell by row id. */
const textOf = (name: string, row: number, column: string) => cell(name, row, column).textContent();

describe('an edited reading', () => {
	it('changes its ring in the ledger, is taken back by undo, and is there after a reload', async () => {
		const ledgerFigure = async () => {
			await go(1, 'ledger');
			return (await ledgerOnScreen()).get(2)?.volume;
		};
		const before = await ledgerFigure();
		const row = await readingOfRing(2);
		const was = await textOf('readings', row, 'return_flow_m3_h');
		await cell('readings', row, 'return_flow_m3_h').click();
		await page.keyboard.type('1234');
		await page.keyboard.press('Enter');
		await soon(() => textOf('readings', row, 'return_flow_m3_h')).toBe('1234');
		const edited = await ledgerFigure();
		expect(edited).not.toBe(before);
		expect(edited).toBe(
			shown(headless().find((each) => each.ring === 2)?.volume_apparent_m3 ?? null),
		);

		await page.keyboard.press('Control+z');
		await soon(async () => (await ledgerOnScreen()).get(2)?.volume).toBe(before);
		await page.keyboard.press('Control+y');
		await soon(async () => (await ledgerOnScreen()).get(2)?.volume).toBe(edited);

		await page.reload();
		await cellsOf('ledger', 'ring').first().waitFor();
		await soon(async () => (await ledgerOnScreen()).get(2)?.volume).toBe(edited);

		await page.keyboard.press('Control+z');
		await soon(async () => (await ledgerOnScreen()).get(2)?.volume).toBe(before);
		await go(2, 'readings');
		expect(await readingOfRing(2)).toBe(row);
		expect(await textOf('readings', row, 'return_flow_m3_h')).toBe(was);
	});

	it('is asked about when it can be read in two ways', async () => {
		const row = await readingOfRing(2);
		const was = await textOf('readings', row, 'return_flow_m3_h');
		await cell('readings', row, 'return_flow_m3_h').click();
		await page.keyboard.type('1,180');
		await page.keyboard.press('Enter');
		await refusal().waitFor();
		const choices = await refusal().locator('.refusal-choices button').allTextContents();
		expect(choices.length).toBeGreaterThan(0);
		expect(choices.every((text) => /1\.18|1180/.test(text))).toBe(true);
		expect(await textOf('readings', row, 'return_flow_m3_h')).toBe(was);
		await refusal().getByRole('button', { name: /1180/ }).click();
		await soon(() => textOf('readings', row, 'return_flow_m3_h')).toBe('1180');
		await page.keyboard.press('Control+z');
		await soon(() => textOf('readings', row, 'return_flow_m3_h')).toBe(was);
	});

	it('may bear its unit, and is converted into the column’s', async () => {
		const row = await readingOfRing(2);
		const was = await textOf('readings', row, 'feed_density_t_m3');
		await cell('readings', row, 'feed_density_t_m3').click();
		await page.keyboard.type('1093.5 kg/m³');
		await page.keyboard.press('Enter');
		await soon(() => textOf('readings', row, 'feed_density_t_m3')).toMatch(/^1\.09[34]$/);
		await page.keyboard.press('Control+z');
		await soon(() => textOf('readings', row, 'feed_density_t_m3')).toBe(was);
	});

	it.each([
		['feed_density_t_m3', '0.5', /0\.9/],
		['feed_flow_m3_h', '-20', /0/],
		['return_flow_m3_h', 'twelve', /number/i],
		['feed_density_t_m3', '12 bar', /bar/],
		['time', '31/12/2026 10:00', /year|date/i],
	])('is refused in %s when it is "%s", saying what was expected', async (column, text, said) => {
		const row = await readingOfRing(2);
		const was = await textOf('readings', row, column);
		await cell('readings', row, column).click();
		await page.keyboard.type(text);
		await page.keyboard.press('Enter');
		await refusal().waitFor();
		expect(await refusal().textContent()).toMatch(said);
		expect(await page.locator('input.cell-editor').inputValue()).toBe(text);
		await refusal().getByRole('button', { name: 'Leave it as it was' }).click();
		await refusal().waitFor({ state: 'detached' });
		await soon(() => textOf('readings', row, column)).toBe(was);
	});
});

describe('rows', () => {
	it('are added from the strip and deleted again', async () => {
		await go(2, 'readings');
		const count = page.locator('.sheet-count');
		const before = Number((await count.textContent())?.replaceAll(/\D/g, ''));
		await page.keyboard.press('Control+Enter');
		const strip = page.getByRole('form', { name: 'New reading' });
		await strip.getByLabel('Time').fill('2035-01-01 06:00');
		await strip.getByLabel('Mode').selectOption('advance');
		await strip.getByLabel('Feed flow').fill('1100');
		await strip.getByLabel('Return flow').fill('1160 m3/h');
		await strip.getByLabel('Return density').fill('1.14');
		await page.keyboard.press('Enter');
		await strip.getByText(/Feed density is needed/).waitFor();
		await strip.getByLabel('Feed density').fill('1.08');
		await page.keyboard.press('Enter');
		await soon(async () => Number((await count.textContent())?.replaceAll(/\D/g, ''))).toBe(
			before + 1,
		);
		await page.keyboard.press('Escape');
		await strip.waitFor({ state: 'detached' });
		// Latest first.
		await page.locator('.ag-header-cell[col-id="time"] .heading-words').click();
		await toTop('readings');
		const added = sheet('readings').locator('.ag-row', { hasText: '2035-01-01 06:00' });
		await added.first().waitFor();
		await added.locator('input[type=checkbox]').first().click();
		await page.getByRole('button', { name: 'Delete 1 reading' }).click();
		await soon(async () => Number((await count.textContent())?.replaceAll(/\D/g, ''))).toBe(before);
		expect(await added.count()).toBe(0);
	});
});

describe('more than one page', () => {
	it('sees each other’s edits at once', async () => {
		const row = await readingOfRing(2);
		const was = await textOf('readings', row, 'feed_flow_m3_h');
		const other = await demo.context.newPage();
		await other.goto(new URL('/', demo.desk.entrance).href);
		await other.locator('.sheet-grid[data-sheet="ledger"] .ag-row').first().waitFor();
		await other.keyboard.press('Alt+2');
		const there = other.locator(`.ag-row[row-id="${row}"] [col-id="feed_flow_m3_h"]`);
		const theirs = other.locator('.sheet-grid[data-sheet="readings"] .ag-grid-viewport');
		await theirs.waitFor();
		for (let top = 0; (await there.count()) === 0; top += 400) {
			if (top > 60_000) throw new Error('the row is not in the other page');
			await theirs.evaluate((element, to) => {
				element.scrollTop = to;
			}, top);
			await other.waitForTimeout(80);
		}
		await page.bringToFront();
		await cell('readings', row, 'feed_flow_m3_h').click();
		await page.keyboard.type('1077');
		await page.keyboard.press('Enter');
		await soon(() => there.textContent()).toBe('1077');
		await page.keyboard.press('Control+z');
		await soon(() => there.textContent()).toBe(was);
		await other.close();
	});

	it('is read-only in a second window of another demo.desk, which says who holds the drive', async () => {
		const file = readdirSync(demo.desk.documents).find((name) => name.endsWith('.slurrybook'));
		const second = await startDesk(join(demo.desk.documents, file ?? ''));
		try {
			const { page: reader } = await openPage(demo.browser, second.entrance);
			await reader.locator('.sheet-grid .ag-row').first().waitFor();
			const bar = await reader.locator('.title-bar').textContent();
			expect(bar).toContain('read-only');
			await reader.keyboard.press('Alt+2');
			await reader.locator('.ag-row [col-id="feed_flow_m3_h"]').first().click();
			await reader.keyboard.type('5');
			expect(await reader.locator('input.cell-editor').count()).toBe(0);
			expect(await reader.getByRole('button', { name: 'New reading' }).count()).toBe(0);
		} finally {
			await second.stop();
		}
	});
});
