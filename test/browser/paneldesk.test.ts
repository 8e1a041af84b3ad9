import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { launchBrowser, openPage, type RunningDesk, startDesk } from './openpage.ts';

/** The panels on the real desk, as a person meets them: from the start screen to a drive of one's own. */

let browser: Browser;
let desk: RunningDesk;
let page: Page;
let complaints: readonly string[];

beforeAll(async () => {
	browser = await launchBrowser();
	desk = await startDesk();
	writePlainFolder(join(desk.documents, 'Faulty folder'), true);
	writePlainFolder(join(desk.documents, 'Sound folder'), false);
	({ page, complaints } = await openPage(browser, desk.entrance, { width: 1440, height: 900 }));
	page.setDefaultTimeout(15_000);
	await page.locator('[role=grid], [role=treegrid]').first().waitFor();
});
afterAll(async () => {
	await browser?.close();
	await desk?.stop();
});
beforeEach(() => {
	expect(complaints).toEqual([]);
});

const DIAMETER_M = 7.4;
const ADVANCE_MM = 1500;

/** Three invented rings of an hour each with a reading every five minutes, right to begin with. */
function writePlainFolder(folder: string, faulty: boolean): void {
	mkdirSync(folder);
	const start = Date.UTC(2031, 3, 7, 6);
	const stamp = (minutes: number) => new Date(start + minutes * 60_000).toISOString();
	const file = (name: string, lines: readonly (readonly unknown[])[]) =>
		writeFileSync(join(folder, name), `${lines.map((line) => line.join(',')).join('\n')}\n`);
	writeFileSync(
		join(folder, 'drive.json'),
		JSON.stringify({
			title: 'Invented trial drive',
			excavated_diameter_m: DIAMETER_M,
			nominal_advance_m: ADVANCE_MM / 1000,
			water_temperature_c: 15,
			invented: true,
		}),
	);
	const rings = [1, 2, 3].map((ring) => [
		ring,
		stamp((ring - 1) * 60 + 10),
		stamp((ring - 1) * 60 + 50),
		100,
		faulty && ring === 3 ? 90 : 100 + ADVANCE_MM,
	]);
	file('rings.csv', [
		['ring', 'advance_start', 'advance_end', 'stroke_start_mm', 'stroke_end_mm'],
		...rings,
	]);
	file('ground.csv', [
		['from_ring', 'to_ring', 'stratum', 'face_fraction', 'grain_density_t_m3', 'dry_density_t_m3'],
		[1, 3, 'Fine sand', 1, 2.65, 1.7],
	]);
	const readings = Array.from({ length: 37 }, (_, i) => {
		const ofHour = (i * 5) % 60;
		const cutting = ofHour >= 10 && ofHour < 50;
		return [
			stamp(i * 5),
			cutting ? 'advance' : 'bypass',
			900,
			1.08,
			cutting ? 1000 : 900,
			cutting ? 1.16 : 1.08,
		];
	});
	if (faulty) {
		readings[4]![1] = 'drill';
		readings[9]![2] = -12;
	}
	file('readings.csv', [
		[
			'time',
			'mode',
			'feed_flow_m3_h',
			'feed_density_t_m3',
			'return_flow_m3_h',
			'return_density_t_m3',
		],
		...readings,
	]);
}

const menu = async (entry: string | RegExp) => {
	await page.getByRole('button', { name: 'File', exact: true }).click();
	await page.getByRole('menuitem', { name: entry }).click();
};
const cell = (row: number, column: string) =>
	page.locator(`.ag-row[row-id="${row}"] [col-id="${column}"]`);
const ledgerRows = () => page.locator('.ag-row [col-id="volume_expected_m3"]');
/** A loaded machine is slower than the usual second. */
const soon = <T>(look: () => T) => expect.poll(look, { timeout: 15_000 });
const figureIn = (text: string | null): number =>
	Number(/-?\d[\d\u202f]*(\.\d+)?/.exec(text ?? '')?.[0].replaceAll('\u202f', ''));
/** A dialog holds every key back until it is gone. */
const dialogGone = () => page.locator('dialog').waitFor({ state: 'detached' });
const chooseFolder = async (name: string) => {
	await page.getByRole('option', { name }).click();
	await page.getByRole('button', { name: 'Read this folder' }).click();
};

describe('from the start screen', () => {
	it('shows what is recent and opens the demo drive with its ledger', async () => {
		await menu(/^Close/);
		await page.getByRole('heading', { name: 'The slurry circuit, ring by ring' }).waitFor();
		await page.locator('button.recent').first().waitFor();
		await page.getByRole('button', { name: 'Open the demo drive' }).click();
		await cell(1, 'volume_expected_m3').waitFor();
		expect(await ledgerRows().count()).toBeGreaterThan(3);
		expect(await page.locator('body').textContent()).toMatch(/invented data/i);
	});
});

describe('a ring of the demo', () => {
	it('is drawn on the clock', async () => {
		await cell(1, 'volume_expected_m3').click();
		await page.locator('.timeline .u-over').first().waitFor();
		await soon(() =>
			page.evaluate(() => {
				const canvas = document.querySelector<HTMLCanvasElement>('.timeline canvas');
				const data = canvas?.getContext('2d')?.getImageData(0, 0, canvas.width, canvas.height);
				return new Set(data ? new Uint32Array(data.data.buffer) : []).size;
			}),
		).toBeGreaterThan(20);
		const rows = page.getByRole('table', { name: /What the timeline of ring/ }).locator('tr');
		const flows = await rows.nth(1).locator('td').allTextContents();
		expect(Number(flows[0])).toBeGreaterThan(0);
	});

	it('tells how a figure came about, with the figure of the ledger', async () => {
		for (const column of ['volume_expected_m3', 'volume_apparent_m3', 'dry_solids_t']) {
			const inLedger = figureIn(await cell(1, column).textContent());
			expect(inLedger).toBeGreaterThan(0);
			const fact = page.locator(`.fact[data-column="${column}"]`);
			await fact.getByRole('button', { name: /^How was/ }).click();
			const how = fact.locator('.how');
			await how.locator('.how-result').waitFor();
			const result = figureIn(await how.locator('.how-result').textContent());
			expect(Math.abs(result - inLedger)).toBeLessThanOrEqual(0.0051);
			expect(await how.locator('[data-part="with-numbers"]').textContent()).toMatch(/\d/);
			expect(await how.locator('.how-lines tbody tr').count()).toBeGreaterThan(0);
		}
	});

	it('gives way to the next ring by a button', async () => {
		const heading = page.locator('.ring-detail h2').first();
		const first = figureIn(await heading.textContent());
		await page.getByRole('button', { name: 'Ring after' }).click();
		await soon(async () => figureIn(await heading.textContent())).toBe(first + 1);
		await page
			.getByRole('table', { name: `What the timeline of ring ${first + 1} holds` })
			.waitFor({ state: 'attached' });
	});

	it('passes the check of file, journal and data', async () => {
		await menu(/^Check/);
		await page.getByText('Looked at').waitFor();
		expect(await page.locator('.looked li').count()).toBeGreaterThan(1);
		expect(await page.locator('.dialog [data-weight="stop"]').count()).toBe(0);
		await page.getByRole('button', { name: 'Close', exact: true }).last().click();
		await dialogGone();
	});
});

describe('a folder with faults', () => {
	it('has them all listed before anything is written, and gives its good rows', async () => {
		await menu(/^New from/);
		await chooseFolder('Faulty folder');
		const rows = page.locator('.faults-scroll tbody tr');
		await rows.first().waitFor();
		const texts = (await rows.allTextContents()).join('\n');
		expect(texts).toContain('drill');
		expect(texts).toContain('-12');
		expect(texts).toContain('stroke_end_mm');
		expect(await page.getByRole('button', { name: 'Import all' }).count()).toBe(0);
		await page.getByRole('button', { name: /^Import the good rows only \(3 rows/ }).click();
		await page.getByLabel('Name').fill('Good rows');
		await page.getByRole('button', { name: 'Save here' }).click();
		await soon(() => page.locator('.title-bar').textContent()).toContain('Good rows');
		await dialogGone();
		await soon(() => ledgerRows().count()).toBe(2);
		expect(existsSync(join(desk.documents, 'Good rows.slurrybook'))).toBe(true);
	});

	it('does not overwrite a project of that name', async () => {
		await menu(/^New from/);
		await chooseFolder('Sound folder');
		await page.getByRole('button', { name: 'Import all' }).click();
		await page.getByLabel('Name').fill('Good rows');
		await page.getByRole('button', { name: 'Save here' }).click();
		await page.getByText('The project was not made').waitFor();
		await page.getByRole('button', { name: 'Import all' }).click();
		await page.getByLabel('Name').fill('All rows');
		await page.getByRole('button', { name: 'Save here' }).click();
		await soon(() => ledgerRows().count()).toBe(3);
		await dialogGone();
	});
});

describe('the drive sheet', () => {
	const expectVolume = async (ring: number, volume_m3: number) => {
		await page.keyboard.press('Alt+1');
		await soon(async () =>
			figureIn(await cell(ring, 'volume_expected_m3').textContent()),
		).toBeCloseTo(volume_m3, 1);
	};
	const cylinder = (diameter_m: number) => (Math.PI / 4) * diameter_m ** 2 * (ADVANCE_MM / 1000);

	it('changes the expected volume of every ring, by the area of a circle', async () => {
		await expectVolume(1, cylinder(DIAMETER_M));
		await page.keyboard.press('Alt+6');
		const diameter = page.getByRole('textbox', { name: 'Excavated diameter' });
		await diameter.fill('7.6');
		await diameter.press('Tab');
		await page.getByRole('button', { name: /^Undo edit of excavated diameter/ }).waitFor();
		await expectVolume(1, cylinder(7.6));
		await expectVolume(3, cylinder(7.6));
	});

	it('refuses a diameter out of bounds at its field and changes nothing', async () => {
		await page.keyboard.press('Alt+6');
		const diameter = page.getByRole('textbox', { name: 'Excavated diameter' });
		await diameter.fill('99');
		await diameter.press('Enter');
		await page.locator('[data-column="excavated_diameter_m"] [role="alert"]').waitFor();
		await diameter.press('Escape');
		expect(await diameter.inputValue()).toBe('7.6');
		await expectVolume(1, cylinder(7.6));
	});

	it('takes a figure in another unit', async () => {
		await page.keyboard.press('Alt+6');
		const diameter = page.getByRole('textbox', { name: 'Excavated diameter' });
		await diameter.fill('7400 mm');
		await diameter.press('Enter');
		await soon(() => diameter.inputValue()).toBe('7.4');
		await expectVolume(1, cylinder(7.4));
	});
});

describe('copies and folders', () => {
	it('writes the project as a plain folder with the headings of the exchange format', async () => {
		await menu(/^Export folder/);
		await page.getByLabel('Name').fill('Exported');
		await page.getByRole('button', { name: 'Write here' }).click();
		await page.getByText(/files written to/).waitFor();
		await page.getByRole('button', { name: 'Done' }).click();
		await dialogGone();
		const folder = join(desk.documents, 'Exported');
		expect(readdirSync(folder)).toEqual(
			expect.arrayContaining(['drive.json', 'ground.csv', 'readings.csv', 'rings.csv']),
		);
		expect(readFileSync(join(folder, 'rings.csv'), 'utf8')).toMatch(
			/^ring,advance_start,advance_end,stroke_start_mm,stroke_end_mm/,
		);
	});

	it('saves a copy and stays in the original', async () => {
		await menu(/^Save a copy/);
		await page.getByLabel('Name').fill('The copy');
		await page.getByRole('button', { name: 'Save here' }).click();
		await page.getByText(/Copy saved/).waitFor();
		await dialogGone();
		expect(existsSync(join(desk.documents, 'The copy.slurrybook'))).toBe(true);
		expect(await page.locator('.title-bar').textContent()).toContain('All rows');
	});
});

describe('an empty drive', () => {
	it('begins with three figures and says what to do next', async () => {
		await menu(/^New empty/);
		await page.getByRole('textbox', { name: 'Drive' }).fill('My own drive');
		await page.getByRole('textbox', { name: 'Excavated diameter' }).fill('9.4');
		await page.getByRole('textbox', { name: 'Nominal advance' }).fill('2');
		await page.getByRole('button', { name: 'Choose where to keep it…' }).click();
		await page.getByRole('button', { name: 'Save here' }).click();
		await soon(() => page.locator('.title-bar').textContent()).toContain('My own drive');
		await dialogGone();
		await page.locator('.empty-state').first().waitFor();
		await page.keyboard.press('Alt+6');
		expect(await page.getByRole('textbox', { name: 'Excavated diameter' }).inputValue()).toBe(
			'9.4',
		);
	});

	it('opens another project through the chooser', async () => {
		await menu(/^Open/);
		await page.getByRole('option', { name: 'All rows.slurrybook' }).dblclick();
		await soon(() => page.locator('.title-bar').textContent()).toContain('All rows');
		await dialogGone();
		await page.keyboard.press('Alt+1');
		await soon(() => ledgerRows().count()).toBe(3);
	});
});
