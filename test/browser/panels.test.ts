import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { serveHarness } from '../renderer/harness/serve.ts';
import { launchBrowser } from './openpage.ts';

/** The panels by themselves in a real browser, over a made-up desk: states that a real one seldom shows. */

let browser: Browser;
let harness: Awaited<ReturnType<typeof serveHarness>>;
let page: Page;
let pageLocale = '';
const troubles: string[] = [];

beforeAll(async () => {
	harness = await serveHarness();
	browser = await launchBrowser();
});
afterAll(async () => {
	await browser?.close();
	await harness?.close();
});
afterEach(() => {
	expect(troubles.splice(0), 'errors on the page').toEqual([]);
});

/** One page serves all tests: each starts it anew by going to its own address. */
async function show(query: string, locale = 'en-GB'): Promise<void> {
	if (locale !== pageLocale) {
		await page?.close();
		page = await browser.newPage({ locale });
		pageLocale = locale;
		page.on('pageerror', (error) => troubles.push(error.message));
		page.on('console', (message) => {
			const text = message.text();
			if (message.type() === 'error' && !text.includes('404')) troubles.push(text);
		});
	}
	await page.setViewportSize({ width: 1280, height: 720 });
	await page.goto(`${harness.url}?${query}`);
}

const calls = (verb: string) =>
	page.evaluate(
		(wanted) =>
			(window as unknown as { calls: { verb: string; ask: unknown }[] }).calls.filter(
				(call) => call.verb === wanted,
			),
		verb,
	);

/** Number of pixels of each canvas that bear the colour of a token. */
const inked = (token: string) =>
	page.evaluate((name) => {
		const probe = document.createElement('span');
		probe.style.color = getComputedStyle(document.documentElement).getPropertyValue(name);
		document.body.append(probe);
		const [r = 0, g = 0, b = 0] = (getComputedStyle(probe).color.match(/\d+/g) ?? []).map(Number);
		probe.remove();
		return Array.from(document.querySelectorAll('canvas'), (canvas) => {
			const context = canvas.getContext('2d');
			if (!context) return 0;
			const { data } = context.getImageData(0, 0, canvas.width, canvas.height);
			let count = 0;
			for (let i = 0; i < data.length; i += 4) {
				if (
					Math.abs((data[i] as number) - r) < 12 &&
					Math.abs((data[i + 1] as number) - g) < 12 &&
					Math.abs((data[i + 2] as number) - b) < 12
				)
					count++;
			}
			return count;
		});
	}, token);

/** A loaded machine is slower than the usual second. */
const soon = <T>(look: () => T) => expect.poll(look, { timeout: 15_000 });

describe('the timeline', () => {
	it('draws three panels in the colours of their lines, and again by night', async () => {
		await show('show=timeline');
		await page.waitForSelector('.u-over');
		const drawn = (token: string, panel: number) => async () => (await inked(token))[panel];
		await soon(drawn('--return', 0)).toBeGreaterThan(500);
		await soon(drawn('--return', 1)).toBeGreaterThan(500);
		await soon(drawn('--level', 2)).toBeGreaterThan(500);
		expect(await page.locator('canvas').count()).toBe(3);
		await page.evaluate(() => {
			document.documentElement.dataset.theme = 'night';
		});
		// The tokens are those of the night now: only a drawing made anew bears them.
		await soon(drawn('--return', 0)).toBeGreaterThan(500);
	});

	it('draws no line through a stretch without data', async () => {
		await show('show=timeline');
		await page.waitForSelector('.u-over');
		await page.waitForTimeout(300);
		const crossing = await page.evaluate(() => {
			const piece = document.querySelector('.band-piece[data-mode="none"] .band-ground');
			const over = document.querySelector('.u-over');
			const canvas = document.querySelector('canvas');
			if (!piece || !over || !canvas) return null;
			const hole = piece.getBoundingClientRect();
			const drawn = canvas.getBoundingClientRect();
			const scale = canvas.width / drawn.width;
			const context = canvas.getContext('2d');
			const { data } = context?.getImageData(
				(hole.left - drawn.left + 4) * scale,
				0,
				(hole.width - 8) * scale,
				canvas.height,
			) ?? { data: [] };
			const style = getComputedStyle(document.documentElement);
			const dark = (token: string) => {
				const hex = style.getPropertyValue(token).trim();
				return [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16));
			};
			let count = 0;
			for (const ink of [dark('--return'), dark('--feed')]) {
				for (let i = 0; i < data.length; i += 4) {
					if (ink.every((part, k) => Math.abs((data[i + k] as number) - part) < 12)) count++;
				}
			}
			return count;
		});
		expect(crossing).toBe(0);
	});

	it('shows the values at the crosshair, moved by mouse and by keys', async () => {
		await show('show=timeline');
		await page.waitForSelector('.u-over');
		const legend = page.locator('.timeline-legend-value[data-key="return_flow_m3_h"]');
		await soon(() => legend.textContent()).toContain('…');
		const box = await page.locator('.u-over').first().boundingBox();
		if (!box) throw new Error('no plot');
		await page.mouse.move(box.x + box.width * 0.3, box.y + 20);
		await soon(() => legend.textContent()).toMatch(/^1\u202f0\d\d$/);
		await soon(() => page.locator('.timeline-moment').textContent()).toMatch(
			/^07:1\d.* {2}Advance$/,
		);
		await page.locator('.timeline-body').focus();
		await page.keyboard.press('Home');
		await soon(() => page.locator('.timeline-moment').textContent()).toBe('07:00  Bypass');
		await page.keyboard.press('ArrowRight');
		await soon(() => page.locator('.timeline-moment').textContent()).toBe('07:00:05  Bypass');
		expect(await page.locator('[aria-live="polite"]').first().textContent()).toContain('m³/h');
	});

	it('zooms by dragging and comes back by button and by double click', async () => {
		await show('show=timeline');
		await page.waitForSelector('.u-over');
		const whole = page.getByRole('button', { name: 'Whole ring' });
		const words = () => page.locator('.timeline-band text').allTextContents();
		expect(await whole.isDisabled()).toBe(true);
		const zoom = async () => {
			const box = await page.locator('.u-over').nth(1).boundingBox();
			if (!box) throw new Error('no plot');
			await page.mouse.move(box.x + box.width * 0.2, box.y + 15);
			await page.mouse.down();
			await page.mouse.move(box.x + box.width * 0.35, box.y + 15, { steps: 4 });
			await page.mouse.up();
		};
		await zoom();
		await soon(() => whole.isDisabled()).toBe(false);
		expect(await words()).not.toContain('Bypass');
		await whole.click();
		await soon(words).toContain('Bypass');
		expect(await whole.isDisabled()).toBe(true);
		await zoom();
		await soon(() => whole.isDisabled()).toBe(false);
		await page
			.locator('.u-over')
			.first()
			.dblclick({ position: { x: 300, y: 20 } });
		await soon(() => whole.isDisabled()).toBe(true);
	});

	it('gives the same in a table for those who do not see it', async () => {
		await show('show=timeline&noLevel=1');
		const table = page.getByRole('table', { name: /What the timeline of ring 42 holds/ });
		await table.waitFor({ state: 'attached' });
		const rows = await table.locator('tbody tr').allTextContents();
		expect(rows).toHaveLength(5);
		expect(rows[4]).toContain('none');
		expect(await page.locator('canvas').count()).toBe(2);
	});

	it('says what is the matter: no ring, no samples, refused, waiting', async () => {
		await show('show=timeline&noRing=1');
		await page.getByText('No ring selected').waitFor();
		await show('show=timeline&nothing=1');
		await page.getByText('No samples around ring 42').waitFor();
		await show('show=timeline&fails=ring.timeline');
		await page.getByText('The file is locked by another program.').waitFor();
		await page.getByRole('button', { name: 'Try again' }).click();
		await soon(async () => (await calls('ring.timeline')).length).toBe(2);
		await show('show=timeline&slow=ring.timeline');
		await page.getByText('Reading ring 42…').waitFor();
	});

	it('fits its panel when the window is made narrower', async () => {
		await show('show=timeline');
		await page.waitForSelector('.u-over');
		await page.setViewportSize({ width: 900, height: 720 });
		await soon(() =>
			page.evaluate(() => {
				const body = document.querySelector('.timeline-body');
				return body ? body.scrollWidth - body.clientWidth : 99;
			}),
		).toBe(0);
		const canvas = await page.locator('canvas').first().boundingBox();
		expect(canvas?.width).toBeLessThan(760);
	});
});

describe('one ring', () => {
	it('answers "how?" where it was asked, with numbers, inputs and shares', async () => {
		await show('show=detail');
		await page.getByRole('button', { name: 'How was Apparent volume computed?' }).click();
		const how = page.locator('[data-column="volume_apparent_m3"] .how');
		await how.waitFor();
		expect(await how.locator('[data-part="with-numbers"]').textContent()).toContain('841.20');
		expect(await how.locator('td[data-missing]').textContent()).toBe('missing');
		const widths = await how
			.locator('.share-bar')
			.evaluateAll((bars) => bars.map((bar) => bar.getBoundingClientRect().width));
		expect(widths).toEqual([...widths].sort((a, b) => b - a));
		expect(await how.getByText('< 0.1 %').count()).toBe(1);
		expect(await calls('cell.working')).toEqual([
			{
				verb: 'cell.working',
				ask: { sheet: 'ledger', row: 42, column: 'volume_apparent_m3' },
			},
		]);
		await page.getByRole('button', { name: 'Close how this was computed' }).click();
		expect(await how.count()).toBe(0);
	});

	it('says why a figure is blank and carries the cautions', async () => {
		await show('show=detail');
		await page.getByText('The return density is missing for 11 min').waitFor();
		await page.getByText('no proof of a stable face').waitFor();
	});
});

describe('start', () => {
	it('does not offer projects that are gone', async () => {
		await show('show=start');
		await page.locator('.recent').first().waitFor();
		expect(await page.locator('button.recent').count()).toBe(2);
		const gone = page.locator('.recent[data-missing]');
		expect(await gone.textContent()).toContain('no longer there');
		await page.locator('button.recent').first().click();
		await soon(() => calls('project.open')).toEqual([
			{ verb: 'project.open', ask: { placeId: 'recent-0' } },
		]);
	});

	it('shows why the demo was not opened', async () => {
		await show('show=start&fails=project.openDemo');
		await page.getByRole('button', { name: 'Open the demo drive' }).click();
		await page.getByRole('alert').getByText('locked by another program').waitFor();
	});
});

describe('import of a folder', () => {
	const choose = async () => {
		await page.getByRole('option', { name: /Invented drive as a plain folder/ }).click();
		await page.getByRole('button', { name: 'Read this folder' }).click();
	};

	it('lists all faults, one file at a time when wanted, and takes the good rows', async () => {
		await show('show=import');
		await choose();
		const rows = page.locator('.faults-scroll tbody tr');
		await soon(() => rows.count()).toBe(6);
		expect(await rows.first().locator('td').allTextContents()).toEqual([
			'fault',
			'readings.csv',
			'7',
			'mode',
			'drill',
			'The mode is not one of the four.',
			'advance, bypass, back_flush or stop',
		]);
		expect(await rows.nth(3).textContent()).toContain('(empty)');
		await page.getByLabel('Show').selectOption('rings.csv');
		expect(await rows.count()).toBe(3);
		expect(await page.getByRole('button', { name: 'Import all' }).count()).toBe(0);
		await page.getByRole('button', { name: 'Import the good rows only (4 rows left out)' }).click();
		await soon(() => page.getByLabel('Name').inputValue()).toBe('Invented drive, Nowhere-on-Sill');
		await page.getByRole('button', { name: 'Save here' }).click();
		await page.locator('#closed').waitFor();
		expect(await calls('project.create')).toEqual([
			{
				verb: 'project.create',
				ask: {
					folderId: 'plain',
					intoId: 'documents',
					name: 'Invented drive, Nowhere-on-Sill.slurrybook',
					take: 'goodRows',
				},
			},
		]);
	});

	it('takes a clean folder as a whole, through the system dialogs where there are any', async () => {
		await show('show=import&clean=1&native=1');
		await page.getByText('Nothing is wrong with the folder.').waitFor();
		await page.getByRole('button', { name: 'Import all' }).click();
		await page.locator('#closed').waitFor();
		const [made] = await calls('project.create');
		expect(made?.ask).toEqual({
			folderId: 'plain',
			intoId: 'documents',
			name: 'chosen.slurrybook',
			take: 'all',
		});
	});

	it('offers no import of a folder that cannot be mended by leaving rows out', async () => {
		await show('show=import&impossible=1');
		await choose();
		await page.getByText('No project can be made from this folder as it is').waitFor();
		expect(await page.getByRole('button', { name: /^Import/ }).count()).toBe(0);
	});

	it('comes back to the list with the reason when the project could not be made', async () => {
		await show('show=import&clean=1&native=1&fails=project.create');
		await page.getByRole('button', { name: 'Import all' }).click();
		await page.getByText('The project was not made').waitFor();
	});
});

describe('choosing a place', () => {
	it('goes through folders by keyboard alone', async () => {
		await show('show=open');
		const list = page.getByRole('listbox');
		await list.waitFor();
		await soon(() => list.evaluate((box) => box === document.activeElement)).toBe(true);
		await page.keyboard.press('Enter');
		await page.getByRole('listbox', { name: 'Contents of Drives' }).waitFor();
		await page.keyboard.press('Backspace');
		await page.getByRole('listbox', { name: 'Contents of Home' }).waitFor();
		await page.keyboard.press('e');
		expect(await page.locator('[aria-selected="true"]').textContent()).toContain('Eastern');
		await page.keyboard.press('Enter');
		await page.locator('#closed').waitFor();
		expect(await calls('project.open')).toHaveLength(1);
	});

	it('refuses a bad name and a folder that cannot be written', async () => {
		await show('show=copy');
		const name = page.getByLabel('Name');
		await name.waitFor();
		await name.fill('a/b');
		await page.getByRole('button', { name: 'Save here' }).click();
		await page.getByRole('alert').getByText('must not contain /').waitFor();
		expect(await calls('project.saveCopy')).toHaveLength(0);
		await page.getByRole('button', { name: 'Up to Home' }).click();
		await page.getByText('cannot be written').waitFor();
		expect(await page.getByRole('button', { name: 'Save here' }).isDisabled()).toBe(true);
	});
});

describe('a new drive', () => {
	it('asks how an ambiguous number is meant and then makes the project', async () => {
		await show('show=new');
		await page.getByRole('button', { name: 'Choose where to keep it…' }).click();
		expect(await page.getByRole('alert').count()).toBe(3);
		await page.getByRole('textbox', { name: 'Drive' }).fill('Trial: one');
		await page.getByLabel('Excavated diameter').fill('7,420');
		await page.getByRole('group', { name: 'How it can be read' }).getByText('7.42').click();
		await page.getByLabel('Nominal advance').fill('1500 mm');
		await page.getByRole('button', { name: 'Choose where to keep it…' }).click();
		await soon(() => page.getByLabel('Name').inputValue()).toBe('Trial one');
		await page.getByRole('button', { name: 'Save here' }).click();
		await page.locator('#closed').waitFor();
		expect((await calls('project.createEmpty'))[0]?.ask).toEqual({
			intoId: 'documents',
			name: 'Trial one.slurrybook',
			title: 'Trial: one',
			excavated_diameter_m: 7.42,
			nominal_advance_m: 1.5,
		});
	});
});

describe('the drive form', () => {
	const field = (id: string) => page.locator(`[data-column="${id}"] input`);

	it('stores a field when it is left and says what a missing one leaves out', async () => {
		await show('show=drive');
		const overcut = page.locator('[data-column="overcut_mm"]');
		await overcut.getByText('no overcut is added to the expected volume').waitFor();
		await field('overcut_mm').fill('20');
		await field('overcut_angle_deg').focus();
		await soon(() => overcut.getByText('missing').count()).toBe(0);
		expect((await calls('sheet.edit'))[0]?.ask).toEqual({
			sheet: 'drive',
			edits: [{ row: 1, column: 'overcut_mm', text: '20' }],
			typed: { decimal: '.' },
		});
	});

	it('sends nothing for a field that was only visited', async () => {
		await show('show=drive');
		await field('excavated_diameter_m').focus();
		await field('nominal_advance_m').focus();
		await page.waitForTimeout(100);
		expect(await calls('sheet.edit')).toHaveLength(0);
	});

	it('keeps what was refused at its field, offers the readings, and gives up by Escape', async () => {
		await show('show=drive');
		await field('overcut_mm').fill('abc');
		await field('overcut_mm').press('Enter');
		await page.locator('[data-column="overcut_mm"]').getByRole('alert').waitFor();
		expect(await field('overcut_mm').inputValue()).toBe('abc');
		await field('overcut_mm').press('Escape');
		expect(await field('overcut_mm').inputValue()).toBe('');
		await field('excavated_diameter_m').fill('1,180');
		await field('excavated_diameter_m').press('Enter');
		await page.getByRole('button', { name: '1.18', exact: true }).click();
		await soon(() => field('excavated_diameter_m').inputValue()).toBe('1.18');
		expect(await page.locator('[data-column="excavated_diameter_m"] [role="alert"]').count()).toBe(
			0,
		);
	});

	it('offers the choices of a setting, stored as soon as one is made', async () => {
		await show('show=drive');
		const choice = page.getByRole('combobox', { name: 'Meters corrected' });
		expect(await choice.locator('option').allTextContents()).toEqual([
			'not stated',
			'none',
			'return',
			'feed',
			'both',
		]);
		await choice.selectOption('return');
		await soon(async () => (await calls('sheet.edit'))[0]?.ask).toMatchObject({
			edits: [{ row: 1, column: 'meter_correction', text: 'return' }],
		});
		await soon(() => choice.inputValue()).toBe('return');
	});

	it('can be read but not written when another has the project', async () => {
		await show('show=drive&readOnly=1');
		await page.getByText('The night shift has it open').waitFor();
		expect(await field('overcut_mm').getAttribute('readonly')).not.toBeNull();
	});

	it('shows numbers with the decimal comma where the language has it', async () => {
		await show('show=drive', 'de-DE');
		await soon(() => field('excavated_diameter_m').inputValue()).toBe('7,42');
	});
});

describe('check and export', () => {
	it('lists what was looked at and what was found', async () => {
		await show('show=check');
		await page.getByText('Journal: 12 entries, unbroken chain').waitFor();
		expect(await page.locator('.faults-scroll tbody tr').count()).toBe(3);
		await show('show=check&clean=1');
		await page.getByText('Nothing wrong was found.').waitFor();
	});

	it('names the files that were written', async () => {
		await show('show=export');
		await page.getByLabel('Name').waitFor();
		await page.getByRole('button', { name: 'Write here' }).click();
		await page.getByText('5 files written to').waitFor();
		expect(await page.locator('.file-list li').allTextContents()).toContain('rings.csv');
	});
});
