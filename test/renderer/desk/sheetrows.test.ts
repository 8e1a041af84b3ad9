import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { SheetRow } from '../../../calc/sheet/column.ts';
import { applyRows, firstSpan } from '../../../renderer/desk/sheetrows.ts';

const row = (id: number, time: number): SheetRow => ({ id, cells: { time } });

describe('applyRows', () => {
	it('says what was added, replaced and removed', () => {
		const rows = new Map([
			[1, row(1, 10)],
			[2, row(2, 20)],
		]);
		const change = applyRows(
			rows,
			{ rows: [row(2, 25), row(3, 30)] as never, removed: [1, 99] },
			null,
		);
		expect(change.added.map((r) => r.id)).toEqual([3]);
		expect(change.updated).toEqual([row(2, 25)]);
		expect(change.removed.map((r) => r.id)).toEqual([1]);
		expect([...rows.keys()]).toEqual([2, 3]);
	});

	it('leaves out new rows beyond the held span of time, but follows a held row wherever it goes', () => {
		const rows = new Map([[1, row(1, 10)]]);
		applyRows(
			rows,
			{ rows: [row(1, 500), row(2, 500), row(3, 15)] as never, removed: [] },
			{
				from_s: 5,
				to_s: 100,
			},
		);
		expect([...rows.keys()]).toEqual([1, 3]);
		expect(rows.get(1)?.cells.time).toBe(500);
	});

	it('keeps an open end open', () => {
		const rows = new Map<number, SheetRow>();
		applyRows(rows, { rows: [row(1, 1e9)] as never, removed: [] }, { from_s: 5, to_s: null });
		expect(rows.size).toBe(1);
	});

	it('ends with the same rows in whatever portions the changes come', () => {
		const change = fc.record({
			rows: fc.array(fc.tuple(fc.integer({ min: 1, max: 9 }), fc.integer()), { maxLength: 4 }),
			removed: fc.array(fc.integer({ min: 1, max: 9 }), { maxLength: 3 }),
		});
		fc.assert(
			fc.property(fc.array(change, { maxLength: 12 }), (changes) => {
				const rows = new Map<number, SheetRow>();
				const plain = new Map<number, number>();
				let held = 0;
				for (const { rows: touched, removed } of changes) {
					const part = { rows: touched.map(([id, time]) => row(id, time)) as never, removed };
					const said = applyRows(rows, part, null);
					held += said.added.length - said.removed.length;
					for (const id of removed) plain.delete(id);
					for (const [id, time] of touched) plain.set(id, time);
				}
				expect(new Map([...rows].map(([id, r]) => [id, r.cells.time]))).toEqual(plain);
				expect(held).toBe(plain.size);
			}),
			{ seed: 20, numRuns: 300 },
		);
	});
});

describe('firstSpan', () => {
	it('shows everything while it fits', () => {
		expect(
			firstSpan({ readings: 20_000, rings: 300, firstRing: 1, lastRing: 300 }, 20_000),
		).toBeNull();
	});

	it('shows the last rings of a long drive', () => {
		expect(
			firstSpan({ readings: 300_000, rings: 5000, firstRing: 1, lastRing: 5000 }, 20_000),
		).toEqual({ fromRing: 4668, toRing: 5000 });
	});

	it('shows at least one ring, however many readings it has', () => {
		expect(firstSpan({ readings: 50_000, rings: 1, firstRing: 7, lastRing: 7 }, 20_000)).toEqual({
			fromRing: 7,
			toRing: 7,
		});
	});
});
