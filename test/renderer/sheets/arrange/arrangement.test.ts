import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
	type Arrangement,
	defaultArrangement,
	fitArrangement,
	freezeUpTo,
	moveColumn,
	readArrangement,
	type SheetDefaults,
	showColumn,
} from '../../../../renderer/sheets/arrange/arrangement.ts';

const SHEET: SheetDefaults = {
	ids: ['time', 'mode', 'feed_flow_m3_h', 'return_flow_m3_h', 'note'],
	pinned: ['mode', 'time'],
	sortedBy: 'time',
};
const idsOf = ({ columns }: Arrangement) => columns.map(({ id }) => id);
const frozenOf = ({ columns, frozen }: Arrangement) => columns.slice(0, frozen).map(({ id }) => id);

const arrangements: fc.Arbitrary<Arrangement> = fc
	.record({
		ids: fc.uniqueArray(fc.constantFrom(...SHEET.ids, 'gone_m3', 'own_index', 'passing_2_mm')),
		frozen: fc.nat(8),
		hidden: fc.array(fc.boolean(), { minLength: 8, maxLength: 8 }),
	})
	.map(({ ids, frozen, hidden }) => ({
		columns: ids.map((id, i) => ({ id, hidden: hidden[i] ?? false, width: i % 2 ? 90 + i : null })),
		frozen: Math.min(frozen, ids.length),
		sort: ids.slice(0, 2).map((id) => ({ id, way: 'desc' as const })),
		filters: Object.fromEntries(ids.map((id) => [id, { type: 'blank' }])),
		marked: true,
		groupBy: 'shift' as const,
	}));

describe('the arrangement of a sheet', () => {
	it('begins with the frozen columns, all shown, sorted as the sheet is', () => {
		const own = defaultArrangement(SHEET);
		expect(idsOf(own)).toEqual(SHEET.ids);
		expect(frozenOf(own)).toEqual(['time', 'mode']);
		expect(own.sort).toEqual([{ id: 'time', way: 'asc' }]);
	});

	it('has each column there is once, whatever was kept, and shows at least one', () => {
		fc.assert(
			fc.property(arrangements, (kept) => {
				const fitted = fitArrangement(kept, SHEET);
				expect([...idsOf(fitted)].sort()).toEqual([...SHEET.ids].sort());
				expect(fitted.columns.some(({ hidden }) => !hidden)).toBe(true);
				const still = idsOf(kept).filter((id) => SHEET.ids.includes(id));
				expect(idsOf(fitted).filter((id) => still.includes(id))).toEqual(still);
				for (const id of frozenOf(kept))
					if (SHEET.ids.includes(id)) expect(frozenOf(fitted)).toContain(id);
				for (const { id } of fitted.sort) expect(SHEET.ids).toContain(id);
				for (const id of Object.keys(fitted.filters)) expect(SHEET.ids).toContain(id);
				expect(fitArrangement(fitted, SHEET)).toEqual(fitted);
			}),
			{ seed: 41, numRuns: 300 },
		);
	});

	it('is the same after it was kept and read again', () => {
		fc.assert(
			fc.property(arrangements, (kept) => {
				expect(readArrangement(JSON.parse(JSON.stringify(kept)))).toEqual(kept);
			}),
			{ seed: 42, numRuns: 200 },
		);
	});

	it('is not read from something else', () => {
		fc.assert(
			fc.property(fc.jsonValue(), (value) => {
				const read = readArrangement(value);
				if (read !== null)
					expect(fitArrangement(read, SHEET).columns).toHaveLength(SHEET.ids.length);
			}),
			{ seed: 43, numRuns: 300 },
		);
		expect(readArrangement(null)).toBeNull();
		expect(readArrangement({ columns: [{ id: 4 }] })).toBeNull();
	});

	it('freezes a column moved in among the frozen ones, and lets go of one moved out', () => {
		const own = defaultArrangement(SHEET);
		const into = moveColumn(own, 'note', 1);
		expect(idsOf(into)).toEqual(['time', 'note', 'mode', 'feed_flow_m3_h', 'return_flow_m3_h']);
		expect(frozenOf(into)).toEqual(['time', 'note', 'mode']);
		const out = moveColumn(own, 'time', 3);
		expect(frozenOf(out)).toEqual(['mode']);
		expect(moveColumn(own, 'time', -4)).toBe(own);
	});

	it('freezes up to a column, lets all go when asked again, and keeps the last column shown', () => {
		const own = defaultArrangement(SHEET);
		const three = freezeUpTo(own, 'feed_flow_m3_h');
		expect(three.frozen).toBe(3);
		expect(freezeUpTo(three, 'feed_flow_m3_h').frozen).toBe(0);
		const left = SHEET.ids.reduce((now, id) => showColumn(now, id, false), own);
		expect(left.columns.filter(({ hidden }) => !hidden)).toHaveLength(1);
	});
});
