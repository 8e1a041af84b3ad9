import { type Fault, noteFault, stopFault } from '../../calc/fault/fault.ts';
import { columnsOf, findColumn } from '../../calc/sheet/catalogue.ts';
import { checkRow } from '../../calc/sheet/cell.ts';
import type { ImportedSheetId } from '../contract/sheetexchange.ts';
import type { FileRow } from '../exchange/readsheet.ts';
import { KEY_COLUMNS } from '../exchange/rowkeys.ts';
import type { RowCells } from '../folder/content.ts';
import { FaultList } from '../folder/faultlist.ts';
import type { Change } from '../store/change.ts';
import type { DriveModel } from './drivemodel.ts';
import { faultsBetweenRows } from './edit.ts';

/** What rows of a file make of a sheet, each row counted once. */
export interface Taking {
	readonly changes: readonly Change[];
	readonly rows: number;
	readonly added: number;
	readonly updated: number;
	readonly same: number;
	readonly skipped: number;
	readonly faulty: number;
	readonly faults: readonly Fault[];
	readonly moreFaults: number;
	/** A fault that leaving out rows of the file does not mend; null: there is none. */
	readonly notYet: string | null;
}

export interface TakeAsk {
	readonly sheet: ImportedSheetId;
	readonly file: string;
	readonly rows: readonly FileRow[];
	readonly existing: 'update' | 'skip';
	/** Number of the first row that is added. */
	readonly firstRow: number;
	readonly utcOffset_min: number;
}

/** Faults listed; the rest is counted. */
const MOST_FAULTS = 500;
/** Leaving out a row can bring another fault to light, but not for ever. */
const MOST_ROUNDS = 20;

/** Shares of a face are often in several files; until they add up the balance says so itself. */
const ONLY_NOTED: ReadonlySet<string> = new Set(['face_fraction_sum']);

interface Pending {
	readonly line: number;
	/** null: it is new. */
	readonly before: RowCells | null;
	readonly after: RowCells;
}

/**
 * Holds rows of a file against the rows that are there. Rows with the same key are the same row: its
 * cells are replaced by those of the file, an empty field leaves what is there; or it is skipped. A
 * row in which anything is wrong, by itself or together with others, is left out with its faults.
 */
export function prepareTaking(model: DriveModel, ask: TakeAsk): Taking {
	const { sheet, file } = ask;
	const faults = new FaultList(MOST_FAULTS);
	const pending = new Map<number, Pending>();
	const known = rowsByKey(model, sheet);
	const required = columnsOf(sheet).filter((column) => column.required);
	const seen = new Map<string, number>();
	let [same, skipped, faulty] = [0, 0, 0];
	let next = ask.firstRow;
	for (const { line, cells, faults: found, stopped } of ask.rows) {
		faults.add(...found);
		if (stopped) {
			faulty++;
			continue;
		}
		const key = keyOf(sheet, cells);
		const id = key === null ? undefined : known.get(key)?.shift();
		const before = id === undefined ? null : (model.rows[sheet].get(id) ?? null);
		const after = before === null ? cells : { ...before, ...cells };
		const wrong = [
			...(before === null ? missing(required, cells) : []),
			...twice(sheet, key, line, seen),
		];
		if (wrong.length === 0) wrong.push(...checkRow(sheet, after, ask.utcOffset_min));
		faults.add(...wrong.map((fault) => placed(fault, file, line)));
		if (wrong.some(({ weight }) => weight === 'stop')) faulty++;
		else if (before !== null && isSame(before, after)) same++;
		else if (before !== null && ask.existing === 'skip') skipped++;
		else pending.set(id ?? next++, { line, before, after });
	}
	let notYet: string | null = null;
	for (let round = 0; round < MOST_ROUNDS && notYet === null; round++) {
		const among = faultsBetweenRows(
			model,
			sheet,
			new Map([...pending].map(([row, { after }]) => [row, after])),
			ask.utcOffset_min,
		);
		const stops = among.filter(({ fault }) => !ONLY_NOTED.has(fault.code));
		if (stops.length === 0) {
			for (const { row, fault } of among)
				faults.add(
					noteFault(fault.code, fault.message, whereOf(fault, file, pending.get(row ?? -1))),
				);
			break;
		}
		for (const { row, fault } of stops) {
			const mine = row === null ? undefined : pending.get(row);
			faults.add({ ...fault, where: whereOf(fault, file, mine) });
			if (mine === undefined)
				notYet = `With these rows the sheet would not hold together: ${fault.message}`;
			else if (pending.delete(row ?? -1)) faulty++;
		}
		if (round === MOST_ROUNDS - 1) notYet = 'The rows do not hold together.';
	}
	const changes: Change[] = [];
	let added = 0;
	// Numbers of rows that were left out are not given away.
	let number = ask.firstRow;
	for (const [row, { before, after }] of pending)
		if (before === null) {
			added++;
			changes.push({ kind: 'row', sheet, row: number++, before: null, after });
		} else
			for (const [column, value] of Object.entries(after))
				if (value !== (before[column] ?? null))
					changes.push({
						kind: 'cell',
						sheet,
						row,
						column,
						before: before[column] ?? null,
						after: value,
					});
	return {
		changes: notYet === null ? changes : [],
		rows: ask.rows.length,
		added,
		updated: pending.size - added,
		same,
		skipped,
		faulty,
		faults: faults.listed,
		moreFaults: faults.more,
		notYet,
	};
}

/** Rows there, by key, in their order; a face may hold one stratum twice. */
function rowsByKey(model: DriveModel, sheet: ImportedSheetId): Map<string, number[]> {
	const known = new Map<string, number[]>();
	for (const [row, cells] of [...model.rows[sheet]].sort((a, b) => a[0] - b[0])) {
		const key = keyOf(sheet, cells);
		if (key === null) continue;
		const rows = known.get(key);
		if (rows === undefined) known.set(key, [row]);
		else rows.push(row);
	}
	return known;
}

/** null: a needed part of it is missing. */
function keyOf(sheet: ImportedSheetId, cells: RowCells): string | null {
	const parts = KEY_COLUMNS[sheet].map((id) => cells[id] ?? null);
	const whole = KEY_COLUMNS[sheet].every(
		(id, at) => parts[at] !== null || findColumn(sheet, id)?.required !== true,
	);
	return whole ? JSON.stringify(parts) : null;
}

function missing(required: ReturnType<typeof columnsOf>, cells: RowCells): Fault[] {
	return required
		.filter((column) => (cells[column.id] ?? null) === null)
		.map((column) =>
			stopFault('cell_required', `${column.heading} is needed.`, {
				column: column.id,
				expected: `a value for ${column.heading}, which a new row must have`,
			}),
		);
}

function twice(
	sheet: ImportedSheetId,
	key: string | null,
	line: number,
	seen: Map<string, number>,
): Fault[] {
	if (key === null || sheet === 'ground') return [];
	const first = seen.get(key);
	seen.set(key, first ?? line);
	return first === undefined
		? []
		: [
				stopFault('row_twice', `Row ${first} of the file is the same row.`, {
					column: KEY_COLUMNS[sheet][0] ?? '',
					expected: 'each row once',
				}),
			];
}

function isSame(before: RowCells, after: RowCells): boolean {
	return Object.keys(after).every((id) => (after[id] ?? null) === (before[id] ?? null));
}

const placed = (fault: Fault, file: string, row: number): Fault => ({
	...fault,
	where: { ...fault.where, file, row },
});

function whereOf(fault: Fault, file: string, mine: Pending | undefined): Fault['where'] {
	const { row: _row, file: _file, ...where } = fault.where;
	return mine === undefined ? where : { ...where, file, row: mine.line };
}
