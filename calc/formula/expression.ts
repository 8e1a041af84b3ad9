/** A formula as it is written, once it is known to hold nothing but what formulas may hold. */

/** Characters of the formula as typed: from the first (counted from 0) up to, not including, `to`. */
export interface Span {
	readonly from: number;
	readonly to: number;
}

export type BinarySign =
	| '+'
	| '-'
	| '*'
	| '/'
	| '^'
	| '<'
	| '<='
	| '>'
	| '>='
	| '=='
	| '!='
	| 'and'
	| 'or';

export type Expression =
	| (Span & { readonly kind: 'number'; readonly value: number })
	| (Span & { readonly kind: 'text'; readonly text: string })
	| (Span & { readonly kind: 'name'; readonly name: string })
	| (Span & { readonly kind: 'unary'; readonly sign: '-' | '+' | 'not'; readonly of: Expression })
	| (Span & {
			readonly kind: 'binary';
			readonly sign: BinarySign;
			readonly left: Expression;
			readonly right: Expression;
			/** Where the sign stands; for a product without one, the whole of it. */
			readonly at: Span;
	  })
	| (Span & {
			readonly kind: 'choice';
			readonly condition: Expression;
			readonly yes: Expression;
			readonly no: Expression;
	  })
	| (Span & {
			readonly kind: 'call';
			readonly name: string;
			readonly nameAt: Span;
			readonly args: readonly Expression[];
	  });

/** Why a formula cannot be used, and where that stands in it. */
export interface FormulaFault extends Span {
	readonly code: string;
	readonly message: string;
	/** What would have been accepted, in words. */
	readonly expected: string | null;
}

/**
 * @example
 * formulaFault('name_unknown', 'x is not known.', { from: 0, to: 1 }) // => {"code":"name_unknown","message":"x is not known.","from":0,"to":1,"expected":null}
 */
export function formulaFault(
	code: string,
	message: string,
	{ from, to }: Span,
	expected: string | null = null,
): FormulaFault {
	return { code, message, from, to, expected };
}

/** Tells a fault from what it came instead of. */
export function isFault<T extends object>(made: T | FormulaFault): made is FormulaFault {
	return 'code' in made && 'message' in made;
}
