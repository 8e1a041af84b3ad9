import { findUnit, type UnitId } from '../quantity/unit.ts';
import { columnsOf } from '../sheet/catalogue.ts';
import type { CellValue } from '../sheet/column.ts';
import {
	isPlain,
	measureOf,
	measureWords,
	reckoningFactor,
	sameMeasure,
	unitText,
} from './dimension.ts';
import {
	type Expression,
	type FormulaFault,
	formulaFault,
	isFault,
	type Span,
} from './expression.ts';
import type { Meaning } from './figure.ts';
import { type KnownColumn, type KnownNames, meaningOf } from './meaning.ts';
import { parseFormula } from './parse.ts';

/** Sheets that take formula columns. */
export type FormulaSheetId = 'ledger' | 'readings';

/** Decimals of a formula column where none are given. */
export const USUAL_DECIMALS = 2;

/** A formula column as it is entered. */
export interface FormulaColumn {
	readonly id: string;
	readonly sheet: FormulaSheetId;
	readonly heading: string;
	/** null: a plain number. */
	readonly unit: UnitId | null;
	readonly decimals: number;
	readonly expression: string;
	readonly note: string | null;
}

/**
 * A row of the sheet `formulas` as a column; null if a needed cell is missing.
 *
 * @example
 * formulaColumn({ sheet: 'ledger', column_id: 'volume_loss', heading: 'Volume loss', unit: 'm³', expression: 'volume_expected_m3 - volume_apparent_m3' }) // => {"id":"volume_loss","sheet":"ledger","heading":"Volume loss","unit":"m3","decimals":2,"expression":"volume_expected_m3 - volume_apparent_m3","note":null}
 */
export function formulaColumn(cells: Readonly<Record<string, CellValue>>): FormulaColumn | null {
	const { sheet, column_id: id, heading, unit, decimals, expression, note } = cells;
	if (sheet !== 'ledger' && sheet !== 'readings') return null;
	if (typeof id !== 'string' || typeof heading !== 'string' || typeof expression !== 'string')
		return null;
	return {
		id,
		sheet,
		heading,
		unit: typeof unit === 'string' ? (findUnit(unit)?.id ?? null) : null,
		decimals: typeof decimals === 'number' ? decimals : USUAL_DECIMALS,
		expression,
		note: typeof note === 'string' ? note : null,
	};
}

/** A formula column with what its formula means, or why it means nothing. */
export interface PlannedColumn {
	readonly column: FormulaColumn;
	/** As read; null where it cannot be. */
	readonly expression: Expression | null;
	/** What the formula gives, also where the column's unit is another. */
	readonly gives: Meaning | null;
	/** null with a fault. */
	readonly meaning: Meaning | null;
	readonly fault: FormulaFault | null;
	/** Ids of the columns in it, each once, in the order of its text. */
	readonly uses: readonly string[];
	/** Ids of the formula columns that have it in them. */
	readonly usedBy: readonly string[];
	/** From what formulas reckon in to the column's unit: figure = reckoned / factor. */
	readonly factor: number;
}

/** The formula columns of one sheet. */
export interface FormulaPlan {
	readonly sheet: FormulaSheetId;
	readonly names: KnownNames;
	/** As entered. */
	readonly columns: readonly PlannedColumn[];
	/** Sound columns, each after those it looks at. */
	readonly order: readonly PlannedColumn[];
}

/**
 * Reads the formulas of a sheet together: what each means, which look at which, and in what order
 * they are worked out. Columns in a ring of each other have a fault that names the ring.
 *
 * @example
 * const column = (id, expression) => ({ id, sheet: 'ledger', heading: id, unit: 'm3', decimals: 1, expression, note: null });
 * const plan = planFormulas('ledger', [column('b', 'a + a'), column('a', 'volume_apparent_m3'), column('c', '2 * d'), column('d', 'c')]);
 * plan.order.map((one) => one.column.id) // => ["a","b"]
 * plan.columns.map((one) => one.fault?.message ?? null) // => [null,null,"This goes round in a ring: c → d → c.","This goes round in a ring: d → c → d."]
 */
export function planFormulas(
	sheet: FormulaSheetId,
	columns: readonly FormulaColumn[],
): FormulaPlan {
	const names = knownNames(sheet, columns);
	const read = columns.map((column) => readColumn(column, names));
	const byId = new Map(read.map((one) => [one.column.id, one]));
	const rings = ringsOf(byId);
	const planned = read.map((one): PlannedColumn => {
		const ring = rings.get(one.column.id);
		const fault = one.fault ?? (ring === undefined ? null : ringFault(ring, one.expression));
		const usedBy = read.filter((other) => other.uses.includes(one.column.id));
		return {
			column: one.column,
			expression: one.expression,
			gives: one.meaning,
			meaning: fault === null ? one.meaning : null,
			fault,
			uses: one.uses,
			usedBy: usedBy.map((other) => other.column.id),
			factor: one.factor,
		};
	});
	return { sheet, names, columns: planned, order: inOrder(planned) };
}

/** The columns formulas of a sheet can name: those of the catalogue, and each other. */
export function knownNames(sheet: FormulaSheetId, columns: readonly FormulaColumn[]): KnownNames {
	const known = new Map<string, KnownColumn>();
	for (const { id, heading, unit, type, choices } of columnsOf(sheet))
		known.set(id, {
			id,
			heading,
			unit,
			type,
			formula: false,
			...(choices === undefined ? {} : { choices }),
		});
	for (const { id, heading, unit } of columns)
		if (!known.has(id)) known.set(id, { id, heading, unit, type: 'number', formula: true });
	return { sheet, columns: known };
}

interface ReadColumn {
	readonly column: FormulaColumn;
	readonly expression: Expression | null;
	readonly meaning: Meaning | null;
	readonly fault: FormulaFault | null;
	readonly uses: readonly string[];
	readonly factor: number;
}

function readColumn(column: FormulaColumn, names: KnownNames): ReadColumn {
	const parsed = parseFormula(column.expression);
	if (isFault(parsed))
		return { column, expression: null, meaning: null, fault: parsed, uses: [], factor: 1 };
	const uses = namesIn(parsed).filter((name) => names.columns.has(name));
	const meaning = meaningOf(parsed, names);
	const made = { column, expression: parsed, uses, factor: 1 };
	if (isFault(meaning)) return { ...made, meaning: null, fault: meaning };
	const factor = resultFactor(meaning, column.unit, parsed);
	if (typeof factor !== 'number') return { ...made, meaning, fault: factor };
	return { ...made, meaning, fault: null, factor };
}

/** From what a formula gives to the unit it is to be shown in, or why it cannot be. */
function resultFactor(
	{ type, measure }: Meaning,
	unit: UnitId | null,
	whole: Span,
): number | FormulaFault {
	const shown = unit ?? '1';
	const factor = reckoningFactor(shown);
	if (factor === null)
		return formulaFault('temperature_scale', 'Formulas reckon temperatures in °C.', whole, 'degC');
	if (type === 'truth' && unit !== null)
		return formulaFault(
			'result_truth',
			'The formula gives a yes or no (1 or 0), which has no unit.',
			whole,
			'no unit',
		);
	if (sameMeasure(measure, measureOf(shown))) return factor;
	const asked = isPlain(measureOf(shown)) ? 'a plain number' : measureWords(measureOf(shown));
	return formulaFault(
		'result_unit',
		`The formula gives ${measureWords(measure)}; the column is ${asked}.`,
		whole,
		isPlain(measure) ? 'no unit, or %' : `a unit such as ${unitText(measure)}`,
	);
}

/** Names in a formula, each once. */
function namesIn(expression: Expression): string[] {
	const found = new Set<string>();
	visit(expression, (one) => {
		if (one.kind === 'name') found.add(one.name);
	});
	return [...found];
}

function visit(one: Expression, see: (part: Expression) => void): void {
	see(one);
	for (const part of partsOf(one)) visit(part, see);
}

function partsOf(one: Expression): readonly Expression[] {
	switch (one.kind) {
		case 'unary':
			return [one.of];
		case 'binary':
			return [one.left, one.right];
		case 'choice':
			return [one.condition, one.yes, one.no];
		case 'call':
			return one.args;
		default:
			return [];
	}
}

/** For each column that looks at itself through others: the way round, from it back to it. */
function ringsOf(columns: ReadonlyMap<string, ReadColumn>): Map<string, string[]> {
	const rings = new Map<string, string[]>();
	for (const id of columns.keys()) {
		const ring = wayBack(id, columns);
		if (ring !== null) rings.set(id, ring);
	}
	return rings;
}

/** The shortest way from a column back to itself. */
function wayBack(id: string, columns: ReadonlyMap<string, ReadColumn>): string[] | null {
	const from = new Map<string, string>();
	const queue = [id];
	for (let at = 0; at < queue.length; at++) {
		const here = queue[at] ?? id;
		for (const next of columns.get(here)?.uses ?? []) {
			if (next === id) {
				const way = [id];
				for (let back = here; back !== id; back = from.get(back) ?? id) way.unshift(back);
				return [id, ...way];
			}
			if (!columns.has(next) || from.has(next)) continue;
			from.set(next, here);
			queue.push(next);
		}
	}
	return null;
}

function ringFault(ring: readonly string[], expression: Expression | null): FormulaFault {
	let place: Span = { from: 0, to: 0 };
	if (expression !== null)
		visit(expression, (one) => {
			if (one.kind === 'name' && one.name === ring[1] && place.to === 0) place = one;
		});
	return formulaFault(
		'formula_ring',
		`This goes round in a ring: ${ring.join(' → ')}.`,
		place,
		'a formula that does not lead back to its own column',
	);
}

function inOrder(planned: readonly PlannedColumn[]): PlannedColumn[] {
	const byId = new Map(planned.map((one) => [one.column.id, one]));
	const done = new Set<string>();
	const order: PlannedColumn[] = [];
	const take = (one: PlannedColumn): void => {
		if (done.has(one.column.id)) return;
		done.add(one.column.id);
		// Without rings among them this ends, however deep they stand on one another.
		for (const id of one.uses) {
			const other = byId.get(id);
			if (other !== undefined && other.fault === null) take(other);
		}
		order.push(one);
	};
	for (const one of planned) if (one.fault === null) take(one);
	return order;
}
