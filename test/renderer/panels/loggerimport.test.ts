import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { LoggerImported, LoggerLayout } from '../../../electron/contract/loggerimport.ts';
import {
	unitFor,
	withHeadingRow,
	withModeWord,
	withRule,
	withTarget,
	withTimeFields,
	withUnit,
} from '../../../renderer/panels/loggerimport/layoutedit.ts';
import { type Mark, paceOf, withMark } from '../../../renderer/panels/loggerimport/pace.ts';
import {
	bytesText,
	outcomeText,
	paceText,
	readText,
	stampText,
	valueText,
} from '../../../renderer/panels/loggerimport/words.ts';

const layout: LoggerLayout = {
	format: 'csv',
	delimiter: ';',
	decimal: ',',
	encoding: 'utf-8',
	headingRow: 1,
	headings: ['t', 'a', 'b', 'c'],
	firstRow: 2,
	time: { fields: [0], format: 'iso', zone: 'UTC' },
	columns: [
		{ field: 1, to: 'feed_flow_m3_h', unit: 'm3/h' },
		{ field: 2, to: 'return_flow_m3_h', unit: 'm3/h' },
	],
	modeWords: [{ text: 'run', mode: 'advance' }],
	modeRules: [],
};

describe('a layout changed by a person', () => {
	it('lets a column move to another field and never be filled by two', () => {
		const moved = withTarget(layout, 3, 'feed_flow_m3_h', 'L/s');
		expect(moved.columns).toEqual([
			{ field: 2, to: 'return_flow_m3_h', unit: 'm3/h' },
			{ field: 3, to: 'feed_flow_m3_h', unit: 'L/s' },
		]);
		expect(withTarget(moved, 3, null, null).columns.map(({ to }) => to)).toEqual([
			'return_flow_m3_h',
		]);
	});

	it('keeps one field a column and one column a field, whatever is chosen in whatever order', () => {
		const to = fc.constantFrom('feed_flow_m3_h', 'return_flow_m3_h', 'mode', null);
		fc.assert(
			fc.property(fc.array(fc.tuple(fc.nat(5), to), { maxLength: 20 }), (choices) => {
				let now = layout;
				for (const [field, target] of choices) now = withTarget(now, field, target, null);
				const fields = now.columns.map(({ field }) => field);
				const targets = now.columns.map((column) => column.to);
				expect(new Set(fields).size).toBe(fields.length);
				expect(new Set(targets).size).toBe(targets.length);
				const [lastField, lastTarget] = choices.at(-1) ?? [];
				if (typeof lastTarget === 'string')
					expect(now.columns.find(({ field }) => field === lastField)?.to).toBe(lastTarget);
			}),
			{ seed: 11, numRuns: 200 },
		);
	});

	it('takes the unit of one column and leaves the others', () => {
		expect(withUnit(layout, 2, 'L/s').columns.map(({ unit }) => unit)).toEqual(['m3/h', 'L/s']);
	});

	it('takes fields for the time away from the columns', () => {
		const timed = withTimeFields(layout, 0, 1);
		expect(timed.time.fields).toEqual([0, 1]);
		expect(timed.columns.map(({ field }) => field)).toEqual([2]);
		expect(withTimeFields(layout, 3, 3).time.fields).toEqual([3]);
	});

	it('begins the data below the headings and forgets headings of another row', () => {
		const lower = withHeadingRow(layout, 4);
		expect([lower.headingRow, lower.firstRow, lower.headings]).toEqual([4, 5, undefined]);
		expect(withHeadingRow({ ...layout, firstRow: 9 }, 2).firstRow).toBe(9);
		expect(withHeadingRow(layout, null).headingRow).toBeNull();
	});

	it('takes words and rules in and out', () => {
		expect(withModeWord(layout, 'run', 'stop').modeWords).toEqual([{ text: 'run', mode: 'stop' }]);
		expect(withModeWord(layout, 'run', null).modeWords).toEqual([]);
		const rule: LoggerLayout['modeRules'][number] = {
			id: 'open',
			mode: 'bypass',
			when: [{ signal: 'bypassValve_1', is: 'above', limit: 0.5, hysteresis: 0 }],
			debounce_s: 0,
			priority: 1,
		};
		const used = withRule(layout, rule, true);
		expect(withRule(used, rule, true).modeRules).toEqual([rule]);
		expect(withRule(used, rule, false).modeRules).toEqual([]);
	});

	it('begins with the unit read beside the heading where it fits', () => {
		const target = {
			id: 'feed_flow_m3_h',
			heading: 'Feed flow',
			units: [
				{ id: 'm3/h', label: 'm³/h' },
				{ id: 'L/s', label: 'L/s' },
			],
		};
		expect(unitFor(target, 'L/s')).toBe('L/s');
		expect(unitFor(target, 'm³/h')).toBe('m3/h');
		expect(unitFor(target, 'bar')).toBe('m3/h');
		expect(unitFor({ ...target, units: [] }, 'bar')).toBeNull();
	});
});

describe('the pace of an import', () => {
	const run = (rate: number, times_ms: readonly number[]): readonly Mark[] =>
		times_ms.reduce<readonly Mark[]>(
			(marks, at_ms) => withMark(marks, { at_ms, done: (rate * at_ms) / 1000 }),
			[],
		);
	it('is that of the last seconds', () => {
		const slow = run(1000, [0, 1000, 2000]);
		expect(paceOf(slow)).toBeCloseTo(1000, 9);
		const last = slow.at(-1)?.done ?? 0;
		let marks = slow;
		for (let second = 1; second <= 10; second++)
			marks = withMark(marks, { at_ms: 2000 + second * 1000, done: last + second * 5000 });
		expect(paceOf(marks)).toBeCloseTo(5000, 9);
	});
	it('cannot be told from one moment and begins anew with another count', () => {
		expect(paceOf([])).toBeNull();
		expect(paceOf(run(1000, [0, 100]))).toBeNull();
		expect(withMark(run(1000, [0, 1000]), { at_ms: 2000, done: 3 })).toEqual([
			{ at_ms: 2000, done: 3 },
		]);
	});
	it('says what is left where it can', () => {
		expect(paceText(1_000_000, 3_000_000, 500_000)).toBe(
			'1\u202f000\u202f000 rows, 500\u202f000 rows/s, about 4 s left',
		);
		expect(paceText(10, null, 5)).toBe('10 rows, 5 rows/s');
		expect(paceText(1, null, null)).toBe('1 row');
	});
});

describe('what the import says', () => {
	it('shows figures with the places they have, at most four', () => {
		expect([1082, 1.082, 979.92, 0.123456].map(valueText)).toEqual([
			'1\u202f082',
			'1.082',
			'979.92',
			'0.1235',
		]);
		expect([null, 'advance'].map(valueText)).toEqual(['—', 'advance']);
	});
	it('tells sizes, shares and stamps', () => {
		expect([812, 5_214_900, 2_100_000_000].map(bytesText)).toEqual(['812 B', '5.2 MB', '2.1 GB']);
		expect(readText({ filled: 60, read: 58 }, 63)).toBe('58 of 60 read, 3 empty');
		expect(readText({ filled: 60, read: 60 }, 60)).toBe('all read');
		expect(readText({ filled: 0, read: 0 }, 60)).toBe('nothing in the rows looked at');
		const time = { texts: [], parsed: [], doubts: [], read: 2, first_s: 0, last_s: 1, step_s: 1 };
		expect(stampText(time, 2, 0)).toBe(
			'From 1970-01-01 00:00 to 1970-01-01 00:00:01, one every 1 s.',
		);
		expect(stampText(time, 3, 0)).toContain('2 of 3 stamps were read.');
		expect(stampText({ ...time, first_s: null }, 3, 0)).toBe('No stamp could be read.');
	});
	it('names what has come of it', () => {
		const of = (part: Partial<LoggerImported>) =>
			outcomeText({ outcome: 'done', added: 0, duplicates: 0, ...part } as LoggerImported);
		expect(of({ added: 1 })).toBe('1 row imported');
		expect(of({ duplicates: 5 })).toBe('Everything was there already');
		expect(of({ outcome: 'cancelled', added: 4 })).toBe('The import was cancelled');
		expect(of({ outcome: 'refused' })).toBe('Nothing was imported');
	});
});
