import type { ColDef, GridApi, IRowNode, PostSortRowsParams } from 'ag-grid-community';
import type { CellValue, Column, SheetRow } from '../../../calc/sheet/column.ts';
import { groupFigures } from '../../../calc/sheet/grouptotals.ts';
import { type GroupLine, isGroupLine } from './groupline.ts';
import type { GroupKey } from './groups.ts';
import { MARK_COLUMN, markColumn, markOf } from './rowmark.ts';

export const GROUP_COLUMN = 'row_group';

/** Columns that run along the drive. */
const ALONG: ReadonlySet<string> = new Set(['time', 'ring', 'advance_start', 'from_time']);

type Node = IRowNode<SheetRow>;

/**
 * Which rows of a sheet the grid shows and in which order: the ones with a mark only, and rows under
 * the lines of their groups. The rows of the document stay what they are; the lines are put among them
 * after sorting, and the rows of a group that is shut are left out there.
 */
export class RowView {
	#api: GridApi<SheetRow> | null = null;
	#columns: readonly Column[] = [];
	#headings: ReadonlyMap<string, string> = new Map();
	#keyOf: ((row: SheetRow) => GroupKey) | null = null;
	#marked = false;
	/** Groups that are shut. */
	readonly #shut = new Set<string>();
	/** Row id of each line there has been. */
	readonly #ids = new Map<string, number>();
	/** Rows that pass the filters, group by group. */
	#ordered: readonly Node[] = [];
	/** What lines are to say, found while the rows were put in order. */
	readonly #toSay = new Map<Node, GroupLine>();

	/** Columns before those of the sheet. */
	readonly columns: readonly ColDef<SheetRow, CellValue>[];

	constructor() {
		this.columns = [markColumn((id) => this.#headings.get(id)), this.#groupColumn()];
	}

	readonly options = {
		alwaysPassFilter: (node: Node) => isGroupLine(node.data),
		isExternalFilterPresent: () => this.#marked,
		doesExternalFilterPass: (node: Node) =>
			markOf(node.data, (id) => this.#headings.has(id)) !== null,
		rowClassRules: {
			'group-line': (params: { readonly data: SheetRow | undefined }) => isGroupLine(params.data),
		},
	};

	readonly postSortRows = ({ nodes }: PostSortRowsParams<SheetRow>): void => this.#arrange(nodes);

	attach(api: GridApi<SheetRow>): void {
		this.#api = api;
		this.#toSay.clear();
		api.addEventListener('modelUpdated', () => this.#say());
		// Rows read anew come without lines.
		api.addEventListener('rowDataUpdated', () => {
			if (this.#keyOf !== null && !this.#hasLines()) this.sync();
		});
	}

	/** The columns figures are made of. */
	setColumns(columns: readonly Column[]): void {
		this.#columns = columns;
		this.#headings = new Map(columns.map(({ id, heading }) => [id, heading]));
		// Rows drawn before know of no column something could be said of.
		const api = this.#api;
		if (api && !api.isDestroyed()) api.refreshCells({ columns: [MARK_COLUMN], force: true });
	}

	/** Shows only rows with a mark, or all. */
	setMarked(marked: boolean): void {
		if (this.#marked === marked) return;
		this.#marked = marked;
		if (this.#api && !this.#api.isDestroyed()) this.#api.onFilterChanged();
	}

	/** Groups rows by what `keyOf` tells of each; null: not at all. Another `again` opens all groups. */
	group(keyOf: ((row: SheetRow) => GroupKey) | null, again: boolean): void {
		if (again) this.#shut.clear();
		this.#keyOf = keyOf;
		this.sync();
	}

	/** Puts lines where groups came, takes them away where there are none, and says anew what they say. */
	sync(): void {
		const api = this.#api;
		if (!api || api.isDestroyed()) return;
		const keyOf = this.#keyOf;
		const there = new Map<string, SheetRow>();
		const wanted = new Map<string, GroupKey>();
		api.forEachNode(({ data }) => {
			if (data === undefined) return;
			if (isGroupLine(data)) there.set(data.groupLine.key, data);
			else if (keyOf !== null) {
				const key = keyOf(data);
				wanted.set(key.key, key);
			}
		});
		const add = [...wanted.values()]
			.filter(({ key }) => !there.has(key))
			.map((key) => this.#line(key));
		const remove = [...there].flatMap(([key, line]) => (wanted.has(key) ? [] : [line]));
		if (add.length > 0 || remove.length > 0) api.applyTransaction({ add, remove });
		else if (keyOf !== null) api.refreshClientSideRowModel('sort');
	}

	/** Opens or shuts one group. */
	toggle(key: string): void {
		if (!this.#shut.delete(key)) this.#shut.add(key);
		this.#api?.refreshClientSideRowModel('sort');
	}

	/** Opens or shuts all groups. */
	setAllOpen(open: boolean): void {
		this.#shut.clear();
		if (!open) {
			this.#api?.forEachNode(({ data }) => {
				if (isGroupLine(data)) this.#shut.add(data.groupLine.key);
			});
		}
		this.#api?.refreshClientSideRowModel('sort');
	}

	/** Opens the group a row is in; whether it was shut. */
	reveal(row: SheetRow): boolean {
		const key = this.#keyOf?.(row).key;
		if (key === undefined || !this.#shut.delete(key)) return false;
		this.#api?.refreshClientSideRowModel('sort');
		return true;
	}

	/** Rows that pass the filters as they are ordered on screen, those in groups that are shut among them. */
	rowsInOrder(): readonly SheetRow[] {
		const rows: SheetRow[] = [];
		const take = ({ data }: { readonly data?: SheetRow | undefined }) => {
			if (data !== undefined && !isGroupLine(data)) rows.push(data);
		};
		if (this.#keyOf !== null) for (const node of this.#ordered) take(node);
		else if (this.#api && !this.#api.isDestroyed()) this.#api.forEachNodeAfterFilterAndSort(take);
		return rows;
	}

	#hasLines(): boolean {
		let found = false;
		this.#api?.forEachNode(({ data }) => {
			found ||= isGroupLine(data);
		});
		return found;
	}

	#line({ key, title }: GroupKey): GroupLine {
		let id = this.#ids.get(key);
		if (id === undefined) {
			id = -1 - this.#ids.size;
			this.#ids.set(key, id);
		}
		return { id, cells: {}, groupLine: { key, title, count: 0, open: true, figures: {} } };
	}

	/** Rows under their lines, in the order they were sorted in; a line without rows is left out. */
	#arrange(nodes: Node[]): void {
		const keyOf = this.#keyOf;
		if (keyOf === null) return;
		const lines = new Map<string, Node>();
		const groups = new Map<string, { readonly key: GroupKey; readonly rows: Node[] }>();
		for (const node of nodes) {
			const { data } = node;
			if (data === undefined) continue;
			if (isGroupLine(data)) {
				lines.set(data.groupLine.key, node);
				continue;
			}
			const key = keyOf(data);
			const group = groups.get(key.key);
			if (group) group.rows.push(node);
			else groups.set(key.key, { key, rows: [node] });
		}
		const back = this.#latestFirst() ? -1 : 1;
		const ordered = [...groups.values()].sort(({ key: a }, { key: b }) => {
			if (a.order === b.order) return 0;
			// What belongs to no group stands last, whichever way.
			if (!Number.isFinite(a.order) || !Number.isFinite(b.order)) return a.order - b.order;
			return back * (a.order - b.order);
		});
		nodes.length = 0;
		this.#ordered = ordered.flatMap(({ rows }) => rows);
		for (const { key, rows } of ordered) {
			const line = lines.get(key.key);
			if (line) {
				nodes.push(line);
				this.#toSay.set(line, this.#told(key, rows, line));
			}
			if (!line || !this.#shut.has(key.key)) for (const row of rows) nodes.push(row);
		}
	}

	/** Whether the rows are sorted backwards along the drive: then the groups are, too. */
	#latestFirst(): boolean {
		const first = this.#api?.getColumnState().find(({ sortIndex }) => sortIndex === 0);
		return first?.sort === 'desc' && ALONG.has(first.colId);
	}

	#told(key: GroupKey, rows: readonly Node[], line: Node): GroupLine {
		const figures = groupFigures(
			this.#columns,
			rows.map(({ data }) => data?.cells ?? {}),
		);
		const cells: Record<string, CellValue> = {};
		const flags: Record<string, readonly string[]> = {};
		for (const [id, { value, missing }] of Object.entries(figures)) {
			cells[id] = value;
			if (value !== null && missing > 0) flags[id] = [`${missing} without a figure`];
		}
		const { id } = line.data ?? this.#line(key);
		return {
			id,
			cells,
			flags,
			groupLine: {
				key: key.key,
				title: key.title,
				count: rows.length,
				open: !this.#shut.has(key.key),
				figures,
			},
		};
	}

	/** Lines that say something else than before are drawn again. */
	#say(): void {
		for (const [node, line] of this.#toSay) {
			if (JSON.stringify(node.data) !== JSON.stringify(line)) node.updateData(line);
		}
		this.#toSay.clear();
	}

	#groupColumn(): ColDef<SheetRow, CellValue> {
		const keyIn = (data: SheetRow | undefined) => (isGroupLine(data) ? data.groupLine.key : null);
		return {
			colId: GROUP_COLUMN,
			headerName: 'Group',
			headerTooltip:
				'Enter or Space opens and shuts a group. Σ is a sum, x̄ a mean; ratios are those of the sums. A figure is marked where rows without a value are not in it.',
			valueGetter: ({ data }) =>
				isGroupLine(data) ? `${data.groupLine.title} · ${data.groupLine.count}` : null,
			cellClass: 'group-cell',
			cellClassRules: {
				'group-open': ({ data }) => isGroupLine(data) && data.groupLine.open,
				'group-shut': ({ data }) => isGroupLine(data) && !data.groupLine.open,
			},
			onCellClicked: ({ data }) => {
				const key = keyIn(data);
				if (key !== null) this.toggle(key);
			},
			suppressKeyboardEvent: ({ event, data }) => {
				const key = keyIn(data);
				if (key === null || (event.key !== 'Enter' && event.key !== ' ')) return false;
				if (event.ctrlKey || event.metaKey || event.altKey) return false;
				event.preventDefault();
				if (event.shiftKey) this.setAllOpen(this.#shut.has(key));
				else this.toggle(key);
				return true;
			},
			initialHide: true,
			initialPinned: 'left',
			lockPinned: true,
			lockPosition: 'left',
			sortable: false,
			suppressMovable: true,
			initialWidth: 236,
			minWidth: 120,
		};
	}
}
