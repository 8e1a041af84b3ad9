import { type Fault, stopFault } from '../fault/fault.ts';
import type { CellValue, EnteredSheetId } from '../sheet/column.ts';
import { checkSheet } from '../sheet/rules.ts';
import { type FormulaColumn, formulaColumn, planFormulas } from './columns.ts';
import type { FormulaFault } from './expression.ts';

type Cells = Readonly<Record<string, CellValue>>;

/**
 * What is wrong with the formulas of the rows of the sheet `formulas`, taken together: names that are
 * not there, units that do not go together, columns in a ring of each other. Names and units of the
 * columns themselves are judged by the rules of the sheet. `where.row` is the place in the list given,
 * the first being 1; the characters are told in the message, counted from 1.
 *
 * @example
 * checkFormulas([{ sheet: 'ledger', column_id: 'a', heading: 'A', unit: 'm3', expression: 'volume_apparent_m3 + dry_solids_t' }]).map((f) => [f.code, f.where.row, f.message]) // => [["units_differ",1,"These cannot be added: Apparent volume is a volume (m³), Dry solids is a mass (t). (Character 20.)"]]
 */
export function checkFormulas(rows: readonly Cells[]): Fault[] {
	const faults: Fault[] = [];
	for (const sheet of ['ledger', 'readings'] as const) {
		const columns: FormulaColumn[] = [];
		const places: number[] = [];
		rows.forEach((cells, at) => {
			const column = formulaColumn(cells);
			if (column === null || column.sheet !== sheet) return;
			columns.push(column);
			places.push(at + 1);
		});
		planFormulas(sheet, columns).columns.forEach(({ column, fault }, at) => {
			if (fault !== null) faults.push(asFault(fault, column.expression, places[at] ?? 1));
		});
	}
	return faults.sort((a, b) => (a.where.row ?? 0) - (b.where.row ?? 0));
}

/** The rules between the rows of a sheet, formulas included: `checkSheet` and {@link checkFormulas}. */
export function checkWholeSheet(
	sheet: EnteredSheetId,
	rows: readonly Cells[],
	utcOffset_min = 0,
): Fault[] {
	const faults = checkSheet(sheet, rows, utcOffset_min);
	return sheet === 'formulas' ? [...faults, ...checkFormulas(rows)] : faults;
}

/** A formula's fault as one of its row. */
function asFault(fault: FormulaFault, expression: string, row: number): Fault {
	const { code, message, from, to, expected } = fault;
	const whole = from === 0 && to >= expression.length;
	return stopFault(code, whole ? message : `${message} (Character ${from + 1}.)`, {
		row,
		column: 'expression',
		value: expression.slice(from, to).slice(0, 80),
		...(expected === null ? {} : { expected }),
	});
}
