import { formatQuantity, fullNumber } from '../../../calc/quantity/format.ts';
import { isUnitId, unit } from '../../../calc/quantity/unit.ts';
import type { Column } from '../../../calc/sheet/column.ts';
import { choiceWords, type Marks } from '../celltext.ts';
import { isRatio, RATIO_HELP } from '../ratiobar.ts';

/** One line of what there is to know about a column. */
export interface ColumnFact {
	readonly name: string;
	readonly says: readonly string[];
	/** Set in the type of formulas. */
	readonly formula?: boolean;
}

/**
 * What a heading stands for: where its figures come from, its unit, formula, source and limits, all
 * of it from the catalogue. Nothing is said that the column does not have.
 */
export function columnFacts(column: Column, marks: Marks): readonly ColumnFact[] {
	const facts: ColumnFact[] = [
		{ name: 'Holds', says: [holds(column)] },
		{ name: 'Unit', says: [unitWords(column)] },
	];
	if (column.kind === 'computed') {
		if (column.formula) facts.push({ name: 'Formula', says: [column.formula], formula: true });
		if (column.source) facts.push({ name: 'Source', says: [column.source] });
	}
	facts.push({ name: 'Limits', says: limitWords(column, marks) });
	if (isRatio(column.id)) facts.push({ name: 'Bar', says: [RATIO_HELP] });
	facts.push({ name: 'Name in formulas and files', says: [column.id], formula: true });
	return facts;
}

const TYPE_WORDS: Readonly<Record<Column['type'], string>> = {
	number: 'a figure',
	integer: 'a whole number',
	time: 'a date and time',
	choice: 'one of a few words',
	text: 'a text',
};

function holds(column: Column): string {
	const what = TYPE_WORDS[column.type];
	if (column.kind === 'computed') return `${what}, computed`;
	return `${what}, entered; ${column.required ? 'it must be there' : 'it may stay empty'}`;
}

function unitWords(column: Column): string {
	if (column.unit === null) {
		return column.type === 'time' ? "none; times are on the drive's clock" : 'none';
	}
	if (column.unit === '1' || !isUnitId(column.unit)) return 'none, a plain ratio';
	const { label, dimension } = unit(column.unit);
	const decimals = `${column.decimals} ${column.decimals === 1 ? 'decimal' : 'decimals'} shown`;
	return label === dimension ? `${label}, ${decimals}` : `${label} (${dimension}), ${decimals}`;
}

/** A bound with all its digits and its unit. */
function bound(column: Column, value: number, marks: Marks): string {
	if (column.unit === null || !isUnitId(column.unit)) return fullNumber(value, marks);
	const decimals = (String(value).split('.')[1] ?? '').length;
	return formatQuantity(value, column.unit, decimals, marks);
}

function limitWords(column: Column, marks: Marks): string[] {
	const says: string[] = [];
	const at = (value: number) => bound(column, value, marks);
	const { min, max, minOpen, plausibleMin, plausibleMax, choices } = column;
	if (min !== undefined && max !== undefined) {
		says.push(`Refused ${minOpen ? 'unless above' : 'below'} ${at(min)} and above ${at(max)}.`);
	} else if (min !== undefined)
		says.push(`Refused ${minOpen ? 'unless above' : 'below'} ${at(min)}.`);
	else if (max !== undefined) says.push(`Refused above ${at(max)}.`);
	const seldom = [
		...(plausibleMin === undefined ? [] : [`below ${at(plausibleMin)}`]),
		...(plausibleMax === undefined ? [] : [`above ${at(plausibleMax)}`]),
	];
	if (seldom.length > 0) says.push(`Taken with a mark ${seldom.join(' or ')}.`);
	if (choices) says.push(`Takes ${choices.map(choiceWords).join(', ')}.`);
	if (says.length === 0) {
		says.push(
			column.kind === 'computed' ? 'None; it is shown as it comes out.' : 'None of its own.',
		);
	}
	return says;
}
