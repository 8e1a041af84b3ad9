import { basename, dirname } from 'node:path';
import { columnsOf } from '../../calc/sheet/catalogue.ts';
import {
	type EnteredSheetId,
	SHEETS,
	type SheetId,
	type SheetRow,
} from '../../calc/sheet/column.ts';
import type { ImportedSheetId } from '../contract/sheetexchange.ts';
import type {
	Answer,
	Ask,
	ChangeSet,
	DocumentState,
	EditAnswer,
	MeterChecks,
	Reply,
	RingDetail,
	SheetRowMessage,
	Timeline,
	Working,
} from '../contract/verbs.ts';
import type { FileRow } from '../exchange/readsheet.ts';
import { SeriesDamaged } from '../logger/parquet/decode.ts';
import type { Change, JournalKind } from '../store/change.ts';
import { refuse } from '../store/header.ts';
import { type DocumentFacts, ENTERED_SHEETS, type ProjectFile } from '../store/projectfile.ts';
import { DriveModel, type Touched } from './drivemodel.ts';
import { type Prepared, prepareDeletion, prepareEdits, type Typed } from './edit.ts';
import type { FormulaColumns } from './formulacolumns.ts';
import { History } from './history.ts';
import { labelOfAdding, labelOfDeletion, labelOfEdits } from './label.ts';
import type { LoggerSeries, Progress } from './loggerseries.ts';
import { meterChecksView } from './meterchecksview.ts';
import { RingLedger } from './ringledger.ts';
import { type ReadingContexts, RowView } from './rowview.ts';
import { openSeries } from './series.ts';
import { findUnsound } from './soundrows.ts';
import { prepareTaking, type Taking } from './takerows.ts';
import { ringTimeline, timelineSpan } from './timeline.ts';

/** Who does something, and when (Unix seconds). */
export interface By {
	readonly who: string;
	readonly at_s: number;
}

/** More changed rows than this are not sent: the page asks for its sheets again. */
const MOST_ROWS_SENT = 20_000;

export type Changed = Omit<ChangeSet, 'seq'> & {
	/** False: `sheets` is empty because more changed than is worth sending. */
	readonly whole: boolean;
};
export interface Edited {
	readonly changes: Changed | null;
	readonly refused: EditAnswer['refused'];
}

/**
 * The document on the desk: its file, its rows in memory, the balances that follow from them, and
 * what can be undone. Every command is on disk with its journal entries before it is answered.
 */
export class OpenDocument {
	readonly path: string;
	readonly #file: ProjectFile;
	readonly #facts: DocumentFacts;
	readonly #history: History;
	#model: DriveModel;
	#ledger: RingLedger;
	#view: RowView;
	#nextRow: Record<EnteredSheetId, number>;
	#dataVersion: number;

	private constructor(file: ProjectFile, model: DriveModel, ledger: RingLedger, history: History) {
		this.#history = history;
		this.path = file.path;
		this.#file = file;
		this.#facts = file.facts();
		this.#model = model;
		this.#ledger = ledger;
		this.#view = new RowView(model, ledger, this.#facts.utcOffset_min);
		this.#nextRow = nextRows(file);
		this.#dataVersion = file.dataVersion();
	}

	/** Reads all rows and balances every ring. Closes the file if its rows are not sound. */
	static async open(
		file: ProjectFile,
		progress: Progress,
		history = new History(),
	): Promise<Reply<OpenDocument>> {
		let series: LoggerSeries | null = null;
		try {
			const rows = new Map(ENTERED_SHEETS.map((sheet) => [sheet, file.rows(sheet)] as const));
			const load = (sheet: EnteredSheetId) => rows.get(sheet) ?? [];
			const unsound = findUnsound(load);
			if (unsound !== null) {
				file.close();
				return refuse('rows_unsound', unsound);
			}
			const model = new DriveModel(load);
			series = file.facts().hasLogger ? openSeries(file.path) : null;
			const madeFrom = file.balancesSeries();
			const isOther = series !== null && madeFrom !== null && series.id !== madeFrom;
			const ledger = new RingLedger(isOther ? [] : file.balances(), series, file.checks());
			const made = await ledger.recalculate(model, null, progress);
			if (!file.readOnly) keepMade(file, made);
			if (!file.readOnly && isOther && series !== null) file.noteBalancesSeries(series.id);
			return { ok: true, value: new OpenDocument(file, model, ledger, history) };
		} catch (error) {
			series?.close();
			file.close();
			throw error;
		}
	}

	/** The document anew, after the logger's series beside it has changed; this one is done with. What can be undone stays. */
	renewed(progress: Progress): Promise<Reply<OpenDocument>> {
		this.#ledger.close();
		return OpenDocument.open(this.#file, progress, this.#history);
	}

	get file(): ProjectFile {
		return this.#file;
	}
	get facts(): DocumentFacts {
		return this.#facts;
	}
	get model(): DriveModel {
		return this.#model;
	}
	get ledger(): RingLedger {
		return this.#ledger;
	}

	get formulas(): FormulaColumns {
		return this.#view.formulas;
	}

	state(): DocumentState {
		const rings = this.#model.rings;
		return {
			title: this.#model.settings.title,
			file: basename(this.path),
			folder: dirname(this.path),
			readOnly: this.#file.readOnly,
			readOnlyWhy: this.#file.readOnlyWhy,
			rings: rings.length,
			readings: this.#model.rows.readings.size,
			firstRing: rings[0]?.input.ring ?? null,
			lastRing: rings.at(-1)?.input.ring ?? null,
			hasLogger: this.#facts.hasLogger,
			undo: this.#history.undoLabel,
			redo: this.#history.redoLabel,
			journalEntries: this.#file.journalEntries,
			invented: this.#facts.invented,
			utcOffset_min: this.#facts.utcOffset_min,
		};
	}

	/** Takes in what the writer of a document open here for reading has confirmed since. True if there was anything. */
	async catchUp(): Promise<boolean> {
		if (!this.#file.readOnly) return false;
		const version = this.#file.dataVersion();
		if (version === this.#dataVersion) return false;
		this.#dataVersion = version;
		this.#file.refresh();
		this.#model = new DriveModel((sheet) => this.#file.rows(sheet));
		this.#ledger = this.#ledger.withKept(this.#file.balances(), this.#file.checks());
		await this.#ledger.recalculate(this.#model, null, () => {});
		this.#view = new RowView(this.#model, this.#ledger, this.#facts.utcOffset_min);
		return true;
	}

	/** Row numbers in the order of the sheet. */
	sheetOrder(sheet: EnteredSheetId): number[] {
		return this.#view.order(sheet);
	}

	sheetRows(sheet: SheetId, fromRing: number | null, toRing: number | null): Answer<'sheet.rows'> {
		const { rows, total } = this.#view.rows(sheet, fromRing, toRing);
		return { rows: rows.map(asMessage), total };
	}

	edit(ask: Ask<'sheet.edit'>, by: By): Promise<Reply<Edited>> {
		const added = ask.add ?? [];
		if (added.length > 0 && ask.sheet === 'drive')
			return Promise.resolve(refuse('no_rows', 'The drive settings take no further rows.'));
		const prepared = prepareEdits(
			this.#model,
			ask.sheet,
			ask.edits,
			this.#typed(ask.typed),
			added,
			this.#nextRow[ask.sheet],
		);
		const label = ask.label?.trim() || labelOfEdits(this.#model, ask.sheet, prepared.changes);
		return this.#do('edit', prepared, label, ask.why, by);
	}

	add(ask: Ask<'sheet.add'>, by: By): Promise<Reply<Edited>> {
		const prepared = prepareEdits(
			this.#model,
			ask.sheet,
			[],
			this.#typed(ask.typed),
			ask.rows,
			this.#nextRow[ask.sheet],
		);
		const label = labelOfAdding(ask.sheet, prepared.changes);
		return this.#do('add', prepared, label, ask.why, by);
	}

	remove(ask: Ask<'sheet.delete'>, by: By): Promise<Reply<Edited>> {
		const prepared = prepareDeletion(this.#model, ask.sheet, ask.rows);
		const label = labelOfDeletion(ask.sheet, prepared.changes);
		return this.#do('delete', prepared, label, ask.why, by);
	}

	/** What rows of a file would make of a sheet; nothing is changed. */
	taking(
		sheet: ImportedSheetId,
		file: string,
		rows: readonly FileRow[],
		existing: 'update' | 'skip',
	): Taking {
		const firstRow = this.#nextRow[sheet];
		const { utcOffset_min } = this.#facts;
		return prepareTaking(this.#model, { sheet, file, rows, existing, firstRow, utcOffset_min });
	}

	/** Takes changes that {@link taking} has made as one step. */
	take(changes: readonly Change[], label: string, by: By): Promise<Reply<Edited>> {
		return this.#do('import', { changes: [...changes], refused: [] }, label, undefined, by);
	}

	async undo(by: By): Promise<Reply<Edited>> {
		const step = this.#history.toUndo();
		if (step === null) return refuse('nothing_to_undo', 'There is nothing to undo.');
		const label = `undo of ${step.label}`;
		return this.#carryOut('undo', step.changes, label, null, by, () => this.#history.undid());
	}

	async redo(by: By): Promise<Reply<Edited>> {
		const step = this.#history.toRedo();
		if (step === null) return refuse('nothing_to_redo', 'There is nothing to redo.');
		const label = `redo of ${step.label}`;
		return this.#carryOut('redo', step.changes, label, null, by, () => this.#history.redid());
	}

	ringDetail(ring: number): Reply<RingDetail> {
		const found = this.#model.ringByNumber(ring);
		return found === undefined ? noSuchRing(ring) : { ok: true, value: this.#view.detail(found) };
	}

	/** What the bypass checks say of the meters; found now if it was not yet. */
	async meterChecks(now_s: number, progress: Progress): Promise<Reply<MeterChecks>> {
		const { checking } = this.#ledger;
		const { made, keep } = await checking.check(this.#model, progress);
		if (keep !== null && !this.#file.readOnly) this.#file.keepChecks(keep);
		return {
			ok: true,
			value: meterChecksView(
				this.#model,
				made,
				(time_s) => this.#view.ringAt(time_s),
				now_s,
				checking.damage,
			),
		};
	}

	async ringTimeline(ring: number, points: number): Promise<Reply<Timeline>> {
		const found = this.#model.ringByNumber(ring);
		const balance = found && this.#ledger.balance(found.row);
		if (balance === undefined) return noSuchRing(ring);
		try {
			const { samples, gapLimit_s } = await this.#ledger.samplesOf(
				this.#model,
				balance,
				timelineSpan(balance),
			);
			return {
				ok: true,
				value: ringTimeline(balance, samples, gapLimit_s, points, {
					overrides: this.#model.overrides,
					faults: this.#ledger.checking.faults,
					rules: this.#file.modeRules(),
				}),
			};
		} catch (error) {
			if (!(error instanceof SeriesDamaged)) throw error;
			return refuse(
				'series_damaged',
				`The logger's series beside the project is damaged: ${error.message}.`,
			);
		}
	}

	working(sheet: 'ledger' | 'readings', row: number, column: string): Reply<Working> {
		const known =
			this.formulas.has(sheet, column) ||
			columnsOf(sheet).some((one) => one.id === column && one.kind === 'computed');
		if (!known) return refuse('column_unknown', 'There is no worked-out column of this name.');
		const made = this.#view.working(sheet, row, column);
		return made === null
			? refuse('row_gone', 'This row is not there any more.')
			: { ok: true, value: made };
	}

	close(): void {
		this.#ledger.close();
		this.#file.close();
	}

	#typed({ decimal }: { decimal: '.' | ',' }): Typed {
		return { decimal, utcOffset_min: this.#facts.utcOffset_min };
	}

	async #do(
		kind: JournalKind,
		{ changes, refused }: Prepared,
		label: string,
		why: string | undefined,
		by: By,
	): Promise<Reply<Edited>> {
		if (refused.length > 0) return { ok: true, value: { changes: null, refused } };
		// Typing the value that is already there is no edit: nothing to journal, nothing to undo.
		if (changes.length === 0)
			return { ok: true, value: { changes: this.#unchanged(label), refused: [] } };
		return this.#carryOut(kind, changes, label, why?.trim() || null, by, () =>
			this.#history.did({ label, changes }),
		);
	}

	async #carryOut(
		kind: JournalKind,
		changes: readonly Change[],
		label: string,
		why: string | null,
		by: By,
		remember: () => void,
	): Promise<Reply<Edited>> {
		this.#file.commit({ kind, label, why, ...by, changes });
		const contextBefore = this.#view.readingContexts();
		const touched = this.#model.apply(changes);
		remember();
		for (const change of changes)
			if (change.row >= this.#nextRow[change.sheet]) this.#nextRow[change.sheet] = change.row + 1;
		const made = await this.#ledger.recalculate(this.#model, touched, () => {});
		keepMade(this.#file, made);
		return {
			ok: true,
			value: { changes: this.#changed(label, touched, made.rows, contextBefore), refused: [] },
		};
	}

	#changed(
		label: string,
		touched: Touched,
		ringRows: readonly number[],
		contextBefore: ReadingContexts,
	): Changed {
		const readings = new Set([
			...touched.rows.readings,
			...this.#view.readingsConcerned(contextBefore, touched),
		]);
		const ledger = new Set([...ringRows, ...touched.rows.rings]);
		const refigured = this.formulas.follow(touched, { readings, ledger }, MOST_ROWS_SENT);
		for (const row of refigured.readings ?? []) readings.add(row);
		for (const row of refigured.ledger ?? []) ledger.add(row);
		const tooMany = refigured.readings === null || refigured.ledger === null;
		const concerned: Record<SheetId, Set<number>> = { ...touched.rows, readings, ledger };
		// What is wrong with one formula may be mended, or made, by another.
		if (touched.rows.formulas.size > 0)
			for (const row of this.#model.rows.formulas.keys()) concerned.formulas.add(row);
		let count = 0;
		for (const rows of Object.values(concerned)) count += rows.size;
		const sheets: ChangeSet['sheets'] = {};
		const whole = count <= MOST_ROWS_SENT && !tooMany;
		if (whole)
			for (const sheet of SHEETS) {
				const rows = concerned[sheet];
				if (rows.size === 0) continue;
				const held = this.#model.rows[sheet === 'ledger' ? 'rings' : sheet];
				sheets[sheet] = {
					rows: this.#view.some(sheet, rows).map(asMessage),
					removed: [...rows].filter((row) => !held.has(row)),
				};
			}
		return { label, sheets, document: this.state(), whole };
	}

	#unchanged(label: string): Changed {
		return { label, sheets: {}, document: this.state(), whole: true };
	}
}

/** Keeps in the file what follows from its rows and the logger's series, where that changed. */
function keepMade(file: ProjectFile, made: Awaited<ReturnType<RingLedger['recalculate']>>): void {
	if (made.keep.length > 0 || made.goneRings.length > 0)
		file.keepBalances(made.keep, made.goneRings);
	if (made.checks !== null) file.keepChecks(made.checks);
}

function nextRows(file: ProjectFile): Record<EnteredSheetId, number> {
	return Object.fromEntries(ENTERED_SHEETS.map((sheet) => [sheet, file.nextRow(sheet)])) as Record<
		EnteredSheetId,
		number
	>;
}

/** A row as it crosses to the page, with nothing in it that the desk itself holds on to. */
function asMessage({ id, cells, flags }: SheetRow): SheetRowMessage {
	if (flags === undefined) return { id, cells: { ...cells } };
	const sent: Record<string, string[]> = {};
	for (const [column, reasons] of Object.entries(flags)) sent[column] = [...reasons];
	return { id, cells: { ...cells }, flags: sent };
}

function noSuchRing(ring: number): Reply<never> {
	return refuse('no_such_ring', `The drive has no ring ${ring}.`);
}
