import type {
	AgPublicEventType,
	CellFocusedEvent,
	GridApi,
	Column as GridColumn,
	IRowNode,
} from 'ag-grid-community';
import type { CellValue, Column, SheetRow } from '../../../calc/sheet/column.ts';
import { DECIMAL } from '../../look/marks.ts';
import { tell } from '../../parts/Toast.tsx';
import { isGroupLine } from '../arrange/groupline.ts';
import { editText, type Marks } from '../celltext.ts';
import { flagsText } from '../columndefs.ts';
import {
	type Block,
	blockOf,
	cellsIn,
	columnsIn,
	edgeOfData,
	grownTo,
	nextWithin,
	pasteTarget,
	rowsIn,
	type Spot,
} from './block.ts';
import { copiedHeading, copiedText, isHeadingRow, pastedText } from './celltransfer.ts';
import {
	type CellEdit,
	CLEARED_UNASKED,
	cellCount,
	cellsWord,
	type Gesture,
	MOST_CELLS,
} from './gesture.ts';
import { type HandKey, handKey } from './handkeys.ts';
import { rangeFigures } from './rangefigures.ts';
import { RangePaint } from './rangepaint.ts';
import type { RangeStore } from './rangestore.ts';
import { ROW_PLACE } from './rowplace.ts';
import { continueCells } from './series.ts';
import { readTsv, writeTsv } from './tsv.ts';

/** What the hands need to know of their sheet, asked each time. */
export interface HandSheet {
	readonly marks: Marks;
	/** Cells of entered columns can be changed. */
	readonly editable: boolean;
	/** Rows can be added. */
	readonly takesRows: boolean;
	readonly columnOf: (id: string) => Column | undefined;
	/** Carries a gesture out, or shows why not; true if it is done. */
	readonly perform: (gesture: Gesture) => Promise<boolean>;
	/** Asks before something is done. */
	readonly ask: (question: Question) => void;
	/** Opens the entry of a new row with the texts of one that is there. */
	readonly duplicate: ((row: SheetRow) => void) | null;
	/** Opens the entry of a new row before one that is there. */
	readonly insert: ((row: SheetRow, before: SheetRow | null) => void) | null;
}

export interface Question {
	readonly title: string;
	readonly text: string;
	readonly yes: string;
	/** Set where something is taken away. */
	readonly danger?: boolean;
	/** What may be done instead. */
	readonly other?: { readonly label: string; readonly run: () => void };
	readonly onYes: () => void;
}

/** After the last movement, before figures are worked out and said. */
const REST_MS = 90;
/** Between two steps of scrolling while the mouse is held outside the grid. */
const SCROLL_MS = 40;
const EDGE_PX = 24;
const HEADING_GRIP_PX = 13;

type Drag =
	| { readonly kind: 'cells' | 'rows' | 'columns' }
	| { readonly kind: 'fill'; readonly from: Block };

interface Place {
	readonly node: IRowNode<SheetRow>;
	readonly row: SheetRow;
}

/**
 * Hands on the grid of a sheet: choosing, copying, pasting, filling and clearing blocks of cells. The
 * cell in hand is the grid's own focused cell; the block reaches from it to `#head`.
 */
export class Hands {
	readonly #api: GridApi<SheetRow>;
	readonly #root: HTMLElement;
	readonly #sheet: () => HandSheet;
	readonly #told: RangeStore;
	readonly #paint: RangePaint;
	readonly #ends = new AbortController();
	#anchor: Spot | null = null;
	#head: Spot | null = null;
	/** The cell in hand, within the block. */
	#active: Spot | null = null;
	/** The cell in hand was moved within the block. */
	#moved = false;
	/** Rows the block began and ended in, to find them again after sorting. */
	#rows: readonly [number, number] | null = null;
	#drag: Drag | null = null;
	#growth: Block | null = null;
	#pointer = { x: 0, y: 0 };
	#scrolling: ReturnType<typeof setInterval> | null = null;
	#resting: ReturnType<typeof setTimeout> | null = null;
	#drawing = false;
	/** Column in which a row of entries by Tab began. */
	#entryColumn: number | null = null;
	#withHeadings = false;
	/** The last press of the mouse was not for the grid. */
	#pressTaken = false;
	readonly #off: (() => void)[] = [];

	constructor(api: GridApi<SheetRow>, root: HTMLElement, sheet: () => HandSheet, told: RangeStore) {
		this.#api = api;
		this.#root = root;
		this.#sheet = sheet;
		this.#told = told;
		this.#paint = new RangePaint(api, root);
		const { signal } = this.#ends;
		root.addEventListener('keydown', this.#onKey, { capture: true, signal });
		// The grid moves its focus by the pointer, the browser by the mouse.
		root.addEventListener('pointerdown', this.#onPress, { capture: true, signal });
		root.addEventListener('mousedown', this.#onMouseDown, { capture: true, signal });
		root.addEventListener('click', this.#onClick, { capture: true, signal });
		for (const kind of ['copy', 'cut', 'paste'] as const)
			document.addEventListener(kind, this.#onClipboard, { signal });
		this.#on('cellFocused', (event) => this.#onFocus(event as CellFocusedEvent<SheetRow>));
		this.#on('modelUpdated', () => this.#onModel());
		for (const kind of ['displayedColumnsChanged', 'columnResized', 'firstDataRendered'] as const)
			this.#on(kind, () => this.#draw());
		this.#on('viewportChanged', () => {
			if (this.#isMany()) this.#rest();
		});
	}

	#on(kind: AgPublicEventType, hear: (event: unknown) => void): void {
		// The grid tells later than things happen: by then it may be gone.
		const whileStanding = (event: unknown) => {
			if (!this.#api.isDestroyed()) hear(event);
		};
		this.#api.addEventListener(kind, whileStanding as never);
		this.#off.push(() => {
			if (!this.#api.isDestroyed()) this.#api.removeEventListener(kind, whileStanding as never);
		});
	}

	end(): void {
		this.#ends.abort();
		for (const off of this.#off) off();
		this.#stopDrag();
		if (this.#resting) clearTimeout(this.#resting);
		this.#told.tell(null);
		this.#paint.end();
	}

	/** Cells of the block may have changed: what is said of them is worked out anew. */
	rowsChanged(): void {
		if (this.#isMany()) this.#rest();
	}

	/** Whether Enter or Tab leads elsewhere than to the next cell of the grid. */
	leads(key: string): boolean {
		return this.#isMany() || (key === 'Enter' && this.#entryColumn !== null);
	}

	/** Goes on after an entry, where {@link leads} says so. */
	goOn(key: string, back: boolean): void {
		this.#next(key === 'Enter' ? 'down' : 'right', back);
	}

	/* ---- what is where ---- */

	#columns(): GridColumn[] {
		const { columnOf } = this.#sheet();
		return this.#api
			.getAllDisplayedColumns()
			.filter((column) => columnOf(column.getColId()) !== undefined);
	}

	#lastRow(): number {
		return this.#api.getDisplayedRowCount() - 1;
	}

	#spotOf(rowIndex: number, colId: string): Spot | null {
		const column = this.#columns().findIndex((one) => one.getColId() === colId);
		return column < 0 ? null : { row: rowIndex, column };
	}

	#block(): Block | null {
		return this.#anchor && this.#head ? blockOf(this.#anchor, this.#head) : null;
	}

	#isMany(): boolean {
		const block = this.#block();
		return block !== null && cellsIn(block) > 1;
	}

	/** Rows of the document from one place on, without lines of groups. */
	#rowsFrom(top: number, bottom: number): Place[] {
		const found: Place[] = [];
		for (let at = top; at <= Math.min(bottom, this.#lastRow()); at += 1) {
			const node = this.#api.getDisplayedRowAtIndex(at);
			if (node?.data && !isGroupLine(node.data)) found.push({ node, row: node.data });
		}
		return found;
	}

	#catalogueOf(columns: readonly GridColumn[]): Column[] {
		const { columnOf } = this.#sheet();
		return columns.map((column) => columnOf(column.getColId()) as Column);
	}

	#isEditing(): boolean {
		return this.#api.getEditingCells().length > 0;
	}

	/* ---- choosing ---- */

	#take(anchor: Spot | null, head: Spot | null, active: Spot | null = anchor): void {
		this.#anchor = anchor;
		this.#head = head;
		this.#active = active;
		this.#moved = false;
		const id = (spot: Spot | null) =>
			spot === null ? null : (this.#api.getDisplayedRowAtIndex(spot.row)?.data?.id ?? null);
		const from = id(anchor);
		const to = id(head);
		this.#rows = from === null || to === null ? null : [from, to];
		this.#draw();
		if (this.#isMany()) this.#rest();
		else {
			this.#told.tell(null);
			this.#paint.mark([], null);
		}
	}

	/** The grid's own focus is where the hand is, however it came there. */
	#catchUp(): Spot | null {
		const focused = this.#api.getFocusedCell();
		if (!focused) return this.#active;
		const spot = this.#spotOf(focused.rowIndex, focused.column.getColId());
		const same =
			spot !== null && spot.row === this.#active?.row && spot.column === this.#active.column;
		if (!same) this.#take(spot, spot);
		return this.#active;
	}

	#onFocus(event: CellFocusedEvent<SheetRow>): void {
		if (event.rowIndex === null || this.#drag) return;
		this.#catchUp();
	}

	#focus(spot: Spot): void {
		const column = this.#columns()[spot.column];
		if (!column) return;
		this.#active = spot;
		this.#api.ensureIndexVisible(spot.row);
		this.#api.ensureColumnVisible(column);
		this.#api.setFocusedCell(spot.row, column);
	}

	#onModel(): void {
		if (this.#anchor && this.#head && this.#rows) {
			const [from, to] = this.#rows.map((id) => this.#api.getRowNode(String(id))?.rowIndex ?? null);
			const wide = this.#head.row - this.#anchor.row;
			if (typeof from === 'number' && typeof to === 'number' && to - from === wide) {
				const moved = from - this.#anchor.row;
				if (moved !== 0) {
					const shift = (spot: Spot): Spot => ({ ...spot, row: spot.row + moved });
					this.#take(shift(this.#anchor), shift(this.#head), this.#active && shift(this.#active));
				}
			} else {
				const focused = this.#api.getFocusedCell();
				const spot = focused && this.#spotOf(focused.rowIndex, focused.column.getColId());
				this.#take(spot, spot);
			}
		}
		this.#draw();
		if (this.#isMany()) this.#rest();
	}

	/** Draws with the next frame, once however much happened. */
	#draw(): void {
		if (this.#drawing) return;
		this.#drawing = true;
		requestAnimationFrame(() => {
			this.#drawing = false;
			if (this.#api.isDestroyed() || this.#ends.signal.aborted) return;
			const columns = this.#columns();
			const block = this.#block();
			const { editable, columnOf } = this.#sheet();
			const handled =
				editable &&
				block !== null &&
				columns
					.slice(block.left, block.right + 1)
					.some((column) => columnOf(column.getColId())?.kind === 'entered');
			this.#paint.draw(columns, block, this.#growth, handled);
		});
	}

	/** Figures and words follow once the hand rests. */
	#rest(): void {
		if (this.#resting) clearTimeout(this.#resting);
		this.#resting = setTimeout(() => {
			this.#resting = null;
			const block = this.#block();
			if (this.#api.isDestroyed() || block === null || cellsIn(block) < 2) return;
			const columns = this.#columns();
			this.#paint.mark(columns, block);
			const rows = this.#rowsFrom(block.top, block.bottom);
			this.#told.tell(
				rangeFigures(
					this.#catalogueOf(columns.slice(block.left, block.right + 1)),
					rows.map(({ row }) => row.cells),
				),
			);
		}, REST_MS);
	}

	#extendTo(head: Spot): void {
		if (!this.#anchor || !this.#active) return;
		if (head.row === this.#head?.row && head.column === this.#head.column) return;
		// After moving about within a block, it reaches anew from the cell in hand.
		this.#take(this.#moved ? this.#active : this.#anchor, head, this.#active);
	}

	#show(spot: Spot): void {
		const column = this.#columns()[spot.column];
		this.#api.ensureIndexVisible(spot.row);
		if (column) this.#api.ensureColumnVisible(column);
	}

	/* ---- keys ---- */

	readonly #onKey = (event: KeyboardEvent): void => {
		const target = event.target;
		if (!(target instanceof Element) || event.isComposing) return;
		if (!target.closest('.ag-row')) return;
		if (this.#isEditing()) {
			// Typing on from cell to cell by Tab begins a row of entries.
			if (event.key === 'Tab' && !event.shiftKey)
				this.#entryColumn ??= this.#active?.column ?? null;
			else if (event.key === 'Escape') this.#entryColumn = null;
			return;
		}
		const press = handKey(event);
		if (press?.kind !== 'next' && !['Shift', 'Control', 'Meta', 'Alt'].includes(event.key)) {
			if (press !== null || /^(Arrow|Home|End|Page|Escape)/.test(event.key))
				this.#entryColumn = null;
		}
		if (press === null || !this.#catchUp()) return;
		if (!this.#act(press)) return;
		event.preventDefault();
		event.stopPropagation();
	};

	/** Does what a key asks; false leaves it to the grid. */
	#act(press: HandKey): boolean {
		const active = this.#active as Spot;
		const block = this.#block() as Block;
		switch (press.kind) {
			case 'extend':
				return this.#extend(press);
			case 'jump':
				this.#goTo(this.#edgeFrom(active, press.down, press.right));
				return true;
			case 'go': {
				const last = press.way > 0;
				const column = last ? this.#columns().length - 1 : 0;
				const row = press.to === 'end' ? active.row : last ? this.#lastRow() : 0;
				this.#goTo({ row, column });
				return true;
			}
			case 'rows':
				this.#choose({ ...block, left: 0, right: this.#columns().length - 1 });
				return true;
			case 'columns':
				this.#choose({ ...block, top: 0, bottom: this.#lastRow() });
				return true;
			case 'all':
				this.#choose({
					top: 0,
					left: 0,
					bottom: this.#lastRow(),
					right: this.#columns().length - 1,
				});
				return true;
			case 'letGo':
				if (!this.#isMany()) return false;
				this.#take(active, active);
				return true;
			case 'next':
				if (press.along === 'right' && !this.#isMany()) {
					if (!press.back) this.#entryColumn ??= active.column;
					return false;
				}
				if (!this.leads(press.along === 'down' ? 'Enter' : 'Tab')) return false;
				this.#next(press.along, press.back);
				return true;
			case 'copyWithHeadings':
				this.#withHeadings = true;
				document.execCommand('copy');
				this.#withHeadings = false;
				return true;
			case 'clear':
				return this.#clear('clearing', 'cleared');
			case 'fillDown':
				this.#fillDown(block);
				return true;
			case 'fillRight':
				this.#fillRight(block);
				return true;
			case 'seriesDown':
				this.#seriesDown(block);
				return true;
			case 'tick':
				return this.#tick(block);
			case 'duplicate':
			case 'insert':
				return this.#newRow(press.kind, active);
		}
	}

	/** Chooses a block around the cell in hand, which stays. */
	#choose(block: Block): void {
		const active = this.#active as Spot;
		// The corner that stays is where later reaching begins.
		this.#take(
			{ row: block.top, column: block.left },
			{ row: block.bottom, column: block.right },
			active,
		);
	}

	#extend(press: HandKey & { readonly kind: 'extend' }): boolean {
		const head = this.#head ?? (this.#active as Spot);
		const lastRow = this.#lastRow();
		const lastColumn = this.#columns().length - 1;
		const within = (row: number, column: number): Spot => ({
			row: Math.max(0, Math.min(lastRow, row)),
			column: Math.max(0, Math.min(lastColumn, column)),
		});
		let to: Spot;
		if (press.to === 'next') to = within(head.row + press.down, head.column + press.right);
		else if (press.to === 'edge') to = this.#edgeFrom(head, press.down, press.right);
		else if (press.to === 'page')
			to = within(head.row + press.down * this.#pageRows(), head.column);
		else if (press.to === 'end') to = within(head.row, press.right > 0 ? lastColumn : 0);
		else to = within(press.down > 0 ? lastRow : 0, press.right > 0 ? lastColumn : 0);
		this.#extendTo(to);
		this.#show(to);
		return true;
	}

	#pageRows(): number {
		const { top, bottom } = this.#api.getVerticalPixelRange();
		const height = this.#api.getDisplayedRowAtIndex(0)?.rowHeight ?? 28;
		return Math.max(1, Math.floor((bottom - top) / height) - 1);
	}

	#edgeFrom(from: Spot, down: number, right: number): Spot {
		const columns = this.#columns();
		const isFilled = (row: number, column: number): boolean => {
			const data = this.#api.getDisplayedRowAtIndex(row)?.data;
			const id = columns[column]?.getColId();
			return data !== undefined && id !== undefined && (data.cells[id] ?? null) !== null;
		};
		if (down !== 0) {
			const step = down > 0 ? 1 : -1;
			const row = edgeOfData((at) => isFilled(at, from.column), from.row, step, this.#lastRow());
			return { row, column: from.column };
		}
		const step = right > 0 ? 1 : -1;
		const last = columns.length - 1;
		return {
			row: from.row,
			column: edgeOfData((at) => isFilled(from.row, at), from.column, step, last),
		};
	}

	#next(along: 'down' | 'right', back: boolean): void {
		const active = this.#active;
		const block = this.#block();
		if (!active || !block) return;
		if (cellsIn(block) > 1) {
			this.#focus(nextWithin(block, active, along, back));
			this.#moved = true;
			return;
		}
		const column = this.#entryColumn ?? active.column;
		this.#entryColumn = null;
		const row = Math.max(0, Math.min(this.#lastRow(), active.row + (back ? -1 : 1)));
		this.#goTo({ row, column });
	}

	/** Leaves the block for a single cell. */
	#goTo(spot: Spot): void {
		this.#take(spot, spot);
		this.#focus(spot);
	}

	#tick(block: Block): boolean {
		if (rowsIn(block) < 2 || !this.#sheet().editable) return false;
		const nodes = this.#rowsFrom(block.top, block.bottom)
			.map(({ node }) => node)
			.filter((node) => node.selectable);
		const first = nodes[0];
		if (!first) return false;
		this.#api.setNodesSelected({ nodes, newValue: !nodes.every((node) => node.isSelected()) });
		return true;
	}

	#newRow(kind: 'duplicate' | 'insert', active: Spot): boolean {
		const { duplicate, insert } = this.#sheet();
		const row = this.#rowsFrom(active.row, active.row)[0]?.row;
		if (!row) return false;
		if (kind === 'duplicate') {
			if (!duplicate) return false;
			duplicate(row);
			return true;
		}
		if (!insert) return false;
		insert(row, this.#rowsFrom(active.row - 1, active.row - 1)[0]?.row ?? null);
		return true;
	}

	/* ---- mouse ---- */

	#cellAt(target: EventTarget | null): { row: number; colId: string } | null {
		if (!(target instanceof Element)) return null;
		const cell = target.closest('.ag-cell');
		const row = cell?.closest('.ag-row')?.getAttribute('row-index');
		const colId = cell?.getAttribute('col-id');
		if (row === null || row === undefined || !colId) return null;
		return { row: Number(row), colId };
	}

	/** The heading whose lower edge lies under the pointer. */
	#gripAt(event: MouseEvent): string | null {
		if (!(event.target instanceof Element)) return null;
		if (event.target.closest('.ag-header-cell-resize, .ag-header-cell-filter-button, .heading-ask'))
			return null;
		const heading = event.target.closest('.ag-header-cell.heading-grip');
		if (!heading) return null;
		const fromBottom = heading.getBoundingClientRect().bottom - event.clientY;
		return fromBottom <= HEADING_GRIP_PX ? heading.getAttribute('col-id') : null;
	}

	readonly #onClick = (event: MouseEvent): void => {
		// The lower edge of a heading does not sort, and a press taken here moves no focus when it ends.
		if (this.#pressTaken || this.#gripAt(event) !== null) event.stopPropagation();
		this.#pressTaken = false;
	};

	readonly #onMouseDown = (event: MouseEvent): void => {
		if (!this.#pressTaken) return;
		event.preventDefault();
		event.stopPropagation();
	};

	readonly #onPress = (event: PointerEvent): void => {
		this.#pressTaken = false;
		if (event.button !== 0 || event.pointerType === 'touch') return;
		if (!(event.target instanceof Element)) return;
		const own = () => {
			this.#pressTaken = true;
			event.stopPropagation();
		};
		if (event.target === this.#paint.handle) {
			const from = this.#block();
			if (!from) return;
			own();
			this.#startDrag({ kind: 'fill', from });
			return;
		}
		const grip = this.#gripAt(event);
		if (grip !== null) {
			own();
			this.#pressColumn(grip, event.shiftKey);
			return;
		}
		const cell = this.#cellAt(event.target);
		if (!cell) return;
		this.#entryColumn = null;
		if (cell.colId === ROW_PLACE) {
			own();
			this.#pressRow(cell.row, event.shiftKey);
			return;
		}
		const spot = this.#spotOf(cell.row, cell.colId);
		if (!spot) return;
		if (event.target.closest('.ag-cell-inline-editing')) return;
		if (event.shiftKey && this.#catchUp()) {
			own();
			if (this.#isEditing()) this.#api.stopEditing();
			this.#extendTo(spot);
			this.#startDrag({ kind: 'cells' });
			return;
		}
		this.#take(spot, spot);
		this.#startDrag({ kind: 'cells' });
	};

	#pressRow(row: number, shift: boolean): void {
		if (this.#isEditing()) this.#api.stopEditing();
		const right = this.#columns().length - 1;
		const from = shift ? (this.#anchor?.row ?? row) : row;
		const active = { row: from, column: 0 };
		this.#take(active, { row, column: right });
		this.#focusInPlace(active);
		this.#startDrag({ kind: 'rows' });
	}

	#pressColumn(colId: string, shift: boolean): void {
		if (this.#isEditing()) this.#api.stopEditing();
		const column = this.#columns().findIndex((one) => one.getColId() === colId);
		if (column < 0 || this.#lastRow() < 0) return;
		const from = shift ? (this.#anchor?.column ?? column) : column;
		const active = { row: 0, column: from };
		this.#take(active, { row: this.#lastRow(), column });
		// The keyboard follows into the grid; what is in sight stays in sight.
		const shown = Math.max(0, this.#api.getFirstDisplayedRowIndex());
		this.#active = { row: shown, column: from };
		this.#focusInPlace(this.#active);
		this.#startDrag({ kind: 'columns' });
	}

	#focusInPlace(spot: Spot): void {
		const column = this.#columns()[spot.column];
		if (column) this.#api.setFocusedCell(spot.row, column);
	}

	#startDrag(drag: Drag): void {
		this.#stopDrag();
		this.#drag = drag;
		const ends = new AbortController();
		const { signal } = ends;
		document.addEventListener('mousemove', this.#onMove, { signal });
		document.addEventListener(
			'mouseup',
			(event) => {
				ends.abort();
				this.#drop(event.ctrlKey || event.metaKey);
			},
			{ signal, capture: true },
		);
		document.addEventListener(
			'keydown',
			(event) => {
				if (event.key !== 'Escape') return;
				ends.abort();
				this.#stopDrag();
			},
			{ signal, capture: true },
		);
	}

	#stopDrag(): void {
		this.#drag = null;
		this.#growth = null;
		if (this.#scrolling) clearInterval(this.#scrolling);
		this.#scrolling = null;
		this.#draw();
	}

	#drop(copies: boolean): void {
		const drag = this.#drag;
		const growth = this.#growth;
		this.#stopDrag();
		if (drag?.kind === 'fill' && growth && cellsIn(growth) > cellsIn(drag.from))
			this.#fillOut(drag.from, growth, !copies);
	}

	readonly #onMove = (event: MouseEvent): void => {
		if (!(event.buttons & 1)) {
			this.#drop(false);
			return;
		}
		this.#pointer = { x: event.clientX, y: event.clientY };
		this.#reach();
		const box = this.#viewport()?.getBoundingClientRect();
		const outside =
			box !== undefined &&
			(this.#pull(this.#pointer.y, box.top + this.#headHeight(), box.bottom) !== 0 ||
				this.#pull(this.#pointer.x, box.left, box.right) !== 0);
		if (outside) this.#scrolling ??= setInterval(this.#scroll, SCROLL_MS);
		else if (this.#scrolling) {
			clearInterval(this.#scrolling);
			this.#scrolling = null;
		}
	};

	#viewport(): HTMLElement | null {
		return this.#root.querySelector<HTMLElement>('.ag-grid-viewport');
	}

	#headHeight(): number {
		return this.#root.querySelector('.ag-header')?.getBoundingClientRect().height ?? 0;
	}

	/** How far a place lies beyond the edges of a stretch, nearly; 0 within. */
	#pull(at: number, from: number, to: number): number {
		if (at < from) return at - from;
		return at > to - EDGE_PX ? at - (to - EDGE_PX) : 0;
	}

	readonly #scroll = (): void => {
		const viewport = this.#viewport();
		const box = viewport?.getBoundingClientRect();
		if (!viewport || !box) return;
		viewport.scrollTop +=
			this.#pull(this.#pointer.y, box.top + this.#headHeight(), box.bottom) * 1.5;
		if (this.#drag?.kind !== 'rows')
			viewport.scrollLeft += this.#pull(this.#pointer.x, box.left, box.right);
		this.#reach();
	};

	/** Lets the block, or what fills it out, reach to the cell under the pointer. */
	#reach(): void {
		const drag = this.#drag;
		if (!drag) return;
		const spot = this.#spotAt(this.#pointer.x, this.#pointer.y);
		if (!spot) return;
		if (drag.kind === 'fill') {
			this.#growth = grownTo(drag.from, spot);
			this.#draw();
		} else if (drag.kind === 'rows') this.#dragTo({ ...spot, column: this.#columns().length - 1 });
		else if (drag.kind === 'columns') this.#dragTo({ ...spot, row: this.#lastRow() });
		else this.#dragTo(spot);
	}

	#dragTo(head: Spot): void {
		if (head.row === this.#head?.row && head.column === this.#head.column) return;
		if (this.#isEditing()) this.#api.stopEditing();
		this.#take(this.#anchor, head, this.#active);
	}

	/** The cell under a point of the window, or the nearest in sight. */
	#spotAt(x: number, y: number): Spot | null {
		const viewport = this.#viewport();
		const box = viewport?.getBoundingClientRect();
		if (!viewport || !box) return null;
		const top = box.top + this.#headHeight();
		const inY = Math.max(top + 1, Math.min(box.top + viewport.clientHeight - 2, y));
		const inX = Math.max(box.left + 1, Math.min(box.left + viewport.clientWidth - 2, x));
		const height = this.#api.getDisplayedRowAtIndex(0)?.rowHeight ?? 28;
		const row = Math.floor((inY - top + viewport.scrollTop) / height);
		const columns = this.#columns();
		let pinnedWidth = 0;
		for (const column of this.#api.getDisplayedLeftColumns())
			pinnedWidth += column.getActualWidth();
		const inPinned = inX - box.left < pinnedWidth;
		const along = inPinned ? inX - box.left : inX - box.left + viewport.scrollLeft - pinnedWidth;
		let found = -1;
		for (const [at, column] of columns.entries()) {
			if ((column.getPinned() === 'left') !== inPinned) continue;
			if (found < 0 || along >= (column.getLeft() ?? 0)) found = at;
		}
		if (found < 0) return null;
		return { row: Math.max(0, Math.min(this.#lastRow(), row)), column: found };
	}

	/* ---- clipboard ---- */

	/** Whether copy and paste are meant for the cells. */
	#holdsKeyboard(): boolean {
		const at = document.activeElement;
		if (!at || !this.#root.contains(at) || !at.closest('.ag-row')) return false;
		if (document.querySelector('dialog[open]') || this.#isEditing()) return false;
		return document.getSelection()?.isCollapsed ?? true;
	}

	readonly #onClipboard = (event: ClipboardEvent): void => {
		if (event.defaultPrevented || !event.clipboardData || !this.#holdsKeyboard()) return;
		if (!this.#catchUp()) return;
		const block = this.#block();
		if (!block) return;
		event.preventDefault();
		if (event.type === 'paste') {
			this.#paste(block, event.clipboardData.getData('text/plain'));
			return;
		}
		event.clipboardData.setData('text/plain', this.#copied(block, this.#withHeadings));
		if (event.type === 'cut') this.#clear('cut', 'cut');
		else if (cellsIn(block) > 1 || this.#withHeadings) {
			const what = cellsWord(this.#rowsFrom(block.top, block.bottom).length * columnsIn(block));
			tell('info', `Copied ${what}${this.#withHeadings ? ' with headings' : ''}.`);
		}
	};

	#copied(block: Block, withHeadings: boolean): string {
		const { marks } = this.#sheet();
		const columns = this.#catalogueOf(this.#columns().slice(block.left, block.right + 1));
		const rows = this.#rowsFrom(block.top, block.bottom).map(({ row }) =>
			columns.map((column) =>
				column.id === 'flags' ? flagsText(row) : copiedText(column, row.cells[column.id], marks),
			),
		);
		return writeTsv(withHeadings ? [columns.map(copiedHeading), ...rows] : rows);
	}

	#paste(chosen: Block, text: string): void {
		const { editable, takesRows, marks } = this.#sheet();
		if (!editable) {
			tell(
				'note',
				'Nothing can be pasted here: these cells are worked out, or the project is read-only.',
			);
			return;
		}
		let pasted = readTsv(text);
		const leftOut: string[] = [];
		const rightward = this.#columns().slice(chosen.left);
		const head = pasted[0];
		if (head && isHeadingRow(head, this.#catalogueOf(rightward))) {
			pasted = pasted.slice(1);
			leftOut.push('the headings');
		}
		const wide = Math.max(0, ...pasted.map((row) => row.length));
		if (wide === 0) {
			tell('note', 'There is no text to paste.');
			return;
		}
		const target = pasteTarget(chosen, pasted.length, wide);
		const columns = this.#columns().slice(target.left, target.right + 1);
		const catalogue = this.#catalogueOf(columns);
		if (columnsIn(target) > columns.length)
			leftOut.push(`${columnsIn(target) - columns.length} columns beyond the last one`);
		const worked = catalogue.filter((column) => column.kind !== 'entered').length;
		if (worked > 0) leftOut.push(`${worked} worked-out ${worked === 1 ? 'column' : 'columns'}`);
		const edits: CellEdit[] = [];
		const added: Record<string, string>[] = [];
		const rows = this.#rowsBelow(target.top, rowsIn(target));
		for (let down = 0; down < rowsIn(target); down += 1) {
			const texts = pasted[down % pasted.length] ?? [];
			const there = rows[down];
			const fresh: Record<string, string> = {};
			for (const [right, column] of catalogue.entries()) {
				const cell = texts[right % wide];
				if (cell === undefined || column.kind !== 'entered') continue;
				const present = there?.row.cells[column.id];
				const typed = pastedText(column, cell, present, marks);
				if (there) edits.push({ row: there.row.id, column: column.id, text: typed });
				else if (typed !== '') fresh[column.id] = typed;
			}
			if (!there && Object.keys(fresh).length > 0) added.push(fresh);
		}
		const gesture: Gesture = {
			name: 'paste',
			done: 'pasted',
			edits,
			added,
			decimal: DECIMAL,
			leftOut,
		};
		const run = (what: Gesture) => {
			void this.#perform(what).then((done) => {
				if (!done) return;
				const bottom = Math.min(this.#lastRow(), target.top + rowsIn(target) - 1);
				this.#chooseAgain({ ...target, bottom, right: target.left + columns.length - 1 });
			});
		};
		if (added.length === 0) {
			run(gesture);
			return;
		}
		const many = `${added.length} ${added.length === 1 ? 'row' : 'rows'}`;
		const existing: Gesture = {
			...gesture,
			added: [],
			leftOut: [...leftOut, `${many} beyond the last one`],
		};
		if (!takesRows) {
			run(existing);
			return;
		}
		this.#sheet().ask({
			title: `${many} beyond the last one`,
			text: `What is pasted reaches ${many} beyond the end of the sheet. Add them as new rows? They are undone together with the paste.`,
			yes: `Add ${many}`,
			onYes: () => run(gesture),
			...(edits.length > 0
				? { other: { label: 'Paste without them', run: () => run(existing) } }
				: {}),
		});
	}

	/** The rows of the document from one place on, as many as wanted or there are. */
	#rowsBelow(top: number, count: number): Place[] {
		const found: Place[] = [];
		for (let at = top; at <= this.#lastRow() && found.length < count; at += 1)
			found.push(...this.#rowsFrom(at, at));
		return found;
	}

	#chooseAgain(block: Block): void {
		if (this.#api.isDestroyed()) return;
		const from = { row: block.top, column: block.left };
		this.#take(from, { row: block.bottom, column: block.right });
		this.#focusInPlace(from);
	}

	async #perform(gesture: Gesture): Promise<boolean> {
		const { perform } = this.#sheet();
		const count = cellCount(gesture);
		if (gesture.edits.length === 0) {
			tell(
				'note',
				gesture.leftOut.length > 0
					? `Nothing was ${gesture.done}: left out ${gesture.leftOut.join(', ')}.`
					: `Nothing was ${gesture.done}: there is no cell that can be changed.`,
			);
			return false;
		}
		if (count > MOST_CELLS) {
			tell(
				'stop',
				`Nothing was ${gesture.done}: ${count} cells are more than the ${MOST_CELLS} that can be changed at once.`,
			);
			return false;
		}
		return perform(gesture);
	}

	/* ---- filling and clearing ---- */

	#gesture(
		name: string,
		done: string,
		edits: readonly CellEdit[],
		leftOut: readonly string[] = [],
	): Gesture {
		return { name, done, edits, added: [], decimal: DECIMAL, leftOut };
	}

	#clear(name: string, done: string): boolean {
		const { editable, ask } = this.#sheet();
		const block = this.#block();
		// Of a single cell, and of ticked rows, the sheet itself takes care.
		if (!block || (name === 'clearing' && cellsIn(block) === 1)) return false;
		if (!editable) return true;
		const rows = this.#rowsFrom(block.top, block.bottom);
		const columns = this.#catalogueOf(this.#columns().slice(block.left, block.right + 1)).filter(
			(column) => column.kind === 'entered',
		);
		const edits = rows.flatMap(({ row }) =>
			columns
				.filter((column) => (row.cells[column.id] ?? null) !== null)
				.map((column) => ({ row: row.id, column: column.id, text: '' })),
		);
		if (edits.length === 0) return true;
		const run = () => void this.#perform(this.#gesture(name, done, edits));
		if (edits.length <= CLEARED_UNASKED) run();
		else
			ask({
				title: `Clear ${cellsWord(edits.length)}?`,
				text: `What is entered in ${cellsWord(edits.length)} is taken out. No row is deleted. Ctrl+Z brings it back.`,
				yes: `Clear ${cellsWord(edits.length)}`,
				danger: true,
				onYes: run,
			});
		return true;
	}

	#fillDown(block: Block): void {
		const from = block.top === block.bottom ? this.#dataRowAbove(block.top) : block.top;
		if (from === null) return;
		this.#fillOut({ ...block, top: from, bottom: from }, { ...block, top: from }, false);
	}

	#dataRowAbove(row: number): number | null {
		for (let at = row - 1; at >= 0; at -= 1) if (this.#rowsFrom(at, at).length > 0) return at;
		return null;
	}

	#fillRight(block: Block): void {
		const from = block.left === block.right ? block.left - 1 : block.left;
		if (from < 0) return;
		this.#fillOut({ ...block, left: from, right: from }, { ...block, left: from }, false);
	}

	/** Continues what stands at the top of the block down to its end: all up to the first gap, else its first two rows. */
	#seriesDown(block: Block): void {
		const columns = this.#catalogueOf(this.#columns().slice(block.left, block.right + 1));
		const rows = this.#rowsFrom(block.top, block.bottom);
		const entered = columns.filter((column) => column.kind === 'entered');
		const gap = rows.findIndex(({ row }) =>
			entered.some((column) => (row.cells[column.id] ?? null) === null),
		);
		const known = gap > 1 ? gap : Math.min(2, rows.length);
		const lastKnown = rows[known - 1]?.node.rowIndex;
		if (rows.length <= known || lastKnown === null || lastKnown === undefined) {
			tell('note', 'To continue a series choose the cells it begins with and those it is to fill.');
			return;
		}
		this.#fillOut({ ...block, bottom: lastKnown }, block, true);
	}

	/** Fills what a block has more than another one it grew from. */
	#fillOut(from: Block, to: Block, series: boolean): void {
		const { editable } = this.#sheet();
		if (!editable) {
			tell(
				'note',
				'Nothing can be filled here: these cells are worked out, or the project is read-only.',
			);
			return;
		}
		const down = to.bottom > from.bottom || to.top < from.top;
		const edits = down
			? this.#fillAlongColumns(from, to, series)
			: this.#fillAlongRows(from, to, series);
		void this.#perform(this.#gesture('fill', 'filled', edits)).then((done) => {
			if (done) this.#chooseAgain({ ...to, bottom: Math.min(to.bottom, this.#lastRow()) });
		});
	}

	#fillAlongColumns(from: Block, to: Block, series: boolean): CellEdit[] {
		const back = to.top < from.top;
		const known = this.#rowsFrom(from.top, from.bottom);
		const filled = back
			? this.#rowsFrom(to.top, from.top - 1).reverse()
			: this.#rowsFrom(from.bottom + 1, to.bottom);
		const columns = this.#catalogueOf(this.#columns().slice(to.left, to.right + 1));
		return columns
			.filter((column) => column.kind === 'entered')
			.flatMap((column) => {
				const values = known.map(({ row }) => row.cells[column.id] ?? null);
				const next = continueCells<CellValue>(values, filled.length, { back, series });
				return filled.map(({ row }, at) => this.#filling(row, column, next[at] ?? null));
			});
	}

	#fillAlongRows(from: Block, to: Block, series: boolean): CellEdit[] {
		const back = to.left < from.left;
		const shown = this.#columns();
		const known = this.#catalogueOf(shown.slice(from.left, from.right + 1));
		const filled = this.#catalogueOf(
			back ? shown.slice(to.left, from.left).reverse() : shown.slice(from.right + 1, to.right + 1),
		);
		// Between columns of different units a step means nothing: there values are only repeated.
		const alike = new Set([...known, ...filled].map((column) => `${column.type} ${column.unit}`));
		const byStep = series && alike.size === 1;
		return this.#rowsFrom(to.top, to.bottom).flatMap(({ row }) => {
			const values = known.map((column) => row.cells[column.id] ?? null);
			const next = continueCells<CellValue>(values, filled.length, { back, series: byStep });
			return filled.flatMap((column, at) => {
				const source = known[at % known.length];
				const fits =
					column.kind === 'entered' && (column.type === 'time') === (source?.type === 'time');
				return fits ? [this.#filling(row, column, next[at] ?? null)] : [];
			});
		});
	}

	#filling(row: SheetRow, column: Column, value: CellValue): CellEdit {
		return { row: row.id, column: column.id, text: editText(column, value, this.#sheet().marks) };
	}
}
