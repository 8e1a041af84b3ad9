import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { missingPackages } from '../../electron/launch/setup.mjs';
import { chromiumAdvice } from './chromium.ts';
import { summary, tallyReport } from './tally.mjs';

let folder: string;
beforeAll(() => {
	folder = mkdtempSync(join(tmpdir(), 'tally-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const tally = (report: object | string, code = 0) => {
	const file = join(folder, 'report.json');
	writeFileSync(file, typeof report === 'string' ? report : JSON.stringify(report));
	return tallyReport(file, code);
};

describe('what a test run counts', () => {
	it.each([
		['all passed', { numPassedTests: 3 }, 0, 3, 0],
		['one failed', { numPassedTests: 3, numFailedTests: 1 }, 1, 3, 1],
		['a skipped test is a failed one', { numPassedTests: 3, numPendingTests: 2 }, 0, 3, 2],
		['a test to be written is a failed one', { numPassedTests: 3, numTodoTests: 1 }, 0, 3, 1],
		['no test at all', { numPassedTests: 0 }, 0, 0, 1],
		['a bad end without a failed test', { numPassedTests: 3 }, 1, 3, 1],
		[
			'a file that could not be run',
			{ numPassedTests: 3, testResults: [{ status: 'failed', assertionResults: [] }] },
			1,
			3,
			1,
		],
		['a report cut off', '{"numPassedTests": 3', 1, 0, 1],
	])('%s', (_, report, code, passed, failed) => {
		expect(tally(report, code)).toMatchObject({ passed, failed });
	});

	it('counts a missing report as a failure', () => {
		expect(tallyReport(join(folder, 'none.json'), 0)).toMatchObject({ passed: 0, failed: 1 });
	});
});

it('ends with one plain line of the sum', () => {
	const step = { name: 'types', passed: 1, failed: 0, seconds: 2, why: '' };
	const text = summary([step, { ...step, name: 'tests', passed: 40, failed: 2, why: '2 failed' }]);
	expect(text.split('\n').at(-1)).toBe('41 passed, 2 failed');
	expect(text).toMatch(/^ok +types/m);
	expect(text).toMatch(/^FAILED +tests .*2 failed$/m);
});

describe('which packages are missing', () => {
	const lock = {
		packages: {
			'': {},
			'node_modules/a': { version: '1.0.0' },
			'node_modules/b': { version: '2.0.0' },
			'node_modules/other-system': { version: '1.0.0', optional: true },
		},
	};
	it('is all of them on a fresh machine, none when each is there in its version', () => {
		expect(missingPackages(lock, null)).toEqual(['node_modules/a', 'node_modules/b']);
		const { 'node_modules/other-system': _, ...installed } = lock.packages;
		expect(missingPackages(lock, { packages: installed })).toEqual([]);
	});
	it('names one in another version', () => {
		const installed = { ...lock.packages, 'node_modules/b': { version: '1.9.0' } };
		expect(missingPackages(lock, { packages: installed })).toEqual(['node_modules/b']);
	});
});

it('says on every system how to get a browser', () => {
	for (const system of ['linux', 'darwin', 'win32'] as const) {
		expect(chromiumAdvice(system)).toContain('CHROMIUM');
	}
});
