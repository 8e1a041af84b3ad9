import type { SheetId, SheetRow } from '../../calc/sheet/column.ts';
import {
	type Answer,
	type Ask,
	type ChangeSet,
	CONTRACT_VERSION,
	type DeskEvent,
	type DeskState,
	type EditAnswer,
	type Reply,
	VERBS,
	type VerbName,
} from '../../electron/contract/verbs.ts';
import type { Connection, PageDoor } from './door.ts';
import { applyRows, firstSpan, type RowChange, type TimeSpan } from './sheetrows.ts';

/** Readings shown at most before a span of rings has to be chosen. */
export const MOST_READINGS = 20_000;

export interface RingSpan {
	readonly fromRing: number;
	readonly toRing: number;
}

/** What the page knows of one sheet. The rows themselves are asked for with `rowsOf`. */
export interface SheetView {
	readonly status: 'idle' | 'loading' | 'ready' | 'error';
	/** Rows held here, and rows the document has. */
	readonly held: number;
	readonly total: number;
	/** Only these rings' readings are held; null: all of them. */
	readonly span: RingSpan | null;
	readonly message: string | null;
	/** Raised when all rows were read anew, so that grids begin afresh. */
	readonly reading: number;
	/** Raised by every change of rows. */
	readonly version: number;
}

/** What the person has in hand: the sheet on screen, and a row, column and ring in it. */
export interface Selection {
	readonly sheet: SheetId;
	readonly row: number | null;
	readonly column: string | null;
	/** Ring the detail dock and the timeline show. */
	readonly ring: number | null;
}

export interface DeskView {
	readonly connection: Connection;
	/** null until the desk has answered for the first time. */
	readonly state: DeskState | null;
	/** Why nothing can be shown: the desk's own words, or a page of another version. */
	readonly trouble: { readonly code: string; readonly message: string } | null;
	readonly progress: {
		readonly what: string;
		readonly done: number;
		readonly of: number | null;
	} | null;
	/** Mutating calls under way. */
	readonly busy: number;
	readonly sheets: Readonly<Record<SheetId, SheetView>>;
	readonly selection: Selection;
	/** Label of the last change, whoever made it. */
	readonly lastLabel: string | null;
	/** Order number of the last change applied; whoever shows computed facts asks again when it moves. */
	readonly seq: number;
}

const BLANK_SHEET: SheetView = {
	status: 'idle',
	held: 0,
	total: 0,
	span: null,
	message: null,
	reading: 0,
	version: 0,
};

const blankSheets = (): Record<SheetId, SheetView> => ({
	drive: BLANK_SHEET,
	rings: BLANK_SHEET,
	ground: BLANK_SHEET,
	readings: BLANK_SHEET,
	meters: BLANK_SHEET,
	bypass_decisions: BLANK_SHEET,
	mode_overrides: BLANK_SHEET,
	formulas: BLANK_SHEET,
	limits: BLANK_SHEET,
	ledger: BLANK_SHEET,
});

/** The document stays the same one as long as file and folder do. */
const documentKey = (state: DeskState | null) =>
	state?.document ? `${state.document.folder}\n${state.document.file}` : null;

/**
 * The page's picture of the desk. It holds no truth of its own: everything in it came from an answer
 * or an event, and after a lost connection it is read anew.
 */
export class DeskStore {
	readonly #door: PageDoor;
	#view: DeskView;
	readonly #hearers = new Set<() => void>();
	readonly #rows = new Map<SheetId, Map<number, SheetRow>>();
	readonly #spans = new Map<SheetId, TimeSpan>();
	readonly #rowHearers = new Map<SheetId, Set<(change: RowChange) => void>>();
	/** Change sets that came while a sheet was being read: the answer may be older than they are. */
	readonly #whileReading = new Map<SheetId, ChangeSet[]>();
	#seqKnown = false;
	#toTell = false;
	readonly #later: (run: () => void) => void;

	/** @param later when a change of the view is told after the rows: once the next frame is on screen */
	constructor(door: PageDoor, later: (run: () => void) => void) {
		this.#door = door;
		this.#later = later;
		this.#view = {
			connection: door.connection(),
			state: null,
			trouble: null,
			progress: null,
			busy: 0,
			sheets: blankSheets(),
			selection: { sheet: 'ledger', row: null, column: null, ring: null },
			lastLabel: null,
			seq: 0,
		};
		door.listen((event) => this.#hear(event));
		door.onConnection((connection) => {
			this.#set({ connection });
			if (connection === 'open') void this.readAnew();
		});
	}

	/* for useSyncExternalStore */
	readonly subscribe = (hear: () => void): (() => void) => {
		this.#hearers.add(hear);
		return () => this.#hearers.delete(hear);
	};
	readonly view = (): DeskView => this.#view;

	#set(part: Partial<DeskView>): void {
		this.#view = { ...this.#view, ...part };
		this.#toTell = false;
		for (const hear of this.#hearers) hear();
	}

	/**
	 * As `#set`, but told a frame later, several at once: the grids, which hear of rows directly, put
	 * the figures on screen first. What is asked of the view meanwhile is up to date already.
	 */
	#setSoon(part: Partial<DeskView>): void {
		this.#view = { ...this.#view, ...part };
		if (this.#toTell) return;
		this.#toTell = true;
		this.#later(() => {
			if (this.#toTell) this.#set({});
		});
	}

	#setSheet(sheet: SheetId, part: Partial<SheetView>): void {
		this.#set({ sheets: this.#sheetsWith(sheet, part) });
	}

	#sheetsWith(sheet: SheetId, part: Partial<SheetView>): Record<SheetId, SheetView> {
		return { ...this.#view.sheets, [sheet]: { ...this.#view.sheets[sheet], ...part } };
	}

	/** Read the desk's state, and every sheet in use, from the start. */
	async readAnew(): Promise<void> {
		const reply = await this.#door.call('desk.state', {});
		if (!reply.ok) {
			this.#set({ trouble: { code: reply.code, message: reply.message } });
			return;
		}
		this.#seqKnown = false;
		this.#takeState(reply.value, true);
	}

	/**
	 * Ask the desk. State and change sets in the answer are taken in before it is handed on, so the
	 * caller never shows an older picture than the answer it holds.
	 */
	async call<V extends VerbName>(verb: V, ask: Ask<V>): Promise<Reply<Answer<V>>> {
		const counts = VERBS[verb].mutates || verb.startsWith('project.');
		if (counts) this.#setSoon({ busy: this.#view.busy + 1 });
		try {
			const reply = await this.#door.call(verb, ask);
			if (reply.ok) {
				if (VERBS[verb].mutates) {
					const { changes } = reply.value as EditAnswer;
					if (changes) this.#apply(changes);
				} else if (isState(reply.value)) this.#takeState(reply.value, false);
			}
			return reply;
		} finally {
			if (counts) this.#setSoon({ busy: this.#view.busy - 1, progress: null });
		}
	}

	#hear(event: DeskEvent): void {
		if (event.event === 'changed') this.#apply(event.changes);
		else if (event.event === 'state') this.#takeState(event.state, false);
		else this.#set({ progress: { what: event.what, done: event.done, of: event.of } });
	}

	#takeState(state: DeskState, anew: boolean): void {
		if (state.contract !== CONTRACT_VERSION) {
			this.#set({
				trouble: {
					code: 'contract_differs',
					message:
						'This page and the desk are of different versions. Reload the page to get the matching one.',
				},
			});
			return;
		}
		const before = documentKey(this.#view.state);
		const now = documentKey(state);
		const other = before !== now;
		this.#set({ state, trouble: null });
		if (!other && !anew) return;
		const inUse = other ? [] : (Object.keys(this.#view.sheets) as SheetId[]).filter(this.#used);
		if (other) {
			this.#rows.clear();
			this.#spans.clear();
			this.#seqKnown = false;
			this.#set({
				sheets: blankSheets(),
				selection: { sheet: 'ledger', row: null, column: null, ring: null },
				lastLabel: null,
				seq: 0,
				progress: null,
			});
		}
		if (!state.document) return;
		for (const sheet of new Set<SheetId>([
			...inUse,
			'ledger',
			'rings',
			'drive',
			'formulas',
			'limits',
		])) {
			void this.read(sheet, this.#view.sheets[sheet].span);
		}
	}

	readonly #used = (sheet: SheetId): boolean => this.#view.sheets[sheet].status !== 'idle';

	#apply(changes: ChangeSet): void {
		if (this.#seqKnown && changes.seq <= this.#view.seq) return;
		const missed = this.#seqKnown && changes.seq > this.#view.seq + 1;
		this.#seqKnown = true;
		for (const sheet of Object.keys(changes.sheets) as SheetId[]) {
			this.#whileReading.get(sheet)?.push(changes);
			this.#applyTo(sheet, changes);
		}
		const state = this.#view.state ? { ...this.#view.state, document: changes.document } : null;
		this.#setSoon({ state, lastLabel: changes.label, seq: changes.seq });
		if (missed) {
			for (const sheet of Object.keys(this.#view.sheets) as SheetId[]) {
				if (this.#used(sheet)) void this.read(sheet, this.#view.sheets[sheet].span);
			}
		}
	}

	#applyTo(sheet: SheetId, changes: ChangeSet): void {
		const rows = this.#rows.get(sheet);
		const part = changes.sheets[sheet];
		if (!rows || !part) return;
		const change = applyRows(rows, part, this.#spans.get(sheet) ?? null);
		const view = this.#view.sheets[sheet];
		const total =
			sheet === 'readings'
				? changes.document.readings
				: view.total + change.added.length - change.removed.length;
		this.#setSoon({
			sheets: this.#sheetsWith(sheet, { held: rows.size, total, version: view.version + 1 }),
		});
		for (const hear of this.#rowHearers.get(sheet) ?? []) hear(change);
	}

	/** Read a sheet's rows unless they are held or on their way. */
	need(sheet: SheetId): void {
		const document = this.#view.state?.document;
		if (!document || this.#used(sheet)) return;
		void this.read(sheet, sheet === 'readings' ? firstSpan(document, MOST_READINGS) : null);
	}

	/** Read a sheet's rows anew; of the readings, only those of the span's rings when one is given. */
	async read(sheet: SheetId, span: RingSpan | null): Promise<void> {
		const key = documentKey(this.#view.state);
		const reading = this.#view.sheets[sheet].reading + 1;
		this.#whileReading.set(sheet, []);
		this.#setSheet(sheet, { status: 'loading', span, message: null, reading });
		const reply = await this.#door.call('sheet.rows', { sheet, ...(span ?? {}) });
		if (documentKey(this.#view.state) !== key) return;
		if (this.#view.sheets[sheet].reading !== reading) return;
		const late = this.#whileReading.get(sheet) ?? [];
		this.#whileReading.delete(sheet);
		if (!reply.ok) {
			this.#setSheet(sheet, { status: 'error', message: reply.message });
			return;
		}
		const rows = new Map(reply.value.rows.map((row) => [row.id, row as SheetRow]));
		this.#rows.set(sheet, rows);
		if (span) this.#spans.set(sheet, this.#timeOf(rows, span));
		else this.#spans.delete(sheet);
		this.#setSheet(sheet, {
			status: 'ready',
			held: rows.size,
			total: reply.value.total,
			version: this.#view.sheets[sheet].version + 1,
		});
		for (const changes of late) this.#applyTo(sheet, changes);
	}

	#timeOf(rows: ReadonlyMap<number, SheetRow>, span: RingSpan): TimeSpan {
		const document = this.#view.state?.document;
		let from_s = Number.POSITIVE_INFINITY;
		let to_s = Number.NEGATIVE_INFINITY;
		for (const row of rows.values()) {
			const time_s = row.cells.time;
			if (typeof time_s !== 'number') continue;
			from_s = Math.min(from_s, time_s);
			to_s = Math.max(to_s, time_s);
		}
		return {
			from_s: span.fromRing <= (document?.firstRing ?? 0) || from_s > to_s ? null : from_s,
			to_s: span.toRing >= (document?.lastRing ?? 0) || from_s > to_s ? null : to_s,
		};
	}

	/** Rows held of a sheet, in the order they came; the map changes in place with every change set. */
	rowsOf(sheet: SheetId): ReadonlyMap<number, SheetRow> {
		return this.#rows.get(sheet) ?? NO_ROWS;
	}

	/** Hear what change sets do to the rows of a sheet. Not called for a whole new reading. */
	onRows(sheet: SheetId, hear: (change: RowChange) => void): () => void {
		const hearers = this.#rowHearers.get(sheet) ?? new Set();
		this.#rowHearers.set(sheet, hearers);
		hearers.add(hear);
		return () => hearers.delete(hear);
	}

	/** Put something else in the person's hand; parts left out stay. */
	select(part: Partial<Selection>): void {
		const before = this.#view.selection;
		const next = { ...before, ...part };
		if (
			next.sheet === before.sheet &&
			next.row === before.row &&
			next.column === before.column &&
			next.ring === before.ring
		)
			return;
		if (next.sheet === before.sheet) this.#setSoon({ selection: next });
		else this.#set({ selection: next });
	}
}

const NO_ROWS: ReadonlyMap<number, SheetRow> = new Map();

const isState = (value: unknown): value is DeskState =>
	typeof value === 'object' && value !== null && 'contract' in value && 'document' in value;
