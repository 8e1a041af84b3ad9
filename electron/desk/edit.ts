import { type Fault, stopFault } from '../../calc/fault/fault.ts';
import { checkWholeSheet } from '../../calc/formula/check.ts';
import { formulaColumn, planFormulas } from '../../calc/formula/columns.ts';
import { columnsOf, findColumn } from '../../calc/sheet/catalogue.ts';
import { checkRow, readCell } from '../../calc/sheet/cell.ts';
import type { CellValue, EnteredSheetId } from '../../calc/sheet/column.ts';
import type { EditRefusal } from '../contract/verbs.ts';
import type { RowCells } from '../folder/content.ts';
import { type Change, withoutMissing } from '../store/change.ts';
import type { DriveModel } from './drivemodel.ts';

/** How the person's screen reads what is typed. */
export interface Typed {
	readonly decimal: '.' | ',';
	readonly utcOffset_min: number;
}

/** Either all of a gesture as changes, or every reason it cannot be done. */
export interface Prepared {
	readonly changes: Change[];
	readonly refused: EditRefusal[];
}

/**
 * Faults between rows that a person mends by going on typing: the shares of a face are entered one
 * row after the other, and until they add up the balance says so itself.
 */
const MENDED_BY_MORE_ROWS: ReadonlySet<string> = new Set(['face_fraction_sum']);

/** Rings looked at on each side of one that changes. */
const RINGS_BESIDE = 2;

/**
 * Reads typed texts into changes of cells that are there, and into rows to add, numbered from
 * `firstRow` on. Cells that keep their value are left out. Edited and added rows are held against
 * the rest of the sheet together.
 */
export function prepareEdits(
	model: DriveModel,
	sheet: EnteredSheetId,
	edits: readonly { row: number; column: string; text: string }[],
	typed: Typed,
	added: readonly Readonly<Record<string, string>>[],
	firstRow: number,
): Prepared {
	const edited = readEdits(model, sheet, edits, typed);
	const rows = readRows(sheet, added, typed, firstRow);
	const refused = [...edited.refused, ...rows.refused];
	// Rules over a row need its required cells; where they are absent from an added one, that is said already.
	const after = new Map(rows.refused.length > 0 ? edited.after : [...edited.after, ...rows.after]);
	refused.push(...refuseRows(model, sheet, after, typed.utcOffset_min));
	const changes = [
		...edited.changes,
		...[...rows.after].map(
			([row, cells]): Change => ({ kind: 'row', sheet, row, before: null, after: cells }),
		),
	];
	const place = new Map([...rows.after.keys()].map((row, at) => [row, at + 1]));
	return {
		changes: refused.length > 0 ? [] : changes,
		// An added row has no number yet that the page knows: it is named by its place among the added.
		refused: refused.map((one) => {
			const at = one.row === null ? undefined : place.get(one.row);
			return at === undefined
				? one
				: { ...one, row: null, fault: { ...one.fault, where: { ...one.fault.where, row: at } } };
		}),
	};
}

interface ReadRows {
	/** Rows as they would be. */
	readonly after: Map<number, RowCells>;
	readonly refused: EditRefusal[];
}

function readEdits(
	model: DriveModel,
	sheet: EnteredSheetId,
	edits: readonly { row: number; column: string; text: string }[],
	typed: Typed,
): ReadRows & { readonly changes: Change[] } {
	const refused: EditRefusal[] = [];
	const after = new Map<number, RowCells>();
	const order: { row: number; column: string }[] = [];
	for (const edit of edits) {
		const present = after.get(edit.row) ?? model.rows[sheet].get(edit.row);
		if (present === undefined) {
			refused.push(
				refusal(
					edit.row,
					edit.column,
					stopFault('row_gone', 'This row is not there any more.', { file: sheet, row: edit.row }),
				),
			);
			continue;
		}
		const read = readTyped(sheet, edit.column, edit.text, typed, edit.row);
		if ('refused' in read) {
			refused.push(read.refused);
			continue;
		}
		after.set(edit.row, withCell(present, edit.column, read.value));
		order.push({ row: edit.row, column: edit.column });
	}
	const changes: Change[] = [];
	const seen = new Set<string>();
	for (const { row, column } of order) {
		const key = `${row} ${column}`;
		if (seen.has(key)) continue;
		seen.add(key);
		const old = model.rows[sheet].get(row)?.[column] ?? null;
		const now = after.get(row)?.[column] ?? null;
		if (old !== now) changes.push({ kind: 'cell', sheet, row, column, before: old, after: now });
	}
	return { after, refused, changes };
}

function readRows(
	sheet: EnteredSheetId,
	added: readonly Readonly<Record<string, string>>[],
	typed: Typed,
	firstRow: number,
): ReadRows {
	const required = columnsOf(sheet)
		.filter((column) => column.required)
		.map((column) => column.id);
	const refused: EditRefusal[] = [];
	const after = new Map<number, RowCells>();
	added.forEach((texts, at) => {
		const row = firstRow + at;
		const cells: RowCells = {};
		const columns = new Set([...Object.keys(texts), ...required]);
		for (const column of columns) {
			const read = readTyped(sheet, column, texts[column] ?? '', typed, row);
			if ('refused' in read) refused.push(read.refused);
			else if (read.value !== null) cells[column] = read.value;
		}
		after.set(row, cells);
	});
	return { after, refused };
}

export function prepareDeletion(
	model: DriveModel,
	sheet: Exclude<EnteredSheetId, 'drive'>,
	gone: readonly number[],
): Prepared {
	const changes: Change[] = [];
	for (const row of new Set(gone)) {
		const before = model.rows[sheet].get(row);
		if (before === undefined)
			return {
				changes: [],
				refused: [
					refusal(
						row,
						'',
						stopFault('row_gone', 'This row is not there any more.', { file: sheet, row }),
					),
				],
			};
		changes.push({ kind: 'row', sheet, row, before, after: null });
	}
	const refused = sheet === 'formulas' ? stillUsed(model, new Set(gone)) : [];
	return { changes: refused.length > 0 ? [] : changes, refused };
}

/** Formula columns that are to go and are looked at by others that stay. */
function stillUsed(model: DriveModel, gone: ReadonlySet<number>): EditRefusal[] {
	const all = [...model.rows.formulas].flatMap(([row, cells]) => {
		const column = formulaColumn(cells);
		return column === null ? [] : [{ row, column }];
	});
	return (['ledger', 'readings'] as const).flatMap((sheet) => {
		const rows = all.filter((one) => one.column.sheet === sheet);
		const { columns } = planFormulas(
			sheet,
			rows.map((one) => one.column),
		);
		const going = new Set(rows.flatMap(({ row, column }) => (gone.has(row) ? column.id : [])));
		return rows.flatMap(({ row, column }, at) => {
			const users = columns[at]?.usedBy.filter((id) => !going.has(id)) ?? [];
			if (!gone.has(row) || users.length === 0) return [];
			return refusal(
				row,
				'column_id',
				stopFault('formula_used', `${column.id} is used by ${users.join(', ')}.`, {
					file: 'formulas',
					row,
					column: 'column_id',
					value: column.id,
					expected: 'a column that no other looks at; take it out of those first',
				}),
			);
		});
	});
}

function readTyped(
	sheet: EnteredSheetId,
	columnId: string,
	text: string,
	typed: Typed,
	row: number,
): { value: CellValue } | { refused: EditRefusal } {
	const column = findColumn(sheet, columnId);
	if (column === undefined || column.kind !== 'entered')
		return {
			refused: refusal(
				row,
				columnId,
				stopFault(
					column === undefined ? 'column_unknown' : 'column_computed',
					column === undefined
						? 'The sheet has no such column.'
						: 'This column is worked out and cannot be typed into.',
					{ file: sheet, row, column: columnId },
				),
			),
		};
	const read = readCell(column, text, typed);
	if (read.kind === 'value') return { value: read.value };
	if (read.kind === 'fault')
		return { refused: refusal(row, columnId, placed(read.fault, sheet, row, columnId)) };
	return {
		refused: {
			row,
			column: columnId,
			fault: stopFault(
				'number_ambiguous',
				'This can be read in more than one way; choose the one that is meant.',
				{ file: sheet, row, column: columnId, value: text.slice(0, 40) },
			),
			readAs: read.readAs.map(({ label, text: meant }) => ({ label, text: meant })),
		},
	};
}

/** Stop faults that the rows as they would be have within themselves and with their sheet, and did not have before. */
function refuseRows(
	model: DriveModel,
	sheet: EnteredSheetId,
	after: ReadonlyMap<number, RowCells>,
	utcOffset_min: number,
): EditRefusal[] {
	const refused: EditRefusal[] = [];
	for (const [row, cells] of after)
		for (const fault of checkRow(sheet, cells, utcOffset_min))
			if (fault.weight === 'stop')
				refused.push(
					refusal(row, fault.where.column ?? '', placed(fault, sheet, row, fault.where.column)),
				);
	if (refused.length > 0 || sheet === 'drive') return refused;
	for (const { row, fault } of faultsBetweenRows(model, sheet, after, utcOffset_min)) {
		if (MENDED_BY_MORE_ROWS.has(fault.code)) continue;
		refused.push(
			refusal(row, fault.where.column ?? '', placed(fault, sheet, row, fault.where.column)),
		);
	}
	return refused;
}

/** Stop faults that rows as they would be have with the others of their sheet, and did not have before; by row, null where it is none of them. */
export function faultsBetweenRows(
	model: DriveModel,
	sheet: Exclude<EnteredSheetId, 'drive'>,
	after: ReadonlyMap<number, RowCells>,
	utcOffset_min: number,
): { readonly row: number | null; readonly fault: Fault }[] {
	const concerned = concernedRows(model, sheet, after);
	const numbers = concerned.map(([row]) => row);
	const standing = new Set(
		checkWholeSheet(
			sheet,
			concerned.map(([row]) => model.rows[sheet].get(row)).filter((cells) => cells !== undefined),
			utcOffset_min,
		).map(sameFault),
	);
	return checkWholeSheet(
		sheet,
		concerned.map(([, cells]) => cells),
		utcOffset_min,
	)
		.filter((fault) => fault.weight === 'stop' && !standing.has(sameFault(fault)))
		.map((fault) => ({
			row: fault.where.row === undefined ? null : (numbers[fault.where.row - 1] ?? null),
			fault,
		}));
}

/** A fault apart from the row number, which moves with what is looked at. */
function sameFault(fault: Fault): string {
	const { row: _row, ...where } = fault.where;
	return JSON.stringify([fault.code, where]);
}

/**
 * The rows a rule between rows can concern, as they would be, in the order of the sheet. Readings
 * only have to differ in time, so of those only the ones at the same times are looked at; a ring is
 * held against the ones next to it.
 */
function concernedRows(
	model: DriveModel,
	sheet: EnteredSheetId,
	after: ReadonlyMap<number, RowCells>,
): [number, RowCells][] {
	const merged: [number, RowCells][] = [];
	if (sheet === 'readings') {
		const times = new Set<CellValue>();
		for (const [row, { time }] of after)
			if (time !== model.rows.readings.get(row)?.time) times.add(time ?? null);
		const taken = [...times].some((time) => typeof time === 'number' && model.record.hasTime(time));
		if (taken)
			for (const [row, cells] of model.rows.readings)
				if (!after.has(row) && times.has(cells.time ?? null)) merged.push([row, cells]);
	} else if (sheet === 'rings') {
		for (const row of ringsBeside(model, after))
			if (!after.has(row)) merged.push([row, model.rows.rings.get(row)!]);
	} else
		for (const [row, cells] of model.rows[sheet]) if (!after.has(row)) merged.push([row, cells]);
	merged.push(...after);
	const key = {
		rings: 'ring',
		readings: 'time',
		ground: 'from_ring',
		meters: 'valid_from',
		bypass_decisions: 'from_time',
		mode_overrides: 'from_time',
		formulas: 'sheet',
		limits: 'sheet',
		drive: 'title',
	}[sheet];
	return merged.sort((a, b) =>
		sheet === 'formulas' || sheet === 'limits'
			? a[0] - b[0]
			: Number(a[1][key]) - Number(b[1][key]) || a[0] - b[0],
	);
}

/** Rows of the rings next to where the rings of `after` stood and will stand. */
function ringsBeside(model: DriveModel, after: ReadonlyMap<number, RowCells>): Set<number> {
	const beside = new Set<number>();
	for (const [row, cells] of after)
		for (const ring of [cells.ring, model.rows.rings.get(row)?.ring]) {
			if (typeof ring !== 'number') continue;
			const at = model.placeOfRing(ring);
			for (const one of model.rings.slice(Math.max(0, at - RINGS_BESIDE), at + RINGS_BESIDE + 1))
				beside.add(one.row);
		}
	return beside;
}

function withCell(cells: RowCells, column: string, value: CellValue): RowCells {
	return withoutMissing({ ...cells, [column]: value });
}

function placed(
	fault: Fault,
	sheet: EnteredSheetId,
	row: number | null,
	column: string | undefined,
): Fault {
	return {
		...fault,
		where: {
			...fault.where,
			file: sheet,
			...(row === null ? {} : { row }),
			...(column === undefined ? {} : { column }),
		},
	};
}

function refusal(row: number | null, column: string, fault: Fault): EditRefusal {
	return { row, column, fault, readAs: [] };
}
