import { type FormulaFault, formulaFault, type Span } from './expression.ts';

/** Longest formula and deepest nesting of brackets: enough for any sheet, too little to keep the desk busy. */
export const LONGEST_FORMULA = 2_000;
export const DEEPEST_NESTING = 64;

export interface Token extends Span {
	readonly kind: 'number' | 'name' | 'text' | 'sign';
	/** As the expression library is given it; of a text, what is between the quotes. */
	readonly text: string;
}

const SIGN = /(?:<=|>=|==|!=|[-+*/^%(),?:<>])/y;
const NUMBER = /(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?/y;
const NAME = /[A-Za-z_][A-Za-z0-9_]*/y;
const TEXT = /"[^"\\\n]*"/y;
const BLANK = /[\s\u00a0\u202f]+/y;
/** Signs people type or paste for the plain ones. */
const MEANT: ReadonlyMap<string, string> = new Map([
	['−', '-'],
	['–', '-'],
	['·', '*'],
	['×', '*'],
	['÷', '/'],
	['≤', '<='],
	['≥', '>='],
	['≠', '!='],
]);
const RAISED: ReadonlyMap<string, string> = new Map([
	['²', '2'],
	['³', '3'],
]);

/**
 * A formula cut into numbers, names, texts and signs, with where each stands; or the first thing in
 * it that no formula holds. Signs as people write them (−, ·, ×, ≤, m³) are read as the plain ones.
 *
 * @example
 * tokensOf('a ≥ 5 m³').map((token) => token.text) // => ["a",">=","5","m","^","3"]
 * tokensOf('a[1]') // => {"code":"sign_unknown","message":"“[” is not used in formulas.","from":1,"to":2,"expected":"one of + - * / ^ % ( ) , ? : < <= > >= == != and or not"}
 */
export function tokensOf(text: string): Token[] | FormulaFault {
	if (text.length > LONGEST_FORMULA)
		return formulaFault(
			'formula_too_long',
			`A formula has at most ${LONGEST_FORMULA} characters.`,
			{ from: LONGEST_FORMULA, to: text.length },
			'a shorter formula; parts of it can be columns of their own',
		);
	const tokens: Token[] = [];
	let depth = 0;
	for (let at = 0; at < text.length; ) {
		const taken = tokenAt(text, at);
		if (taken === null) return unknownSign(text, at);
		if (taken !== 'blank') {
			if (taken.tokens[0]?.text === '(' && ++depth > DEEPEST_NESTING)
				return formulaFault(
					'formula_too_deep',
					`Brackets are nested more than ${DEEPEST_NESTING} deep.`,
					{ from: at, to: at + 1 },
				);
			if (taken.tokens[0]?.text === ')') depth--;
			tokens.push(...taken.tokens);
		}
		at = taken === 'blank' ? afterBlank(text, at) : taken.to;
	}
	const hex = tokens.find(
		(token, at) =>
			token.text === '0' &&
			tokens[at + 1]?.from === token.to &&
			/^[xbo]\d/i.test(tokens[at + 1]!.text),
	);
	if (hex !== undefined)
		return formulaFault(
			'number_form',
			'Numbers are written in decimals.',
			hex,
			'a number such as 12.5',
		);
	return tokens;
}

function afterBlank(text: string, at: number): number {
	BLANK.lastIndex = at;
	BLANK.test(text);
	return BLANK.lastIndex;
}

function tokenAt(
	text: string,
	at: number,
): { readonly tokens: readonly Token[]; readonly to: number } | 'blank' | null {
	if (matchAt(BLANK, text, at) !== null) return 'blank';
	const sign = text[at] ?? '';
	const one = (kind: Token['kind'], written: string, meant = written) => ({
		tokens: [{ kind, text: meant, from: at, to: at + written.length }],
		to: at + written.length,
	});
	const meant = MEANT.get(sign);
	if (meant !== undefined) return one('sign', sign, meant);
	const raised = RAISED.get(sign);
	if (raised !== undefined) {
		const span = { from: at, to: at + 1 };
		return {
			tokens: [
				{ kind: 'sign', text: '^', ...span },
				{ kind: 'number', text: raised, ...span },
			],
			to: at + 1,
		};
	}
	const number = matchAt(NUMBER, text, at);
	if (number !== null) return one('number', number);
	const name = matchAt(NAME, text, at);
	if (name !== null) return one('name', name);
	const quoted = matchAt(TEXT, text, at);
	if (quoted !== null) return one('text', quoted, quoted.slice(1, -1));
	const plain = matchAt(SIGN, text, at);
	return plain === null ? null : one('sign', plain);
}

function matchAt(pattern: RegExp, text: string, at: number): string | null {
	pattern.lastIndex = at;
	return pattern.exec(text)?.[0] ?? null;
}

function unknownSign(text: string, at: number): FormulaFault {
	const sign = String.fromCodePoint(text.codePointAt(at) ?? 0);
	const span = { from: at, to: at + sign.length };
	if (sign === '"')
		return formulaFault('text_open', 'This text does not end.', { from: at, to: text.length }, '"');
	if (sign === '=')
		return formulaFault(
			'sign_unknown',
			'A formula gives one figure; nothing is set in it.',
			span,
			'== to compare',
		);
	return formulaFault(
		'sign_unknown',
		`“${sign}” is not used in formulas.`,
		span,
		'one of + - * / ^ % ( ) , ? : < <= > >= == != and or not',
	);
}
