import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseTime } from '../../../calc/quantity/time.ts';
import { columnsOf } from '../../../calc/sheet/catalogue.ts';
import { readCell } from '../../../calc/sheet/cell.ts';
import {
	acceptedWith,
	CORRECTIONS,
	decisionCells,
	differenceWords,
	inForceWords,
	secondTermWords,
	stateWords,
	stepWords,
} from '../../../renderer/panels/meterchecks/words.ts';
import { madeChecks, ODD_AT } from '../charts/madechecks.ts';

const MARKS = { decimal: '.' } as const;
const making = {
	count: 30,
	correction: 'none',
	accepted: 'none',
	level: 'meters',
	decisions: [],
	byHand: false,
} as const;

describe('a decision on a window', () => {
	it('is a row the sheet takes, and its times hold the middle of the window', () => {
		fc.assert(
			fc.property(
				fc.double({ min: 1.9e9, max: 2e9, noNaN: true }),
				fc.double({ min: 0, max: 4000, noNaN: true }),
				fc.constantFrom(-210, 0, 60, 345),
				fc.constantFrom('flow' as const, 'density' as const, null),
				(from_s, length_s, utcOffset_min, quantity) => {
					const to_s = from_s + length_s;
					const cells = decisionCells({ from_s, to_s }, quantity, 'reject', ' why ', utcOffset_min);
					const time = (text: string | undefined) => {
						const read = parseTime(text ?? '');
						return read.kind === 'time' ? read.time_s : Number.NaN;
					};
					const middle = (from_s + to_s) / 2;
					expect(time(cells.from_time)).toBeLessThanOrEqual(middle);
					expect(time(cells.to_time)).toBeGreaterThanOrEqual(middle);
					expect(time(cells.to_time)).toBeGreaterThan(time(cells.from_time));
					expect(cells.why).toBe('why');
					expect('quantity' in cells).toBe(quantity !== null);
					for (const column of columnsOf('bypass_decisions')) {
						const read = readCell(column, cells[column.id] ?? '', { decimal: '.', utcOffset_min });
						expect(read.kind, column.id).toBe('value');
					}
				},
			),
			{ seed: 1957, numRuns: 200 },
		);
	});
});

describe('what the check says', () => {
	it('offers every choice the drive has, each with what it does', () => {
		const column = columnsOf('drive').find((one) => one.id === 'meter_correction');
		expect(CORRECTIONS.map((one) => one.id)).toEqual(column?.choices);
		for (const { says } of CORRECTIONS) expect(says.length).toBeGreaterThan(40);
	});

	it('puts one pair into what is accepted and takes it out again', () => {
		const choices = columnsOf('drive').find((one) => one.id === 'correction_accepted')?.choices;
		const at = (accepted: 'none' | 'flow' | 'density' | 'both') =>
			madeChecks({ ...making, accepted });
		expect(acceptedWith(at('none'), 'flow', true)).toBe('flow');
		expect(acceptedWith(at('density'), 'flow', true)).toBe('both');
		expect(acceptedWith(at('both'), 'flow', false)).toBe('density');
		expect(acceptedWith(at('flow'), 'flow', false)).toBe('none');
		expect(choices).toEqual(expect.arrayContaining(['none', 'flow', 'density', 'both']));
	});

	it('says whether a correction is in use, and why not', () => {
		const none = madeChecks(making);
		expect(inForceWords('none', none.flow)).toBe('not in use');
		expect(inForceWords('none', none.density)).toContain('beyond the limit');
		const corrected = madeChecks({ ...making, correction: 'return' });
		expect(inForceWords('return', corrected.flow)).toBe('in use');
		expect(inForceWords('return', corrected.density)).toBe('held back: beyond the limit');
		const accepted = madeChecks({ ...making, correction: 'return', accepted: 'density' });
		expect(inForceWords('return', accepted.density)).toBe('in use beyond the limit');
		expect(inForceWords('return', null)).toContain('no window');
	});

	it('words every state apart', () => {
		const made = madeChecks(making);
		const first = made.windows[0]?.flow;
		const odd = made.windows[ODD_AT]?.flow;
		if (!first || !odd) throw new Error('no windows');
		expect(stateWords(first)).toBe('in use');
		expect(stateWords(odd)).toBe('set aside');
		const decision = { row: 1, decision: 'accept' as const, why: 'seen to be right' };
		expect(stateWords({ ...first, decision })).toBe('accepted');
		expect(stateWords({ ...first, verdict: 'pending' })).toBe('waits for the next');
	});

	it('bears figures with sign and unit', () => {
		const made = madeChecks(making);
		if (!made.flow || !made.density) throw new Error('no checks');
		expect(differenceWords(made.flow, 'flow', MARKS)).toMatch(
			/^\+0\.\d\d % ± 0\.\d\d % at the end; never more than 0\.\d\d %\.$/,
		);
		const [step] = made.density.steps;
		if (!step) throw new Error('no step');
		expect(stepWords(step, 'density', 60, MARKS)).toMatch(
			/^Step of \+10\.\d ± 0\.\d kg\/m³ between 2031-03-05 \d\d:\d\d and 2031-03-06 \d\d:\d\d, called in ring 52/,
		);
		expect(secondTermWords(made.flow, 'flow', MARKS)).toContain('counts as scale');
		const told = { ...made.density, secondTerm: { value: 0.0125, u: 0.001 } };
		expect(secondTermWords(told, 'density', MARKS)).toContain('+1.25 ± 0.20 %');
	});
});
