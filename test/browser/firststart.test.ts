import { readdirSync } from 'node:fs';
import type { Browser } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, expect, it } from 'vitest';
import { launchBrowser, openPage, type RunningDesk, startDesk } from './openpage.ts';

let browser: Browser;
let desk: RunningDesk;
beforeAll(async () => {
	browser = await launchBrowser();
});
afterAll(() => browser.close());
beforeEach(async () => {
	desk = await startDesk();
});
afterEach(() => desk.stop());

it('opens the demo drive on a first start, in a page that breaks none of its own rules', async () => {
	expect(desk.printed()).toMatch(/^Opening on the loopback host, not under Electron: .+\.$/m);
	const { page, complaints } = await openPage(browser, desk.entrance);
	await page.locator('[role=grid], [role=treegrid]').first().waitFor();
	expect(await page.locator('body').textContent()).toMatch(/invented/i);
	expect(readdirSync(desk.documents).some((name) => name.endsWith('.slurrybook'))).toBe(true);
	expect(new URL(page.url()).search).toBe('');
	expect(await page.evaluate('document.cookie')).toBe('');
	expect(complaints).toEqual([]);
});

it('runs no script and shows no style that is not its own', async () => {
	const { page } = await openPage(browser, desk.entrance);
	await page.locator('[role=grid], [role=treegrid]').first().waitFor();
	const broken = await page.evaluate(async () => {
		const told: string[] = [];
		document.addEventListener('securitypolicyviolation', (event) => {
			told.push(event.effectiveDirective);
		});
		const add = (name: string, text: string) => {
			const element = document.createElement(name);
			element.textContent = text;
			document.head.append(element);
		};
		add('script', 'window.intruder = 1');
		add('style', 'body { display: none }');
		const frame = document.createElement('iframe');
		frame.src = 'https://site.example/';
		document.body.append(frame);
		await fetch('https://site.example/').catch(() => {});
		await new Promise((resolve) => setTimeout(resolve, 300));
		return { told, ran: 'intruder' in window, shown: getComputedStyle(document.body).display };
	});
	expect(broken.told.sort()).toEqual([
		'connect-src',
		'frame-src',
		'script-src-elem',
		'style-src-elem',
	]);
	expect(broken.ran).toBe(false);
	expect(broken.shown).not.toBe('none');
});

it('lets nobody else in by the address once it was used', async () => {
	await openPage(browser, desk.entrance);
	const second = await openPage(browser, desk.entrance);
	expect(await second.page.locator('body').textContent()).toContain('used before');
});

it('survives a reload, and ends by itself when the last page is closed, saying so', async () => {
	const { page, context } = await openPage(browser, desk.entrance);
	const grid = page.locator('[role=grid], [role=treegrid]').first();
	await grid.waitFor();
	await page.reload();
	await grid.waitFor();
	expect(desk.process.exitCode).toBeNull();
	await context.close();
	expect(await desk.ended).toBe(0);
	expect(desk.printed()).toContain('The last page was closed');
});
