import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { ODD_AT, SHORT_AT, STEP_AT } from '../renderer/charts/madechecks.ts';
import { serveHarness } from '../renderer/harness/serve.ts';
import { launchBrowser } from './openpage.ts';

/** The bypass checks in a real browser over made-up windows: chart, table, decisions, what follows. */

let browser: Browser;
let harness: Awaited<ReturnType<typeof serveHarness>>;
let page: Page;
const troubles: string[] = [];

beforeAll(async () => {
	harness = await serveHarness();
	browser = await launchBrowser();
	page = await browser.newPage({ locale: 'en-GB', viewport: { width: 1440, height: 900 } });
	page.on('pageerror', (error) => troubles.push(error.message));
	page.on('console', (message) => {
		if (message.type() !== 'error' && message.type() !== 'warning') return;
		// The second is said of this test's own looking at pixels.
		if (/404|willReadFrequently/.test(message.text())) return;
		troubles.push(message.text());
	});
});
afterAll(async () => {
	await browser?.close();
	await harness?.close();
});
afterEach(() => {
	expect(troubles.splice(0), 'errors on the page').toEqual([]);
});

const soon = <T>(look: () => T) => expect.poll(look, { timeout: 15_000 });

async function show(query = ''): Promise<void> {
	await page.setViewportSize({ width: 1440, height: 900 });
	await page.goto(`${harness.url}?show=checks${query}`);
}
async function showChart(query = ''): Promise<void> {
	await show(query);
	await page.locator('.u-over').first().waitFor();
	await cell(0, 'time').waitFor();
}
const chart = () => page.locator('.checks-chart-body');
const moment = () => page.locator('.checks-chart-moment');
const cell = (row: number, column: string) =>
	page.locator(`.checks-grid .ag-row[row-id="${row}"] [col-id="${column}"]`);
const selected = () =>
	page
		.locator('.checks-grid .ag-row-selected')
		.evaluateAll((rows) => [...new Set(rows.map((row) => row.getAttribute('row-id')))]);
const line = () => page.locator('.checks-line');
const calls = (verb: string) =>
	page.evaluate(
		(wanted) =>
			(window as unknown as { calls: { verb: string; ask: Record<string, unknown> }[] }).calls
				.filter((call) => call.verb === wanted)
				.map((call) => call.ask),
		verb,
	);
/** Pixels of one panel that bear the colour of a token. */
const inked = (panel: string, token: string) =>
	page.evaluate(
		([wanted, name]) => {
			const canvas = document.querySelector<HTMLCanvasElement>(`[data-panel="${wanted}"] canvas`);
			const context = canvas?.getContext('2d');
			if (!canvas || !context) return 0;
			const hex = getComputedStyle(document.documentElement)
				.getPropertyValue(name as string)
				.trim();
			const ink = [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16));
			const { data } = context.getImageData(0, 0, canvas.width, canvas.height);
			let count = 0;
			for (let i = 0; i < data.length; i += 4) {
				if (ink.every((part, k) => Math.abs((data[i + k] as number) - part) < 12)) count++;
			}
			return count;
		},
		[panel, token],
	);
const goTo = async (entry: number) => {
	await chart().focus();
	await page.keyboard.press('Home');
	for (let i = 0; i < entry; i++) await page.keyboard.press('ArrowRight');
};

describe('the chart of the bypass windows', () => {
	it('draws points, line, limit and step, and all of it again by night', async () => {
		await showChart();
		for (const theme of ['day', 'night']) {
			await page.evaluate((name) => {
				document.documentElement.dataset.theme = name;
			}, theme);
			await soon(() => inked('flow-difference', '--ink')).toBeGreaterThan(400);
			await soon(() => inked('flow-difference', '--accent')).toBeGreaterThan(400);
			await soon(() => inked('density-difference', '--stop')).toBeGreaterThan(200);
			await soon(() => inked('density-difference', '--note')).toBeGreaterThan(100);
			await soon(() => inked('density-residual', '--ink')).toBeGreaterThan(200);
		}
		expect(await page.locator('.checks-chart canvas').count()).toBe(4);
	});

	it('says at rest what became of the windows', async () => {
		await showChart();
		const flow = page.locator('[data-panel="flow-difference"] .checks-legend');
		await soon(() => flow.textContent()).toContain('29 in use');
		expect(await flow.textContent()).toContain('1 set aside by rule');
		const density = page.locator('[data-panel="density-difference"] .checks-legend');
		expect(await density.textContent()).toContain('1 not comparable');
		expect(await page.locator('.checks-chart .out-of-sight').textContent()).toMatch(
			/Step of \+10\.\d kg\/m³/,
		);
	});

	it('goes from window to window by keys, and the table goes with it', async () => {
		await showChart();
		await goTo(2);
		await soon(() => moment().textContent()).toBe('2031-03-03 13:02  ring 42');
		await soon(selected).toEqual(['2']);
		await page.keyboard.press('End');
		await soon(() => moment().textContent()).toBe('2031-03-06 22:02  ring 55');
		await soon(selected).toEqual(['29']);
		await cell(29, 'time').waitFor();
		await page.keyboard.press('ArrowLeft');
		await soon(selected).toEqual(['28']);
		const legend = page.locator('[data-panel="density-difference"] .checks-legend');
		await soon(() => legend.textContent()).toMatch(/this window\+19\.\d ± 0\.7smoothed\+19\.\d/);
	});

	it('shows the window under the mouse, and takes it in hand with a click', async () => {
		await showChart();
		const box = await page.locator('[data-panel="flow-difference"] .u-over').boundingBox();
		if (!box) throw new Error('no plot');
		await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
		await soon(() => moment().textContent()).toMatch(/ {2}ring \d\d$/);
		const under = await moment().textContent();
		expect(await selected()).toEqual([]);
		await page.mouse.click(box.x + box.width / 2, box.y + box.height / 2);
		await soon(async () => (await selected()).length).toBe(1);
		await soon(() => line().locator('strong').textContent()).toBe(
			under?.replace(/ {2}ring/, ', ring'),
		);
	});

	it('is moved by the row in hand', async () => {
		await showChart();
		await cell(5, 'feed').click();
		await soon(() => moment().textContent()).toBe('2031-03-03 22:02  ring 43');
		await page.keyboard.press('ArrowDown');
		await soon(() => moment().textContent()).toBe('2031-03-04 01:02  ring 44');
	});

	it('zooms by keys, follows the window in hand, and comes back', async () => {
		await showChart();
		await goTo(0);
		const all = page.getByRole('button', { name: 'All windows' });
		expect(await all.count()).toBe(0);
		await page.keyboard.press('+');
		await page.keyboard.press('+');
		await all.waitFor();
		await page.keyboard.press('End');
		await soon(() => moment().textContent()).toContain('2031-03-06');
		// The accent now also bears the mark of the window in hand: it has come into view.
		await soon(() => inked('flow-difference', '--accent')).toBeGreaterThan(100);
		await page.keyboard.press('Escape');
		await soon(() => all.count()).toBe(0);
	});

	it('leaves zero out in a close-up, so that the bars can be seen', async () => {
		await showChart();
		await soon(() => inked('flow-difference', '--ink')).toBeGreaterThan(400);
		const before = await inked('flow-difference', '--ink');
		await page.getByRole('button', { name: 'Close-up' }).click();
		await soon(() => inked('flow-difference', '--ink')).toBeGreaterThan(before + 400);
	});
});

describe('the table of windows', () => {
	it('bears feed, return, difference, u, residual, state and reason of either pair', async () => {
		await showChart();
		const texts = async (row: number, ids: readonly string[]) =>
			Promise.all(ids.map((id) => cell(row, id).textContent()));
		expect(await texts(0, ['time', 'ring', 'feed', 'u', 'state'])).toEqual([
			'2031-03-03 07:02',
			'41',
			'1\u202f020.0',
			'0.03',
			'in use',
		]);
		// 0.8 % of 1020 m³/h is 8.2 m³/h.
		expect(Number((await cell(0, 'difference_m3_h').textContent())?.slice(1))).toBeCloseTo(8.2, 0);
		await goTo(ODD_AT);
		await soon(() => cell(ODD_AT, 'state').textContent()).toBe('set aside');
		await page.getByRole('tab', { name: 'Density difference' }).click();
		await soon(() => cell(0, 'feed').textContent()).toBe('1.0800');
		expect(await page.locator('.checks-grid [col-id="difference_m3_h"]').count()).toBe(0);
		await soon(() => cell(SHORT_AT, 'state').textContent()).toBe('not comparable');
		expect(await cell(SHORT_AT, 'difference').textContent()).toBe('—');
	});

	it('shows no uncertainty of lone pairs by hand, and still their line', async () => {
		await showChart('&byHand');
		expect(await cell(0, 'u').textContent()).toBe('—');
		await soon(() => inked('flow-difference', '--accent')).toBeGreaterThan(400);
	});
});

describe('a decision on a window', () => {
	it('needs a reason, is stored as a row, and can be taken back', async () => {
		await showChart();
		await goTo(3);
		await page.getByRole('button', { name: 'Reject…' }).click();
		await page.keyboard.press('Enter');
		await page.getByRole('alert').getByText('A reason is needed.').waitFor();
		expect(await calls('sheet.add')).toEqual([]);
		await page.keyboard.type('The feed pump tripped');
		await page.keyboard.press('Enter');
		await soon(() => line().textContent()).toContain('flow meters: rejected');
		expect(await line().textContent()).toContain('“The feed pump tripped”');
		const [add] = await calls('sheet.add');
		expect(add).toEqual({
			sheet: 'bypass_decisions',
			rows: [
				{
					from_time: '2031-03-03T16:00:00+01:00',
					to_time: '2031-03-03T16:04:00+01:00',
					decision: 'reject',
					quantity: 'flow',
					why: 'The feed pump tripped',
				},
			],
			typed: { decimal: '.' },
		});
		await soon(() => cell(3, 'state').textContent()).toBe('rejected');
		await soon(() =>
			page.locator('[data-panel="flow-difference"] .checks-legend').textContent(),
		).toContain('this window');
		await page.getByRole('button', { name: 'Take the decision back' }).click();
		await soon(() => cell(3, 'state').textContent()).toBe('in use');
		expect(await calls('sheet.delete')).toEqual([{ sheet: 'bypass_decisions', rows: [1] }]);
	});

	it('can be for both pairs of meters', async () => {
		await showChart();
		await goTo(6);
		await page.getByRole('button', { name: 'Reject…' }).click();
		await page.keyboard.type('Air in the loop');
		await page.getByLabel('Concerns').selectOption('both');
		await page.getByRole('button', { name: 'Reject', exact: true }).click();
		await soon(() => cell(6, 'state').textContent()).toBe('rejected');
		await page.getByRole('tab', { name: 'Density difference' }).click();
		await soon(() => cell(6, 'state').textContent()).toBe('rejected');
		await page.getByRole('button', { name: 'Take the decision back for both' }).waitFor();
	});

	it('lets a window that stands apart count all the same', async () => {
		await showChart();
		await goTo(ODD_AT);
		await page.getByRole('button', { name: 'Accept…' }).click();
		await page.keyboard.type('Seen on the weighbridge too');
		await page.keyboard.press('Enter');
		await soon(() => cell(ODD_AT, 'state').textContent()).toBe('accepted');
	});

	it('is left by Escape, and not offered where nothing can be compared or written', async () => {
		await showChart();
		await goTo(3);
		await page.getByRole('button', { name: 'Reject…' }).click();
		await page.keyboard.press('Escape');
		await page.getByRole('button', { name: 'Reject…' }).waitFor();
		await page.getByRole('tab', { name: 'Density difference' }).click();
		await goTo(SHORT_AT);
		await soon(() => line().textContent()).toContain('not comparable');
		expect(await page.getByRole('button', { name: 'Reject…' }).count()).toBe(0);
		await showChart('&readOnly');
		await goTo(3);
		await soon(() => line().textContent()).toMatch(/(?<!not )in use$/);
		expect(await page.getByRole('button', { name: /Reject|Accept/ }).count()).toBe(0);
		expect(await page.getByRole('radio', { name: 'The return meters' }).isDisabled()).toBe(true);
	});

	it('says why the desk did not take it', async () => {
		await showChart('&fails=sheet.add');
		await goTo(3);
		await page.getByRole('button', { name: 'Reject…' }).click();
		await page.keyboard.type('because');
		await page.keyboard.press('Enter');
		await page.getByText('The file is locked by another program.').waitFor();
	});
});

describe('what follows from the checks', () => {
	const pairState = (pair: string) =>
		page.locator(`.checks-pair[data-pair="${pair}"] .checks-state`).textContent();

	it('states in plain words what each choice of meters does, and stores it', async () => {
		await showChart();
		const says = page.locator('.checks-says');
		await soon(() => says.textContent()).toContain('as their certificates leave them');
		await soon(() => pairState('flow')).toContain('not in use');
		await page.getByRole('radio', { name: 'The return meters' }).check();
		await soon(() => says.textContent()).toContain('Feed readings stay');
		await soon(() => pairState('flow')).toMatch(/(?<!not )in use$/);
		const [edit] = await calls('sheet.edit');
		expect(edit?.edits).toEqual([{ row: 1, column: 'meter_correction', text: 'return' }]);
	});

	it('holds back what is beyond the limit until someone lets it be used, with a reason', async () => {
		await showChart();
		await page.getByRole('radio', { name: 'Both, each by half' }).check();
		await soon(() => pairState('density')).toContain('held back: beyond the limit');
		await page.getByRole('button', { name: 'Use it all the same…' }).click();
		await page.getByRole('button', { name: 'Use it', exact: true }).click();
		await page.getByText('A reason is needed.').waitFor();
		await page.getByLabel('Why may it be used?').fill('Gauge was cleaned, maker informed');
		await page.getByRole('button', { name: 'Use it', exact: true }).click();
		await soon(() => pairState('density')).toContain('in use beyond the limit');
		const edits = await calls('sheet.edit');
		expect(edits.at(-1)).toMatchObject({
			edits: [{ row: 1, column: 'correction_accepted', text: 'density' }],
			why: 'Gauge was cleaned, maker informed',
		});
		await page.getByRole('button', { name: 'Hold it back again' }).click();
		await soon(() => pairState('density')).toContain('held back');
	});

	it('names the step with its moments and the ring it was called in', async () => {
		await showChart();
		const steps = page.locator('.checks-steps li');
		await soon(() => steps.count()).toBe(1);
		const hours = (k: number) => `${String((7 + 3 * k) % 24).padStart(2, '0')}:02`;
		expect(await steps.textContent()).toContain(`${hours(STEP_AT - 1)} and 2031-03-06`);
		expect(await steps.textContent()).toContain('called in ring 52');
	});

	it('offers the level of the mud balance and lists its samples', async () => {
		await showChart();
		const level = page.getByRole('checkbox', { name: /level of the mud balance/ });
		expect(await level.isChecked()).toBe(false);
		await level.check();
		await soon(() => level.isChecked()).toBe(true);
		expect((await calls('sheet.edit')).at(-1)).toMatchObject({
			edits: [{ row: 1, column: 'density_level', text: 'mud_balance' }],
		});
		await page.getByText('The samples').click();
		expect(await page.locator('.checks-scroll tbody tr').count()).toBe(6);
	});

	it('reminds of standardisation due and of the source’s decay', async () => {
		await showChart();
		const items = page.locator('.checks-reminders li');
		expect(await items.count()).toBe(2);
		expect(await items.nth(0).textContent()).toMatch(/was due on 2031-01-\d\d/);
		expect(await items.nth(0).textContent()).toContain('97.51 %');
		expect(await items.nth(1).textContent()).toContain('Standardisation due on');
	});

	it('shows the rules as they stand in the calculation', async () => {
		await showChart();
		await page.getByText('The rules of the check').click();
		await page.getByRole('row', { name: /A window stands apart beyond/ }).waitFor();
	});
});

describe('states', () => {
	it('says what to do where there was no bypass', async () => {
		await show('&windows=0');
		await page.getByText('The meters were never in bypass together').waitFor();
		expect(await page.getByText('No bypass window lets the two be compared.').count()).toBe(2);
	});

	it('draws a single window', async () => {
		await showChart('&windows=1');
		await soon(() => inked('flow-difference', '--ink')).toBeGreaterThan(20);
	});

	it('shows that it is looking, and a refusal with a way to try again', async () => {
		await show('&slow=meters.checks');
		await page.getByText('Looking for bypass windows…').waitFor();
		await show('&fails=meters.checks');
		await page.getByText('The file is locked by another program.').waitFor();
		await page.getByRole('button', { name: 'Try again' }).click();
		await soon(async () => (await calls('meters.checks')).length).toBeGreaterThan(1);
	});

	it('fits a small window: no part hangs over another', async () => {
		await showChart();
		await page.setViewportSize({ width: 1024, height: 640 });
		await soon(async () => {
			const [main, dock] = await Promise.all(
				['.checks-main', '.checks-dock'].map((part) => page.locator(part).boundingBox()),
			);
			const inside = await page
				.locator('.checks-chart, .checks-table')
				.evaluateAll((parts) =>
					Math.max(...parts.map((part) => part.getBoundingClientRect().right)),
				);
			return main && dock ? inside <= dock.x + 0.5 && main.x + main.width <= dock.x + 0.5 : false;
		}).toBe(true);
	});
});
