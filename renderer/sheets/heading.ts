import type { IHeaderParams, IInnerHeaderComponent } from 'ag-grid-community';

/** Heading in the trade's words with the unit on a second line. */
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
		this.#box.append(words, unit);
	}

	getGui(): HTMLElement {
		return this.#box;
	}

	refresh(): boolean {
		return false;
	}
}
