import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { runToEnd } from '../../electron/launch/child.mjs';
import { freshBuild } from '../../electron/launch/fresh.mjs';
import { inRoot, ROOT } from '../../electron/launch/place.mjs';
import { setUp } from '../../electron/launch/setup.mjs';
import { summary, tallyReport } from './tally.mjs';

// `npm test`. With --quick the browser tests and *.slow.test.ts are left out; with paths only the
// tests below them are run.
const args = process.argv.slice(2);
const quick = args.includes('--quick');
const only = args.filter((arg) => !arg.startsWith('--'));
const reports = mkdtempSync(join(tmpdir(), 'slurry-gate-'));
const steps = [];
let node = null;
let chromium = null;

process.exitCode = await gate();

async function gate() {
	try {
		await (only.length > 0 ? chosen() : whole());
	} finally {
		rmSync(reports, { recursive: true, force: true });
	}
	process.stdout.write(`\n${summary(steps)}\n`);
	return steps.every((step) => step.failed === 0) ? 0 : 1;
}

async function whole() {
	if (!(await settingUp())) return;
	await step('types', () => tool('node_modules/typescript/bin/tsc', '-p', '.'));
	await step('lint and format', () =>
		tool(
			'node_modules/@biomejs/biome/bin/biome',
			'check',
			'--error-on-warnings',
			'--diagnostic-level=warn',
			'--colors=off',
			'.',
		),
	);
	await step('house rules', () => tool('test/gate/house.ts'));
	await tests('tests', 'test/vitest.config.ts', quick ? ['--exclude', '**/*.slow.test.ts'] : []);
	if (quick) return;
	await browserTests([]);
}

async function chosen() {
	if (!(await settingUp())) return;
	const inBrowser = only.filter((path) => /^test\/(browser|built)/.test(path));
	const others = only.filter((path) => !inBrowser.includes(path));
	if (others.length > 0) await tests('tests', 'test/vitest.config.ts', others);
	if (inBrowser.length > 0) await browserTests(inBrowser);
}

async function browserTests(paths) {
	const built = await step('build', () => freshBuild(node));
	const browser = await step('browser', findBrowser);
	if (built && browser) await tests('browser and bundles', 'test/gate/browser.config.ts', paths);
}

function settingUp() {
	return step('set-up', async () => {
		node = await setUp();
		return 0;
	});
}

function findBrowser() {
	const found = spawnSync(node, [inRoot('test', 'gate', 'chromium.ts')], {
		cwd: ROOT,
		encoding: 'utf8',
		stdio: ['ignore', 'pipe', 'inherit'],
	});
	chromium = found.status === 0 ? found.stdout : null;
	return chromium === null ? 1 : 0;
}

function tool(script, ...rest) {
	return runToEnd(node, [inRoot(...script.split('/')), ...rest], { cwd: ROOT });
}

/** Runs one step that counts as one; `run` answers an exit code or throws with what to do. */
async function step(name, run) {
	const began = Date.now();
	process.stdout.write(`\n── ${name}\n`);
	let code = 1;
	let why = '';
	try {
		code = await run();
		if (code !== 0) why = `ended with ${code}`;
	} catch (error) {
		why = error.message.split('\n')[0];
		process.stdout.write(`${error.message}\n`);
	}
	const good = code === 0;
	const seconds = (Date.now() - began) / 1000;
	steps.push({ name, passed: good ? 1 : 0, failed: good ? 0 : 1, seconds, why });
	return good;
}

/** Runs one vitest configuration; its tests are counted one by one. */
async function tests(name, config, rest) {
	const began = Date.now();
	process.stdout.write(`\n── ${name}\n`);
	const report = join(reports, `${steps.length}.json`);
	const code = await runToEnd(
		node,
		[
			inRoot('node_modules', 'vitest', 'vitest.mjs'),
			'run',
			`--config=${config}`,
			'--reporter=default',
			'--reporter=json',
			`--outputFile.json=${report}`,
			...rest,
		],
		{ cwd: ROOT, env: { ...process.env, ...(chromium === null ? {} : { CHROMIUM: chromium }) } },
	);
	steps.push({ name, ...tallyReport(report, code), seconds: (Date.now() - began) / 1000 });
}
