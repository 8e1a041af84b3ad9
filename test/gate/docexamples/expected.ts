import { parseSync } from 'oxc-parser';

/**
 * What an example says it gives, read from its text: JSON with unquoted keys, single quotes, NaN,
 * Infinity and undefined allowed. Numbers keep how many digits were printed.
 */
export type Expected =
	| { readonly kind: 'number'; readonly value: number; readonly within: number }
	| { readonly kind: 'plain'; readonly value: string | boolean | null | undefined }
	| { readonly kind: 'list'; readonly items: readonly Expected[] }
	| { readonly kind: 'object'; readonly entries: ReadonlyMap<string, Expected> };

interface Node {
	readonly type: string;
	readonly [key: string]: unknown;
}

/** Reads the text after the arrow; throws if it is not such a value. */
export function readExpected(text: string): Expected {
	const parsed = parseSync('expected.ts', `(${text})`);
	const statements = parsed.program.body as unknown as Node[];
	const only = statements[0];
	if (parsed.errors.length > 0 || statements.length !== 1 || only?.type !== 'ExpressionStatement')
		throw new Error(`${text} is not a value`);
	return fromNode(only.expression as Node, text, 1);
}

function fromNode(node: Node, text: string, sign: 1 | -1): Expected {
	switch (node.type) {
		case 'ParenthesizedExpression':
			return fromNode(node.expression as Node, text, sign);
		case 'Literal':
			if (typeof node.value === 'number') return printed(node.value * sign, String(node.raw));
			if (sign === 1 && (node.value === null || typeof node.value !== 'object'))
				return { kind: 'plain', value: node.value as string | boolean | null };
			break;
		case 'UnaryExpression':
			if (node.operator === '-') return fromNode(node.argument as Node, text, -1);
			break;
		case 'Identifier':
			if (node.name === 'NaN') return { kind: 'number', value: Number.NaN, within: 0 };
			if (node.name === 'Infinity') return { kind: 'number', value: sign * Infinity, within: 0 };
			if (node.name === 'undefined') return { kind: 'plain', value: undefined };
			break;
		case 'ArrayExpression':
			return {
				kind: 'list',
				items: (node.elements as Node[]).map((one) => fromNode(one, text, 1)),
			};
		case 'ObjectExpression':
			return {
				kind: 'object',
				entries: new Map((node.properties as Node[]).map((p) => entry(p, text))),
			};
	}
	throw new Error(`${text} is not a plain value`);
}

function entry(property: Node, text: string): [string, Expected] {
	const key = property.key as { name?: string; value?: unknown };
	return [key.name ?? String(key.value), fromNode(property.value as Node, text, 1)];
}

/** Relative distance a full-length number may be off by. */
const CLOSE = 1e-9;

/** A number with decimals holds to half a unit of its last printed digit; a whole number holds as it stands. */
function printed(value: number, raw: string): Expected {
	const [mantissa = '', power = '0'] = raw.toLowerCase().split('e');
	const decimals = mantissa.split('.')[1]?.length ?? 0;
	const lastDigit = decimals === 0 ? 0 : 0.5 * 10 ** (Number(power) - decimals);
	const slack = lastDigit * (1 + CLOSE);
	return { kind: 'number', value, within: Math.max(Math.abs(value) * CLOSE, slack) };
}

/** Why an actual value is not the expected one, or null if it is. */
export function difference(actual: unknown, expected: Expected, at = 'the value'): string | null {
	switch (expected.kind) {
		case 'number':
			if (typeof actual !== 'number') return `${at} is ${show(actual)}, not a number`;
			if (Object.is(actual, expected.value) || Number.isNaN(expected.value))
				return Number.isNaN(actual) === Number.isNaN(expected.value)
					? null
					: `${at} is ${actual}, not NaN`;
			return Math.abs(actual - expected.value) <= expected.within
				? null
				: `${at} is ${actual}, not ${expected.value}`;
		case 'plain':
			return actual === expected.value
				? null
				: `${at} is ${show(actual)}, not ${show(expected.value)}`;
		case 'list': {
			const list = asList(actual);
			if (list === null) return `${at} is ${show(actual)}, not a list`;
			if (list.length !== expected.items.length)
				return `${at} has ${list.length} items, not ${expected.items.length}: ${show(actual)}`;
			for (const [i, item] of expected.items.entries()) {
				const why = difference(list[i], item, `${at}[${i}]`);
				if (why) return why;
			}
			return null;
		}
		case 'object': {
			if (typeof actual !== 'object' || actual === null || asList(actual) !== null)
				return `${at} is ${show(actual)}, not an object`;
			const present = Object.entries(actual).filter(([, value]) => value !== undefined);
			const extra = present.map(([key]) => key).filter((key) => !expected.entries.has(key));
			if (extra.length > 0) return `${at} also has ${extra.join(', ')}: ${show(actual)}`;
			for (const [key, item] of expected.entries) {
				const why = difference((actual as Record<string, unknown>)[key], item, `${at}.${key}`);
				if (why) return why;
			}
			return null;
		}
	}
}

function asList(value: unknown): readonly unknown[] | null {
	if (Array.isArray(value)) return value;
	if (ArrayBuffer.isView(value) && !(value instanceof DataView))
		return Array.from(value as unknown as ArrayLike<number>);
	return null;
}

function show(value: unknown): string {
	return JSON.stringify(value) ?? String(value);
}
