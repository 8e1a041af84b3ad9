import { lettersApart } from '../fault/lettersapart.ts';
import { findUnit, type UnitId, unit } from '../quantity/unit.ts';
import type { CellType } from '../sheet/column.ts';
import { FORMULA_FUNCTIONS, findFunction } from '../sheet/functions.ts';
import {
	combined,
	isPlain,
	type Measure,
	measureOf,
	measureWords,
	PLAIN,
	powered,
	reckoningFactor,
	sameMeasure,
} from './dimension.ts';
import { type Expression, type FormulaFault, formulaFault, type Span } from './expression.ts';
import type { Compare, Figure, Meaning } from './figure.ts';

/**
 * What the names of a formula stand for and whether its units go together. Found once, when it is
 * entered; nothing of it is left when figures are worked out.
 */

/** A column as formulas see it. */
export interface KnownColumn {
	readonly id: string;
	readonly heading: string;
	readonly unit: UnitId | null;
	readonly type: CellType;
	readonly choices?: readonly string[];
	/** True: added with a formula. */
	readonly formula: boolean;
}

export interface KnownNames {
	/** Rows are rings. */
	readonly sheet: 'ledger' | 'readings';
	readonly columns: ReadonlyMap<string, KnownColumn>;
}

/** Most rows a rolling figure looks back. */
export const MOST_ROWS_BACK = 1_000;
const BETWEEN = { '+': 'add', '-': 'subtract', and: 'and', or: 'or' } as const;
const COMPARES: ReadonlySet<string> = new Set(['<', '<=', '>', '>=', '==', '!=']);

class Refused extends Error {
	readonly fault: FormulaFault;
	constructor(fault: FormulaFault) {
		super(fault.message);
		this.fault = fault;
	}
}

function refuse(code: string, message: string, span: Span, expected: string | null = null): never {
	throw new Refused(formulaFault(code, message, span, expected));
}

/**
 * Names resolved and units inferred, or the first fault with its place: an unknown name, m³ added to
 * t, a plain number compared with a volume.
 *
 * @example
 * import { parseFormula } from './parse.ts';
 * const column = (id, unit) => [id, { id, heading: id, unit, type: 'number', formula: false }];
 * const names = { sheet: 'ledger', columns: new Map([column('volume_apparent_m3', 'm3'), column('dry_solids_t', 't')]) };
 * meaningOf(parseFormula('dry_solids_t / volume_apparent_m3'), names).measure // => [-3,1,0,0,0,0,0]
 * meaningOf(parseFormula('volume_apparent_m3 + dry_solids_t'), names) // => {"code":"units_differ","message":"These cannot be added: volume_apparent_m3 is a volume (m³), dry_solids_t is a mass (t).","from":19,"to":20,"expected":"figures of one kind of unit"}
 */
export function meaningOf(expression: Expression, names: KnownNames): Meaning | FormulaFault {
	try {
		return new Reading(names).meaning(expression);
	} catch (error) {
		if (error instanceof Refused) return error.fault;
		throw error;
	}
}

const number = (figure: Figure, measure: Measure, more: Partial<Meaning> = {}): Meaning => ({
	figure,
	type: 'number',
	measure,
	told: null,
	bare: null,
	share: null,
	...more,
});
const truth = (figure: Figure): Meaning => ({ ...number(figure, PLAIN), type: 'truth' });

class Reading {
	readonly #names: KnownNames;

	constructor(names: KnownNames) {
		this.#names = names;
	}

	meaning(e: Expression): Meaning {
		switch (e.kind) {
			case 'number':
				return number({ op: 'constant', value: e.value }, PLAIN, { bare: e.value });
			case 'text':
				return refuse(
					'text_here',
					'A text stands only beside == or !=, or in face_share("…").',
					e,
					'a figure',
				);
			case 'name':
				return this.#name(e.name, e);
			case 'unary':
				return this.#unary(e);
			case 'binary':
				return this.#binary(e);
			case 'choice':
				return this.#choice(e);
			case 'call':
				return this.#call(e);
		}
	}

	/** A number, whatever it measures. */
	#number(e: Expression): Meaning {
		const made = this.meaning(e);
		if (made.type === 'truth')
			refuse('truth_here', 'This is a yes or no, not a figure.', e, 'a figure, or … ? … : …');
		return made;
	}

	#plain(e: Expression, what: string): Meaning {
		const made = this.#number(e);
		if (!isPlain(made.measure))
			refuse(
				'not_plain',
				`${what} takes a plain number; this is ${measureWords(made.measure)}.`,
				e,
				'a plain number; divide by a quantity first, such as x / (1 m^3)',
			);
		return made;
	}

	#truth(e: Expression): Meaning {
		const made = this.meaning(e);
		if (made.type !== 'truth')
			refuse(
				'not_truth',
				'This is a figure; a condition is a yes or no.',
				e,
				'a comparison such as x > 0',
			);
		return made;
	}

	#name(name: string, span: Span): Meaning {
		const column = this.#names.columns.get(name);
		if (column !== undefined) return this.#column(column, span);
		if (name === 'pi') return number({ op: 'constant', value: Math.PI }, PLAIN);
		const found = findUnit(name);
		if (found !== null) {
			const factor = reckoningFactor(found.id);
			if (factor === null)
				return refuse('temperature_scale', 'Formulas reckon temperatures in °C.', span, 'degC');
			return number({ op: 'constant', value: factor }, measureOf(found.id));
		}
		if (findFunction(name) !== undefined)
			return refuse(
				'function_bare',
				`${name} is a function; what it is taken of follows in brackets.`,
				span,
				findFunction(name)?.form ?? null,
			);
		const near = nearest(name, [...this.#names.columns.keys()]);
		return refuse(
			'name_unknown',
			`There is no column or unit “${name}”.`,
			span,
			near === null ? 'a column of this sheet, or a unit' : near,
		);
	}

	#column(column: KnownColumn, span: Span): Meaning {
		if (column.type === 'text' || column.type === 'choice')
			return refuse(
				'column_text',
				`${column.heading} is a text; it can only be compared.`,
				span,
				`${column.id} == "…"`,
			);
		const id: UnitId = column.unit ?? (column.type === 'time' ? 's' : '1');
		const factor = reckoningFactor(id);
		if (factor === null)
			return refuse('temperature_scale', 'Formulas reckon temperatures in °C.', span);
		const { dimension, label } = unit(id);
		return number({ op: 'column', id: column.id, factor }, measureOf(id), {
			told: column.heading,
			share: dimension === 'ratio' && id !== '1' ? label : null,
		});
	}

	#unary(e: Expression & { kind: 'unary' }): Meaning {
		if (e.sign === 'not') return truth({ op: 'not', a: this.#truth(e.of).figure });
		const made = this.#number(e.of);
		if (e.sign === '+') return made;
		const figure: Figure =
			made.figure.op === 'constant'
				? { op: 'constant', value: -made.figure.value }
				: { op: 'negate', a: made.figure };
		return number(figure, made.measure, {
			bare: made.bare === null ? null : -made.bare,
			share: made.share,
		});
	}

	#binary(e: Expression & { kind: 'binary' }): Meaning {
		if (e.sign === 'and' || e.sign === 'or') {
			const [a, b] = [this.#truth(e.left), this.#truth(e.right)];
			return truth({ op: e.sign, a: a.figure, b: b.figure });
		}
		if (COMPARES.has(e.sign)) return this.#comparison(e, e.sign as Compare);
		if (e.sign === '+' || e.sign === '-') {
			const [a, b] = [this.#number(e.left), this.#number(e.right)];
			this.#alike(a, b, e, e.sign === '+' ? 'added' : 'subtracted');
			return number({ op: BETWEEN[e.sign], a: a.figure, b: b.figure }, a.measure, {
				share: a.share ?? b.share,
			});
		}
		if (e.sign === '^') return this.#power(e);
		return this.#product(e);
	}

	#product(e: Expression & { kind: 'binary' }): Meaning {
		const funnel = e.sign === '/' ? this.#funnelTime(e) : null;
		if (funnel !== null) return funnel;
		const [a, b] = [this.#number(e.left), this.#number(e.right)];
		const times = e.sign === '*';
		const measure = combined(a.measure, b.measure, times ? 1 : -1);
		// Numbers with units are worked out here, so that a unit costs nothing in a row.
		if (a.figure.op === 'constant' && b.figure.op === 'constant') {
			const value = times ? a.figure.value * b.figure.value : a.figure.value / b.figure.value;
			if (Number.isFinite(value)) return number({ op: 'constant', value }, measure);
			return refuse('constant_infinite', 'This is no number.', e, 'another divisor than 0');
		}
		return number({ op: times ? 'multiply' : 'divide', a: a.figure, b: b.figure }, measure);
	}

	/** `45 s/quart` and `48 s/L`: times of a funnel, which are no quotient of a time and a volume. */
	#funnelTime({ left, right }: Expression & { kind: 'binary' }): Meaning | null {
		if (right.kind !== 'name' || this.#names.columns.has(right.name)) return null;
		const per = findUnit(right.name)?.id;
		const id = per === 'quart' ? 's/quart' : per === 'L' ? 's/L' : null;
		if (id === null || left.kind !== 'binary' || left.sign !== '*') return null;
		if (left.right.kind !== 'name' || this.#names.columns.has(left.right.name)) return null;
		if (findUnit(left.right.name)?.id !== 's') return null;
		const count = this.#number(left.left);
		if (count.figure.op !== 'constant' || !isPlain(count.measure)) return null;
		return number(count.figure, measureOf(id));
	}

	#power(e: Expression & { kind: 'binary' }): Meaning {
		const base = this.#number(e.left);
		const exponent = this.#plain(e.right, 'An exponent');
		const constant = exponent.figure.op === 'constant' ? exponent.figure.value : null;
		if (!isPlain(base.measure) && constant === null)
			refuse(
				'exponent_varies',
				`${measureWords(base.measure)} can only be raised to a fixed number.`,
				e.right,
				'a number',
			);
		const measure = isPlain(base.measure) ? PLAIN : powered(base.measure, constant ?? 1);
		if (base.figure.op === 'constant' && constant !== null) {
			const value = base.figure.value ** constant;
			if (Number.isFinite(value)) return number({ op: 'constant', value }, measure);
			return refuse('constant_infinite', 'This is no number.', e);
		}
		return number({ op: 'power', a: base.figure, b: exponent.figure }, measure);
	}

	#comparison(e: Expression & { kind: 'binary' }, how: Compare): Meaning {
		const text = this.#textComparison(e, how);
		if (text !== null) return text;
		const [a, b] = [this.#number(e.left), this.#number(e.right)];
		this.#alike(a, b, e, 'compared');
		return truth({ op: 'compare', how, a: a.figure, b: b.figure });
	}

	/** `mode == "advance"`. */
	#textComparison(e: Expression & { kind: 'binary' }, how: Compare): Meaning | null {
		const [said, other] = e.left.kind === 'text' ? [e.left, e.right] : [e.right, e.left];
		const column = other.kind === 'name' ? this.#names.columns.get(other.name) : undefined;
		const isText = column?.type === 'text' || column?.type === 'choice';
		if (said.kind !== 'text' && !isText) return null;
		if (column === undefined || !isText)
			return refuse('text_here', 'This is not a column of texts.', other, 'such a column');
		if (said.kind !== 'text')
			return refuse(
				'text_expected',
				`${column.heading} is compared with a text in quotes.`,
				said,
				column.choices === undefined ? '"…"' : column.choices.map((one) => `"${one}"`).join(' or '),
			);
		if (how !== '==' && how !== '!=')
			return refuse('text_order', 'Texts are alike or not; none is more than another.', e.at, '==');
		if (column.choices !== undefined && !column.choices.includes(said.text))
			return refuse(
				'choice_unknown',
				`${column.heading} is never “${said.text}”.`,
				said,
				column.choices.map((one) => `"${one}"`).join(' or '),
			);
		return truth({ op: 'is', id: column.id, text: said.text, not: how === '!=' });
	}

	#choice(e: Expression & { kind: 'choice' }): Meaning {
		const when = this.#truth(e.condition);
		const [a, b] = [this.meaning(e.yes), this.meaning(e.no)];
		if (a.type !== b.type)
			refuse(
				'branches_differ',
				'One of the two is a figure, the other a yes or no.',
				e.no,
				'two of one kind',
			);
		this.#alike(a, b, { left: e.yes, right: e.no, at: e.no }, 'given in turn');
		const figure: Figure = { op: 'choose', when: when.figure, a: a.figure, b: b.figure };
		return a.type === 'truth'
			? truth(figure)
			: number(figure, a.measure, { share: a.share ?? b.share });
	}

	/** Refuses figures that do not measure the same, and a plain number beside a share in %. */
	#alike(
		a: Meaning,
		b: Meaning,
		e: { readonly left: Expression; readonly right: Expression; readonly at: Span },
		done: string,
	): void {
		if (!sameMeasure(a.measure, b.measure)) {
			const told = (one: Meaning, side: 'the first' | 'the second') =>
				`${one.told ?? side} is ${measureWords(one.measure)}`;
			refuse(
				'units_differ',
				`These cannot be ${done}: ${told(a, 'the first')}, ${told(b, 'the second')}.`,
				e.at,
				'figures of one kind of unit',
			);
		}
		for (const [bare, share, span] of [
			[a, b, e.left],
			[b, a, e.right],
		] as const)
			if (bare.bare !== null && bare.bare !== 0 && share.share !== null)
				refuse(
					'share_bare',
					`The other figure is kept in ${share.share}: a plain ${bare.bare} would mean ${bare.bare * 100} %.`,
					span,
					share.share === '%' ? `${bare.bare} %` : `${bare.bare} g/kg`,
				);
	}

	#call(e: Expression & { kind: 'call' }): Meaning {
		const known = findFunction(e.name);
		if (known === undefined) {
			if (this.#names.columns.has(e.name) || findUnit(e.name) !== null)
				return refuse(
					'call_of_figure',
					`${e.name} is not a function.`,
					e.nameAt,
					`${e.name} * (…) for a product`,
				);
			const near = nearest(
				e.name,
				FORMULA_FUNCTIONS.map((one) => one.name),
			);
			return refuse(
				'function_unknown',
				`There is no function “${e.name}”.`,
				e.nameAt,
				near ?? 'a function such as mean(x, n)',
			);
		}
		if (known.ledgerOnly === true && this.#names.sheet !== 'ledger')
			return refuse(
				'function_ledger',
				`${known.name} works on the ledger, where a row is a ring.`,
				e.nameAt,
			);
		if (e.args.length < known.fewest || e.args.length > known.most)
			return refuse(
				'arguments',
				`${known.name} is written ${known.form}.`,
				{ from: e.nameAt.to, to: e.to },
				known.form,
			);
		return this.#apply(known.name, e);
	}

	#apply(name: string, e: Expression & { kind: 'call' }): Meaning {
		const [first, second] = e.args;
		if (first === undefined) throw new RangeError(`${name} without anything in it`);
		switch (name) {
			case 'min':
			case 'max':
				return this.#least(name, e.args);
			case 'abs': {
				const { figure: a, measure, share } = this.#number(first);
				return number({ op: 'abs', a }, measure, { share });
			}
			case 'sqrt': {
				const { figure: a, measure } = this.#number(first);
				return number({ op: 'sqrt', a }, powered(measure, 0.5));
			}
			case 'exp':
				return number({ op: 'exp', a: this.#plain(first, 'exp').figure }, PLAIN);
			case 'log':
			case 'round': {
				const a = this.#plain(first, name).figure;
				const b = second === undefined ? null : this.#plain(second, name).figure;
				if (name === 'round' && second !== undefined) wholeNumber(b, second, 0, 15);
				return number({ op: name, a, b }, PLAIN);
			}
			case 'known':
				return truth({ op: 'known', a: this.meaning(first).figure });
			case 'mean':
			case 'std':
			case 'sum': {
				const { figure: a, measure, share } = this.#number(first);
				if (second === undefined) throw new RangeError(`${name} without a number of rows`);
				const { figure } = this.#plain(second, `How many rows ${name} looks at`);
				const rows = wholeNumber(figure, second, name === 'std' ? 2 : 1, MOST_ROWS_BACK);
				return number({ op: name, a, rows }, measure, { share });
			}
			case 'total':
			case 'previous':
			case 'change': {
				const { figure: a, measure, share } = this.#number(first);
				return number({ op: name, a }, measure, { share });
			}
			case 'at_ring': {
				const { figure: a, measure, share } = this.#number(first);
				if (second === undefined) throw new RangeError('at_ring without a ring');
				return number(
					{ op: 'at_ring', a, ring: this.#plain(second, 'A ring number').figure },
					measure,
					{ share },
				);
			}
			case 'face_share':
				if (first.kind !== 'text')
					return refuse(
						'stratum_expected',
						'The name of a stratum stands here, in quotes.',
						first,
						'face_share("…")',
					);
				return number({ op: 'face', stratum: first.text }, PLAIN);
			default:
				throw new RangeError(`nothing is known of the function ${name}`);
		}
	}

	#least(op: 'min' | 'max', args: readonly Expression[]): Meaning {
		const made = args.map((arg) => this.#number(arg));
		const [first] = made;
		if (first === undefined) throw new RangeError(`${op} of nothing`);
		made.forEach((one, at) => {
			const [left, right] = [args[0], args[at]];
			if (at > 0 && left !== undefined && right !== undefined)
				this.#alike(first, one, { left, right, at: right }, 'compared');
		});
		return number({ op, of: made.map((one) => one.figure) }, first.measure, {
			share: made.find((one) => one.share !== null)?.share ?? null,
		});
	}
}

function wholeNumber(figure: Figure | null, span: Span, least: number, most: number): number {
	const value = figure?.op === 'constant' ? figure.value : Number.NaN;
	if (Number.isInteger(value) && value >= least && value <= most) return value;
	return refuse(
		'whole_number',
		'A whole number stands here, written out.',
		span,
		`a whole number from ${least} to ${most}`,
	);
}

/** The known name with the fewest letters changed, if it is near enough to be meant. */
function nearest(name: string, known: readonly string[]): string | null {
	let best: string | null = null;
	let least = Math.max(1, Math.floor(name.length / 3)) + 1;
	for (const one of known) {
		const starts = name.length >= 4 && one.startsWith(name);
		const changes = starts ? 0 : lettersApart(name.slice(0, 80), one);
		if (changes < least) {
			least = changes;
			best = one;
		}
	}
	return best;
}
