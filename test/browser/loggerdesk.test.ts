import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { launchBrowser, openPage, type RunningDesk, startDesk } from './openpage.ts';

/** Logger files of another make on the real desk, and modes set by hand on what they record. */

let browser: Browser;
let desk: RunningDesk;
let page: Page;
let complaints: readonly string[];

/** 2031-04-07T06:00:00Z; the drive keeps UTC. */
const START_S = Date.UTC(2031, 3, 7, 6) / 1000;
const HOUR_S = 3600;
const STEP_S = 2;
const CUT = { from: 600, to: 3000 };

beforeAll(async () => {
	browser = await launchBrowser();
	desk = await startDesk();
	writeDrive(join(desk.documents, 'Drive without logger'));
	writeFileSync(join(desk.documents, 'plant one.csv'), loggerText(0, 2 * HOUR_S));
	writeFileSync(
		join(desk.documents, 'plant two.csv'),
		// The second export begins before the first ended, with three figures that differ.
		loggerText(HOUR_S, 3 * HOUR_S, (second) => (second >= HOUR_S && second < HOUR_S + 6 ? 40 : 0)),
	);
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

const isoAt = (second: number) => new Date((START_S + second) * 1000).toISOString();

/** Three invented rings of an hour each, without any reading. */
function writeDrive(folder: string): void {
	mkdirSync(folder);
	const file = (name: string, lines: readonly (readonly unknown[])[]) =>
		writeFileSync(join(folder, name), `${lines.map((line) => line.join(',')).join('\n')}\n`);
	writeFileSync(
		join(folder, 'drive.json'),
		JSON.stringify({
			title: 'Invented drive with a logger',
			excavated_diameter_m: 7.4,
			nominal_advance_m: 1.5,
			water_temperature_c: 15,
			invented: true,
		}),
	);
	file('rings.csv', [
		['ring', 'advance_start', 'advance_end', 'stroke_start_mm', 'stroke_end_mm'],
		...[1, 2, 3].map((ring) => [
			ring,
			isoAt((ring - 1) * HOUR_S + CUT.from),
			isoAt((ring - 1) * HOUR_S + CUT.to),
			100,
			1600,
		]),
	]);
	file('ground.csv', [
		['from_ring', 'to_ring', 'stratum', 'face_fraction', 'grain_density_t_m3', 'dry_density_t_m3'],
		[1, 3, 'Fine sand', 1, 2.65, 1.7],
	]);
}

/** Semicolons, decimal commas, date and time apart, flows in L/s, no mode but a bypass valve. */
function loggerText(from: number, to: number, extra: (second: number) => number = () => 0): string {
	const lines = [
		'Invented plant logger;;;;;;',
		'Date;Time;Feed flow [L/s];Feed density [kg/m³];Return flow [L/s];Return density [kg/m³];Bypass valve [%]',
	];
	for (let second = from; second < to; second += STEP_S) {
		const iso = isoAt(second);
		const ofHour = second % HOUR_S;
		const cutting = ofHour >= CUT.from && ofHour < CUT.to;
		const wave = Math.sin(second / 37);
		const figure = (value: number) => value.toFixed(2).replace('.', ',');
		lines.push(
			[
				`${iso.slice(8, 10)}.${iso.slice(5, 7)}.${iso.slice(0, 4)}`,
				iso.slice(11, 19),
				figure(250 + wave + extra(second)),
				figure(1080 + wave / 2),
				figure((cutting ? 277 : 250) + wave),
				figure((cutting ? 1160 : 1080) + wave / 2),
				cutting ? 0 : 100,
			].join(';'),
		);
	}
	return `${lines.join('\r\n')}\r\n`;
}

const menu = async (entry: string | RegExp) => {
	await page.getByRole('button', { name: 'File', exact: true }).click();
	await page.getByRole('menuitem', { name: entry }).click();
};
/** A loaded machine is slower than the usual second. */
const soon = <T>(look: () => T) => expect.poll(look, { timeout: 20_000 });
const cell = (row: number, column: string) =>
	page.locator(`.ag-row[row-id="${row}"] [col-id="${column}"]`);
const dialogGone = () => page.locator('dialog').waitFor({ state: 'detached' });
const dialog = () => page.getByRole('dialog');
const tab = (name: RegExp) => page.getByRole('tab', { name });
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
const chooseLog = async (name: string) => {
	await menu(/^Import logger files/);
	await page.getByRole('option', { name }).dblclick();
	await tab(/Layout/).waitFor();
};

describe('a drive without readings', () => {
	it('offers an import where samples are missing', async () => {
		await menu(/^New from/);
		await page.getByRole('option', { name: 'Drive without logger' }).click();
		await page.getByRole('button', { name: 'Read this folder' }).click();
		await page.getByRole('button', { name: 'Import all' }).click();
		await page.getByLabel('Name').fill('Logger trial');
		await page.getByRole('button', { name: 'Save here' }).click();
		await soon(() => page.locator('.title-bar').textContent()).toContain('with a logger');
		await dialogGone();
		const offer = page
			.locator('.workbench-chart')
			.getByRole('button', { name: 'Import logger files…' });
		await offer.click();
		await page.getByRole('dialog', { name: 'Choose logger files' }).waitFor();
		await page.keyboard.press('Escape');
		await dialogGone();
	});
});

describe('logger files of another make', () => {
	it('are read as guessed: semicolons, decimal commas, day first, date and time apart', async () => {
		await chooseLog('plant one.csv');
		expect(await page.getByLabel('Between fields').inputValue()).toBe(';');
		expect(await page.getByLabel('Decimal sign').inputValue()).toBe(',');
		expect(await page.getByLabel('Headings in line').inputValue()).toBe('2');
		expect(await page.getByLabel('Written as').inputValue()).toBe('dmy');
		expect(await page.locator('.logger-stamps tbody tr').first().textContent()).toContain(
			'2031-04-07 06:00',
		);
	});

	it('show at once what a wrong choice makes of them', async () => {
		await page.getByLabel('Written as').selectOption('mdy');
		await soon(() => page.locator('.logger-stamps tbody tr').first().textContent()).not.toContain(
			'2031-04-07 06:00',
		);
		await page.getByLabel('Written as').selectOption('dmy');
		await soon(() => page.locator('.logger-stamps tbody tr').first().textContent()).toContain(
			'2031-04-07 06:00',
		);
	});

	it('have their columns in the units of their headings, each with what is read', async () => {
		await tab(/Columns/).click();
		const row = (heading: string) =>
			page.locator('.logger-columns tbody tr', {
				has: page.locator('th', { hasText: heading }),
			});
		const fills = (heading: string) =>
			row(heading)
				.getByRole('combobox', { name: /fills$/ })
				.inputValue();
		expect(await fills('Feed flow')).toBe('feed_flow_m3_h');
		expect(await fills('Return density')).toBe('return_density_t_m3');
		const unit = page.getByLabel(/^Unit of Feed flow/);
		expect(await unit.inputValue()).toBe('L/s');
		// 250 L/s are 900 m³/h.
		await soon(() => row('Feed flow').textContent()).toContain('900');
		await unit.selectOption('m3/h');
		await soon(() => row('Feed flow').textContent()).toMatch(/249\S* … 25\d/);
		await unit.selectOption('L/s');
		await soon(() => row('Feed flow').textContent()).toContain('900');
	});

	it('tell the mode from the bypass valve by rules in words', async () => {
		await tab(/Modes/).click();
		await page.getByText('it is told from signals').waitFor();
		const rules = page.locator('ol.logger-rules li');
		const first = await rules.allTextContents();
		expect(first.join('\n')).toMatch(/bypass when bypass valve above 50 %/);
		const box = rules.filter({ hasText: /^bypass/ }).getByRole('checkbox');
		await box.uncheck();
		await soon(() => rules.count()).toBe(first.length - 1);
		await page
			.locator('ul.logger-rules li', { hasText: 'bypass when bypass valve above' })
			.getByRole('checkbox')
			.check();
		await soon(() => rules.count()).toBe(first.length);
	});

	it('are imported, and the rings they reach balanced from them', async () => {
		await tab(/Import/).click();
		await page.getByLabel('Keep this layout as').fill('Plant');
		await dialog().getByRole('button', { name: 'Import', exact: true }).click();
		await page.getByRole('dialog', { name: /rows imported$/ }).waitFor();
		const found = await figures();
		expect(found).toMatchObject({
			'Rows in the files': (2 * HOUR_S) / STEP_S,
			New: (2 * HOUR_S) / STEP_S,
			'There already, the same': 0,
			'There already, different': 0,
		});
		await dialog().getByRole('button', { name: 'Close' }).last().click();
		await dialogGone();
		await page.keyboard.press('Alt+1');
		// Return less feed is 27 L/s over 2400 s: 64.8 m³.
		await soon(async () => Number(await cell(1, 'volume_apparent_m3').textContent())).toBeCloseTo(
			64.8,
			0,
		);
		await cell(1, 'volume_apparent_m3').click();
		await soon(() => page.locator('.timeline-source').textContent()).toContain('from the logger');
	});

	it('add nothing when they come again', async () => {
		await chooseLog('plant one.csv');
		await soon(() => page.getByLabel('Kept layout').inputValue()).toBe('Plant');
		expect(await page.locator('.logger-files').first().textContent()).toContain('imported before');
		await tab(/Import/).click();
		await page.getByRole('region', { name: 'Imported so far' }).waitFor();
		await dialog().getByRole('button', { name: 'Import', exact: true }).click();
		await page.getByRole('dialog', { name: 'Everything was there already' }).waitFor();
		expect(await figures()).toMatchObject({
			New: 0,
			'There already, the same': (2 * HOUR_S) / STEP_S,
		});
		await dialog().getByRole('button', { name: 'Close' }).last().click();
		await dialogGone();
	});

	it('change nothing where they differ from what is there, before a person has said which holds', async () => {
		await chooseLog('plant two.csv');
		await tab(/Import/).click();
		await dialog().getByRole('button', { name: 'Import', exact: true }).click();
		await page.getByRole('dialog', { name: 'Nothing was imported' }).waitFor();
		expect((await figures())['There already, different']).toBe(3);
		const rows = page.getByRole('region', { name: 'List of differences' }).locator('tbody tr');
		expect(await rows.count()).toBe(3);
		expect(await rows.first().textContent()).toContain('2031-04-07 07:00');
		await page.getByRole('button', { name: 'Import, keep what is there' }).click();
		await page.getByRole('dialog', { name: /rows imported$/ }).waitFor();
		expect(await figures()).toMatchObject({
			New: HOUR_S / STEP_S,
			'There already, the same': HOUR_S / STEP_S - 3,
			'There already, different': 3,
		});
		await dialog().getByRole('button', { name: 'Close' }).last().click();
		await dialogGone();
		await soon(async () => Number(await cell(3, 'volume_apparent_m3').textContent())).toBeCloseTo(
			64.8,
			0,
		);
	});
});

describe('a long import', () => {
	it('tells rows, pace and time left, and leaves everything as it was when it is ended', async () => {
		writeFileSync(
			join(desk.documents, 'plant long.csv'),
			loggerText(24 * HOUR_S, 24 * HOUR_S + 600_000 * STEP_S),
		);
		const before = await page.locator('.status-strip').textContent();
		await chooseLog('plant long.csv');
		await tab(/Import/).click();
		await dialog().getByRole('button', { name: 'Import', exact: true }).click();
		await soon(() => page.locator('.logger-pace').textContent()).toMatch(
			/rows, [\d\u202f]+ rows\/s, about .+ left$/,
		);
		await page.getByRole('button', { name: 'Cancel the import' }).click();
		await page.getByRole('dialog', { name: 'The import was cancelled' }).waitFor();
		await page.getByText('The project is as it was').waitFor();
		await page.keyboard.press('Escape');
		await dialogGone();
		await soon(() => page.locator('.status-strip').textContent()).toBe(before);
		// What was read is offered again, until it is discarded.
		await page.getByRole('button', { name: 'File', exact: true }).click();
		await page.getByRole('menuitem', { name: /logger/i }).click();
		await page.getByRole('dialog', { name: 'An import was broken off' }).waitFor();
		await page.getByRole('button', { name: 'Discard what was read' }).click();
		await page.getByRole('dialog', { name: 'Choose logger files' }).waitFor();
		await page.keyboard.press('Escape');
		await dialogGone();
		await chooseLog('plant one.csv');
		await tab(/Import/).click();
		const sources = page.getByRole('region', { name: 'Imported so far' });
		await sources.waitFor();
		expect(await sources.textContent()).not.toContain('plant long.csv');
		await page.keyboard.press('Escape');
		await dialogGone();
	});
});

describe('the mode of a stretch', () => {
	const band = () => page.locator('.timeline-band');
	const pieces = () =>
		page
			.locator('.band-piece')
			.evaluateAll((all) =>
				all.map((each) => `${each.getAttribute('data-mode')} ${each.getAttribute('data-decided')}`),
			);
	const form = () => page.getByRole('form', { name: 'Set the mode of a stretch' });
	const volume = async () => Number(await cell(2, 'volume_apparent_m3').textContent());

	it('says which rule made it', async () => {
		await cell(2, 'volume_apparent_m3').click();
		await soon(() => page.locator('.timeline-head h3').textContent()).toContain('Ring 2');
		await soon(pieces).toContain('advance rule');
		expect(
			await page.locator('.band-piece[data-mode="advance"] title').first().textContent(),
		).toMatch(/told by a rule: advance when bypass valve below 50 %/);
	});

	it('is set by dragging over the band, with a reason, and changes the ring', async () => {
		const before = await volume();
		const piece = await page.locator('.band-piece[data-mode="advance"]').first().boundingBox();
		if (!piece) throw new Error('no advance on the band');
		await page.mouse.move(piece.x + piece.width * 0.4, piece.y + 10);
		await page.mouse.down();
		await page.mouse.move(piece.x + piece.width * 0.6, piece.y + 10, { steps: 5 });
		await page.mouse.up();
		await form().waitFor();
		await form().getByRole('button', { name: 'Set the mode' }).click();
		await form().getByText('Choose a mode.').waitFor();
		await form().getByLabel('Mode').selectOption('stop');
		await form().getByRole('button', { name: 'Set the mode' }).click();
		await form().getByText('A reason is needed.').waitFor();
		await form().getByLabel('Why').fill('pump tripped, shift log');
		await form().getByRole('button', { name: 'Set the mode' }).click();
		await form().waitFor({ state: 'detached' });
		await soon(pieces).toContain('stop override');
		expect(
			await page.locator('.band-piece[data-decided="override"] title').textContent(),
		).toContain('set by hand: pump tripped, shift log');
		// A fifth of the advance no longer counts.
		await soon(volume).not.toBe(before);
	});

	it('is listed in its own sheet, and taken back from the list of the record', async () => {
		await page.keyboard.press('Alt+7');
		await page.getByRole('heading', { name: 'Modes set by hand', exact: true }).waitFor();
		await soon(() => page.locator('.ag-row [col-id="why"]').allTextContents()).toEqual([
			'pump tripped, shift log',
		]);
		await page.keyboard.press('Alt+1');
		await page.getByRole('button', { name: /1 set mode$/ }).click();
		const list = page.getByRole('dialog', { name: 'The record around ring 2' });
		await list.getByRole('button', { name: 'Remove' }).click();
		await list.getByText('None. Drag over the mode band').waitFor();
		await list.getByRole('button', { name: 'Close' }).last().click();
		await dialogGone();
		await soon(pieces).not.toContain('stop override');
	});

	it('is set by keys alone', async () => {
		await page.locator('.timeline-body').focus();
		await page.keyboard.press('Home');
		await page.keyboard.press('Space');
		for (let press = 0; press < 6; press++) await page.keyboard.press('Shift+ArrowRight');
		await band().locator('.band-chosen').waitFor({ state: 'attached' });
		await page.keyboard.press('Enter');
		await form().waitFor();
		await page.keyboard.press('b');
		await soon(() => form().getByLabel('Mode').inputValue()).toBe('bypass');
		await page.keyboard.press('Tab');
		await page.keyboard.type('seen on site');
		await page.keyboard.press('Enter');
		await form().waitFor({ state: 'detached' });
		await soon(pieces).toContain('bypass override');
		await page.keyboard.press('Control+z');
		await soon(pieces).not.toContain('bypass override');
	});
});
