import { describe, expect, it } from 'vitest';
import { columnsOf } from '../../../calc/sheet/catalogue.ts';
import { flagsText } from '../../../renderer/sheets/columndefs.ts';
import { isRatio, ratioSpan, ratioStyle } from '../../../renderer/sheets/ratiobar.ts';

describe('the bar of a ratio', () => {
	it('runs from the middle to the right for more than 1, to the left for less', () => {
		expect(ratioSpan(1)).toEqual([50, 50]);
		expect(ratioSpan(1.125)).toEqual([50, 75]);
		expect(ratioSpan(0.875)).toEqual([25, 50]);
	});

	it('ends at the edges of the cell', () => {
		expect(ratioSpan(9)).toEqual([50, 100]);
		expect(ratioSpan(-3)).toEqual([0, 50]);
	});

	it('is not there for a blank', () => {
		expect(ratioSpan(null)).toBeNull();
		expect(ratioSpan(Number.NaN)).toBeNull();
		expect(ratioStyle(null)).toEqual({ backgroundImage: 'none' });
	});

	it('stands only in plain ratios of the ledger', () => {
		const ratios = columnsOf('ledger').filter((column) => isRatio(column.id));
		expect(ratios).toHaveLength(2);
		expect(ratios.every((column) => column.unit === '1')).toBe(true);
	});
});

describe('flags of a ledger line', () => {
	it('are counted and said in words', () => {
		const flags = { flags: ['240 s are missing.', 'No level is given.'] };
		expect(flagsText({ id: 1, cells: {}, flags })).toBe(
			'2 · 240 s are missing. · No level is given.',
		);
	});

	it('are nothing when there is nothing to be said', () => {
		expect(flagsText({ id: 1, cells: { flags: null } })).toBe('');
		expect(flagsText(undefined)).toBe('');
	});
});
