import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import type { SheetRow } from '../../calc/sheet/column.ts';
import type { SheetDesk } from '../renderer/desk/sheetdesk.ts';
import { serveHarness } from '../renderer/harness/serve.ts';
import { launchBrowser } from './openpage.ts';

/** Sheets and shell in a real browser over a desk in memory: every state, and what each key does. */

let browser: Browser;
let harness: Awaited<ReturnType<typeof serveHarness>>;
let page: Page;
const troubles: string[] = [];

beforeAll(async () => {
	harness = await serveHarness();
	browser = await launchBrowser();
	page = await browser.newPage({ locale: 'en-GB', viewport: { width: 1280, height: 720 } });
	page.on('pageerror', (error) => troubles.push(error.message));
	page.on('console', (message) => {
		if (message.type() !== 'error' && message.type() !== 'warning') return;
		if (!message.text().includes('404')) troubles.push(message.text());
	});
});
afterAll(async () => {
	await browser?.close();
	await harness?.close();
});
afterEach(async () => {
	// How a test has sorted a sheet is the person's to keep, not the next test's to find.
	await page.evaluate(() => localStorage.clear());
	expect(troubles.splice(0), 'errors on the page').toEqual([]);
});

async function show(query = ''): Promise<void> {
	await page.goto(`${harness.url.replace('harness/index.html', 'shell/index.html')}?${query}`);
	await page.locator('.title-bar').waitFor();
}
async function showReadings(query = ''): Promise<void> {
	await show(query);
	await page.getByRole('gridcell', { name: 'Fine sand 100 %' }).first().waitFor();
	await page.keyboard.press('Alt+2');
	await cell(1, 'time').waitFor();
}

const cell = (row: number, column: string) =>
	page.locator(`.ag-row[row-id="${row}"] [col-id="${column}"]`);
/** A slow machine may take its time. */
const soon = <T>(look: () => T) => expect.poll(look, { timeout: 15_000 });
const refusal = () => page.getByRole('alertdialog');
const editor = () => page.locator('input.cell-editor');
const focused = () =>
	page.evaluate(() => {
		const at = document.activeElement?.closest('.ag-cell');
		return at
			? `${at.closest('.ag-row')?.getAttribute('row-id')} ${at.getAttribute('col-id')}`
			: null;
	});
/** Runs against the desk in memory. */
const desk = <T>(run: (desk: SheetDesk) => T): Promise<T> =>
	page.evaluate(`(${run.toString()})(window.made.desk)`) as Promise<T>;
/** Columns out of sight are not in the page: scroll until this one is. */
async function scrollTo(column: string): Promise<void> {
	const viewport = page.locator('.sheet-grid .ag-grid-viewport');
	for (let left = 0; (await cell(2, column).count()) === 0; left += 300) {
		if (left > 5000) throw new Error(`no column ${column}`);
		await viewport.evaluate((element, to) => {
			element.scrollLeft = to;
		}, left);
		await page.waitForTimeout(60);
	}
}
const stored = (row: number, column: string) =>
	page.evaluate(
		([id, key]) =>
			(window as unknown as { made: { desk: SheetDesk } }).made.desk.sheets.readings.get(
				id as number,
			)?.cells[key as string] ?? null,
		[row, column],
	);

describe('typing in a sheet', () => {
	it('replaces what stood there, takes it by Enter and goes one cell down', async () => {
		await showReadings();
		await cell(2, 'feed_flow_m3_h').click();
		await page.keyboard.type('950');
		expect(await editor().inputValue()).toBe('950');
		await page.keyboard.press('Enter');
		await soon(() => cell(2, 'feed_flow_m3_h').textContent()).toBe('950');
		expect(await stored(2, 'feed_flow_m3_h')).toBe(950);
		expect(await focused()).toBe('3 feed_flow_m3_h');
		expect(await page.locator('.status-strip').textContent()).toContain(
			'last: edit of feed_flow_m3_h',
		);
	});

	it('goes on to the right by Tab', async () => {
		await showReadings();
		await cell(2, 'feed_flow_m3_h').click();
		await page.keyboard.type('951');
		await page.keyboard.press('Tab');
		await soon(() => cell(2, 'feed_flow_m3_h').textContent()).toBe('951');
		expect(await focused()).toBe('2 feed_density_t_m3');
	});

	it('opens with every digit by F2, and leaves the cell alone by Escape', async () => {
		await showReadings();
		await cell(2, 'return_density_t_m3').click();
		expect(await cell(2, 'return_density_t_m3').textContent()).toBe('1.221');
		await page.keyboard.press('F2');
		expect(await editor().inputValue()).toBe('1.2214');
		await page.keyboard.press('Escape');
		await soon(() => editor().count()).toBe(0);
		expect(await desk((d) => d.asked.filter((a) => a.verb === 'sheet.edit').length)).toBe(0);
	});

	it('asks nothing of the desk when nothing was changed', async () => {
		await showReadings();
		await cell(2, 'return_density_t_m3').dblclick();
		await page.keyboard.press('Enter');
		await soon(() => editor().count()).toBe(0);
		expect(await desk((d) => d.asked.filter((a) => a.verb === 'sheet.edit').length)).toBe(0);
	});

	it('chooses a mode by its first letter', async () => {
		await showReadings();
		await cell(2, 'mode').click();
		await page.keyboard.press('b');
		const list = page.getByRole('listbox', { name: 'Mode' });
		await list.waitFor();
		expect(await list.locator('[aria-selected=true]').textContent()).toBe('bypass');
		await page.keyboard.press('ArrowDown');
		await page.keyboard.press('Enter');
		await soon(() => cell(2, 'mode').textContent()).toBe('back flush');
		expect(await stored(2, 'mode')).toBe('back_flush');
	});

	it('takes a bare clock time on the day that stood there', async () => {
		await showReadings();
		await cell(2, 'time').click();
		await page.keyboard.type('19:30');
		await page.keyboard.press('Enter');
		await soon(() =>
			desk((d) => {
				const last = d.asked.findLast((a) => a.verb === 'sheet.edit');
				return (last?.ask as { edits: { text: string }[] } | undefined)?.edits[0]?.text;
			}),
		).toBe('2030-03-17 19:30');
	});

	it('empties an optional cell by Delete', async () => {
		await showReadings();
		await scrollTo('sand_pct');
		await cell(2, 'sand_pct').click();
		await page.keyboard.type('2.5');
		await page.keyboard.press('Enter');
		await soon(() => cell(2, 'sand_pct').textContent()).toBe('2.50');
		await cell(2, 'sand_pct').click();
		await page.keyboard.press('Delete');
		await soon(() =>
			desk((d) => {
				const last = d.asked.findLast((a) => a.verb === 'sheet.edit');
				return (last?.ask as { edits: unknown[] } | undefined)?.edits;
			}),
		).toEqual([{ row: 2, column: 'sand_pct', text: '' }]);
	});

	it('cannot be done in computed cells', async () => {
		await showReadings();
		await scrollTo('flow_difference_m3_h');
		await cell(2, 'flow_difference_m3_h').click();
		await page.keyboard.type('5');
		await page.keyboard.press('F2');
		expect(await editor().count()).toBe(0);
	});
});

describe('what the desk does not take', () => {
	it('says why at the cell, keeps the entry, and takes it once corrected', async () => {
		await showReadings();
		await cell(2, 'feed_flow_m3_h').click();
		await page.keyboard.type('abc');
		await page.keyboard.press('Enter');
		await refusal().waitFor();
		expect(await refusal().textContent()).toContain('This is not a number.');
		expect(await editor().inputValue()).toBe('abc');
		expect(await editor().getAttribute('aria-invalid')).toBe('true');
		const at = await cell(2, 'feed_flow_m3_h').boundingBox();
		const notice = await refusal().boundingBox();
		expect(Math.abs((at?.y ?? 0) + (at?.height ?? 0) - (notice?.y ?? 0))).toBeLessThan(12);
		await page.keyboard.type('960');
		await page.keyboard.press('Enter');
		await soon(() => cell(2, 'feed_flow_m3_h').textContent()).toBe('960');
		expect(await refusal().count()).toBe(0);
	});

	it('leaves the old value when the person lets the entry go', async () => {
		await showReadings();
		await cell(2, 'feed_flow_m3_h').click();
		await page.keyboard.type('abc');
		await page.keyboard.press('Enter');
		await refusal().getByRole('button', { name: 'Leave it as it was' }).click();
		await soon(() => refusal().count()).toBe(0);
		await soon(() => editor().count()).toBe(0);
		expect(await cell(2, 'feed_flow_m3_h').textContent()).toBe('1001');
		expect(await focused()).toBe('2 feed_flow_m3_h');
	});

	it('asks which number an ambiguous entry means, and takes the one chosen', async () => {
		await showReadings();
		await cell(2, 'feed_density_t_m3').click();
		await page.keyboard.type('1,180');
		await page.keyboard.press('Enter');
		await refusal().waitFor();
		const choices = refusal().locator('.refusal-choices button');
		expect(await choices.allTextContents()).toEqual(['1.180', '1180']);
		expect(await cell(2, 'feed_density_t_m3').textContent()).toBe('1.120');
		// Typed on without looking: no answer is given by it.
		await page.keyboard.type('1.19');
		await page.keyboard.press('Enter');
		expect(await refusal().count()).toBe(1);
		expect(await cell(2, 'feed_density_t_m3').textContent()).toBe('1.120');
		await page.keyboard.press('ArrowDown');
		await page.keyboard.press('Enter');
		await soon(() => cell(2, 'feed_density_t_m3').textContent()).toBe('1.180');
		expect(await refusal().count()).toBe(0);
	});

	it('gives an ambiguous entry back for correction by Escape', async () => {
		await showReadings();
		await cell(2, 'feed_density_t_m3').click();
		await page.keyboard.type('1,180');
		await page.keyboard.press('Enter');
		await refusal().waitFor();
		await page.keyboard.press('Escape');
		await soon(() => editor().inputValue()).toBe('1,180');
		await page.keyboard.type('1.19');
		await page.keyboard.press('Enter');
		await soon(() => cell(2, 'feed_density_t_m3').textContent()).toBe('1.190');
	});

	it('asks no more once the entry given back is let go', async () => {
		await showReadings();
		await cell(2, 'feed_density_t_m3').click();
		await page.keyboard.type('1,180');
		await page.keyboard.press('Enter');
		await refusal().waitFor();
		await page.keyboard.press('Escape');
		await soon(() => editor().inputValue()).toBe('1,180');
		await page.keyboard.press('Escape');
		await soon(() => refusal().count()).toBe(0);
		expect(await cell(2, 'feed_density_t_m3').textContent()).toBe('1.120');
	});
});

describe('rows', () => {
	it('adds a reading from the strip: time and mode carried on, refusal at its field', async () => {
		await showReadings();
		await page.keyboard.press('Control+Enter');
		const strip = page.getByRole('form', { name: 'New reading' });
		await strip.waitFor();
		expect(await strip.getByLabel('Time').inputValue()).toBe('2030-03-21 12:09:05');
		expect(await strip.getByLabel('Mode').inputValue()).toBe('advance');
		expect(
			await page.evaluate(() => (document.activeElement as HTMLElement | null)?.dataset.field),
		).toBe('feed_flow_m3_h');
		await page.keyboard.press('Enter');
		await strip.getByText('Feed flow is missing.').waitFor();
		await strip.getByLabel('Feed flow').fill('1005');
		await page.keyboard.press('Enter');
		await soon(() => page.locator('.sheet-count').textContent()).toBe('721 readings');
		await soon(() => strip.getByLabel('Feed flow').inputValue()).toBe('');
	});

	it('deletes the ticked rows by Delete, and brings them back by Ctrl+Z', async () => {
		await showReadings();
		for (const row of [2, 4]) await page.locator(`.ag-row[row-id="${row}"] input`).first().click();
		expect(await page.getByRole('button', { name: 'Delete 2 readings' }).isVisible()).toBe(true);
		// On a row without a tick the key is about its cell, not about rows perhaps out of sight.
		await cell(1, 'feed_flow_m3_h').click();
		await page.keyboard.press('Delete');
		await refusal().getByRole('button', { name: 'Leave it as it was' }).click();
		expect(await page.locator('.sheet-count').textContent()).toBe('720 readings');
		await cell(4, 'feed_flow_m3_h').click();
		await page.keyboard.press('Delete');
		await soon(() => cell(2, 'time').count()).toBe(0);
		expect(await cell(4, 'time').count()).toBe(0);
		expect(await cell(3, 'time').count()).toBe(1);
		expect(await page.locator('.sheet-count').textContent()).toBe('718 readings');
		await page.keyboard.press('Control+z');
		await soon(() => cell(2, 'time').count()).toBe(1);
		expect(await page.locator('.sheet-count').textContent()).toBe('720 readings');
	});

	it('are sorted by a click on the heading and filtered by its button', async () => {
		await showReadings();
		const heading = page.locator('.ag-header-cell[col-id="feed_flow_m3_h"]');
		await heading.locator('.heading-words').click();
		await heading.locator('.heading-words').click();
		const first = page.locator('.ag-row[row-index="0"] [col-id="feed_flow_m3_h"]');
		await soon(() => first.textContent()).toBe('1011');
		await heading.hover();
		await heading.locator('.ag-header-cell-filter-button').click();
		await page
			.locator('.ag-filter input[type=number], .ag-filter input[type=text]')
			.first()
			.fill('1003');
		await soon(() => first.textContent()).toBe('1003');
	});

	it('shows the last rings of a long drive and says how many of how many', async () => {
		await show('rings=400&each=60');
		await page.getByRole('gridcell', { name: 'Fine sand 100 %' }).first().waitFor();
		await page.keyboard.press('Alt+2');
		const count = page.locator('.sheet-count');
		await count.waitFor();
		await soon(async () => (await count.textContent())?.replaceAll('\u202f', ' ')).toBe(
			'showing 19 980 of 24 000 readings',
		);
		await page.getByLabel('First ring shown').fill('1');
		await page.getByLabel('Last ring shown').fill('2');
		await page.getByRole('button', { name: 'Show', exact: true }).click();
		await soon(async () => (await count.textContent())?.replaceAll('\u202f', ' ')).toBe(
			'showing 120 of 24 000 readings',
		);
		await cell(1, 'time').waitFor();
	});
});

describe('undo', () => {
	it('takes back the desk’s step, but not while a cell is being typed in', async () => {
		await showReadings();
		await cell(2, 'feed_flow_m3_h').click();
		await page.keyboard.type('970');
		await page.keyboard.press('Enter');
		await soon(() => cell(2, 'feed_flow_m3_h').textContent()).toBe('970');
		await page.keyboard.type('12');
		await page.keyboard.press('Control+z');
		expect(await desk((d) => d.asked.filter((a) => a.verb === 'history.undo').length)).toBe(0);
		await page.keyboard.press('Escape');
		await soon(() => editor().count()).toBe(0);
		await page.keyboard.press('Control+z');
		await soon(() => cell(2, 'feed_flow_m3_h').textContent()).toBe('1001');
	});

	it('loses no step, however fast they are asked for', async () => {
		await showReadings('held=history.undo');
		for (const value of ['981', '982', '983']) {
			await cell(2, 'feed_flow_m3_h').click();
			await page.keyboard.type(value);
			await page.keyboard.press('Enter');
			await soon(() => cell(2, 'feed_flow_m3_h').textContent()).toBe(value);
		}
		for (let press = 0; press < 3; press += 1) await page.keyboard.press('Control+z');
		// The desk answers only now, one after the other.
		for (let answer = 0; answer < 3; answer += 1) {
			await soon(() => desk((d) => d.asked.filter((a) => a.verb === 'history.undo').length)).toBe(
				answer + 1,
			);
			await desk((d) => d.release());
		}
		await soon(() => cell(2, 'feed_flow_m3_h').textContent()).toBe('1001');
	});

	it('names the step in the button', async () => {
		await showReadings();
		const button = page.getByRole('button', { name: /^Undo/ });
		expect(await button.isDisabled()).toBe(true);
		await cell(2, 'feed_flow_m3_h').click();
		await page.keyboard.type('971');
		await page.keyboard.press('Enter');
		await soon(() => button.getAttribute('title')).toBe('Undo edit of feed_flow_m3_h (Ctrl+Z)');
		await button.click();
		await soon(() => cell(2, 'feed_flow_m3_h').textContent()).toBe('1001');
	});
});

describe('states', () => {
	it('gives the reason of a blank to the keyboard as well', async () => {
		await show();
		await cell(1, 'ratio_volume').click();
		expect(await cell(1, 'dry_solids_t').textContent()).toBe('—');
		const line = page.locator('.cell-line');
		for (let step = 0; step < 8 && (await focused()) !== '1 dry_solids_t'; step += 1)
			await page.keyboard.press('ArrowRight');
		await soon(() => line.textContent()).toContain('The ground of this ring is not entered.');
		expect(await line.textContent()).toContain('missing');
	});

	it('edits nothing when read-only, and says who holds the drive', async () => {
		await showReadings('readOnly');
		expect(await page.locator('.title-bar').textContent()).toContain('open elsewhere by Ana');
		expect(await page.getByRole('button', { name: 'New reading' }).count()).toBe(0);
		await cell(2, 'feed_flow_m3_h').click();
		await page.keyboard.type('5');
		expect(await editor().count()).toBe(0);
		await page.keyboard.press('Control+Enter');
		expect(await page.getByRole('form', { name: 'New reading' }).count()).toBe(0);
		expect(await page.locator('.status-strip').textContent()).toContain('read-only');
	});

	it('shows the rest of the page when one part of it fails, and that part again when asked', async () => {
		await show();
		await page.getByRole('gridcell', { name: 'Fine sand 100 %' }).first().waitFor();
		const dock = page.locator('.workbench-dock');
		await desk((made) => {
			const call = made.call.bind(made);
			const broken = { ok: true, value: { ring: 2, facts: 'not a list' } };
			made.call = ((verb: string, ask: never) =>
				verb === 'ring.detail' ? Promise.resolve(broken) : call(verb as never, ask)) as never;
			Object.assign(window, {
				mend: () => {
					made.call = call as never;
				},
			});
		});
		await cell(2, 'ring').click();
		await dock.getByText('The detail of the ring cannot be shown').waitFor();
		expect(await cell(2, 'ring').isVisible()).toBe(true);
		// What the page complains of reaches the test a moment after it is on screen.
		await soon(() => troubles.length).toBeGreaterThan(0);
		await page.evaluate('window.mend()');
		troubles.length = 0;
		await dock.getByRole('button', { name: 'Show it again' }).click();
		await soon(() => dock.getByText('cannot be shown').count()).toBe(0);
		expect(await dock.locator('section, .panel-head, [role=alert]').count()).toBeGreaterThan(0);
	});

	it('shows the whole sheet in a window as small as 200 % makes it', async () => {
		await page.setViewportSize({ width: 640, height: 360 });
		await showReadings();
		const across = await page.evaluate(() => document.documentElement.scrollWidth);
		expect(across).toBe(640);
		const grid = await page.locator('.sheet-grid').boundingBox();
		expect(grid?.height).toBeGreaterThan(150);
		await page.locator('.workbench-dock').scrollIntoViewIfNeeded();
		expect(await page.locator('.workbench-dock').isVisible()).toBe(true);
		await page.keyboard.press('Alt+6');
		const form = await page.locator('.workbench-sheet').boundingBox();
		expect(form?.y).toBeGreaterThanOrEqual(44);
		await page.setViewportSize({ width: 1280, height: 720 });
	});

	it('tells what to do in an empty drive', async () => {
		await show('rings=0&each=0');
		await page.getByText('No rings to balance yet').waitFor();
		await page.getByRole('button', { name: 'Go to Rings' }).click();
		await page.getByText('No rings yet').waitFor();
		await page.locator('.empty-state').getByRole('button', { name: 'New ring' }).click();
		await page.getByRole('form', { name: 'New ring' }).waitFor();
	});

	it('shows that rows are being read, then the rows', async () => {
		await show('held=sheet.rows');
		await page.getByRole('status', { name: 'Reading the rings' }).waitFor();
		await desk((d) => d.release());
		await cell(1, 'ring').waitFor();
	});

	it('says when the connection is lost, and reads anew when it is back', async () => {
		await showReadings();
		await desk((d) => d.connect('lost'));
		await page.getByText('The connection to the desk is lost.').waitFor();
		await cell(2, 'feed_flow_m3_h').click();
		await page.keyboard.type('1');
		await page.keyboard.press('Enter');
		await refusal().waitFor();
		await refusal().getByRole('button', { name: 'Leave it as it was' }).click();
		await page.evaluate(() => {
			const { made } = window as unknown as { made: { desk: SheetDesk } };
			const row = made.desk.sheets.readings.get(2) as SheetRow;
			made.desk.sheets.readings.set(2, { ...row, cells: { ...row.cells, feed_flow_m3_h: 777 } });
			made.desk.connect('open');
		});
		await soon(() => cell(2, 'feed_flow_m3_h').textContent()).toBe('777');
		expect(await page.getByText('The connection to the desk is lost.').count()).toBe(0);
	});

	it('asks for a reload when page and desk are of different versions', async () => {
		await show('contract=999');
		await page.getByText('different versions').waitFor();
		expect(await page.getByRole('button', { name: 'Reload the page' }).isVisible()).toBe(true);
	});

	it('shows the start screen without a drive', async () => {
		await show('closed');
		await page.getByRole('button', { name: 'Open the demo drive' }).waitFor();
		expect(await page.locator('.sheet-rail').count()).toBe(0);
	});

	it('changes between day and night by the menu, and keeps it', async () => {
		await show();
		await page.getByRole('button', { name: 'Day or night' }).click();
		await page.getByRole('menuitem', { name: 'Night' }).click();
		expect(await page.evaluate(() => document.documentElement.dataset.theme)).toBe('night');
		expect(await page.evaluate(() => getComputedStyle(document.body).backgroundColor)).toBe(
			'rgb(17, 22, 27)',
		);
	});

	it('reaches every sheet by Alt and its number, and lists the keys by F1', async () => {
		await show();
		await cell(1, 'ring').waitFor();
		for (const [index, title] of [
			'Ring ledger',
			'Shift readings',
			'Rings',
			'Ground in the face',
			'Meter certificates',
		].entries()) {
			await page.keyboard.press(`Alt+${index + 1}`);
			await page.getByRole('heading', { name: title, exact: true }).waitFor();
		}
		await page.keyboard.press('F1');
		const keys = page.getByRole('dialog', { name: 'Keys' });
		await keys.waitFor();
		await page.keyboard.press('Escape');
		await keys.waitFor({ state: 'detached' });
	});
});
