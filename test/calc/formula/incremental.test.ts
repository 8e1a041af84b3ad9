import fc from 'fast-check';
import { expect, test } from 'vitest';
import { type FormulaColumn, planFormulas } from '../../../calc/formula/columns.ts';
import { FormulaFigures } from '../../../calc/formula/recalculate.ts';
import { columnOf, rowsOf } from './columnsof.ts';

/** Working out everything is the oracle: after any changes the same figures must stand there, to the bit. */

const INPUTS = ['ratio_volume', 'ratio_solids'] as const;
const names = ['a', 'b', 'c', 'd', 'f'] as const;

/** A formula over the inputs and the columns before it. */
const formula = (before: readonly string[]): fc.Arbitrary<string> => {
	const name = fc.constantFrom(...INPUTS, ...before);
	const { made } = fc.letrec<{ made: string }>((tie) => ({
		made: fc.oneof(
			{ maxDepth: 3 },
			name,
			fc.integer({ min: 1, max: 9 }).map(String),
			fc
				.tuple(tie('made'), fc.constantFrom('+', '-', '*', '/'), tie('made'))
				.map(([a, sign, b]) => `(${a} ${sign} ${b})`),
			fc
				.tuple(fc.constantFrom('mean', 'sum', 'std'), tie('made'), fc.integer({ min: 2, max: 5 }))
				.map(([f, a, n]) => `${f}(${a}, ${n})`),
			fc
				.tuple(fc.constantFrom('total', 'previous', 'change', 'abs'), tie('made'))
				.map(([f, a]) => `${f}(${a})`),
			fc
				.tuple(tie('made'), fc.integer({ min: -3, max: 3 }))
				.map(([a, n]) => `at_ring(${a}, ring + ${n})`),
			fc
				.tuple(tie('made'), tie('made'), tie('made'))
				.map(([a, b, c]) => `(${a} > ${b} ? ${c} : ${a})`),
			tie('made').map((a) => `(known(${a}) ? ${a} : 0)`),
			fc.constantFrom('face_share("Marl")', '(source == "stop" ? 1 : 2)'),
		),
	}));
	return made;
};
const formulas: fc.Arbitrary<FormulaColumn[]> = fc
	.tuple(...names.map((_, at) => formula(names.slice(0, at))))
	.map((texts) => texts.map((text, at) => columnOf(names[at] ?? '', text)));

const value = fc.oneof(
	{ weight: 6, arbitrary: fc.integer({ min: -900, max: 900 }).map((x) => x / 7) },
	{ weight: 1, arbitrary: fc.constant(null) },
);
const row = fc.record({
	ratio_volume: value,
	ratio_solids: value,
	'share of Marl': fc.constantFrom(0, 0.25, 1, null),
	source: fc.constantFrom('stop', 'readings', null),
});
type Row = {
	[K in 'ratio_volume' | 'ratio_solids' | 'share of Marl' | 'source']: number | string | null;
};
const change = fc.oneof(
	{
		weight: 5,
		arbitrary: fc.record({
			rows: fc.array(fc.tuple(fc.nat(), row), { minLength: 1, maxLength: 3 }),
		}),
	},
	{ weight: 1, arbitrary: fc.record({ added: fc.array(row, { minLength: 1, maxLength: 3 }) }) },
);

const table = (figures: FormulaFigures, count: number) =>
	names.map((id) => Array.from({ length: count }, (_, at) => figures.value(id, at)));
const numbered = (cells: readonly Row[]) => cells.map((one, at) => ({ ...one, ring: at + 1 }));

test('what is worked out after changes is what is worked out anew', () => {
	let figuresSeen = 0;
	let told = 0;
	fc.assert(
		fc.property(
			formulas,
			fc.array(row, { minLength: 1, maxLength: 25 }),
			fc.array(change, { minLength: 1, maxLength: 8 }),
			(columns, start, changes) => {
				const plan = planFormulas('ledger', columns);
				expect(plan.order).toHaveLength(names.length);
				const cells: Row[] = [...start];
				const live = numbered(cells);
				const figures = new FormulaFigures(plan, rowsOf(live));
				for (const one of changes) {
					const before = table(figures, cells.length);
					let changed: readonly { from: number; to: number }[];
					if ('rows' in one) {
						const at = one.rows.map(([place, now]) => {
							const where = place % cells.length;
							cells[where] = now;
							live[where] = { ...now, ring: where + 1 };
							return where;
						});
						changed = figures.update(at);
					} else {
						for (const now of one.added) {
							cells.push(now);
							live.push({ ...now, ring: cells.length });
						}
						changed = figures.append(rowsOf(live)) ?? [];
					}
					const anew = new FormulaFigures(plan, rowsOf(numbered(cells)));
					const after = table(figures, cells.length);
					expect(after).toEqual(table(anew, cells.length));
					// Every figure that is another than before is in a row that was named.
					after.forEach((column, which) => {
						column.forEach((now, at) => {
							if (now !== null) figuresSeen++;
							if (at < (before[which]?.length ?? 0) && Object.is(now, before[which]?.[at])) return;
							expect(changed.some(({ from, to }) => from <= at && at < to)).toBe(true);
						});
					});
					for (const id of names)
						for (let at = 0; at < cells.length; at++) {
							const reasons = figures.reasons(id, at);
							expect(reasons).toEqual(anew.reasons(id, at));
							expect(reasons.length > 0).toBe(figures.value(id, at) === null);
							told += reasons.length;
						}
				}
			},
		),
		{ numRuns: 250, seed: 77 },
	);
	expect(figuresSeen).toBeGreaterThan(20_000);
	expect(told).toBeGreaterThan(5_000);
});

test('only the rows that look at a change are worked out', () => {
	const cells = Array.from({ length: 1000 }, (_, at) => ({
		ring: at + 1,
		ratio_volume: 1 + at / 8,
	}));
	const plan = planFormulas('ledger', [
		columnOf('a', 'ratio_volume * 2'),
		columnOf('b', 'mean(a, 4)'),
		columnOf('c', 'ratio_solids'),
	]);
	const figures = new FormulaFigures(plan, rowsOf(cells));
	cells[500]!.ratio_volume = 0;
	expect(figures.update([500, 3])).toEqual([{ from: 500, to: 504 }]);
	expect(figures.update([500, 3])).toEqual([]);
});
