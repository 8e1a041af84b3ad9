import type { IHeaderParams, IInnerHeaderComponent } from 'ag-grid-community';

/** Asked of the window by the question mark of a heading; `detail` is the column's id. */
export const COLUMN_HELP_EVENT = 'column-help';

/**
 * Heading in the trade's words with the unit on a second line, and a question mark for the mouse: the
 * keyboard asks with Shift+F1, so the mark is no stop on its way.
 */
export class ColumnHeading implements IInnerHeaderComponent {
	readonly #box = document.createElement('span');

	init(params: IHeaderParams & { unit?: string; kind?: string }): void {
		this.#box.className = 'heading';
		const words = document.createElement('span');
		words.className = 'heading-words';
		words.textContent = params.displayName;
		const unit = document.createElement('span');
		unit.className = 'heading-unit';
		unit.textContent = params.unit ?? '';
		this.#box.append(words, unit, askMark(params));
	}

	getGui(): HTMLElement {
		return this.#box;
	}

	refresh(): boolean {
		return false;
	}
}

function askMark(params: IHeaderParams): HTMLElement {
	const ask = document.createElement('span');
	ask.className = 'heading-ask';
	ask.textContent = '?';
	ask.title = `About ${params.displayName} (Shift+F1)`;
	ask.ariaHidden = 'true';
	// Not a sort, not the beginning of a drag.
	for (const kind of ['pointerdown', 'mousedown', 'touchstart', 'dblclick'] as const) {
		ask.addEventListener(kind, (event) => event.stopPropagation());
	}
	ask.addEventListener('click', (event) => {
		event.stopPropagation();
		ask.dispatchEvent(
			new CustomEvent(COLUMN_HELP_EVENT, { bubbles: true, detail: params.column.getColId() }),
		);
	});
	return ask;
}
