import type { GridApi, Column as GridColumn } from 'ag-grid-community';
import type { SheetRow } from '../../../calc/sheet/column.ts';
import type { Block } from './block.ts';

/** A layer of marks over the rows: one that scrolls with the columns, one that stays with the pinned ones. */
interface Layer {
	readonly box: HTMLDivElement;
	readonly block: HTMLDivElement;
	readonly growth: HTMLDivElement;
}

function element(name: string, into: Element): HTMLDivElement {
	const made = document.createElement('div');
	made.className = name;
	made.setAttribute('aria-hidden', 'true');
	into.append(made);
	return made;
}

/**
 * Draws the chosen cells over the grid with a few boxes that lie among its rows and scroll with them:
 * no cell is drawn anew for it, however many are chosen.
 */
export class RangePaint {
	readonly #api: GridApi<SheetRow>;
	readonly #root: HTMLElement;
	#layers: { readonly scrolling: Layer; readonly pinned: Layer } | null = null;
	/** The dot at the last cell by which a block is dragged out. */
	readonly handle = document.createElement('div');
	#marked: Element[] = [];

	constructor(api: GridApi<SheetRow>, root: HTMLElement) {
		this.#api = api;
		this.#root = root;
		this.handle.className = 'range-handle';
		this.handle.title =
			'Drag to fill: a series from two or more numbers or times, with Ctrl copies';
		this.handle.setAttribute('aria-hidden', 'true');
	}

	#standing(): { readonly scrolling: Layer; readonly pinned: Layer } | null {
		const rows = this.#root.querySelector('.ag-grid-scrolling-container');
		if (!rows) return null;
		if (this.#layers?.scrolling.box.parentElement === rows) return this.#layers;
		this.#remove();
		const layer = (name: string): Layer => {
			const box = element(`range-layer ${name}`, rows);
			return {
				box,
				block: element('range-block', box),
				growth: element('range-growth', box),
			};
		};
		this.#layers = {
			pinned: layer('range-layer-pinned'),
			scrolling: layer('range-layer-scrolling'),
		};
		return this.#layers;
	}

	/**
	 * @param block the chosen cells, null for none
	 * @param growth what dragging the handle would make of them
	 * @param handled whether the block can be dragged out
	 */
	draw(
		columns: readonly GridColumn[],
		block: Block | null,
		growth: Block | null,
		handled: boolean,
	): void {
		const layers = this.#standing();
		if (!layers) return;
		const many = block !== null && (block.top < block.bottom || block.left < block.right);
		for (const pinned of [true, false]) {
			const layer = pinned ? layers.pinned : layers.scrolling;
			this.#place(layer.block, columns, block, pinned);
			layer.block.dataset.many = String(many);
			this.#place(layer.growth, columns, growth, pinned);
		}
		const last = block === null ? undefined : columns[block.right];
		if (handled && block !== null && last) {
			const layer = last.getPinned() === 'left' ? layers.pinned : layers.scrolling;
			const below = this.#bottomOf(block.bottom);
			this.handle.style.left = `${this.#leftOf(last) + last.getActualWidth()}px`;
			this.handle.style.top = `${below}px`;
			if (this.handle.parentElement !== layer.box) layer.box.append(this.handle);
		} else this.handle.remove();
	}

	#bottomOf(row: number): number {
		const node = this.#api.getDisplayedRowAtIndex(row);
		return (node?.rowTop ?? 0) + (node?.rowHeight ?? 0);
	}

	/** Columns of the scrolling part begin where the pinned ones end. */
	#leftOf(column: GridColumn): number {
		const left = column.getLeft() ?? 0;
		if (column.getPinned() === 'left') return left;
		return left + this.#pinnedWidth();
	}

	#pinnedWidth(): number {
		let width = 0;
		for (const column of this.#api.getDisplayedLeftColumns()) width += column.getActualWidth();
		return width;
	}

	#place(
		box: HTMLDivElement,
		columns: readonly GridColumn[],
		block: Block | null,
		pinned: boolean,
	): void {
		const there =
			block === null
				? []
				: columns
						.slice(block.left, block.right + 1)
						.filter((column) => (column.getPinned() === 'left') === pinned);
		const first = there[0];
		const last = there.at(-1);
		const top = block === null ? null : this.#api.getDisplayedRowAtIndex(block.top)?.rowTop;
		if (block === null || !first || !last || top === null || top === undefined) {
			box.style.display = 'none';
			return;
		}
		const left = this.#leftOf(first);
		box.style.display = 'block';
		box.style.left = `${left}px`;
		box.style.top = `${top}px`;
		box.style.width = `${this.#leftOf(last) + last.getActualWidth() - left}px`;
		box.style.height = `${this.#bottomOf(block.bottom) - top}px`;
		// One frame around a block that lies on both sides of the pinned edge.
		box.dataset.from = String(first === columns[block.left]);
		box.dataset.to = String(last === columns[block.right]);
	}

	/** Says of the cells on screen which are chosen, for those who hear the grid. */
	mark(columns: readonly GridColumn[], block: Block | null): void {
		for (const cell of this.#marked) cell.removeAttribute('aria-selected');
		this.#marked = [];
		if (block === null) return;
		const ids = new Set(
			columns.slice(block.left, block.right + 1).map((column) => column.getColId()),
		);
		for (const row of this.#root.querySelectorAll('.ag-row')) {
			const at = Number(row.getAttribute('row-index'));
			if (!(at >= block.top && at <= block.bottom)) continue;
			for (const cell of row.querySelectorAll('.ag-cell')) {
				if (!ids.has(cell.getAttribute('col-id') ?? '')) continue;
				cell.setAttribute('aria-selected', 'true');
				this.#marked.push(cell);
			}
		}
	}

	#remove(): void {
		this.#layers?.scrolling.box.remove();
		this.#layers?.pinned.box.remove();
		this.#layers = null;
	}

	end(): void {
		this.#remove();
	}
}
