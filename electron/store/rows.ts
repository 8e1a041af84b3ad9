import { createHash } from 'node:crypto';
import type { DatabaseSync, StatementSync } from 'node:sqlite';
import { passingSize_mm } from '../../calc/sheet/catalogue.ts';
import type { CellValue, EnteredSheetId } from '../../calc/sheet/column.ts';
import type { RowCells } from '../folder/content.ts';
import { type Change, canonicalCells } from './change.ts';
import { TABLE_COLUMNS } from './schema.ts';

/** The rows of the sheets as tables: loading, and applying changes inside the caller's transaction. */

export type RowSheet = keyof typeof TABLE_COLUMNS;
/** The drive sheet is one row. */
export const DRIVE_ROW = 1;

export interface StoredRow {
	readonly id: number;
	readonly cells: RowCells;
}

const ORDER: Record<RowSheet, string> = {
	rings: '"ring", id',
	ground: 'id',
	readings: '"time", id',
	meters: '"valid_from", id',
	bypass_decisions: '"from_time", id',
	mode_overrides: '"from_time", id',
	formulas: 'id',
	limits: 'id',
};

/** All rows of a sheet in the order it is shown; missing cells are absent. */
export function loadRows(db: DatabaseSync, sheet: EnteredSheetId): StoredRow[] {
	if (sheet === 'drive') {
		const cells: RowCells = {};
		for (const row of db.prepare('SELECT column_id, value FROM drive').all())
			cells[String(row.column_id)] = row.value as CellValue;
		return [{ id: DRIVE_ROW, cells }];
	}
	const columns = filledColumns(db, sheet);
	const names = ['id', ...columns.map((id) => `"${id}"`)].join(', ');
	const statement = db.prepare(`SELECT ${names} FROM ${sheet} ORDER BY ${ORDER[sheet]}`);
	// Arrays take half the time of objects: 300,000 readings are read at every opening.
	statement.setReturnArrays(true);
	const rows: StoredRow[] = [];
	for (const row of statement.iterate() as Iterable<unknown> as Iterable<readonly CellValue[]>) {
		const cells: RowCells = {};
		columns.forEach((id, at) => {
			const value = row[at + 1] ?? null;
			if (value !== null) cells[id] = value;
		});
		rows.push({ id: Number(row[0]), cells });
	}
	if (sheet === 'ground') addPassings(db, rows);
	return rows;
}

/** Columns that hold anything: most drives use few of them, and every one read costs time for every row. */
function filledColumns(db: DatabaseSync, sheet: RowSheet): string[] {
	const columns: readonly string[] = TABLE_COLUMNS[sheet];
	const counts = columns.map((id) => `count("${id}") AS "${id}"`).join(', ');
	const filled = db.prepare(`SELECT ${counts} FROM ${sheet}`).get();
	return columns.filter((id) => filled?.[id] !== 0);
}

function addPassings(db: DatabaseSync, rows: readonly StoredRow[]): void {
	const byId = new Map(rows.map((row) => [row.id, row.cells]));
	for (const passing of db
		.prepare('SELECT ground_id, column_id, passing_pct FROM ground_passing')
		.all()) {
		const cells = byId.get(passing.ground_id as number);
		const column = String(passing.column_id);
		if (cells && passingSize_mm(column) !== null) cells[column] = passing.passing_pct as number;
	}
}

/** Applies changes to the tables. Statements are kept for the life of the writer. */
export class RowWriter {
	readonly #db: DatabaseSync;
	readonly #statements = new Map<string, StatementSync>();

	constructor(db: DatabaseSync) {
		this.#db = db;
	}

	apply(change: Change): void {
		if (change.kind === 'cell')
			this.#setCell(change.sheet, change.row, change.column, change.after);
		else if (change.after === null) this.#remove(change.sheet, change.row);
		else this.insert(change.sheet, change.row, change.after);
	}

	insert(sheet: EnteredSheetId, id: number, cells: Readonly<RowCells>): void {
		if (sheet === 'drive') {
			for (const [column, value] of Object.entries(cells)) this.#setCell(sheet, id, column, value);
			return;
		}
		const columns: readonly string[] = TABLE_COLUMNS[sheet];
		const marks = columns.map(() => '?').join(', ');
		const names = columns.map((column) => `"${column}"`).join(', ');
		this.#run(
			`INSERT INTO ${sheet} (id, ${names}) VALUES (?, ${marks})`,
			id,
			...columns.map((column) => cells[column] ?? null),
		);
		for (const [column, value] of Object.entries(cells))
			if (!columns.includes(column)) this.#setCell(sheet, id, column, value);
	}

	#remove(sheet: EnteredSheetId, id: number): void {
		if (sheet === 'drive') throw new RangeError('the drive row cannot be removed');
		this.#run(`DELETE FROM ${sheet} WHERE id = ?`, id);
	}

	#setCell(sheet: EnteredSheetId, id: number, column: string, value: CellValue): void {
		if (typeof value === 'number' && !Number.isFinite(value))
			throw new RangeError(`${sheet} ${id} ${column}: ${value} is not a value to keep`);
		if (sheet === 'drive') {
			if (value === null) this.#run('DELETE FROM drive WHERE column_id = ?', column);
			else
				this.#run('INSERT OR REPLACE INTO drive (column_id, value) VALUES (?, ?)', column, value);
		} else if ((TABLE_COLUMNS[sheet] as readonly string[]).includes(column)) {
			this.#run(`UPDATE ${sheet} SET "${column}" = ? WHERE id = ?`, value, id);
		} else if (sheet === 'ground' && passingSize_mm(column) !== null) {
			if (value === null)
				this.#run('DELETE FROM ground_passing WHERE ground_id = ? AND column_id = ?', id, column);
			else
				this.#run(
					'INSERT OR REPLACE INTO ground_passing (ground_id, column_id, passing_pct) VALUES (?, ?, ?)',
					id,
					column,
					value,
				);
		} else throw new RangeError(`the sheet ${sheet} has no column ${column}`);
	}

	#run(sql: string, ...values: CellValue[]): void {
		let statement = this.#statements.get(sql);
		if (statement === undefined) {
			statement = this.#db.prepare(sql);
			this.#statements.set(sql, statement);
		}
		statement.run(...values);
	}
}

/** Rows of one digest block: small enough to say where a silent change sits, large enough to keep the origin entry short. */
export const DIGEST_BLOCK_ROWS = 256;

/** SHA-256 of the rows in blocks of ids 1–256, 257–512, …; an empty block has an empty text. */
export function rowDigests(rows: Iterable<StoredRow>): string[] {
	const blocks: StoredRow[][] = [];
	for (const row of rows) {
		const at = Math.floor((row.id - 1) / DIGEST_BLOCK_ROWS);
		let block = blocks[at];
		if (block === undefined) {
			block = [];
			blocks[at] = block;
		}
		block.push(row);
	}
	return Array.from(blocks, (block) => {
		if (block === undefined || block.length === 0) return '';
		const hash = createHash('sha256');
		for (const row of block.sort((a, b) => a.id - b.id))
			hash.update(`${row.id} ${canonicalCells(row.cells)}\n`);
		return hash.digest('hex');
	});
}
