import { formatNumber, formatQuantity, type NumberMarks } from '../quantity/format.ts';
import { findColumn } from '../sheet/catalogue.ts';
import type { CellValue } from '../sheet/column.ts';
import { findFunction } from '../sheet/functions.ts';
import { FIGURE_CAUTIONS, type Working, type WorkingLine } from '../sheet/working.ts';
import type { PlannedColumn } from './columns.ts';
import { type Measure, reckoningFactor, unitsOf, unitText } from './dimension.ts';
import { type Expression, isFault } from './expression.ts';
import { meaningOf } from './meaning.ts';
import type { FormulaFigures } from './recalculate.ts';

export interface FormulaWorkingAsk {
	readonly figures: FormulaFigures;
	readonly planned: PlannedColumn;
	readonly row: number;
	/** Cells of the row, formula columns apart. */
	readonly cell: (column: string) => CellValue;
	readonly marks: NumberMarks;
	readonly showTime: (time_s: number) => string;
}

/** How a figure of a formula column came about: its formula, and the same with the numbers of the row. */
export function formulaWorking(ask: FormulaWorkingAsk): Working {
	const { figures, planned, row, marks } = ask;
	const { column, expression } = planned;
	const value = figures.value(column.id, row);
	const parts = expression === null ? [] : partsIn(expression, ask);
	return {
		heading: column.heading,
		result:
			value === null
				? 'blank'
				: column.unit === null
					? formatNumber(value, column.decimals, marks)
					: formatQuantity(value, column.unit, column.decimals, marks),
		reasons: figures.reasons(column.id, row),
		formula: column.expression,
		withNumbers: putIn(column.expression, parts),
		lines: onceEach(parts.map((part) => part.line)),
		source: column.note === null ? 'formula column' : `formula column: ${column.note}`,
		budget: [],
		cautions: FIGURE_CAUTIONS,
	};
}

/** A piece of a formula with what it comes to. */
interface Part {
	readonly from: number;
	readonly to: number;
	readonly line: WorkingLine;
}

/** The columns in a formula, and its calls that look at other rows, from left to right. */
function partsIn(one: Expression, ask: FormulaWorkingAsk): Part[] {
	switch (one.kind) {
		case 'name': {
			const line = columnLine(one.name, ask);
			return line === null ? [] : [{ from: one.from, to: one.to, line }];
		}
		case 'unary':
			return partsIn(one.of, ask);
		case 'binary':
			return [...partsIn(one.left, ask), ...partsIn(one.right, ask)];
		case 'choice':
			return [one.condition, one.yes, one.no].flatMap((part) => partsIn(part, ask));
		case 'call': {
			const known = findFunction(one.name);
			if (known === undefined || known.reach === 'each')
				return one.args.flatMap((part) => partsIn(part, ask));
			return [{ from: one.from, to: one.to, line: callLine(one, known.help, ask) }];
		}
		default:
			return [];
	}
}

function columnLine(id: string, ask: FormulaWorkingAsk): WorkingLine | null {
	const { figures, row, marks } = ask;
	const known = figures.plan.names.columns.get(id);
	if (known === undefined) return null;
	const made = { symbol: id, name: known.heading };
	const own = figures.plan.columns.find((other) => other.column.id === id);
	if (own !== undefined) {
		const value = figures.value(id, row);
		return {
			...made,
			value: quantityText(value, own.column.unit, own.column.decimals, marks),
			from: `formula column: ${own.column.expression}`,
		};
	}
	const column = findColumn(figures.plan.sheet, id);
	const value = ask.cell(id);
	const text =
		typeof value === 'number' && known.type === 'time'
			? ask.showTime(value)
			: typeof value === 'string'
				? `"${value}"`
				: quantityText(value, known.unit, column?.decimals ?? 2, marks);
	return { ...made, value: text, from: column?.kind === 'computed' ? 'worked out' : 'entered' };
}

function quantityText(
	value: CellValue,
	unit: WorkingUnit,
	decimals: number,
	marks: NumberMarks,
): string {
	if (typeof value !== 'number') return 'missing';
	return unit === null
		? formatNumber(value, decimals, marks)
		: formatQuantity(value, unit, decimals, marks);
}
type WorkingUnit = PlannedColumn['column']['unit'];

function callLine(
	call: Expression & { kind: 'call' },
	help: string,
	{ figures, planned, row, marks }: FormulaWorkingAsk,
): WorkingLine {
	const meaning = meaningOf(call, figures.plan.names);
	const value = isFault(meaning) ? Number.NaN : figures.part(meaning.figure, row);
	return {
		symbol: planned.column.expression.slice(call.from, call.to),
		name: help.replace(/\.$/, ''),
		value:
			isFault(meaning) || Number.isNaN(value)
				? 'missing'
				: reckonedText(value, meaning.measure, marks),
		from: 'other rows of the sheet',
	};
}

/** Four decimals tell apart what the rows above were made of. */
const PART_DECIMALS = 4;

function reckonedText(value: number, measure: Measure, marks: NumberMarks): string {
	const [natural] = unitsOf(measure);
	if (natural === undefined)
		return `${formatNumber(value, PART_DECIMALS, marks)} ${unitText(measure)}`;
	const factor = reckoningFactor(natural.id) ?? 1;
	return formatQuantity(value / factor, natural.id, PART_DECIMALS, marks);
}

/** The formula with each part's value in its place. */
function putIn(text: string, parts: readonly Part[]): string {
	let made = '';
	let at = 0;
	for (const { from, to, line } of parts) {
		made += text.slice(at, from) + line.value;
		at = to;
	}
	return made + text.slice(at);
}

function onceEach(lines: readonly WorkingLine[]): WorkingLine[] {
	const seen = new Set<string>();
	return lines.filter(({ symbol }) => !seen.has(symbol) && seen.add(symbol));
}
