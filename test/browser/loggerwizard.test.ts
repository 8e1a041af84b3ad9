import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { serveHarness } from '../renderer/harness/serve.ts';
import { launchBrowser } from './openpage.ts';

/** The import of logger files and the marks on the timeline over a made-up desk: states a real one seldom shows. */

let browser: Browser;
let harness: Awaited<ReturnType<typeof serveHarness>>;
let page: Page;
const troubles: string[] = [];

beforeAll(async () => {
	harness = await serveHarness();
	browser = await launchBrowser();
	page = await browser.newPage({ locale: 'en-GB', viewport: { width: 1280, height: 720 } });
	page.setDefaultTimeout(15_000);
	page.on('pageerror', (error) => troubles.push(error.message));
	page.on('console', (message) => {
		const text = message.text();
		if (message.type() === 'error' && !text.includes('404')) troubles.push(text);
	});
});
afterAll(async () => {
	await browser?.close();
	await harness?.close();
});
afterEach(() => {
	expect(troubles.splice(0), 'errors on the page').toEqual([]);
});

const show = (query: string) => page.goto(`${harness.url}?${query}`);
const calls = (verb: string) =>
	page.evaluate(
		(wanted) =>
			(window as unknown as { calls: { verb: string; ask: Record<string, unknown> }[] }).calls
				.filter((call) => call.verb === wanted)
				.map(({ ask }) => ask),
		verb,
	);
const soon = <T>(look: () => T) => expect.poll(look, { timeout: 15_000 });
const tab = (name: RegExp) => page.getByRole('tab', { name });
const take = () => page.getByRole('option', { name: /04-07/ }).dblclick();
const importNow = async () => {
	await tab(/Import/).click();
	await page.getByRole('button', { name: 'Import', exact: true }).click();
};

describe('choosing logger files', () => {
	it('ticks several by keys alone', async () => {
		await show('show=logger');
		await page.getByRole('listbox').waitFor();
		await page.keyboard.press('ArrowDown');
		await page.keyboard.press('ArrowDown');
		await page.keyboard.press('Space');
		await page.keyboard.press('ArrowDown');
		await page.keyboard.press('Space');
		await page.getByRole('button', { name: 'Look at 2 files' }).waitFor();
		await page.keyboard.press('Enter');
		await tab(/Layout/).waitFor();
		expect((await calls('logger.inspect'))[0]).toEqual({ files: ['log1', 'log2'] });
	});

	it("takes those of the system's dialog", async () => {
		await show('show=logger&native=1');
		await tab(/Layout/).waitFor();
		expect((await calls('logger.inspect'))[0]).toEqual({ files: ['log1'] });
	});

	it('says why files cannot be read, and lets others be chosen', async () => {
		await show('show=logger&fails=logger.inspect');
		await take();
		await page.getByText('The file is locked by another program.').waitFor();
		await page.getByRole('button', { name: 'Choose other files…' }).click();
		await page.getByRole('listbox').waitFor();
	});
});

describe('the layout', () => {
	it('is asked anew with every choice, and cannot be imported while no stamp is read', async () => {
		await show('show=logger');
		await take();
		await page.getByLabel('Written as').selectOption('mdy');
		await page.getByText('No stamp could be read.').waitFor();
		await tab(/Import/).click();
		const start = page.getByRole('button', { name: 'Import', exact: true });
		expect(await start.isDisabled()).toBe(true);
		await page.getByText('choose another way it is written').waitFor();
		await tab(/Layout/).click();
		await page.getByLabel('Written as').selectOption('dmy');
		await tab(/Import/).click();
		await soon(() => start.isDisabled()).toBe(false);
	});

	it('warns where a unit makes figures implausible', async () => {
		await show('show=logger');
		await take();
		await tab(/Columns/).click();
		await page.getByLabel('Unit of Feed dens. [kg/m³]').selectOption('t/m3');
		await page.getByText('Beyond 2 t/m³: another unit is likely.').waitFor();
	});

	it('gives the words of a mode field their modes', async () => {
		await show('show=logger');
		await take();
		await tab(/Columns/).click();
		await page.getByLabel('State fills').selectOption('mode');
		await tab(/Modes/).click();
		await page.getByLabel('run means').selectOption('advance');
		await soon(() => page.getByLabel('run means').inputValue()).toBe('advance');
		await importNow();
		const [ask] = await calls('logger.import');
		expect(ask).toMatchObject({ layout: { modeWords: [{ text: 'run', mode: 'advance' }] } });
	});

	it('can be one that was kept, under whose name it is kept again', async () => {
		await show('show=logger&kept=1');
		await take();
		await page.getByLabel('Kept layout').selectOption('Plant logger');
		await soon(() => page.getByLabel('Kept layout').inputValue()).toBe('Plant logger');
		await importNow();
		expect((await calls('logger.import'))[0]).toMatchObject({
			saveAs: 'Plant logger',
			conflicts: 'refuse',
			take: 'all',
		});
	});
});

describe('an import that was broken off', () => {
	const broken = () => page.getByRole('dialog', { name: 'An import was broken off' });

	it('is offered first, goes on, and comes to its result', async () => {
		await show('show=logger&unfinished=there');
		await broken().waitFor();
		expect(await broken().locator('.summary').textContent()).toMatch(
			/Read3\.1.MB of 5\.2.MB, 59 %.*Days kept aside11/,
		);
		await page.getByRole('button', { name: 'Go on with it' }).click();
		await page.getByRole('dialog', { name: /rows imported$/ }).waitFor();
		expect(await calls('logger.goOn')).toHaveLength(1);
		// There is no layout to go back to: it was not asked for here.
		expect(await page.getByRole('button', { name: 'Back to the layout' }).count()).toBe(0);
	});

	it('can be discarded, or left for other files', async () => {
		await show('show=logger&unfinished=there');
		await page.getByRole('button', { name: 'Discard what was read' }).click();
		await page.getByRole('dialog', { name: 'Choose logger files' }).waitFor();
		expect(await calls('logger.discard')).toHaveLength(1);
		await show('show=logger&unfinished=there');
		await page.getByRole('button', { name: 'Choose other files…' }).click();
		await page.getByRole('dialog', { name: 'Choose logger files' }).waitFor();
		expect(await calls('logger.discard')).toHaveLength(0);
	});

	it('says why it cannot go on', async () => {
		await show('show=logger&unfinished=gone');
		await page.getByText('is not where it was when the import began.').waitFor();
		expect(await page.getByRole('button', { name: 'Go on with it' }).isDisabled()).toBe(true);
		await show('show=logger&unfinished=there&fails=logger.goOn');
		await page.getByRole('button', { name: 'Go on with it' }).click();
		await page.getByText('The file is locked by another program.').waitFor();
		await page.getByRole('button', { name: 'Go on with it' }).waitFor();
	});
});

describe('an import', () => {
	it('shows that it runs and can be ended', async () => {
		await show('show=logger&slow=logger.import');
		await take();
		await importNow();
		await page.getByRole('progressbar').waitFor();
		await page.getByRole('button', { name: 'Cancel the import' }).click();
		await page.getByRole('button', { name: 'Ending the import' }).waitFor();
		expect(await calls('logger.cancel')).toHaveLength(1);
	});

	it('that was refused goes back to its questions with the reason', async () => {
		await show('show=logger&fails=logger.import');
		await take();
		await importNow();
		await page.getByText('The file is locked by another program.').waitFor();
		await tab(/Import/).waitFor();
	});

	it('lists the rows that differ and asks which holds', async () => {
		await show('show=logger&conflicts=1');
		await take();
		await importNow();
		const list = page.getByRole('region', { name: 'List of differences' });
		expect(await list.locator('tbody tr').count()).toBe(3);
		await page.getByRole('button', { name: 'Import, take the files' }).click();
		await page.getByRole('dialog', { name: /rows imported$/ }).waitFor();
		expect((await calls('logger.import')).map(({ conflicts }) => conflicts)).toEqual([
			'refuse',
			'takeFile',
		]);
	});
});

describe('the timeline of a faulty record', () => {
	it('marks each fault with its name and rule, and counts them', async () => {
		await show('show=timeline&faulty=1');
		await page.locator('.band-fault').first().waitFor();
		expect(await page.locator('.band-fault text').allTextContents()).toEqual([
			'Spike, return flow',
			'Frozen, return density',
			'Dropout',
			'Daylight saving',
		]);
		expect(await page.locator('.band-fault title').nth(1).textContent()).toBe(
			'Frozen, return density 07:15 – 07:21:30, 6 min 30 s: the same value for 6 min 30 s while the circuit moved',
		);
		await page.getByRole('button', { name: '4 signal faults' }).click();
		const rows = page.getByRole('region', { name: 'List of faults' }).locator('tbody tr');
		expect(await rows.count()).toBe(4);
		expect(await rows.nth(2).textContent()).toContain('no rows for 4 min; gap limit 10 s');
	});

	it('shades a fault in the panel of its signal and in no other', async () => {
		await show('show=timeline&faulty=1');
		await page.waitForSelector('.u-over');
		await page.waitForTimeout(300);
		// In the middle of the frozen density (1095 s of 3600), at the foot of each panel.
		const colours = await page.evaluate(() =>
			Array.from(document.querySelectorAll('canvas'), (canvas) => {
				const over = canvas.parentElement?.querySelector('.u-over');
				if (!over) return '';
				const frame = canvas.getBoundingClientRect();
				const plot = over.getBoundingClientRect();
				const scale = canvas.width / frame.width;
				const x = (plot.left - frame.left + (plot.width * 1095) / 3600) * scale;
				const y = (plot.bottom - frame.top - 3) * scale;
				return (canvas.getContext('2d')?.getImageData(x, y, 1, 1).data ?? []).join();
			}),
		);
		expect(colours[1]).not.toBe(colours[0]);
		expect(colours[2]).toBe(colours[0]);
	});

	it('says at the crosshair what made the mode and what is wrong', async () => {
		await show('show=timeline&faulty=1');
		await page.waitForSelector('.u-over');
		await page.locator('.timeline-body').focus();
		await page.keyboard.press('Home');
		const spoken = page.locator('[aria-live="polite"]').first();
		await soon(() => spoken.textContent()).toContain('set by hand: valve signal was unplugged');
		const box = await page.locator('.u-over').first().boundingBox();
		if (!box) throw new Error('no plot');
		await page.mouse.move(box.x + (box.width * 1100) / 3600, box.y + 20);
		await soon(() => spoken.textContent()).toContain('Frozen, return density');
	});

	it('lets no mode be set in a document that is only read', async () => {
		await show('show=timeline&faulty=1&readOnly=1');
		await page.locator('.band-fault').first().waitFor();
		expect(await page.getByRole('button', { name: 'Set mode…' }).count()).toBe(0);
		await page.locator('.timeline-band').click({ position: { x: 300, y: 10 } });
		expect(await page.locator('.timeline-set').count()).toBe(0);
	});
});
