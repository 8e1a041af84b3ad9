import fc from 'fast-check';
import { all, create } from 'mathjs';
import { expect, test } from 'vitest';
import { planFormulas } from '../../../calc/formula/columns.ts';
import { FormulaFigures } from '../../../calc/formula/recalculate.ts';
import { columnOf, rowsOf } from './columnsof.ts';

/** Against the expression library's own evaluation, which shares nothing with ours but the parser. */

if (all === undefined) throw new Error('mathjs without its functions');
const math = create(all);

/** Plain numbers of the ledger. */
const A = 'ratio_volume';
const B = 'ratio_solids';
const C = 'ring';

interface Part {
	readonly text: string;
	/** The value by the library, a step at a time; null where a step gives no finite real number. */
	readonly value: (scope: Record<string, number>) => number | null;
}

const real = (made: unknown): number | null => {
	if (typeof made === 'boolean') return made ? 1 : 0;
	return typeof made === 'number' && Number.isFinite(made) ? made : null;
};
/** One step of the library over parts that are there. */
const step =
	(form: string, parts: readonly Part[]) =>
	(scope: Record<string, number>): number | null => {
		const values: Record<string, number> = {};
		for (const [at, part] of parts.entries()) {
			const value = part.value(scope);
			if (value === null) return null;
			values[`x${at}`] = value;
		}
		return real(math.evaluate(form, values));
	};
const made = (text: (...parts: string[]) => string, form: string, ...parts: Part[]): Part => ({
	text: text(...parts.map((part) => part.text)),
	value: step(form, parts),
});

const leaf: fc.Arbitrary<Part> = fc.oneof(
	fc
		.constantFrom(A, B, C)
		.map((name) => ({ text: name, value: (s: Record<string, number>) => s[name] ?? null })),
	fc
		.oneof(
			fc.integer({ min: 0, max: 40 }).map(String),
			fc.constantFrom('0.25', '1.5e2', '3.', '.5'),
		)
		.map((text) => ({ text, value: () => Number(text) })),
	fc.constant({ text: 'pi', value: () => Math.PI }),
);

const { figure } = fc.letrec<{ figure: Part; truth: Part }>((tie) => ({
	figure: fc.oneof(
		{ maxDepth: 5, withCrossShrink: true },
		leaf,
		fc
			.tuple(fc.constantFrom('+', '-', '*', '/', '^'), tie('figure'), tie('figure'))
			.map(([sign, a, b]) => made((x, y) => `(${x}) ${sign} (${y})`, `x0 ${sign} x1`, a, b)),
		fc
			.tuple(tie('figure'), tie('figure'))
			.map(([a, b]) => made((x, y) => `(${x}) (${y})`, 'x0 * x1', a, b)),
		tie('figure').map((a) => made((x) => `-(${x})`, '-x0', a)),
		fc
			.tuple(fc.constantFrom('abs', 'sqrt', 'log', 'exp', 'round'), tie('figure'))
			.map(([name, a]) => made((x) => `${name}(${x})`, `${name}(x0)`, a)),
		fc
			.tuple(fc.constantFrom('min', 'max'), tie('figure'), tie('figure'), tie('figure'))
			.map(([name, a, b, c]) =>
				made((x, y, z) => `${name}(${x}, ${y}, ${z})`, `${name}(x0, x1, x2)`, a, b, c),
			),
		fc.tuple(tie('figure'), tie('figure')).map(([a, b]): Part => {
			const log = made((x, y) => `log(${x}, ${y})`, 'log(x0, x1)', a, b);
			// A base is above 0 by definition; the library reckons on through log(0).
			return { ...log, value: (scope) => ((b.value(scope) ?? 0) > 0 ? log.value(scope) : null) };
		}),
		fc.tuple(tie('truth'), tie('figure'), tie('figure')).map(
			([when, a, b]): Part => ({
				text: `((${when.text}) ? (${a.text}) : (${b.text}))`,
				value: (scope) => {
					const yes = when.value(scope);
					return yes === null ? null : yes === 1 ? a.value(scope) : b.value(scope);
				},
			}),
		),
	),
	truth: fc.oneof(
		{ maxDepth: 4 },
		fc
			.tuple(fc.constantFrom('<', '<=', '>', '>=', '==', '!='), tie('figure'), tie('figure'))
			.map(([sign, a, b]) => made((x, y) => `(${x}) ${sign} (${y})`, `x0 ${sign} x1`, a, b)),
		fc
			.tuple(fc.constantFrom('and', 'or'), tie('truth'), tie('truth'))
			.map(([sign, a, b]) => made((x, y) => `(${x}) ${sign} (${y})`, `x0 ${sign} x1`, a, b)),
		tie('truth').map((a) => made((x) => `not (${x})`, 'not x0', a)),
	),
}));

/** Three decimals: the library takes numbers nearer than 1e-15 for the same, we only in proportion. */
const number = fc.oneof(
	fc.integer({ min: -50_000, max: 50_000 }).map((thousandths) => thousandths / 1000),
	fc.integer({ min: -5, max: 5 }),
);

test('random formulas give what the expression library gives, or are blank where it gives no real number', () => {
	let compared = 0;
	let blank = 0;
	fc.assert(
		fc.property(
			figure,
			fc.array(fc.tuple(number, number), { minLength: 3, maxLength: 3 }),
			(part, data) => {
				const cells = data.map(([a, b], row) => ({ [A]: a + 0, [B]: b + 0, [C]: row + 1 }));
				const plan = planFormulas('ledger', [columnOf('made', part.text)]);
				const fault = plan.columns[0]?.fault;
				// A constant that is no number is refused when the formula is entered.
				if (fault?.code === 'constant_infinite') return;
				expect(fault ?? null, part.text).toBeNull();
				const figures = new FormulaFigures(plan, rowsOf(cells));
				cells.forEach((scope, row) => {
					const expected = part.value(scope);
					const value = figures.value('made', row);
					if (expected === null) {
						blank++;
						expect(value, `${part.text} with ${JSON.stringify(scope)}`).toBeNull();
						expect(figures.reasons('made', row)).not.toEqual([]);
						return;
					}
					compared++;
					const whole = real(math.evaluate(part.text, { ...scope }));
					expect(whole).toBe(expected);
					expect(value, `${part.text} with ${JSON.stringify(scope)}`).not.toBeNull();
					expect(Math.abs((value ?? 0) - expected)).toBeLessThanOrEqual(1e-12 * Math.abs(expected));
				});
			},
		),
		{ numRuns: 1_500, seed: 4_020 },
	);
	expect(compared).toBeGreaterThan(2_000);
	expect(blank).toBeGreaterThan(100);
});

test('numbers with units are what the expression library makes of them', () => {
	const cases = [
		['5 m^3 / (2 h)', 'm3/h', 'm^3/hour'],
		['1.2 kg/L * 3 m^3', 't', 'tonne'],
		['12 mm/min * 90 min', 'm', 'm'],
		['sqrt(16 m^2) + 3 ft', 'm', 'm'],
		['2 bar + 30 kPa', 'Pa', 'Pa'],
		['8 lb/gal', 'kg/m3', 'kg/m^3'],
		['3 m * 2 m * 50 cm', 'L', 'L'],
		['(2 m)^3 / 4', 'm3', 'm^3'],
		['1/2 m', 'mm', 'mm'],
	] as const;
	for (const [text, unit, theirs] of cases) {
		const plan = planFormulas('ledger', [columnOf('made', text, unit)]);
		expect(plan.columns[0]?.fault ?? null, text).toBeNull();
		const value = new FormulaFigures(plan, rowsOf([{}])).value('made', 0) ?? Number.NaN;
		const spelt = text
			.replace('min *', 'minute *')
			.replace('90 min', '90 minute')
			.replace(' h)', ' hour)');
		const expected = math.evaluate(spelt).toNumber(theirs);
		expect(Math.abs(value / expected - 1), text).toBeLessThan(1e-12);
	}
});
