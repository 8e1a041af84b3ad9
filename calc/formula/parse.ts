import { create, parseDependencies } from 'mathjs/number';
import {
	type BinarySign,
	type Expression,
	type FormulaFault,
	formulaFault,
	type Span,
} from './expression.ts';
import { type Token, tokensOf } from './tokens.ts';

/**
 * Text to expression. The expression library's parser says how a formula is to be read; of what it
 * can read only arithmetic, comparisons, conditions and calls by name are taken over, into a tree of
 * our own. Nothing of the library is ever evaluated.
 */

export const MOST_NODES = 500;
export const DEEPEST_TREE = 64;

/** As much of the parser's tree as is looked at. */
interface ParsedNode {
	readonly type: string;
	readonly name?: unknown;
	readonly value?: unknown;
	readonly op?: unknown;
	readonly implicit?: unknown;
	readonly isPercentage?: unknown;
	readonly content?: ParsedNode;
	readonly args?: readonly ParsedNode[];
	readonly params?: readonly ParsedNode[];
	readonly fn?: ParsedNode;
	readonly condition?: ParsedNode;
	readonly trueExpr?: ParsedNode;
	readonly falseExpr?: ParsedNode;
}

/** The parser, made at the first formula: a drive without any does not pay for it. */
let parser: ((text: string) => ParsedNode) | null = null;
function parsed(text: string): ParsedNode {
	if (parser === null) {
		if (parseDependencies === undefined)
			throw new RangeError('the expression library has no parser');
		parser = create(parseDependencies).parse as unknown as (text: string) => ParsedNode;
	}
	return parser(text);
}

const BINARY: ReadonlySet<unknown> = new Set<BinarySign>([
	...(['+', '-', '*', '/', '^', '<', '<=', '>', '>=', '==', '!=', 'and', 'or'] as const),
]);
const COMPARING: ReadonlySet<string> = new Set(['<', '<=', '>', '>=', '==', '!=']);
/** Words the parser would take for operators or values that formulas do not have. */
const OTHER_WORDS: ReadonlySet<string> = new Set([
	...['to', 'in', 'mod', 'xor', 'true', 'false', 'null', 'undefined', 'NaN', 'Infinity', 'end'],
]);

/** Leaves the reading of a formula from any depth; never gets out of this file. */
class Refused extends Error {
	readonly fault: FormulaFault;
	constructor(fault: FormulaFault) {
		super(fault.message);
		this.fault = fault;
	}
}

/**
 * Reads a formula. A fault names the characters it is about.
 *
 * @example
 * parseFormula('dry_solids_t / 1.65').kind // => "binary"
 * parseFormula('a + * b') // => {"code":"syntax","message":"The formula breaks off or goes on wrongly here.","from":4,"to":5,"expected":"a figure"}
 * parseFormula('x = 3').code // => "sign_unknown"
 * parseFormula('').code // => "formula_empty"
 */
export function parseFormula(text: string): Expression | FormulaFault {
	let read = lately.get(text);
	if (read === undefined) {
		read = readFormula(text);
		if (lately.size >= MOST_KEPT) lately.clear();
		lately.set(text, read);
	}
	return read;
}

/** Formulas are read again whenever another of their sheet changes; what comes out is the same each time. */
const lately = new Map<string, Expression | FormulaFault>();
const MOST_KEPT = 500;

function readFormula(text: string): Expression | FormulaFault {
	const tokens = tokensOf(text);
	if (!Array.isArray(tokens)) return tokens;
	if (tokens.length === 0)
		return formulaFault('formula_empty', 'There is no formula yet.', { from: 0, to: 0 });
	const word = tokens.find((token) => token.kind === 'name' && OTHER_WORDS.has(token.text));
	if (word !== undefined)
		return formulaFault('word_unused', `“${word.text}” is not used in formulas.`, word);
	const plain = tokens.map(written);
	let root: ParsedNode;
	try {
		root = parsed(plain.join(' '));
	} catch (error) {
		return error instanceof RangeError
			? tooDeep({ from: 0, to: text.length })
			: syntaxFault(error, tokens, plain, text.length);
	}
	try {
		const walk = new Walk(tokens, text.length);
		return walk.whole(root);
	} catch (error) {
		if (error instanceof Refused) return error.fault;
		throw error;
	}
}

const written = (token: Token): string => (token.kind === 'text' ? `"${token.text}"` : token.text);

/** The parser's complaint, at the token it stands at. */
function syntaxFault(
	error: unknown,
	tokens: readonly Token[],
	plain: readonly string[],
	length: number,
): FormulaFault {
	const char = (error as { char?: unknown }).char;
	const place = typeof char === 'number' ? char - 1 : 0;
	let at = 0;
	let index = 0;
	while (index < plain.length && at + (plain[index]?.length ?? 0) <= place) {
		at += (plain[index]?.length ?? 0) + 1;
		index++;
	}
	const token = tokens[index];
	const said = error instanceof Error ? error.message : '';
	const expected = /Parenthesis \) expected/.test(said)
		? 'a closing bracket'
		: /False part/.test(said)
			? '“:” and what holds otherwise'
			: /Unexpected (operator|part|type)|Unexpected "/.test(said)
				? 'an operator, or the end'
				: 'a figure';
	if (token === undefined) {
		const from = tokens.at(-1)?.to ?? length;
		return formulaFault('syntax', 'The formula is not finished.', { from, to: from }, expected);
	}
	return formulaFault('syntax', 'The formula breaks off or goes on wrongly here.', token, expected);
}

function tooDeep(span: Span): FormulaFault {
	return formulaFault(
		'formula_too_deep',
		`The formula is nested more than ${DEEPEST_TREE} deep.`,
		span,
		'a simpler formula; parts of it can be columns of their own',
	);
}

/** Goes over the parser's tree from left to right beside the tokens, which know their places. */
class Walk {
	readonly #tokens: readonly Token[];
	readonly #length: number;
	#next = 0;
	#nodes = 0;

	constructor(tokens: readonly Token[], length: number) {
		this.#tokens = tokens;
		this.#length = length;
	}

	whole(root: ParsedNode): Expression {
		const made = this.#expression(root, 0);
		const rest = this.#tokens[this.#next];
		return rest === undefined ? made : this.#refuse('syntax', 'This does not belong here.', rest);
	}

	#refuse(code: string, message: string, span: Span, expected: string | null = null): never {
		throw new Refused(formulaFault(code, message, span, expected));
	}

	/** The token due next. That it is another one means the tree holds what formulas do not. */
	#take(kind: Token['kind'], text?: string): Token {
		const token = this.#tokens[this.#next];
		if (token === undefined || token.kind !== kind || (text !== undefined && token.text !== text))
			return this.#refuse('syntax', 'This cannot be read.', this.#here());
		this.#next++;
		return token;
	}

	#here(): Span {
		return this.#tokens[this.#next] ?? { from: this.#length, to: this.#length };
	}

	#expression(node: ParsedNode | undefined, depth: number): Expression {
		if (depth > DEEPEST_TREE) throw new Refused(tooDeep(this.#here()));
		if (++this.#nodes > MOST_NODES)
			return this.#refuse(
				'formula_too_large',
				`A formula has at most ${MOST_NODES} parts.`,
				this.#here(),
				'a simpler formula; parts of it can be columns of their own',
			);
		switch (node?.type) {
			case 'ConstantNode':
				return this.#constant(node);
			case 'SymbolNode': {
				const { text, from, to } = this.#take('name');
				return { kind: 'name', name: text, from, to };
			}
			case 'ParenthesisNode': {
				const { from } = this.#take('sign', '(');
				const inner = this.#expression(node.content, depth + 1);
				const { to } = this.#take('sign', ')');
				return { ...inner, from, to };
			}
			case 'OperatorNode':
				return this.#operator(node, depth);
			case 'RelationalNode':
				return this.#chain(node, depth);
			case 'ConditionalNode':
				return this.#condition(node, depth);
			case 'FunctionNode':
				return this.#call(node, depth);
			default:
				return this.#refuse('form_unused', 'Formulas do not have this.', this.#here());
		}
	}

	#constant({ value }: ParsedNode): Expression {
		if (typeof value === 'string') {
			const { text, from, to } = this.#take('text');
			return { kind: 'text', text, from, to };
		}
		const token = this.#take('number');
		const number = Number(token.text);
		if (!Number.isFinite(number))
			return this.#refuse('number_too_large', 'This number is too large.', token);
		return { kind: 'number', value: number, from: token.from, to: token.to };
	}

	#operator(node: ParsedNode, depth: number): Expression {
		const [first, second] = node.args ?? [];
		if (node.args?.length === 1) {
			const sign = node.op;
			if (sign !== '-' && sign !== '+' && sign !== 'not')
				return this.#refuse('form_unused', 'Formulas do not have this.', this.#here());
			const { from } = this.#take(sign === 'not' ? 'name' : 'sign', sign);
			const of = this.#expression(first, depth + 1);
			return { kind: 'unary', sign, of, from, to: of.to };
		}
		if (node.isPercentage === true) {
			const left = this.#expression(first, depth + 1);
			const at = this.#take('sign', '%');
			const right: Expression = { kind: 'number', value: 100, from: at.from, to: at.to };
			return { kind: 'binary', sign: '/', left, right, at, from: left.from, to: at.to };
		}
		const sign = node.op as BinarySign;
		const left = this.#expression(first, depth + 1);
		if (!BINARY.has(sign))
			return this.#refuse(
				'form_unused',
				'Formulas do not have this between two figures.',
				this.#here(),
			);
		// The parser takes "a + 5 %" for a·1.05, which is not what the signs say.
		if (second?.type === 'OperatorNode' && second.args?.[0] === first && first !== undefined)
			return this.#refuse(
				'percent_of_what',
				'A percentage added like this does not say what it is taken of.',
				this.#here(),
				'a product such as 1.05 * x, or the share in brackets: x + (5 %)',
			);
		const at =
			node.implicit === true
				? null
				: this.#take(sign === 'and' || sign === 'or' ? 'name' : 'sign', sign);
		const right = this.#expression(second, depth + 1);
		const span = { from: left.from, to: right.to };
		return { kind: 'binary', sign, left, right, at: at ?? span, ...span };
	}

	/** a < b < c: each pair holds. */
	#chain({ params = [] }: ParsedNode, depth: number): Expression {
		let left = this.#expression(params[0], depth + 1);
		let made: Expression | null = null;
		for (const param of params.slice(1)) {
			const at = this.#take('sign');
			if (!COMPARING.has(at.text))
				return this.#refuse('form_unused', 'Formulas do not have this.', at);
			const right = this.#expression(param, depth + 1);
			const pair: Expression = {
				kind: 'binary',
				sign: at.text as BinarySign,
				left,
				right,
				at,
				from: left.from,
				to: right.to,
			};
			made =
				made === null
					? pair
					: {
							kind: 'binary',
							sign: 'and',
							left: made,
							right: pair,
							at,
							from: made.from,
							to: pair.to,
						};
			left = right;
		}
		return made ?? left;
	}

	#condition(node: ParsedNode, depth: number): Expression {
		const condition = this.#expression(node.condition, depth + 1);
		this.#take('sign', '?');
		const yes = this.#expression(node.trueExpr, depth + 1);
		this.#take('sign', ':');
		const no = this.#expression(node.falseExpr, depth + 1);
		return { kind: 'choice', condition, yes, no, from: condition.from, to: no.to };
	}

	#call({ fn, args = [] }: ParsedNode, depth: number): Expression {
		if (fn?.type !== 'SymbolNode')
			return this.#refuse('form_unused', 'Formulas do not have this.', this.#here());
		const name = this.#take('name');
		this.#take('sign', '(');
		const made = args.map((arg, at) => {
			if (at > 0) this.#take('sign', ',');
			return this.#expression(arg, depth + 1);
		});
		const { to } = this.#take('sign', ')');
		return {
			kind: 'call',
			name: name.text,
			nameAt: { from: name.from, to: name.to },
			args: made,
			from: name.from,
			to,
		};
	}
}
