import { readFileSync } from 'node:fs';

/**
 * @typedef {{name: string, passed: number, failed: number, seconds: number, why: string}} StepResult
 */

/**
 * Counts of one vitest run from its JSON report. A test that was skipped counts as failed, and so
 * does a run that reports nothing or ends badly although no test failed.
 *
 * @param {string} reportFile
 * @param {number} exitCode
 * @returns {{passed: number, failed: number, why: string}}
 */
export function tallyReport(reportFile, exitCode) {
	let report;
	try {
		report = JSON.parse(readFileSync(reportFile, 'utf8'));
	} catch {
		return { passed: 0, failed: 1, why: 'the test runner left no report' };
	}
	const passed = report.numPassedTests ?? 0;
	const skipped = (report.numPendingTests ?? 0) + (report.numTodoTests ?? 0);
	const brokenFiles = (report.testResults ?? []).filter(
		(file) => file.status === 'failed' && file.assertionResults.length === 0,
	).length;
	const failed = (report.numFailedTests ?? 0) + skipped + brokenFiles;
	const reasons = [];
	if (report.numFailedTests > 0) reasons.push(`${report.numFailedTests} failed`);
	if (skipped > 0) reasons.push(`${skipped} skipped`);
	if (brokenFiles > 0) reasons.push(`${brokenFiles} files could not be run`);
	if (failed > 0) return { passed, failed, why: reasons.join(', ') };
	if (passed === 0) return { passed, failed: 1, why: 'no test was found' };
	if (exitCode !== 0) return { passed, failed: 1, why: `the test runner ended with ${exitCode}` };
	return { passed, failed: 0, why: '' };
}

/**
 * The table of steps and, as its last line, the sum.
 *
 * @param {readonly StepResult[]} steps
 * @returns {string}
 */
export function summary(steps) {
	const rows = steps.map(({ name, passed, failed, seconds, why }) => [
		failed === 0 ? 'ok' : 'FAILED',
		name,
		`${seconds.toFixed(1)} s`,
		`${passed} passed${failed === 0 ? '' : `, ${failed} failed`}`,
		why,
	]);
	const wide = [0, 1, 2].map((column) => Math.max(...rows.map((row) => row[column].length), 0));
	const lines = rows.map(([state, name, time, count, why]) =>
		`${state.padEnd(wide[0])}  ${name.padEnd(wide[1])}  ${time.padStart(wide[2])}  ${count}  ${why}`.trimEnd(),
	);
	const sum = (key) => steps.reduce((total, step) => total + step[key], 0);
	return [...lines, '', `${sum('passed')} passed, ${sum('failed')} failed`].join('\n');
}
