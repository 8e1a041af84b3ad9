import { faultLine } from '../../calc/fault/fault.ts';
import { columnsOf, findColumn } from '../../calc/sheet/catalogue.ts';
import { checkSheet, checkValue } from '../../calc/sheet/cell.ts';
import type { CellValue, Column, EnteredSheetId } from '../../calc/sheet/column.ts';
import { ENTERED_SHEETS } from '../store/projectfile.ts';
import type { StoredRow } from '../store/rows.ts';

/**
 * The first thing that makes rows of a file unfit to work with, in words, or null: a value its column
 * cannot hold, a needed one missing, two readings at one time. Nothing of the kind gets in through
 * the desk; it means that the file was changed by other hands.
 */
export function findUnsound(rows: (sheet: EnteredSheetId) => readonly StoredRow[]): string | null {
	for (const sheet of ENTERED_SHEETS) {
		const required = columnsOf(sheet).filter((column) => column.required);
		const columns = new Map<string, Column | undefined>();
		for (const row of rows(sheet)) {
			for (const id in row.cells) {
				if (!columns.has(id)) columns.set(id, findColumn(sheet, id));
				const found = wrongValue(sheet, row, id, columns.get(id), row.cells[id] ?? null);
				if (found !== null) return found;
			}
			for (const column of required) {
				if (row.cells[column.id] !== undefined) continue;
				return wrongValue(sheet, row, column.id, column, null);
			}
		}
	}
	return twoAtOneTime(rows('readings'));
}

/** Readings come from the file in the order of time, so that two of one time stand together. */
function twoAtOneTime(readings: readonly StoredRow[]): string | null {
	for (let at = 1; at < readings.length; at++) {
		const pair = [readings[at - 1]!, readings[at]!];
		if (pair[0]!.cells.time !== pair[1]!.cells.time) continue;
		const [fault] = checkSheet(
			'readings',
			pair.map((row) => row.cells),
		);
		if (fault !== undefined)
			return tell(faultLine({ ...fault, where: { ...fault.where, row: pair[1]!.id } }));
	}
	return null;
}

function wrongValue(
	sheet: EnteredSheetId,
	row: StoredRow,
	id: string,
	column: Column | undefined,
	value: CellValue,
): string | null {
	if (column === undefined || column.kind !== 'entered')
		return tell(`${sheet} row ${row.id} holds a column "${id.slice(0, 80)}" that no sheet has.`);
	const fault = checkValue(column, value).find((one) => one.weight === 'stop');
	return fault === undefined
		? null
		: tell(faultLine({ ...fault, where: { ...fault.where, file: sheet, row: row.id } }));
}

function tell(what: string): string {
	return `The rows of the file are not sound, it was changed by another program: ${what}`;
}
