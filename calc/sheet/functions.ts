/**
 * The functions a formula may call. Names are those of plain mathematics, and for what looks at other
 * rows the words people use for it. `rows` in the texts is what the sheet's rows are: rings or readings.
 */

/** `each`: of one row's figures. `rows`: looks at other rows. `ground`: asks the ground sheet. */
export type FunctionReach = 'each' | 'rows' | 'ground';

export interface FormulaFunction {
	readonly name: string;
	/** As it is written, with names for what goes in. */
	readonly form: string;
	readonly help: string;
	readonly reach: FunctionReach;
	readonly fewest: number;
	readonly most: number;
	/** Only on the ledger, where a row is a ring. */
	readonly ledgerOnly?: true;
}

const each = (
	name: string,
	form: string,
	[fewest, most]: readonly [number, number],
	help: string,
): FormulaFunction => ({ name, form, help, reach: 'each', fewest, most });
const overRows = (
	name: string,
	form: string,
	count: number,
	help: string,
	more: { ledgerOnly?: true } = {},
): FormulaFunction => ({ name, form, help, reach: 'rows', fewest: count, most: count, ...more });

/** Most figures `min` and `max` take. */
const MANY = 100;

export const FORMULA_FUNCTIONS: readonly FormulaFunction[] = [
	each('min', 'min(x, y, …)', [1, MANY], 'The least of its figures; all of one kind of unit.'),
	each('max', 'max(x, y, …)', [1, MANY], 'The greatest of its figures; all of one kind of unit.'),
	each('abs', 'abs(x)', [1, 1], 'The figure without its sign.'),
	each('sqrt', 'sqrt(x)', [1, 1], 'Square root; blank below zero.'),
	each('log', 'log(x) or log(x, base)', [1, 2], 'Natural logarithm, or to a base; plain numbers.'),
	each('exp', 'exp(x)', [1, 1], 'e to the power of a plain number.'),
	each('round', 'round(x) or round(x, decimals)', [1, 2], 'A plain number, rounded.'),
	each('known', 'known(x)', [1, 1], 'Whether there is a figure at all: known(x) ? x : 0 m^3.'),
	overRows('mean', 'mean(x, n)', 2, 'Mean of the last n rows, this one included.'),
	overRows(
		'std',
		'std(x, n)',
		2,
		'Standard deviation of the last n rows (n − 1), this one included.',
	),
	overRows('sum', 'sum(x, n)', 2, 'Sum of the last n rows, this one included.'),
	overRows('total', 'total(x)', 1, 'Sum from the first row to this one.'),
	overRows('previous', 'previous(x)', 1, 'The figure of the row before.'),
	overRows('change', 'change(x)', 1, 'The figure less that of the row before.'),
	overRows('at_ring', 'at_ring(x, ring)', 2, 'The figure of another ring, by its number.', {
		ledgerOnly: true,
	}),
	{
		name: 'face_share',
		form: 'face_share("stratum")',
		help: 'Share of a stratum in the face of the ring, 0 to 1, from the ground sheet.',
		reach: 'ground',
		fewest: 1,
		most: 1,
		ledgerOnly: true,
	},
];

const BY_NAME: ReadonlyMap<string, FormulaFunction> = new Map(
	FORMULA_FUNCTIONS.map((one) => [one.name, one]),
);

/**
 * The function of a name, or undefined.
 *
 * @example
 * findFunction('mean')?.form // => "mean(x, n)"
 * findFunction('constructor') === undefined // => true
 */
export function findFunction(name: string): FormulaFunction | undefined {
	return BY_NAME.get(name);
}
