import './sheets.css';
import './range/range.css';
import type {
	CellEditingStartedEvent,
	CellEditingStoppedEvent,
	CellEditRequestEvent,
	CellFocusedEvent,
	CellKeyDownEvent,
	ColDef,
	ColumnResizedEvent,
	FirstDataRenderedEvent,
	GetRowIdParams,
	GridApi,
	GridReadyEvent,
	IRowNode,
	ModelUpdatedEvent,
	SelectionChangedEvent,
} from 'ag-grid-community';
import { AgGridReact } from 'ag-grid-react';
import { memo, useCallback, useEffect, useMemo, useRef, useState } from 'react';
import { flushSync } from 'react-dom';
import { findColumn } from '../../calc/sheet/catalogue.ts';
import type { CellValue, EnteredSheetId, SheetId, SheetRow } from '../../calc/sheet/column.ts';
import type { EditRefusal } from '../../electron/contract/verbs.ts';
import { afterPaint } from '../desk/afterpaint.ts';
import { useCallDesk, useDeskStore, useDeskValue, useSelect } from '../desk/desk.tsx';
import { refusalsOf } from '../desk/refusals.ts';
import { DECIMAL } from '../look/marks.ts';
import type { GridParts } from './arrange/gridparts.ts';
import { isGroupLine } from './arrange/groupline.ts';
import { type Marks, reasonsOf } from './celltext.ts';
import { columnDef, shownColumns } from './columndefs.ts';
import type { KeptEntry, SheetContext } from './editors.ts';
import { gridTheme, styleNonce } from './gridtheme.ts';
import { useLimits } from './limits/held.ts';
import { registerGridModules } from './modules.ts';
import { useOwnGridColumns } from './owncolumns/held.ts';
import { RefusalAtCell, type RefusedEntry } from './RefusalAtCell.tsx';
import type { RangeStore } from './range/rangestore.ts';
import { ROW_PLACE, ROW_PLACE_COLUMN } from './range/rowplace.ts';
import { useHands } from './range/usehands.tsx';
import { ringAtTime } from './ringattime.ts';

registerGridModules();

export interface SheetGridProps {
	readonly sheet: Exclude<SheetId, 'drive'>;
	readonly label: string;
	readonly pinned: readonly string[];
	readonly sortedBy: string;
	/** Row ids the person has ticked. */
	readonly onTicked?: (ids: readonly number[]) => void;
	/** Raised from outside to untick all. */
	readonly untick?: number;
	readonly onDeleteTicked?: () => void;
	/** Refusals that do not concern the edited cell itself. */
	readonly onRefused?: (refused: readonly EditRefusal[]) => void;
	/** Told what is to be said of several chosen cells. */
	readonly range?: RangeStore;
	/** Opens the entry of a new row that begins with the given row, or comes between it and the one before. */
	readonly onNewRow?: (like: 'same' | 'between', row: SheetRow, before: SheetRow | null) => void;
	/** How the sheet is arranged; stable, as every change makes the grid's columns anew. */
	readonly parts?: GridParts;
}

const CALM =
	typeof window !== 'undefined' && window.matchMedia('(prefers-reduced-motion: reduce)').matches;
/** Beyond this many rows a change is seen without flashing. */
const MOST_FLASHED = 200;
/**
 * Ticking rows is for deleting them: one column, no select-by-click. There is no tick for all: the
 * grid would walk all rows at every edit to know its state.
 */
const TICKS = {
	mode: 'multiRow',
	checkboxes: true,
	headerCheckbox: false,
	enableClickSelection: false,
	isRowSelectable: (node: IRowNode<SheetRow>) => !isGroupLine(node.data),
} as const;
/** Kept the same object from render to render: the grid makes its columns anew for another one. */
const TICK_COLUMN = { pinned: 'left', lockPinned: true, width: 36, resizable: false } as const;

/**
 * One sheet as a grid: a view of the rows the store holds. Edits leave as typed text and come back
 * as changed rows; nothing is written into the grid by the grid.
 */
export const SheetGrid = memo(function SheetGrid({
	sheet,
	label,
	pinned,
	sortedBy,
	onTicked,
	untick = 0,
	onDeleteTicked,
	onRefused,
	range,
	onNewRow,
	parts,
}: SheetGridProps) {
	const store = useDeskStore();
	const callDesk = useCallDesk();
	const select = useSelect();
	const reading = useDeskValue((view) => view.sheets[sheet].reading);
	const status = useDeskValue((view) => view.sheets[sheet].status);
	const version = useDeskValue((view) => (sheet === 'ground' ? view.sheets[sheet].version : 0));
	const corrected = useDeskValue((view) => {
		if (sheet !== 'ledger' || view.sheets.drive.status !== 'ready') return false;
		const [drive] = store.rowsOf('drive').values();
		return (drive?.cells.meter_correction ?? 'none') !== 'none';
	});
	const own = useOwnGridColumns(sheet);
	const limits = useLimits(sheet);
	const entered = sheet !== 'ledger';
	const writable = useDeskValue((view) => view.state?.document?.readOnly === false);
	const editable = entered && writable;
	const utcOffset_min = useDeskValue((view) => view.state?.document?.utcOffset_min ?? 0);
	const marks = useMemo<Marks>(() => ({ decimal: DECIMAL, utcOffset_min }), [utcOffset_min]);

	const api = useRef<GridApi<SheetRow> | null>(null);
	const box = useRef<HTMLDivElement>(null);
	const [refused, setRefused] = useState<RefusedEntry | null>(null);
	const context = useRef<SheetContext>({
		marks,
		kept: null,
		commit: () => {},
		waiting: null,
		left: null,
		hands: null,
	});
	context.current.marks = marks;

	// biome-ignore lint/correctness/useExhaustiveDependencies: a new reading or version means other rows in the same map
	const columns = useMemo(
		() => shownColumns(sheet, store.rowsOf(sheet).values(), corrected, own),
		[sheet, store, reading, version, corrected, own, status === 'ready'],
	);
	const defs = useMemo<ColDef<SheetRow, CellValue>[]>(
		() => [
			ROW_PLACE_COLUMN,
			...(parts?.columns ?? []),
			...columns.map((column) => columnDef(column, { marks, editable, pinned, sortedBy, limits })),
		],
		[columns, marks, editable, pinned, sortedBy, limits, parts?.columns],
	);
	const { take, hands, dialogs } = useHands({
		sheet,
		box,
		marks,
		editable,
		takesRows: editable && onTicked !== undefined,
		columns,
		range,
		duplicate: onNewRow ? (row) => onNewRow('same', row, null) : null,
		insert: onNewRow ? (row, before) => onNewRow('between', row, before) : null,
	});
	const rowsAt = useRef(0);
	// biome-ignore lint/correctness/useExhaustiveDependencies: rows change in place; a new reading is a new list
	const rowData = useMemo(() => {
		rowsAt.current = store.view().sheets[sheet].version;
		return Array.from(store.rowsOf(sheet).values());
	}, [store, sheet, reading, status === 'ready']);

	useEffect(
		() =>
			store.onRows(sheet, ({ added, updated, removed }) => {
				const grid = api.current;
				if (!grid) return;
				const touched = updated.flatMap((row) => {
					const node = grid.getRowNode(String(row.id));
					if (!node) return [];
					const changed = changedColumns(node.data, row);
					return [{ node, row, changed, reflagged: reflaggedColumns(node.data, row) }];
				});
				const put = () => {
					if (added.length === 0 && removed.length === 0 && keepsOrder(grid, touched)) {
						for (const { node, row } of touched) node.updateData(row);
					} else {
						grid.applyTransaction({ add: [...added], update: [...updated], remove: [...removed] });
					}
					// Flags may change while the values stay; the grid sees only values.
					for (const { node, reflagged } of touched) {
						if (reflagged.length > 0) {
							grid.refreshCells({ rowNodes: [node], columns: reflagged, force: true });
						}
					}
				};
				// Cells are drawn by React, which would put them off beyond the next frame.
				if (touched.length === 0) put();
				else flushSync(put);
				const { waiting } = context.current;
				if (waiting && touched.some(({ row }) => row.id === waiting.row)) {
					afterPaint(waiting.leave, true);
				}
				hands.current?.rowsChanged();
				if (CALM || touched.length > MOST_FLASHED) return;
				afterPaint(() => {
					if (grid.isDestroyed()) return;
					for (const { node, changed } of touched) {
						if (changed.length > 0) grid.flashCells({ rowNodes: [node], columns: changed });
					}
				});
			}),
		[store, sheet, hands],
	);

	// biome-ignore lint/correctness/useExhaustiveDependencies: the number only says when
	useEffect(() => api.current?.deselectAll(), [untick]);

	const open = useCallback((row: number, column: string, kept: KeptEntry | null) => {
		const grid = api.current;
		const node = grid?.getRowNode(String(row));
		if (!grid || !node || node.rowIndex === null) return;
		context.current.kept = kept;
		grid.ensureIndexVisible(node.rowIndex);
		grid.setFocusedCell(node.rowIndex, column);
		grid.startEditingCell({ rowIndex: node.rowIndex, colKey: column });
	}, []);

	/** Hand typed text to the desk; a refusal comes back to the cell it was typed in. */
	const edit = useCallback(
		async (row: number, column: string, text: string, onAnswer?: () => void) => {
			setRefused(null);
			const reply = await callDesk('sheet.edit', {
				sheet: sheet as EnteredSheetId,
				edits: [{ row, column, text }],
				typed: { decimal: DECIMAL },
			});
			const refusals = refusalsOf(reply, { row, column });
			if (refusals.length === 0) {
				if (onAnswer) afterPaint(onAnswer);
				onRefused?.([]);
				return;
			}
			onAnswer?.();
			const here = refusals.find((r) => r.row === row && r.column === column) ?? refusals[0];
			if (!here) return;
			onRefused?.(refusals.length > 1 ? refusals : []);
			setRefused({ row, column, text, refusal: here });
			const busyElsewhere = (api.current?.getEditingCells().length ?? 0) > 0;
			if (here.readAs.length === 0 && !busyElsewhere) open(row, column, { row, column, text });
		},
		[callDesk, sheet, onRefused, open],
	);

	useEffect(() => {
		context.current.commit = (...entry) => void edit(...entry);
	}, [edit]);

	const onEdit = useCallback(
		(event: CellEditRequestEvent<SheetRow>) => {
			const text = event.newValue;
			if (typeof text !== 'string') return;
			void edit(event.data.id, event.column.getColId(), text);
		},
		[edit],
	);

	const onFocus = useCallback(
		(event: CellFocusedEvent<SheetRow>) => {
			if (event.rowIndex === null || typeof event.column === 'string' || !event.column) return;
			const row = event.api.getDisplayedRowAtIndex(event.rowIndex)?.data;
			if (!row) return;
			const ring = ringOf(sheet, row, store.rowsOf('rings'));
			select({
				row: row.id,
				column: event.column.getColId(),
				...(ring === null ? {} : { ring }),
			});
		},
		[select, sheet, store],
	);

	const onKey = useCallback(
		(event: CellKeyDownEvent<SheetRow>) => {
			const key = event.event;
			if (!(key instanceof KeyboardEvent) || key.key !== 'Delete') return;
			if (!editable || event.api.getEditingCells().length > 0) return;
			if (event.node.isSelected()) {
				onDeleteTicked?.();
				return;
			}
			const column = event.column.getColId();
			if (!event.column.isCellEditable(event.node) || !event.data) return;
			if ((event.data.cells[column] ?? null) !== null) void edit(event.data.id, column, '');
		},
		[edit, editable, onDeleteTicked],
	);

	const onReady = useCallback(
		(event: GridReadyEvent<SheetRow>) => {
			api.current = event.api;
			// What changed while the grid was being made reached no one.
			if (store.view().sheets[sheet].version !== rowsAt.current) {
				event.api.setGridOption('rowData', Array.from(store.rowsOf(sheet).values()));
			}
			take(event.api);
			context.current.hands = hands.current;
			parts?.onApi(event.api);
		},
		[parts, store, sheet, take, hands],
	);

	/** Rows that moved stand at other places. */
	const onModel = useCallback((event: ModelUpdatedEvent<SheetRow>) => {
		event.api.refreshCells({ columns: [ROW_PLACE] });
	}, []);

	/** Whether its figures have room is asked anew of a column that became narrower or wider. */
	const onResized = useCallback((event: ColumnResizedEvent<SheetRow>) => {
		if (event.columns) event.api.refreshCells({ columns: event.columns, force: true });
	}, []);

	/** The ring in hand is brought into sight, and the keyboard stands in the grid at once. */
	const onFirstRows = useCallback(
		(event: FirstDataRenderedEvent<SheetRow>) => {
			const { ring } = store.view().selection;
			const target = rowForRing(sheet, ring, store.rowsOf(sheet), store.rowsOf('rings'));
			const index = event.api.getRowNode(String(target))?.rowIndex ?? 0;
			if (index > 0) event.api.ensureIndexVisible(index, 'middle');
			const first = event.api
				.getAllDisplayedColumns()
				.find((column) => findColumn(sheet, column.getColId()) !== undefined);
			if (first && document.activeElement === document.body) event.api.setFocusedCell(index, first);
		},
		[store, sheet],
	);

	const onTicks = useCallback(
		(event: SelectionChangedEvent<SheetRow>) =>
			onTicked?.(event.api.getSelectedRows().map((row) => row.id)),
		[onTicked],
	);

	const onEditingStarted = useCallback(
		(event: CellEditingStartedEvent<SheetRow>) =>
			setRefused((now) =>
				now && (event.data?.id !== now.row || event.column.getColId() !== now.column) ? null : now,
			),
		[],
	);
	const onEditingStopped = useCallback((event: CellEditingStoppedEvent<SheetRow>) => {
		const { left } = context.current;
		context.current.left = null;
		if (left && left.row === event.data?.id && left.column === event.column.getColId()) return;
		if (!event.valueChanged) setRefused(null);
	}, []);

	return (
		<section className="sheet-grid" ref={box} aria-label={label} data-sheet={sheet}>
			<AgGridReact<SheetRow>
				theme={gridTheme}
				styleNonce={styleNonce() as string}
				themeCssLayer="grid"
				rowData={rowData}
				columnDefs={defs}
				context={context.current}
				getRowId={rowId}
				deltaSort
				readOnlyEdit
				onCellEditRequest={onEdit}
				enterNavigatesVertically
				enterNavigatesVerticallyAfterEdit
				stopEditingWhenCellsLoseFocus
				onGridReady={onReady}
				onFirstDataRendered={onFirstRows}
				onCellFocused={onFocus}
				onColumnResized={onResized}
				onModelUpdated={onModel}
				onCellKeyDown={onKey}
				onCellEditingStarted={onEditingStarted}
				onCellEditingStopped={onEditingStopped}
				onSelectionChanged={onTicks}
				{...(editable && onTicked ? { rowSelection: TICKS } : {})}
				selectionColumnDef={TICK_COLUMN}
				cellFlashDuration={300}
				cellFadeDuration={CALM ? 0 : 700}
				tooltipShowDelay={400}
				tooltipHideDelay={20_000}
				suppressNoRowsOverlay
				suppressDragLeaveHidesColumns
				ensureDomOrder={rowData.length < 500}
				animateRows={false}
				rowBuffer={4}
				suppressRowTransform
				maintainColumnOrder
				{...parts?.options}
			/>
			{refused && (
				<RefusalAtCell
					entry={refused}
					box={box}
					heading={columns.find((c) => c.id === refused.column)?.heading ?? refused.column}
					onRead={(text) => void edit(refused.row, refused.column, text)}
					onCorrect={() => open(refused.row, refused.column, refused)}
					onDrop={() => {
						const { row, column } = refused;
						setRefused(null);
						const grid = api.current;
						grid?.stopEditing(true);
						const index = grid?.getRowNode(String(row))?.rowIndex ?? null;
						if (grid && index !== null) grid.setFocusedCell(index, column);
					}}
				/>
			)}
			{dialogs}
		</section>
	);
});

/**
 * Whether changed cells leave order and choice of rows alone: then the rows are changed where they
 * stand, and the grid need not sort and filter all of them again.
 */
function keepsOrder(
	grid: GridApi<SheetRow>,
	touched: readonly { readonly changed: readonly string[] }[],
): boolean {
	if (grid.isAnyFilterPresent()) return false;
	const sorted = new Set(
		grid.getColumnState().flatMap((column) => (column.sort ? [column.colId] : [])),
	);
	return touched.every(({ changed }) => changed.every((id) => !sorted.has(id)));
}

/** Columns whose value differs between two states of a row. */
function changedColumns(before: SheetRow | undefined, after: SheetRow): string[] {
	if (!before) return [];
	const ids = new Set([...Object.keys(before.cells), ...Object.keys(after.cells)]);
	return [...ids].filter((id) => (before.cells[id] ?? null) !== (after.cells[id] ?? null));
}

/** Columns of which something else is to be said than before. */
function reflaggedColumns(before: SheetRow | undefined, after: SheetRow): string[] {
	const said = (row: SheetRow | undefined, id: string) => reasonsOf(row?.flags, id).join('\n');
	const ids = new Set([...Object.keys(before?.flags ?? {}), ...Object.keys(after.flags ?? {})]);
	return [...ids].filter((id) => said(before, id) !== said(after, id));
}

const rowId = (params: GetRowIdParams<SheetRow>): string => String(params.data.id);

/** Column of a sheet whose time says which ring a row belongs to. */
const TIME_OF: Readonly<Partial<Record<SheetId, string>>> = {
	readings: 'time',
	mode_overrides: 'from_time',
};

/** Ring a row of a sheet stands for; null where there is none. */
function ringOf(
	sheet: SheetId,
	row: SheetRow,
	rings: ReadonlyMap<number, SheetRow>,
): number | null {
	const timeId = TIME_OF[sheet];
	if (timeId !== undefined) {
		const time_s = row.cells[timeId];
		return typeof time_s === 'number' ? ringAtTime(rings.values(), time_s) : null;
	}
	if (sheet !== 'ledger' && sheet !== 'rings') return null;
	const ring = row.cells.ring;
	return typeof ring === 'number' ? ring : null;
}

/** Row of a sheet that stands for a ring (its first reading, its ledger line); null where there is none. */
function rowForRing(
	sheet: SheetId,
	ring: number | null,
	rows: ReadonlyMap<number, SheetRow>,
	rings: ReadonlyMap<number, SheetRow>,
): number | null {
	if (ring === null) return null;
	if (sheet === 'ledger' || sheet === 'rings') {
		for (const row of rows.values()) if (row.cells.ring === ring) return row.id;
	}
	const timeId = TIME_OF[sheet];
	if (timeId !== undefined) {
		let first: SheetRow | null = null;
		for (const row of rows.values()) {
			const time_s = row.cells[timeId];
			if (typeof time_s !== 'number' || ringAtTime(rings.values(), time_s) !== ring) continue;
			if (!first || time_s < (first.cells[timeId] as number)) first = row;
		}
		return first?.id ?? null;
	}
	return null;
}
