import type { FormulaSheetId } from '../../calc/formula/columns.ts';
import { columnsOf, findColumn } from '../../calc/sheet/catalogue.ts';
import { checkRow, checkValue } from '../../calc/sheet/cell.ts';
import type { Column, EnteredSheetId, SheetId, SheetRow } from '../../calc/sheet/column.ts';
import { ledgerRow } from '../../calc/sheet/ledger.ts';
import {
	type ComputedReading,
	computedReadingCells,
	type ReadingContext,
	readingWorking,
} from '../../calc/sheet/readings.ts';
import { ledgerWorking, type RingContext, ringFacts } from '../../calc/sheet/ringworking.ts';
import type { RingDetail, Working } from '../contract/verbs.ts';
import type { RowCells } from '../folder/content.ts';
import { ENTERED_SHEETS } from '../store/projectfile.ts';
import type { DriveModel, RingRow, Touched } from './drivemodel.ts';
import { FormulaColumns } from './formulacolumns.ts';
import type { RingLedger } from './ringledger.ts';

/** Marks of the figures in workings and details, which are sentences and not cells. */
const MARKS = { decimal: '.', group: '\u202f' } as const;

const WORKED_READINGS: ReadonlySet<string> = new Set(
	columnsOf('readings').flatMap((column) => (column.kind === 'computed' ? column.id : [])),
);

/** The time a sheet is shown in the order of; rows of others stand as they were entered. */
const ORDERED_BY: Partial<Record<EnteredSheetId, string>> = {
	readings: 'time',
	meters: 'valid_from',
	bypass_decisions: 'from_time',
	mode_overrides: 'from_time',
};

/** Start of each ring's advance, in order of time: where a reading's ring begins. */
interface RingStart {
	readonly start_s: number;
	readonly ring: number;
}

/** What the computed cells of all readings looked at, to tell afterwards which of them changed. */
export interface ReadingContexts {
	readonly starts: readonly RingStart[];
	readonly water: string;
}

/** Rows as the page is given them: entered cells, computed cells beside them, and reasons at each. */
export class RowView {
	readonly #model: DriveModel;
	readonly #ledger: RingLedger;
	readonly #utcOffset_min: number;
	readonly formulas: FormulaColumns;
	#startsOf: { rings: readonly RingRow[]; starts: readonly RingStart[] } | null = null;

	constructor(model: DriveModel, ledger: RingLedger, utcOffset_min: number) {
		this.#model = model;
		this.#ledger = ledger;
		this.#utcOffset_min = utcOffset_min;
		this.formulas = new FormulaColumns(
			model,
			{
				ledger: (row) => this.#ledgerRow(row).cells,
				reading: (row) => this.#readingCells(row, this.#starts()).cells,
				worked: WORKED_READINGS,
			},
			utcOffset_min,
			MARKS,
		);
	}

	rows(
		sheet: SheetId,
		fromRing: number | null,
		toRing: number | null,
	): { rows: SheetRow[]; total: number } {
		const order = sheet === 'ledger' ? this.order('rings') : this.order(sheet);
		const wanted = order.filter(this.#inRings(sheet, fromRing, toRing));
		const starts = this.#starts();
		return {
			rows: wanted.map((row) => this.#row(sheet, row, starts)),
			total: order.length,
		};
	}

	/** Row numbers of a sheet in the order it is shown. */
	order(sheet: EnteredSheetId): number[] {
		if (sheet === 'rings') return this.#model.rings.map((ring) => ring.row);
		const key = ORDERED_BY[sheet];
		const rows = [...this.#model.rows[sheet]];
		rows.sort(
			(a, b) => (key === undefined ? 0 : Number(a[1][key]) - Number(b[1][key])) || a[0] - b[0],
		);
		return rows.map(([row]) => row);
	}

	/** Rows by number; those that are gone are left out. */
	some(sheet: SheetId, rows: Iterable<number>): SheetRow[] {
		const starts = this.#starts();
		const held = this.#model.rows[sheet === 'ledger' ? 'rings' : sheet];
		return [...rows].filter((row) => held.has(row)).map((row) => this.#row(sheet, row, starts));
	}

	/** The ring whose advance has begun last at a time; null before the first. */
	ringAt(time_s: number): number | null {
		return ringAt(this.#starts(), time_s);
	}

	readingContexts(): ReadingContexts {
		const { waterTemperature_c, waterSalinity_g_kg, bentoniteGrainDensity_kg_m3 } =
			this.#model.settings;
		return {
			starts: this.#starts(),
			water: JSON.stringify([waterTemperature_c, waterSalinity_g_kg, bentoniteGrainDensity_kg_m3]),
		};
	}

	/** Readings whose computed cells look at something that was touched, besides those touched themselves. */
	readingsConcerned(before: ReadingContexts, touched: Touched): number[] {
		const after = this.readingContexts();
		if (after.water !== before.water) return [...this.#model.rows.readings.keys()];
		const spans: { from_s: number; to_s: number }[] = [];
		if (touched.rows.meters.size > 0)
			spans.push({ from_s: touched.metersFrom_s, to_s: Number.POSITIVE_INFINITY });
		if (touched.rows.ground.size > 0)
			after.starts.forEach(({ ring, start_s }, at) => {
				if (touched.rings.some(({ from, to }) => from <= ring && ring <= to))
					spans.push({ from_s: start_s, to_s: nextStart(after.starts, at) });
			});
		if (touched.rows.rings.size > 0)
			spans.push(
				...movedSpans(before.starts, after.starts),
				...movedSpans(after.starts, before.starts),
			);
		if (spans.length === 0) return [];
		const concerned: number[] = [];
		for (const [row, cells] of this.#model.rows.readings) {
			const time_s = Number(cells.time);
			if (spans.some(({ from_s, to_s }) => time_s >= from_s && time_s < to_s)) concerned.push(row);
		}
		return concerned;
	}

	detail(ring: RingRow): RingDetail {
		const balance = this.#balanceOf(ring.row);
		return {
			ring: ring.input.ring,
			facts: ringFacts(balance, this.#ringContext(ring)).map((fact) => ({
				...fact,
				reasons: [...fact.reasons],
			})),
			notes: balance.notes.map((fault) => fault.message),
		};
	}

	/** How a computed cell came about; null if the row is gone. */
	working(sheet: 'ledger' | 'readings', row: number, column: string): Working | null {
		const made =
			sheet === 'ledger' ? this.#ledgerWorking(row, column) : this.#readingWorking(row, column);
		if (made === null) return null;
		return {
			...made,
			reasons: [...made.reasons],
			lines: made.lines.map((line) => ({ ...line })),
			budget: made.budget.map((line) => ({ ...line })),
			cautions: [...made.cautions],
		};
	}

	#row(sheet: SheetId, row: number, starts: readonly RingStart[]): SheetRow {
		if (sheet === 'ledger') return this.#withFormulas('ledger', this.#ledgerRow(row));
		const cells = this.#model.rows[sheet].get(row);
		if (cells === undefined) throw new RangeError(`${sheet} has no row ${row}`);
		const flags = entryFlags(sheet, cells);
		if (sheet === 'formulas') {
			const trouble = this.formulas.trouble(row);
			if (trouble !== null) addReasons(flags, 'expression', [trouble]);
		}
		if (sheet !== 'readings') return withFlags({ id: row, cells }, flags);
		const computed = this.#readingCells(row, starts);
		for (const [column, reasons] of Object.entries(computed.flags))
			addReasons(flags, column, reasons);
		return this.#withFormulas(
			'readings',
			withFlags({ id: row, cells: { ...cells, ...computed.cells } }, flags),
		);
	}

	#ledgerRow(row: number): SheetRow {
		return ledgerRow(row, this.#balanceOf(row), this.#model.ground);
	}

	#readingCells(row: number, starts: readonly RingStart[]): ComputedReading {
		const cells = this.#model.rows.readings.get(row) ?? {};
		return computedReadingCells(cells, this.#readingContext(cells, starts));
	}

	#withFormulas(sheet: FormulaSheetId, made: SheetRow): SheetRow {
		if (!this.formulas.any(sheet)) return made;
		const cells = { ...made.cells };
		const flags: Record<string, string[]> = {};
		for (const [column, reasons] of Object.entries(made.flags ?? {})) flags[column] = [...reasons];
		this.formulas.add(sheet, made.id, cells, (column, reasons) =>
			addReasons(flags, column, reasons),
		);
		return withFlags({ id: made.id, cells }, flags);
	}

	#balanceOf(ringRow: number) {
		const balance = this.#ledger.balance(ringRow);
		if (balance === undefined) throw new RangeError(`ring row ${ringRow} is not balanced`);
		return balance;
	}

	#ledgerWorking(row: number, column: string) {
		if (this.formulas.has('ledger', column)) return this.formulas.working('ledger', row, column);
		const ring = this.#model.rings.find((one) => one.row === row);
		return ring === undefined
			? null
			: ledgerWorking(column, this.#balanceOf(row), this.#ringContext(ring));
	}

	#readingWorking(row: number, column: string) {
		if (this.formulas.has('readings', column))
			return this.formulas.working('readings', row, column);
		const cells = this.#model.rows.readings.get(row);
		return cells === undefined
			? null
			: readingWorking(column, cells, this.#readingContext(cells, this.#starts()), MARKS);
	}

	#ringContext(ring: RingRow): RingContext {
		return {
			ring: ring.input,
			settings: this.#model.settings,
			ground: this.#model.ground,
			utcOffset_min: this.#utcOffset_min,
			marks: MARKS,
		};
	}

	#readingContext(cells: RowCells, starts: readonly RingStart[]): ReadingContext {
		const { settings, ground, meters } = this.#model;
		return { settings, ground, meters, ring: ringAt(starts, Number(cells.time)) };
	}

	#starts(): readonly RingStart[] {
		const { rings } = this.#model;
		if (this.#startsOf?.rings !== rings)
			this.#startsOf = {
				rings,
				starts: rings
					.map(({ input }) => ({ start_s: input.advanceStart_s, ring: input.ring }))
					.sort((a, b) => a.start_s - b.start_s || a.ring - b.ring),
			};
		return this.#startsOf.starts;
	}

	/** Keeps rows of a range of rings; of readings those from the end of the ring before to the start of the ring after. */
	#inRings(
		sheet: SheetId,
		fromRing: number | null,
		toRing: number | null,
	): (row: number) => boolean {
		if (fromRing === null && toRing === null) return () => true;
		const from = fromRing ?? Number.NEGATIVE_INFINITY;
		const to = toRing ?? Number.POSITIVE_INFINITY;
		const { rows, rings } = this.#model;
		if (sheet === 'rings' || sheet === 'ledger')
			return (row) => {
				const ring = Number(rows.rings.get(row)?.ring);
				return ring >= from && ring <= to;
			};
		if (sheet !== 'readings') return () => true;
		let from_s = Number.NEGATIVE_INFINITY;
		let to_s = Number.POSITIVE_INFINITY;
		for (const { input } of rings) {
			if (input.ring < from) from_s = Math.max(from_s, input.advanceEnd_s);
			if (input.ring > to) to_s = Math.min(to_s, input.advanceStart_s);
		}
		return (row) => {
			const time_s = Number(rows.readings.get(row)?.time);
			return time_s >= from_s && time_s <= to_s;
		};
	}
}

/** What is to be said about entered cells: seldom values and rules within the row. */
function entryFlags(sheet: EnteredSheetId, cells: RowCells): Record<string, string[]> {
	const flags: Record<string, string[]> = {};
	for (const id in cells) {
		const column = findColumnOnce(sheet, id);
		if (column === undefined) continue;
		for (const fault of checkValue(column, cells[id] ?? null))
			addReasons(flags, id, [fault.message]);
	}
	for (const fault of checkRow(sheet, cells))
		if (fault.where.column !== undefined) addReasons(flags, fault.where.column, [fault.message]);
	return flags;
}

const COLUMNS = new Map(
	ENTERED_SHEETS.map((sheet): [EnteredSheetId, Map<string, Column>] => [
		sheet,
		new Map(columnsOf(sheet).map((column) => [column.id, column])),
	]),
);

function findColumnOnce(sheet: EnteredSheetId, id: string) {
	return COLUMNS.get(sheet)?.get(id) ?? findColumn(sheet, id);
}

function addReasons(
	flags: Record<string, string[]>,
	column: string,
	reasons: readonly string[],
): void {
	flags[column] = [...(flags[column] ?? []), ...reasons];
}

function withFlags(row: SheetRow, flags: Record<string, string[]>): SheetRow {
	return Object.keys(flags).length === 0 ? row : { ...row, flags };
}

/** The ring whose advance has begun last at a time; null before the first. */
function ringAt(starts: readonly RingStart[], time_s: number): number | null {
	let low = 0;
	let high = starts.length;
	while (low < high) {
		const middle = (low + high) >> 1;
		if (starts[middle]!.start_s <= time_s) low = middle + 1;
		else high = middle;
	}
	return starts[low - 1]?.ring ?? null;
}

const nextStart = (starts: readonly RingStart[], at: number): number =>
	starts[at + 1]?.start_s ?? Number.POSITIVE_INFINITY;

/** Spans of `from` that begin otherwise, or belong to another ring, in `to`. */
function movedSpans(
	from: readonly RingStart[],
	to: readonly RingStart[],
): { from_s: number; to_s: number }[] {
	const same = new Set(to.map(({ start_s, ring }) => `${start_s} ${ring}`));
	return from.flatMap(({ start_s, ring }, at) =>
		same.has(`${start_s} ${ring}`) ? [] : [{ from_s: start_s, to_s: nextStart(from, at) }],
	);
}
