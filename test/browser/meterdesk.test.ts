import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Papa from 'papaparse';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import {
	launchBrowser,
	openPage,
	type RunningDesk,
	startDesk,
	type WatchedPage,
} from './openpage.ts';

/**
 * The bypass checks on the real desk, over an invented drive whose meters nobody has set: what is
 * decided here reaches the file, the ledger and the headless command, and undo takes it back.
 */

let browser: Browser;
let desk: RunningDesk;
let watched: WatchedPage;
let page: Page;
let folder: string;
let project: string;

const headless = (...args: string[]): string =>
	execFileSync(process.execPath, ['electron/launch/desk.mjs', ...args], {
		encoding: 'utf8',
		maxBuffer: 64 * 1024 * 1024,
		stdio: ['ignore', 'pipe', 'ignore'],
	});
const simulate = (into: string, ...args: string[]) =>
	headless(
		...['simulate', into, '--seed', '41', '--rings', '10', '--meters', 'uncorrected'],
		...['--events', 'none', '--bypass-check-every', '1', ...args],
	);
const DAY_S = 86_400;

beforeAll(async () => {
	folder = mkdtempSync(join(tmpdir(), 'meter-desk-'));
	simulate(join(folder, 'plain'), '--logger-every', '10', '--readings-every', '3600');
	// Papers of one gauge: due for long, and narrow limits for both pairs of meters.
	writeFileSync(
		join(folder, 'plain', 'meters.csv'),
		[
			'meter,valid_from,slope,offset,instrument,correction_limit,standardised_on,standardise_every_days,half_life_years',
			'return_density,2025-01-01T00:00:00Z,1,0,Gauge 0418,0.002,2025-01-10T00:00:00Z,180,30.05',
			'return_flow,2025-01-01T00:00:00Z,1,0,Loop 7,5,,,',
			'',
		].join('\n'),
	);
	project = join(folder, 'unset meters.slurrybook');
	headless('new', project, '--from', join(folder, 'plain'));
	browser = await launchBrowser();
	desk = await startDesk(project);
	watched = await openPage(browser, desk.entrance, { width: 1600, height: 1000 });
	page = watched.page;
	page.setDefaultTimeout(20_000);
	await page.locator('.sheet-grid[data-sheet="ledger"] .ag-row').first().waitFor();
});
afterAll(async () => {
	await browser?.close();
	await desk?.stop();
	rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
});
beforeEach(() => {
	expect(watched.complaints.splice(0), 'errors on the page').toEqual([]);
});

const soon = <T>(look: () => T) => expect.poll(look, { timeout: 30_000 });
const number = (text: string | null): number =>
	Number((text ?? '').replaceAll('\u202f', '').replace('−', '-').replace('+', ''));
const toChecks = async (on: Page = page) => {
	await on.keyboard.press('Alt+5');
	await on.getByRole('tab', { name: 'Bypass checks' }).click();
	await on.locator('.checks .u-over').first().waitFor();
};
const cell = (row: number, column: string, on: Page = page) =>
	on.locator(`.checks-grid .ag-row[row-id="${row}"] [col-id="${column}"]`);
const spoken = () => page.locator('.checks-chart .out-of-sight li').first().textContent();
const pairState = (pair: string) =>
	page.locator(`.checks-pair[data-pair="${pair}"] .checks-state`).textContent();
const ledger = (column: string) =>
	page
		.locator(`.sheet-grid[data-sheet="ledger"] .ag-row [col-id="${column}"]`)
		.allTextContents()
		.then((texts) => texts.map(number));

interface Ring {
	readonly ring: number;
	readonly volume_apparent_m3: number;
	readonly dry_solids_t: number;
	readonly volume_uncorrected_m3?: number;
	readonly dry_solids_uncorrected_t?: number;
}
const rings = (): Ring[] => JSON.parse(headless('rings', project, '--json'));
const truth = (): { ring: number; volume_apparent_m3: number; dry_solids_t: number }[] => {
	const text = readFileSync(join(folder, 'plain', 'truth.csv'), 'utf8');
	return Papa.parse<ReturnType<typeof truth>[number]>(text, {
		header: true,
		dynamicTyping: true,
		skipEmptyLines: true,
	}).data;
};

interface LoggerRow {
	readonly time: string;
	readonly mode: string;
	readonly feed_flow_m3_h: number;
	readonly return_flow_m3_h: number;
}

describe('the windows', () => {
	it('have the mean flows of the raw record', async () => {
		await toChecks();
		const text = readFileSync(join(folder, 'plain', 'logger.csv'), 'utf8');
		const rows = Papa.parse<LoggerRow>(text, {
			header: true,
			dynamicTyping: (column) => column !== 'time',
			skipEmptyLines: true,
		}).data;
		const stretches: LoggerRow[][] = [];
		for (const [i, row] of rows.entries()) {
			if (row.mode !== 'bypass') continue;
			if (rows[i - 1]?.mode !== 'bypass') stretches.push([]);
			stretches.at(-1)?.push(row);
		}
		const shown = await page
			.locator('.checks-grid .ag-row')
			.evaluateAll((elements) =>
				elements.map((row) =>
					['feed', 'return'].map((id) => row.querySelector(`[col-id="${id}"]`)?.textContent ?? ''),
				),
			);
		const seen = shown.filter(([feed]) => feed !== undefined && /\d/.test(feed)).slice(0, 4);
		expect(seen.length).toBeGreaterThan(2);
		for (const texts of seen) {
			const [feed = 0, back = 0] = texts.map(number);
			// Pumps running up and down are left out by the check; a median does not mind them.
			const near = stretches.some((stretch) => {
				const median = (of: (row: LoggerRow) => number) => {
					const sorted = stretch.map(of).sort((a, b) => a - b);
					return sorted[sorted.length >> 1] ?? 0;
				};
				return (
					Math.abs(median((row) => row.feed_flow_m3_h) - feed) < 4 &&
					Math.abs(median((row) => row.return_flow_m3_h) - back) < 4
				);
			});
			expect(near, texts.join(' / ')).toBe(true);
		}
	});

	it('go with the crosshair and the ring they stand with', async () => {
		await page.locator('.checks-chart-body').focus();
		await page.keyboard.press('Home');
		await page.keyboard.press('ArrowRight');
		await soon(() =>
			page.locator('.checks-grid .ag-row-selected').first().getAttribute('row-id'),
		).toBe('1');
		const ring = await cell(1, 'ring').textContent();
		await soon(() => page.locator('.checks-chart-moment').textContent()).toContain(`ring ${ring}`);
	});
});

describe('meters corrected', () => {
	it('brings the ledger nearer to the truth, and shows both figures side by side', async () => {
		await page.keyboard.press('Alt+1');
		await page.locator('.sheet-grid[data-sheet="ledger"] .ag-row').first().waitFor();
		expect(await page.locator('[col-id="volume_uncorrected_m3"]').count()).toBe(0);
		const before = rings();
		await toChecks();
		await page.getByRole('radio', { name: 'The return meters' }).check();
		await soon(() => pairState('flow')).toMatch(/(?<!not )in use$/);
		// 2 kg/m³ is what the papers of the gauge allow, and the densities differ by more.
		await soon(() => pairState('density')).toContain('held back: beyond the limit');
		await page.getByRole('button', { name: 'Use it all the same…' }).click();
		await page.getByLabel('Why may it be used?').fill('Gauge coated, maker informed');
		await page.getByRole('button', { name: 'Use it', exact: true }).click();
		await soon(() => pairState('density')).toContain('in use beyond the limit');

		await page.keyboard.press('Alt+1');
		await page.locator('[col-id="volume_uncorrected_m3"]').first().waitFor();
		const after = rings();
		const real = truth();
		const mean = (errors: number[]) => errors.reduce((a, b) => a + b, 0) / errors.length;
		const off = (all: Ring[], key: 'volume_apparent_m3' | 'dry_solids_t') =>
			mean(all.map((ring, i) => Math.abs(ring[key] - (real[i]?.[key] ?? Number.NaN))));
		expect(off(after, 'dry_solids_t')).toBeLessThan(off(before, 'dry_solids_t') / 2);
		expect(off(after, 'volume_apparent_m3')).toBeLessThan(off(before, 'volume_apparent_m3'));

		// The screen bears what the command says, and the figures of before as those without.
		const volumes = await ledger('volume_uncorrected_m3');
		expect(volumes.length).toBe(before.length);
		for (const [i, ring] of after.entries()) {
			expect(volumes[i]).toBeCloseTo(before[i]?.volume_apparent_m3 ?? Number.NaN, 1);
			expect(ring.volume_uncorrected_m3).toBeCloseTo(
				before[i]?.volume_apparent_m3 ?? Number.NaN,
				9,
			);
		}
		const shown = await ledger('volume_apparent_m3');
		for (const [i, ring] of after.entries()) {
			expect(Math.abs((shown[i] ?? 0) - ring.volume_apparent_m3)).toBeLessThan(0.0051);
		}
	});

	it('shows the correction in force of a ring with its uncertainty', async () => {
		await page.locator('.sheet-grid[data-sheet="ledger"] [col-id="ring"]').nth(4).click();
		const facts = page.locator('.facts', { hasText: 'Bypass correction in force' });
		await soon(() => facts.textContent()).toMatch(/feed flow in bypass-?\d\.\d+\s% ± \d\.\d+\s%/);
		expect(await facts.textContent()).toMatch(/density in bypass-?\d+\.\d+\skg\/m³ ± \d\.\d+\skg/);
	});

	it('is taken back by undo, and the columns go with it', async () => {
		await toChecks();
		await page.keyboard.press('Control+z');
		await soon(() => pairState('density')).toContain('held back: beyond the limit');
		await page.keyboard.press('Control+z');
		await soon(() => pairState('flow')).toContain('not in use');
		expect(await page.getByRole('radio', { name: 'No meters' }).isChecked()).toBe(true);
		// The focus is on the choice just made: that is no text field, so the key is the page's.
		await page.getByRole('radio', { name: 'The feed meters' }).check();
		await soon(() => pairState('flow')).toMatch(/(?<!not )in use$/);
		await page.keyboard.press('Control+z');
		await soon(() => pairState('flow')).toContain('not in use');
		await page.keyboard.press('Alt+1');
		await page.locator('.sheet-grid[data-sheet="ledger"] .ag-row').first().waitFor();
		expect(await page.locator('[col-id="volume_uncorrected_m3"]').count()).toBe(0);
	});
});

describe('a window rejected', () => {
	it('does not count any more, says why, and is back after undo', async () => {
		await toChecks();
		const used = Number(/(\d+) windows in use/.exec((await spoken()) ?? '')?.[1] ?? Number.NaN);
		expect(used).toBeGreaterThan(3);
		await page.locator('.checks-chart-body').focus();
		await page.keyboard.press('Home');
		await page.keyboard.press('ArrowRight');
		await page.getByRole('button', { name: 'Reject…' }).click();
		await page.keyboard.type('Valve leaked');
		await page.keyboard.press('Enter');
		await soon(() => cell(1, 'state').textContent()).toBe('rejected');
		await soon(() => cell(1, 'reason').textContent()).toContain('Valve leaked');
		await soon(spoken).toContain(`${used - 1} windows in use`);
		await page.getByRole('button', { name: /^Undo/ }).click();
		await soon(() => cell(1, 'state').textContent()).toBe('in use');
		await page.getByRole('button', { name: /^Redo/ }).click();
		await soon(() => cell(1, 'state').textContent()).toBe('rejected');
	});

	it('stands in the plain folder, and can be taken back as well', async () => {
		const out = join(folder, 'out');
		headless('export', project, out);
		const text = readFileSync(join(out, 'bypass_decisions.csv'), 'utf8');
		expect(text).toContain('reject');
		expect(text).toContain('Valve leaked');
		await page.getByRole('button', { name: 'Take the decision back' }).click();
		await soon(() => cell(1, 'state').textContent()).toBe('in use');
	});
});

describe('the papers', () => {
	it('remind of a standardisation that was due, and of the decay since', async () => {
		await toChecks();
		const item = page.locator('.checks-reminders li', { hasText: 'Return density' });
		expect(await item.textContent()).toContain('was due on 2025-07-09');
		const left = Number(/decayed to ([\d.]+) %/.exec((await item.textContent()) ?? '')?.[1]);
		// Cs-137: A/A₀ = 2^(−t/30.05 a), the year of 365.25 days.
		const years = (Date.now() / 1000 - Date.UTC(2025, 0, 10) / 1000) / (365.25 * DAY_S);
		expect(left).toBeCloseTo(100 * 2 ** (-years / 30.05), 1);
	});
});

describe('a drive without a logger', () => {
	it('has the same checks from paired readings', async () => {
		simulate(join(folder, 'by hand'), '--no-logger', '--readings-every', '300');
		const other = join(folder, 'by hand.slurrybook');
		headless('new', other, '--from', join(folder, 'by hand'));
		const second = await startDesk(other);
		try {
			const { page: hand, complaints } = await openPage(browser, second.entrance);
			await hand.locator('.sheet-grid[data-sheet="ledger"] .ag-row').first().waitFor();
			await toChecks(hand);
			await hand.locator('.checks-grid .ag-row').first().waitFor();
			expect(await hand.locator('.checks-grid .ag-row').count()).toBeGreaterThan(3);
			const words = await hand.locator('.checks-chart .out-of-sight').textContent();
			expect(words).toMatch(/Smoothed at the end [+−]\d\.\d\d %/);
			await hand.getByRole('radio', { name: 'Both, each by half' }).check();
			await soon(() =>
				hand.locator('.checks-pair[data-pair="flow"] .checks-state').textContent(),
			).toMatch(/(?<!not )in use$/);
			expect(complaints).toEqual([]);
		} finally {
			await second.stop();
		}
	});
});
