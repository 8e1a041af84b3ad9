import type { Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { readTsv } from '../../renderer/sheets/range/tsv.ts';
import { type OpenDemo, openDemo } from './openpage.ts';

/** Hands on the grids of the real desk: real keys, a real mouse, the browser's own clipboard. */

let demo: OpenDemo;
let page: Page;
/** Another program, as far as the clipboard is concerned. */
let elsewhere: Page;

beforeAll(async () => {
	demo = await openDemo();
	page = demo.page;
	await page.locator('.sheet-grid[data-sheet="ledger"] .ag-row').first().waitFor();
	elsewhere = await demo.context.newPage();
	await elsewhere.setContent('<textarea></textarea>');
});
afterAll(() => demo?.close());
beforeEach(async () => {
	await page.bringToFront();
	await page.keyboard.press('Escape');
	await page.keyboard.press('Escape');
});

const soon = <T>(look: () => T) => expect.poll(look, { timeout: 20_000 });
const grid = (name: string) => page.locator(`.sheet-grid[data-sheet="${name}"]`);
/** A cell by its place on screen. */
const at = (name: string, place: number, column: string) =>
	grid(name).locator(`.ag-row[row-index="${place}"] [col-id="${column}"]`);
const text = (name: string, place: number, column: string) => at(name, place, column).textContent();
const texts = async (name: string, places: readonly number[], column: string) =>
	Promise.all(places.map((place) => text(name, place, column)));
const line = () => page.locator('.range-line');
const dialog = () => page.locator('dialog[open]');
const focused = () =>
	page.evaluate(() => {
		const cell = document.activeElement?.closest('.ag-cell');
		return cell
			? `${cell.closest('.ag-row')?.getAttribute('row-index')} ${cell.getAttribute('col-id')}`
			: null;
	});
const undoName = async () =>
	(await page.getByRole('button', { name: /^Undo/ }).getAttribute('aria-label')) ??
	(await page.getByRole('button', { name: /^Undo/ }).textContent());
const undo = () => page.keyboard.press('Control+z');

async function go(key: number, name: string): Promise<void> {
	await page.keyboard.press(`Alt+${key}`);
	await grid(name).locator('.ag-row').first().waitFor();
	// The grid scrolls to the ring in hand some moments after its first rows are there.
	const scroll = (top: number) =>
		grid(name)
			.locator('.ag-grid-viewport')
			.evaluate((element, to) => {
				element.scrollTop = to;
				element.scrollLeft = 0;
			}, top);
	await soon(async () => {
		await scroll(60);
		await page.waitForTimeout(120);
		await scroll(0);
		await page.waitForTimeout(120);
		return at(name, 0, 'row-place').isVisible();
	}).toBe(true);
}

/** Puts a text on the clipboard exactly as it stands, as a copy in another program does. */
async function copyElsewhere(copied: string): Promise<void> {
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
	}, copied);
	await elsewhere.locator('textarea').focus();
	await elsewhere.keyboard.press('Control+c');
	await page.bringToFront();
}
/** What another program gets when it pastes. */
async function pasteElsewhere(): Promise<string> {
	await elsewhere.bringToFront();
	const area = elsewhere.locator('textarea');
	await area.fill('');
	await area.focus();
	await elsewhere.keyboard.press('Control+v');
	await soon(() => area.inputValue()).not.toBe('');
	const got = await area.inputValue();
	await page.bringToFront();
	return got;
}

describe('choosing', () => {
	it('goes by Shift and arrows, is said in words and to those who hear the grid, and is let go', async () => {
		await go(2, 'readings');
		await at('readings', 1, 'feed_flow_m3_h').click();
		for (const key of ['ArrowDown', 'ArrowDown', 'ArrowRight'])
			await page.keyboard.press(`Shift+${key}`);
		await soon(() => line().textContent()).toContain('3 rows × 2 columns');
		expect(await line().textContent()).toContain('different units');
		expect(await grid('readings').locator('.ag-cell[aria-selected="true"]').count()).toBe(6);
		await page.keyboard.press('Shift+ArrowLeft');
		await soon(() => line().textContent()).toMatch(/3 rows × 1 column.*mean .*\sm³\/h.*min.*max/);
		// Flows at three moments add up to nothing.
		expect(await line().textContent()).not.toContain('sum');
		await page.keyboard.press('Escape');
		await line().waitFor({ state: 'detached' });
		expect(await focused()).toBe('1 feed_flow_m3_h');
	});

	it('reaches to the edge of the data, over whole rows and columns, and over everything', async () => {
		await go(1, 'ledger');
		const rings = Number((await page.locator('.sheet-count').textContent())?.split(' ')[0]);
		await at('ledger', 0, 'volume_apparent_m3').click();
		await page.keyboard.press('Control+Shift+ArrowDown');
		await soon(() => line().textContent()).toContain('1 column');
		await page.keyboard.press('Control+Space');
		await soon(() => line().textContent()).toMatch(
			new RegExp(`${rings} rows × 1 column.*sum .*\\sm³.*mean`),
		);
		await page.keyboard.press('Escape');
		await page.keyboard.press('Shift+Space');
		await soon(() => line().textContent()).toMatch(/1 row × \d\d columns/);
		await page.keyboard.press('Shift+ArrowDown');
		await soon(() => line().textContent()).toMatch(/2 rows × \d\d columns/);
		await page.keyboard.press('Control+a');
		await soon(() => line().textContent()).toMatch(new RegExp(`${rings} rows × \\d\\d columns`));
	});

	it('goes by the mouse: dragging, Shift and a click, the place of a row, the lower edge of a heading', async () => {
		await go(2, 'readings');
		const from = await at('readings', 2, 'feed_flow_m3_h').boundingBox();
		const to = await at('readings', 6, 'return_flow_m3_h').boundingBox();
		if (!from || !to) throw new Error('the cells are out of sight');
		await page.mouse.move(from.x + 20, from.y + 10);
		await page.mouse.down();
		await page.mouse.move(to.x + 20, to.y + 10, { steps: 6 });
		await page.mouse.up();
		await soon(() => line().textContent()).toContain('5 rows × 3 columns');
		await at('readings', 4, 'feed_density_t_m3').click({ modifiers: ['Shift'] });
		await soon(() => line().textContent()).toContain('3 rows × 2 columns');
		await at('readings', 3, 'row-place').click();
		await at('readings', 5, 'row-place').click({ modifiers: ['Shift'] });
		await soon(() => line().textContent()).toMatch(/3 rows × \d\d columns/);
		const heading = await grid('readings')
			.locator('.ag-header-cell[col-id="feed_density_t_m3"]')
			.boundingBox();
		if (!heading) throw new Error('the heading is out of sight');
		const firstTime = await text('readings', 0, 'time');
		await page.mouse.click(heading.x + heading.width / 2, heading.y + heading.height - 4);
		await soon(() => line().textContent()).toMatch(/rows × 1 column.*mean .*\st\/m³/);
		expect(await text('readings', 0, 'time')).toBe(firstTime);
	});
});

describe('copying', () => {
	it('gives every digit, and headings with units on demand, also from the worked-out ledger', async () => {
		await go(1, 'ledger');
		await at('ledger', 1, 'volume_expected_m3').click();
		await page.keyboard.press('Shift+ArrowDown');
		await page.keyboard.press('Shift+ArrowRight');
		await page.keyboard.press('Control+c');
		const plain = readTsv(await pasteElsewhere());
		expect(plain.length).toBe(2);
		expect(plain.every((row) => row.length === 2)).toBe(true);
		for (const [row, cells] of plain.entries()) {
			const shown = await text('ledger', 1 + row, 'volume_expected_m3');
			expect(Number(cells[0]).toFixed(2)).toBe(shown);
			expect(cells[0]?.length).toBeGreaterThan(shown?.length ?? 0);
		}
		await at('ledger', 1, 'volume_expected_m3').click();
		await page.keyboard.press('Control+Shift+C');
		const headed = readTsv(await pasteElsewhere());
		expect(headed[0]).toEqual(['Expected volume (m³)']);
		expect(headed[1]).toEqual([plain[0]?.[0]]);
	});
});

describe('pasting', () => {
	it('takes a block of the same sheet to other rows in one step, named, undone and done again', async () => {
		await go(2, 'readings');
		const places = [10, 11, 12];
		const was = await texts('readings', places, 'feed_flow_m3_h');
		await at('readings', 1, 'feed_flow_m3_h').click();
		await page.keyboard.press('Shift+ArrowDown');
		await page.keyboard.press('Shift+ArrowDown');
		await page.keyboard.press('Shift+ArrowRight');
		const source = await texts('readings', [1, 2, 3], 'feed_flow_m3_h');
		await page.keyboard.press('Control+c');
		await at('readings', 10, 'feed_flow_m3_h').click();
		await page.keyboard.press('Control+v');
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual(source);
		await soon(undoName).toContain('paste of 6 cells');
		await soon(() => line().textContent()).toContain('3 rows × 2 columns');
		await undo();
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual(was);
		await page.keyboard.press('Control+y');
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual(source);
		await undo();
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual(was);
	});

	it('reads what spreadsheets write: line ends, quotation marks, a trailing line end, groups of digits', async () => {
		await go(2, 'readings');
		await at('readings', 4, 'feed_flow_m3_h').click();
		// A thin space and an apostrophe group digits; quotation marks keep a comma in the cell.
		await copyElsewhere('1\u202f101.5\t1.09\r\n"1\'102.25"\t"1090 kg/m³"\r\n');
		await page.keyboard.press('Control+v');
		await soon(() => texts('readings', [4, 5], 'feed_flow_m3_h')).toEqual(['1102', '1102']);
		expect(await texts('readings', [4, 5], 'feed_density_t_m3')).toEqual(['1.090', '1.090']);
		await soon(undoName).toContain('paste of 4 cells');
		await undo();

		// One cell goes into all chosen ones; a note keeps its line break and its quotation marks.
		await at('readings', 4, 'feed_flow_m3_h').click();
		await page.keyboard.press('End');
		await soon(focused).toBe('4 note');
		await page.keyboard.press('Shift+ArrowDown');
		await copyElsewhere('"grille ""A"" cleaned\nat night"\r\n');
		await page.keyboard.press('Control+v');
		await soon(() => texts('readings', [4, 5], 'note')).toEqual([
			'grille "A" cleaned\nat night',
			'grille "A" cleaned\nat night',
		]);
		await page.keyboard.press('Control+c');
		expect(readTsv(await pasteElsewhere())).toEqual([
			['grille "A" cleaned\nat night'],
			['grille "A" cleaned\nat night'],
		]);
		await undo();
		await soon(() => texts('readings', [4, 5], 'note')).toEqual(['', '']);
	});

	it('shows all that cannot be taken and changes nothing until the good ones are asked for', async () => {
		await go(2, 'readings');
		const places = [4, 5, 6];
		const was = await texts('readings', places, 'feed_density_t_m3');
		const flows = await texts('readings', places, 'feed_flow_m3_h');
		await at('readings', 4, 'feed_flow_m3_h').click();
		await copyElsewhere('1101\t0.5\n1,180\tdense\n1103\t1.093\n');
		await page.keyboard.press('Control+v');
		await dialog().waitFor();
		expect(await dialog().getByRole('heading').textContent()).toBe(
			'Nothing was pasted: 3 cells of 6 not taken',
		);
		const rows = await dialog().locator('tbody tr').allTextContents();
		expect(rows.length).toBe(3);
		const all = rows.join('\n');
		expect(all).toMatch(/Row 5 · Feed density.*at least 0\.9.*Expected/s);
		expect(all).toMatch(/Row 6 · Feed flow.*more than one way.*1\.18 .*1180 /s);
		expect(all).toMatch(/Row 6 · Feed density.*not a number/s);
		expect(await texts('readings', places, 'feed_density_t_m3')).toEqual(was);
		await dialog().getByRole('button', { name: 'Paste of the good 3 cells only' }).click();
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual([
			'1101',
			flows[1],
			'1103',
		]);
		expect(await texts('readings', places, 'feed_density_t_m3')).toEqual([was[0], was[1], '1.093']);
		await soon(undoName).toContain('paste of 3 cells');
		await undo();
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual(flows);
	});

	it('takes corrections and the reading that is meant, or all numbers with the other decimal mark', async () => {
		await go(2, 'readings');
		const flows = await texts('readings', [4, 5], 'feed_flow_m3_h');
		await at('readings', 4, 'feed_flow_m3_h').click();
		await copyElsewhere('1,180\t1,09\n');
		await page.keyboard.press('Control+v');
		await dialog().waitFor();
		await dialog()
			.getByRole('button', { name: /^1180 / })
			.click();
		await dialog().getByLabel('Text for Row 5 · Feed density').fill('1.09');
		await dialog().getByRole('button', { name: 'Try again with the corrections' }).click();
		await soon(() => text('readings', 4, 'feed_flow_m3_h')).toBe('1180');
		expect(await text('readings', 4, 'feed_density_t_m3')).toBe('1.090');
		await undo();
		await soon(() => text('readings', 4, 'feed_flow_m3_h')).toBe(flows[0]);

		await at('readings', 4, 'feed_flow_m3_h').click();
		await copyElsewhere('1.180,5\t1,09\n1.181,5\t1,091\n');
		await page.keyboard.press('Control+v');
		await dialog().getByRole('button', { name: 'Read all with a comma' }).click();
		await soon(() => texts('readings', [4, 5], 'feed_density_t_m3')).toEqual(['1.090', '1.091']);
		await soon(undoName).toContain('paste of 4 cells');
		await undo();
		await soon(() => text('readings', 4, 'feed_flow_m3_h')).toBe(flows[0]);
	});

	it('leaves worked-out columns out and says so, and asks before rows are added beyond the last one', async () => {
		await go(2, 'readings');
		await at('readings', 4, 'return_density_t_m3').click();
		const was = await text('readings', 4, 'return_density_t_m3');
		await copyElsewhere('1.14\t55');
		await page.keyboard.press('Control+v');
		await soon(() => text('readings', 4, 'return_density_t_m3')).toBe('1.140');
		await page.getByText(/left out: 1 worked-out column/).waitFor();
		await undo();
		await soon(() => text('readings', 4, 'return_density_t_m3')).toBe(was);

		const count = page.locator('.sheet-count');
		const before = await count.textContent();
		await page.keyboard.press('Control+End');
		await soon(async () => (await focused())?.split(' ')[1]).toBe('note');
		await page.keyboard.press('Home');
		await soon(async () => (await focused())?.split(' ')[1]).toBe('time');
		const row = (minute: string) => `2035-01-01 06:${minute}\tadvance\t1100\t1.08\t1160\t1.14`;
		await copyElsewhere(`${row('00')}\n${row('10')}\n${row('20')}\n`);
		await page.keyboard.press('Control+v');
		await dialog().waitFor();
		await dialog().getByRole('button', { name: 'Add 2 rows' }).click();
		await soon(undoName).toContain('paste of 18 cells with 2 new rows');
		await soon(() => count.textContent()).not.toBe(before);
		await undo();
		await soon(() => count.textContent()).toBe(before);
	});
});

describe('filling and clearing', () => {
	it('repeats downwards and to the right, continues a series by key and by the handle', async () => {
		await go(2, 'readings');
		const places = [2, 3, 4, 5];
		const was = await texts('readings', places, 'feed_flow_m3_h');
		await at('readings', 2, 'feed_flow_m3_h').click();
		for (let n = 0; n < 3; n += 1) await page.keyboard.press('Shift+ArrowDown');
		await page.keyboard.press('Control+d');
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual(was.map(() => was[0]));
		await soon(undoName).toContain('fill of 3 cells');
		await undo();
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual(was);

		await at('readings', 2, 'feed_flow_m3_h').click();
		await copyElsewhere('1000\n1010');
		await page.keyboard.press('Control+v');
		await soon(() => texts('readings', [2, 3], 'feed_flow_m3_h')).toEqual(['1000', '1010']);
		await page.keyboard.press('Shift+ArrowDown');
		await page.keyboard.press('Shift+ArrowDown');
		await page.keyboard.press('Control+Shift+D');
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual([
			'1000',
			'1010',
			'1020',
			'1030',
		]);
		await undo();
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual([
			'1000',
			'1010',
			was[2],
			was[3],
		]);

		await at('readings', 2, 'feed_flow_m3_h').click();
		await page.keyboard.press('Shift+ArrowDown');
		const handle = page.locator('.range-handle');
		await soon(() => handle.count()).toBe(1);
		const from = await handle.boundingBox();
		const to = await at('readings', 5, 'feed_flow_m3_h').boundingBox();
		if (!from || !to) throw new Error('the handle is out of sight');
		await page.mouse.move(from.x + 4, from.y + 4);
		await page.mouse.down();
		await page.mouse.move(to.x + 20, to.y + 12, { steps: 6 });
		await page.mouse.up();
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual([
			'1000',
			'1010',
			'1020',
			'1030',
		]);
		await undo();
		await soon(() => texts('readings', [4, 5], 'feed_flow_m3_h')).toEqual([was[2], was[3]]);
		await undo();
		await soon(() => texts('readings', places, 'feed_flow_m3_h')).toEqual(was);
	});

	it('clears what may be empty in one step, shows what may not, and never deletes rows', async () => {
		await go(2, 'readings');
		const count = page.locator('.sheet-count');
		const before = await count.textContent();
		await at('readings', 4, 'feed_flow_m3_h').click();
		await page.keyboard.press('End');
		await soon(focused).toBe('4 note');
		await copyElsewhere('first\nsecond');
		await page.keyboard.press('Control+v');
		await soon(() => texts('readings', [4, 5], 'note')).toEqual(['first', 'second']);
		await page.keyboard.press('Delete');
		await soon(() => texts('readings', [4, 5], 'note')).toEqual(['', '']);
		await soon(undoName).toContain('clearing of 2 cells');
		await undo();
		await soon(() => texts('readings', [4, 5], 'note')).toEqual(['first', 'second']);
		await page.keyboard.press('Control+x');
		await soon(() => texts('readings', [4, 5], 'note')).toEqual(['', '']);
		expect(readTsv(await pasteElsewhere())).toEqual([['first'], ['second']]);
		await undo();
		await undo();
		await soon(() => texts('readings', [4, 5], 'note')).toEqual(['', '']);

		await page.keyboard.press('Control+a');
		await page.keyboard.press('Delete');
		await dialog().waitFor();
		expect(await dialog().textContent()).toContain('No row is deleted');
		await dialog().getByRole('button', { name: 'Leave all as it is' }).click();
		await dialog().waitFor({ state: 'detached' });
		expect(await count.textContent()).toBe(before);

		await at('readings', 4, 'feed_flow_m3_h').click();
		await page.keyboard.press('Shift+ArrowDown');
		await page.keyboard.press('Delete');
		await dialog().waitFor();
		expect(await dialog().textContent()).toContain('Feed flow is needed');
		await dialog().getByRole('button', { name: 'Leave all as it was' }).click();
	});
});

describe('entering', () => {
	it('goes back to where a row of entries began, and round within the chosen cells', async () => {
		await go(2, 'readings');
		await at('readings', 4, 'feed_flow_m3_h').click();
		await page.keyboard.press('Tab');
		await page.keyboard.press('Tab');
		await soon(focused).toBe('4 return_flow_m3_h');
		await page.keyboard.press('Enter');
		await soon(focused).toBe('5 feed_flow_m3_h');

		const was = await texts('readings', [4, 5], 'feed_flow_m3_h');
		await at('readings', 4, 'feed_flow_m3_h').click();
		await page.keyboard.press('Shift+ArrowDown');
		await page.keyboard.press('Shift+ArrowRight');
		await page.keyboard.type('1201');
		await page.keyboard.press('Enter');
		await soon(focused).toBe('5 feed_flow_m3_h');
		await soon(() => text('readings', 4, 'feed_flow_m3_h')).toBe('1201');
		await page.keyboard.press('Enter');
		await soon(focused).toBe('4 feed_density_t_m3');
		await page.keyboard.press('Shift+Tab');
		await soon(focused).toBe('4 feed_flow_m3_h');
		await undo();
		await soon(() => texts('readings', [4, 5], 'feed_flow_m3_h')).toEqual(was);
	});

	it('begins a new row as a copy of another one, or between two', async () => {
		await go(2, 'readings');
		const strip = page.getByRole('form', { name: 'New reading' });
		await at('readings', 4, 'feed_flow_m3_h').click();
		const time = await text('readings', 4, 'time');
		const flow = await text('readings', 4, 'feed_flow_m3_h');
		await page.keyboard.press('Control+Shift+Enter');
		await strip.waitFor();
		expect(await strip.getByLabel('Time').inputValue()).toBe(time);
		expect(Number(await strip.getByLabel('Feed flow').inputValue()).toFixed(0)).toBe(flow);
		await page.keyboard.press('Enter');
		await strip.getByText(/another reading at this time/).waitFor();
		await page.keyboard.press('Escape');
		await strip.waitFor({ state: 'detached' });

		await at('readings', 4, 'feed_flow_m3_h').click();
		await page.keyboard.press('Insert');
		await strip.waitFor();
		const between = await strip.getByLabel('Time').inputValue();
		expect(between > ((await text('readings', 3, 'time')) ?? '')).toBe(true);
		expect(between < (time ?? '')).toBe(true);
		expect(await strip.getByLabel('Feed flow').inputValue()).toBe('');
		await page.keyboard.press('Escape');
		await strip.waitFor({ state: 'detached' });
	});
});

it('shows nothing but what the page’s own rules allow', () => {
	expect(demo.complaints).toEqual([]);
});
