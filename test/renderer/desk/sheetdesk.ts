import type { CellValue, SheetId, SheetRow } from '../../../calc/sheet/column.ts';
import {
	type Answer,
	type Ask,
	type ChangeSet,
	CONTRACT_VERSION,
	type DeskEvent,
	type DeskState,
	type DocumentState,
	type EditAnswer,
	type EditRefusal,
	type Reply,
	type VerbName,
} from '../../../electron/contract/verbs.ts';
import type { Connection, PageDoor } from '../../../renderer/desk/door.ts';

/** Cells that are put back by taking the step back. */
interface Step {
	readonly label: string;
	readonly before: readonly { readonly sheet: SheetId; readonly row: SheetRow | number }[];
}

export interface SheetDeskOptions {
	readonly rings: number;
	readonly readingsPerRing: number;
	readonly readOnly?: boolean;
	readonly open?: boolean;
	readonly contract?: number;
	/** Verbs that are answered only when `release` is called. */
	readonly held?: readonly string[];
}

const START_S = 1_900_000_200;
const RING_S = 5400;

/**
 * A desk in memory for tests of the page: rows of a made-up drive, edits that take plain numbers
 * with a dot, an ambiguous comma, undo, and a way to break the connection. It works out nothing but
 * a sum, since the real balance is tested with the real desk.
 */
export class SheetDesk implements PageDoor {
	readonly sheets: Record<SheetId, Map<number, SheetRow>>;
	readonly asked: { verb: string; ask: unknown }[] = [];
	readonly #hearers = new Set<(event: DeskEvent) => void>();
	readonly #watchers = new Set<(connection: Connection) => void>();
	readonly #options: SheetDeskOptions;
	readonly #undo: Step[] = [];
	#seq = 0;
	#open: boolean;
	#connection: Connection = 'open';
	#waiting: (() => void)[] = [];

	constructor(options: SheetDeskOptions) {
		this.#options = options;
		this.#open = options.open ?? true;
		this.sheets = {
			drive: new Map([[1, { id: 1, cells: { title: 'Made drive', excavated_diameter_m: 9.4 } }]]),
			rings: new Map(),
			ground: new Map([
				[
					1,
					{
						id: 1,
						cells: {
							from_ring: 1,
							to_ring: 9999,
							stratum: 'Fine sand',
							face_fraction: 1,
							grain_density_t_m3: 2.65,
							dry_density_t_m3: 1.62,
							'passing_0.063_mm': 8.5,
						},
					},
				],
			]),
			readings: new Map(),
			meters: new Map(),
			bypass_decisions: new Map(),
			mode_overrides: new Map(),
			formulas: new Map(),
			limits: new Map(),
			ledger: new Map(),
		};
		let reading = 1;
		for (let ring = 1; ring <= options.rings; ring += 1) {
			const start = START_S + (ring - 1) * RING_S;
			this.sheets.rings.set(ring, {
				id: ring,
				cells: {
					ring,
					advance_start: start,
					advance_end: start + 2700,
					stroke_start_mm: 300,
					stroke_end_mm: 1800,
				},
			});
			for (let n = 0; n < options.readingsPerRing; n += 1) {
				this.sheets.readings.set(reading, {
					id: reading,
					cells: {
						time: start + Math.round((2700 * n) / Math.max(1, options.readingsPerRing - 1)),
						mode: 'advance',
						feed_flow_m3_h: 1000 + n,
						feed_density_t_m3: 1.12,
						return_flow_m3_h: 1131 + n,
						return_density_t_m3: 1.2214,
						ring,
						flow_difference_m3_h: 131,
						return_solids_g_l: null,
					},
					flags: { return_solids_g_l: ['No ground is entered for this ring.'] },
				});
				reading += 1;
			}
			this.sheets.ledger.set(ring, this.#ledgerRow(ring));
		}
	}

	#ledgerRow(ring: number): SheetRow {
		let sum = 0;
		for (const { cells } of this.sheets.readings.values()) {
			if (cells.ring === ring) sum += Number(cells.return_flow_m3_h) - Number(cells.feed_flow_m3_h);
		}
		return {
			id: ring,
			cells: {
				ring,
				advance_start: START_S + (ring - 1) * RING_S,
				stratum: 'Fine sand 100 %',
				advance_m: 1.5,
				volume_expected_m3: 104.1,
				volume_apparent_m3: sum / 10,
				ratio_volume: sum / 1041,
				dry_solids_t: null,
				flags: ring % 7 === 0 ? '1: missing time' : null,
			},
			flags: {
				dry_solids_t: ['The ground of this ring is not entered.'],
				...(ring % 7 === 0 ? { flags: ['240 s without usable flow.'] } : {}),
			},
		};
	}

	#document(): DocumentState {
		const rings = [...this.sheets.rings.values()].map((row) => Number(row.cells.ring));
		return {
			title: 'Made drive',
			file: 'made.slurrybook',
			folder: '/made',
			readOnly: this.#options.readOnly ?? false,
			readOnlyWhy: this.#options.readOnly ? 'open elsewhere by Ana' : null,
			rings: rings.length,
			readings: this.sheets.readings.size,
			firstRing: rings.length > 0 ? Math.min(...rings) : null,
			lastRing: rings.length > 0 ? Math.max(...rings) : null,
			hasLogger: false,
			undo: this.#undo.at(-1)?.label ?? null,
			redo: null,
			journalEntries: this.#seq,
			invented: true,
			utcOffset_min: 60,
		};
	}

	#state(): DeskState {
		return {
			contract: this.#options.contract ?? CONTRACT_VERSION,
			appVersion: '0',
			host: 'loopback',
			nativeDialogs: false,
			person: 'Test',
			document: this.#open ? this.#document() : null,
		};
	}

	#changes(label: string, touched: ReadonlyMap<SheetId, Set<number>>): ChangeSet {
		this.#seq += 1;
		const sheets: ChangeSet['sheets'] = {};
		for (const [sheet, ids] of touched) {
			const rows: SheetRow[] = [];
			const removed: number[] = [];
			for (const id of ids) {
				const row = this.sheets[sheet].get(id);
				if (row) rows.push(row);
				else removed.push(id);
			}
			sheets[sheet] = { rows: rows as never, removed };
		}
		const changes = { seq: this.#seq, label, sheets, document: this.#document() };
		queueMicrotask(() => this.push({ event: 'changed', changes }));
		return changes;
	}

	/** Send an event to the page as if another page had caused it. */
	push(event: DeskEvent): void {
		for (const hear of this.#hearers) hear(event);
	}

	/** Break or mend the connection. */
	connect(connection: Connection): void {
		this.#connection = connection;
		for (const hear of this.#watchers) hear(connection);
	}

	/** Answer what is held back. */
	release(): void {
		const waiting = this.#waiting;
		this.#waiting = [];
		for (const go of waiting) go();
	}

	/** Change a row behind the page's back, as another page would, and return the event it missed or gets. */
	change(sheet: SheetId, row: SheetRow, label = 'change elsewhere'): ChangeSet {
		this.sheets[sheet].set(row.id, row);
		return this.#changes(label, new Map([[sheet, new Set([row.id])]]));
	}

	connection(): Connection {
		return this.#connection;
	}

	onConnection(hear: (connection: Connection) => void): () => void {
		this.#watchers.add(hear);
		return () => this.#watchers.delete(hear);
	}

	listen(hear: (event: DeskEvent) => void): () => void {
		this.#hearers.add(hear);
		return () => this.#hearers.delete(hear);
	}

	async call<V extends VerbName>(verb: V, ask: Ask<V>): Promise<Reply<Answer<V>>> {
		this.asked.push({ verb, ask });
		const answer = this.#answer(verb, ask);
		if (this.#options.held?.includes(verb))
			await new Promise<void>((go) => {
				this.#waiting.push(go);
			});
		return answer as Reply<Answer<V>>;
	}

	#answer(verb: VerbName, ask: unknown): Reply<unknown> {
		const ok = (value: unknown): Reply<unknown> => ({ ok: true, value: structuredClone(value) });
		if (this.#connection === 'lost') return { ok: false, code: 'desk_unreached', message: 'gone' };
		if (verb === 'desk.state' || verb === 'person.set') return ok(this.#state());
		if (verb === 'project.close' || verb === 'project.openDemo') {
			this.#open = verb === 'project.openDemo';
			return ok(this.#state());
		}
		if (verb === 'sheet.rows') return ok(this.#rows(ask as Ask<'sheet.rows'>));
		if (verb === 'sheet.edit') return ok(this.#edit(ask as Ask<'sheet.edit'>));
		if (verb === 'sheet.add') return ok(this.#add(ask as Ask<'sheet.add'>));
		if (verb === 'sheet.delete') return ok(this.#delete(ask as Ask<'sheet.delete'>));
		if (verb === 'history.undo') return ok(this.#takeBack());
		return { ok: false, code: 'not_here', message: `${verb} is not made up here` };
	}

	#rows({ sheet, fromRing, toRing }: Ask<'sheet.rows'>): Answer<'sheet.rows'> {
		const all = [...this.sheets[sheet].values()];
		const rows = all.filter(({ cells }) => {
			const ring = cells.ring as number;
			return (
				(fromRing === undefined || ring >= fromRing) && (toRing === undefined || ring <= toRing)
			);
		});
		return { rows: rows as never, total: all.length };
	}

	#refuse(row: number | null, column: string, message: string, readAs: EditRefusal['readAs'] = []) {
		const fault = { code: 'made', message, where: { column }, weight: 'stop' as const };
		return { row, column, fault, readAs };
	}

	#value(column: string, text: string): CellValue | EditRefusal {
		if (text.trim() === '') return this.#refuse(null, column, 'This cell cannot be empty.');
		if (!/_/.test(column)) return text;
		if (/^\d,\d{3}$/.test(text)) {
			const whole = text.replace(',', '');
			const part = text.replace(',', '.');
			return this.#refuse(null, column, `${text} can be read as ${part} or as ${whole}.`, [
				{ label: part, text: part },
				{ label: whole, text: `${whole}.0` },
			]);
		}
		const value = Number(text);
		if (!Number.isFinite(value)) return this.#refuse(null, column, 'This is not a number.');
		return value;
	}

	#edit({ sheet, edits }: Ask<'sheet.edit'>): EditAnswer {
		const refused: EditRefusal[] = [];
		const touched = new Map<SheetId, Set<number>>([[sheet, new Set()]]);
		const before: Step['before'][number][] = [];
		for (const { row: id, column, text } of edits) {
			const row = this.sheets[sheet].get(id);
			const value = this.#value(column, text);
			if (!row) refused.push(this.#refuse(id, column, 'There is no such row.'));
			else if (value !== null && typeof value === 'object')
				refused.push({ ...value, row: id, column });
			else {
				before.push({ sheet, row });
				this.sheets[sheet].set(id, { ...row, cells: { ...row.cells, [column]: value } });
				touched.get(sheet)?.add(id);
			}
		}
		if (refused.length > 0) {
			for (const { row } of before)
				if (typeof row !== 'number') this.sheets[sheet].set(row.id, row);
			return { changes: null, refused };
		}
		this.#undo.push({ label: `edit of ${edits[0]?.column}`, before });
		return { changes: this.#withLedger(`edit of ${edits[0]?.column}`, touched), refused: [] };
	}

	#withLedger(label: string, touched: Map<SheetId, Set<number>>): ChangeSet {
		const rings = new Set<number>();
		for (const id of touched.get('readings') ?? []) {
			const ring = this.sheets.readings.get(id)?.cells.ring;
			if (typeof ring === 'number') rings.add(ring);
		}
		for (const ring of rings) this.sheets.ledger.set(ring, this.#ledgerRow(ring));
		if (rings.size > 0) touched.set('ledger', rings);
		return this.#changes(label, touched);
	}

	#add({ sheet, rows }: Ask<'sheet.add'>): EditAnswer {
		const refused: EditRefusal[] = [];
		const touched = new Map<SheetId, Set<number>>([[sheet, new Set()]]);
		let id = Math.max(0, ...this.sheets[sheet].keys());
		const added: SheetRow[] = [];
		for (const texts of rows) {
			const cells: Record<string, CellValue> = {};
			for (const [column, text] of Object.entries(texts)) {
				const value = this.#value(column, text);
				if (value !== null && typeof value === 'object') refused.push({ ...value, column });
				else cells[column] = value;
			}
			if (sheet === 'readings' && !texts.feed_flow_m3_h)
				refused.push(this.#refuse(null, 'feed_flow_m3_h', 'Feed flow is missing.'));
			id += 1;
			added.push({ id, cells });
		}
		if (refused.length > 0) return { changes: null, refused };
		for (const row of added) {
			this.sheets[sheet].set(row.id, row);
			touched.get(sheet)?.add(row.id);
		}
		this.#undo.push({ label: 'new row', before: added.map((row) => ({ sheet, row: row.id })) });
		return { changes: this.#withLedger('new row', touched), refused };
	}

	#delete({ sheet, rows }: Ask<'sheet.delete'>): EditAnswer {
		const before: Step['before'][number][] = [];
		for (const id of rows) {
			const row = this.sheets[sheet].get(id);
			if (row) before.push({ sheet, row });
			this.sheets[sheet].delete(id);
		}
		const label = `deletion of ${rows.length}`;
		this.#undo.push({ label, before });
		return { changes: this.#changes(label, new Map([[sheet, new Set(rows)]])), refused: [] };
	}

	#takeBack(): EditAnswer {
		const step = this.#undo.pop();
		if (!step) return { changes: null, refused: [] };
		const touched = new Map<SheetId, Set<number>>();
		for (const { sheet, row } of step.before) {
			const ids = touched.get(sheet) ?? new Set<number>();
			touched.set(sheet, ids);
			if (typeof row === 'number') {
				this.sheets[sheet].delete(row);
				ids.add(row);
			} else {
				this.sheets[sheet].set(row.id, row);
				ids.add(row.id);
			}
		}
		return { changes: this.#withLedger(`undo of ${step.label}`, touched), refused: [] };
	}
}
