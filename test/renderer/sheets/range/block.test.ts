import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
	type Block,
	blockOf,
	cellsIn,
	columnsIn,
	edgeOfData,
	grownTo,
	holds,
	nextWithin,
	pasteTarget,
	rowsIn,
	sizeWords,
} from '../../../../renderer/sheets/range/block.ts';

const spot = fc.record({ row: fc.nat(30), column: fc.nat(12) });
const block = fc.tuple(spot, spot).map(([one, other]) => blockOf(one, other));
const SEEDED = { seed: 20260402 };

describe('a block', () => {
	it('holds both its corners, whichever way it was drawn', () => {
		fc.assert(
			fc.property(spot, spot, (one, other) => {
				const made = blockOf(one, other);
				expect(made).toEqual(blockOf(other, one));
				expect(holds(made, one) && holds(made, other)).toBe(true);
				expect(cellsIn(made)).toBe(
					(Math.abs(one.row - other.row) + 1) * (Math.abs(one.column - other.column) + 1),
				);
			}),
			SEEDED,
		);
	});

	it('is walked through cell by cell, each once, and back the same way', () => {
		fc.assert(
			fc.property(block, fc.constantFrom('down' as const, 'right' as const), (made, along) => {
				const start = { row: made.top, column: made.left };
				const seen = new Set<string>();
				let at = start;
				for (let n = 0; n < cellsIn(made); n += 1) {
					expect(holds(made, at)).toBe(true);
					seen.add(`${at.row} ${at.column}`);
					const next = nextWithin(made, at, along, false);
					expect(nextWithin(made, next, along, true)).toEqual(at);
					at = next;
				}
				expect(seen.size).toBe(cellsIn(made));
				expect(at).toEqual(start);
			}),
			SEEDED,
		);
	});

	it('grows in one direction only, and holds the cell it was dragged to in that direction', () => {
		fc.assert(
			fc.property(block, spot, (made, to) => {
				const grown = grownTo(made, to);
				const sides = (['top', 'left', 'bottom', 'right'] as const).filter(
					(side) => grown[side] !== made[side],
				);
				expect(sides.length).toBe(holds(made, to) ? 0 : 1);
				expect(cellsIn(grown)).toBeGreaterThanOrEqual(cellsIn(made));
				expect(
					(to.row >= grown.top && to.row <= grown.bottom) ||
						(to.column >= grown.left && to.column <= grown.right),
				).toBe(true);
			}),
			SEEDED,
		);
	});
});

describe('a pasted block', () => {
	const chosen: Block = { top: 4, left: 2, bottom: 9, right: 5 };
	// Source: common practice of spreadsheets, from memory.
	it.each([
		['one cell fills all chosen ones', 1, 1, chosen],
		['one row fills all chosen rows', 1, 4, chosen],
		['a block is repeated a whole number of times', 3, 2, chosen],
		['one that does not fit is put down once', 4, 2, { top: 4, left: 2, bottom: 7, right: 3 }],
		['a larger one goes over the edge', 12, 6, { top: 4, left: 2, bottom: 15, right: 7 }],
	])('%s', (_, rows, columns, target) => {
		expect(pasteTarget(chosen, rows, columns)).toEqual(target);
	});

	it('always comes out whole', () => {
		fc.assert(
			fc.property(
				block,
				fc.integer({ min: 1, max: 9 }),
				fc.integer({ min: 1, max: 9 }),
				(to, r, c) => {
					const target = pasteTarget(to, r, c);
					expect(rowsIn(target) % r).toBe(0);
					expect(columnsIn(target) % c).toBe(0);
					expect([target.top, target.left]).toEqual([to.top, to.left]);
				},
			),
			SEEDED,
		);
	});
});

describe('the edge of the data', () => {
	const line = '##..###.';
	const isFilled = (at: number) => line[at] === '#';
	// Source: common practice of spreadsheets, from memory.
	it.each([
		['the last filled cell before a gap', 0, 1, 1],
		['from there the next filled one', 1, 1, 4],
		['from a gap the next filled one', 2, 1, 4],
		['the end where nothing more is filled', 6, 1, 7],
		['backwards', 6, -1, 4],
		['over a gap backwards', 4, -1, 1],
		['the beginning', 0, -1, 0],
		['the end itself', 7, 1, 7],
	])('%s', (_, from, step, to) => {
		expect(edgeOfData(isFilled, from, step as 1 | -1, line.length - 1)).toBe(to);
	});
});

it('is said in words', () => {
	expect(sizeWords(3, 2)).toBe('3 rows × 2 columns');
	expect(sizeWords(1, 1)).toBe('1 row × 1 column');
});
