import type { FormulaColumn, FormulaSheetId } from '../../../calc/formula/columns.ts';
import type { FormulaRows } from '../../../calc/formula/recalculate.ts';
import type { UnitId } from '../../../calc/quantity/unit.ts';
import type { CellValue } from '../../../calc/sheet/column.ts';

/** A formula column with no more than a test needs. */
export function columnOf(
	id: string,
	expression: string,
	unit: UnitId | null = null,
	sheet: FormulaSheetId = 'ledger',
): FormulaColumn {
	return { id, sheet, heading: id, unit, decimals: 2, expression, note: null };
}

/** Rows of cells as formulas see them; rings are numbered from 1. */
export function rowsOf(cells: readonly Readonly<Record<string, CellValue>>[]): FormulaRows {
	return {
		count: cells.length,
		cell: (id, row) => cells[row]?.[id] ?? null,
		faceShare: (stratum, row) => {
			const share = cells[row]?.[`share of ${stratum}`];
			return typeof share === 'number' ? share : null;
		},
		ring: (row) => row + 1,
		name: (row) => `ring ${row + 1}`,
		hasStratum: (stratum) => stratum !== 'Chalk',
	};
}
