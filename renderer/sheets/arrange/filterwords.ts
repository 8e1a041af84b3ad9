import type { Column } from '../../../calc/sheet/column.ts';
import { unitLabel } from '../celltext.ts';

/** One comparison of a filter, as the grid keeps it. */
interface Condition {
	readonly type?: unknown;
	readonly filter?: unknown;
	readonly filterTo?: unknown;
}

const WORDS: Readonly<Record<string, string>> = {
	equals: 'is',
	notEqual: 'is not',
	lessThan: 'below',
	lessThanOrEqual: 'at most',
	greaterThan: 'above',
	greaterThanOrEqual: 'at least',
	inRange: 'between',
	contains: 'contains',
	notContains: 'does not contain',
	startsWith: 'begins with',
	endsWith: 'ends with',
	blank: 'is empty',
	notBlank: 'is not empty',
};

/** What a filter of a column lets through, in words: "Return flow above 1200 m³/h". */
export function filterWords(column: Column, model: unknown, decimal: '.' | ','): string {
	const numeric = column.type === 'number' || column.type === 'integer';
	const unit = unitLabel(column);
	const told = (value: unknown): string => {
		if (!numeric) return `“${String(value ?? '')}”`;
		const text = String(value ?? '');
		return decimal === ',' ? text.replace('.', ',') : text;
	};
	const one = ({ type, filter, filterTo }: Condition): string => {
		const word = WORDS[String(type)] ?? String(type);
		if (type === 'blank' || type === 'notBlank') return word;
		const value = type === 'inRange' ? `${told(filter)} and ${told(filterTo)}` : told(filter);
		return `${word} ${value}${numeric && unit ? ` ${unit}` : ''}`;
	};
	const { conditions, operator } = (model ?? {}) as {
		conditions?: readonly Condition[];
		operator?: unknown;
	};
	const parts = Array.isArray(conditions) ? conditions.map(one) : [one((model ?? {}) as Condition)];
	return `${column.heading} ${parts.join(operator === 'OR' ? ' or ' : ' and ')}`;
}
