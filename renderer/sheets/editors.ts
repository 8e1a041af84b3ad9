import type { ICellEditorComp, ICellEditorParams } from 'ag-grid-community';
import type { CellValue, Column, SheetRow } from '../../calc/sheet/column.ts';
import { choiceWords, completeTime, editText, type Marks } from './celltext.ts';

/** A refused entry, kept for correction. */
export interface KeptEntry {
	readonly row: number;
	readonly column: string;
	readonly text: string;
}

/** What the grid hands its editors besides the cell. */
export interface SheetContext {
	marks: Marks;
	/** The last refused entry, put back into the editor when its cell is opened again. */
	kept: KeptEntry | null;
	/** Hands an entry to the desk; told once it is answered, before a refusal is shown. */
	commit: (row: number, column: string, text: string, onAnswer?: () => void) => void;
	/** The editor that waits for its changed row before the grid moves on. */
	waiting: { readonly row: number; readonly leave: () => void } | null;
	/** The cell just left for the answer's sake; what the grid tells of its end says nothing new. */
	left: { readonly row: number; readonly column: string } | null;
	/** Where Enter and Tab lead within chosen cells, or after a row of entries. */
	hands: {
		readonly leads: (key: string) => boolean;
		readonly goOn: (key: string, back: boolean) => void;
	} | null;
}

type Params = ICellEditorParams<SheetRow, CellValue, SheetContext> & {
	readonly catalogueColumn: Column;
};

/** An answer that takes longer than this comes after the move. */
const LONGEST_WAIT_MS = 60;

/** The key once more, for whoever it is meant for. */
const sameKey = (event: KeyboardEvent): KeyboardEvent =>
	new KeyboardEvent('keydown', {
		key: event.key,
		code: event.code,
		shiftKey: event.shiftKey,
		ctrlKey: event.ctrlKey,
		altKey: event.altKey,
		metaKey: event.metaKey,
		bubbles: true,
		cancelable: true,
	});

/**
 * Ends editing and steps one row on, where that row is in sight. What the grid does after Enter is the
 * same, but it asks for the layout twice more; false: it is left to do so.
 */
function steppedInSight({ api, node, column }: Params, up: boolean): boolean {
	if (node.rowIndex === null) return false;
	const index = node.rowIndex + (up ? -1 : 1);
	const next = api.getDisplayedRowAtIndex(index);
	if (!next || next.rowTop === null) return false;
	const { top, bottom } = api.getVerticalPixelRange();
	if (next.rowTop < top || next.rowTop + (next.rowHeight ?? 0) > bottom) return false;
	api.stopEditing();
	api.setFocusedCell(index, column);
	return true;
}

const isPrintable = (key: string | null): key is string => key !== null && [...key].length === 1;

/**
 * Text as typed for every column but choices. The desk reads it; the editor only keeps it. A
 * printable key replaces what stood there, Backspace and Delete clear it, Enter and F2 keep it.
 */
export class TypedEditor implements ICellEditorComp<SheetRow, CellValue, SheetContext> {
	readonly #input = document.createElement('input');
	#initial = '';
	#selectAll = true;
	#committed = false;
	/** Moves on to the next cell, while that is still to be done. */
	#leave: (() => void) | null = null;
	#params!: Params;

	init(params: Params): void {
		this.#params = params;
		const { catalogueColumn: column, context } = params;
		this.#initial = editText(column, params.value, context.marks);
		const kept = context.kept;
		const isKept = kept !== null && kept.row === params.data.id && kept.column === column.id;
		let text = this.#initial;
		if (isKept) {
			text = kept.text;
			context.kept = null;
		} else if (isPrintable(params.eventKey)) {
			text = params.eventKey;
			this.#selectAll = false;
		} else if (params.eventKey === 'Backspace' || params.eventKey === 'Delete') text = '';
		this.#input.type = 'text';
		this.#input.className = 'cell-editor';
		this.#input.autocomplete = 'off';
		this.#input.spellcheck = false;
		this.#input.setAttribute('aria-label', column.heading);
		if (isKept) this.#input.setAttribute('aria-invalid', 'true');
		if (column.type === 'number' || column.type === 'integer') {
			this.#input.inputMode = 'decimal';
			this.#input.classList.add('cell-editor-number');
		}
		this.#input.value = text;
		this.#input.addEventListener('keydown', (event) => this.#hearKey(event));
	}

	/**
	 * The grid tells of an entry only after it has moved on and painted. Here the entry goes to the desk
	 * first, and after Enter the move waits a moment for the answer: what follows from the entry is
	 * painted first, the move a frame later. Whoever types on meanwhile is not held up.
	 */
	#hearKey(event: KeyboardEvent): void {
		if (event.isComposing) return;
		if (this.#leave) {
			event.preventDefault();
			event.stopPropagation();
			this.#leave();
			document.activeElement?.dispatchEvent(sameKey(event));
			return;
		}
		if (event.key !== 'Enter' && event.key !== 'Tab') return;
		const { api, catalogueColumn, context, data } = this.#params;
		const led = context.hands?.leads(event.key) ?? false;
		const unchanged = this.#committed || this.#input.value === this.#initial;
		if (unchanged) {
			if (!led) return;
			event.preventDefault();
			event.stopPropagation();
			api.stopEditing();
			context.hands?.goOn(event.key, event.shiftKey);
			return;
		}
		this.#committed = true;
		if (event.key === 'Enter' || led) {
			event.preventDefault();
			event.stopPropagation();
			const timer = setTimeout(() => this.#leave?.(), LONGEST_WAIT_MS);
			this.#leave = () => {
				this.#leave = null;
				context.waiting = null;
				clearTimeout(timer);
				context.left = { row: data.id, column: catalogueColumn.id };
				if (led) {
					api.stopEditing();
					context.hands?.goOn(event.key, event.shiftKey);
				} else if (!steppedInSight(this.#params, event.shiftKey))
					this.#input.dispatchEvent(sameKey(event));
			};
			context.waiting = { row: data.id, leave: () => this.#leave?.() };
		}
		context.commit(data.id, catalogueColumn.id, this.getValue(), () => this.#leave?.());
	}

	destroy(): void {
		this.#leave = null;
	}

	getGui(): HTMLElement {
		return this.#input;
	}

	afterGuiAttached(): void {
		if (!this.#params.cellStartedEdit) return;
		this.#input.focus();
		if (this.#selectAll) this.#input.select();
		else this.#input.setSelectionRange(this.#input.value.length, this.#input.value.length);
	}

	focusIn(): void {
		this.#input.focus();
		this.#input.select();
	}

	/** Nothing is left for the grid to tell of what was not changed or is with the desk already. */
	isCancelAfterEnd(): boolean {
		return this.#committed || this.#input.value === this.#initial;
	}

	getValue(): string {
		const { catalogueColumn: column, value, context } = this.#params;
		if (column.type !== 'time') return this.#input.value;
		return completeTime(this.#input.value, typeof value === 'number' ? value : null, context.marks);
	}
}

/** One of a few words: arrows or first letters, Enter takes it. */
export class ChoiceEditor implements ICellEditorComp<SheetRow, CellValue, SheetContext> {
	readonly #list = document.createElement('div');
	#choices: readonly string[] = [];
	#at = 0;
	#initial: CellValue | undefined;

	init(params: Params): void {
		const column = params.catalogueColumn;
		this.#choices = column.choices ?? [];
		this.#initial = params.value ?? null;
		this.#at = Math.max(0, this.#choices.indexOf(String(params.value ?? '')));
		this.#list.className = 'choice-editor';
		this.#list.tabIndex = -1;
		this.#list.setAttribute('role', 'listbox');
		this.#list.setAttribute('aria-label', column.heading);
		for (const [index, choice] of this.#choices.entries()) {
			const option = document.createElement('div');
			option.setAttribute('role', 'option');
			option.id = `choice-${column.id}-${choice}`;
			option.textContent = choiceWords(choice);
			option.addEventListener('pointerdown', (event) => {
				event.preventDefault();
				this.#move(index);
				params.stopEditing();
			});
			this.#list.append(option);
		}
		this.#list.addEventListener('keydown', (event) => {
			const count = this.#choices.length;
			if (event.key === 'ArrowDown') this.#move((this.#at + 1) % count);
			else if (event.key === 'ArrowUp') this.#move((this.#at - 1 + count) % count);
			else if (isPrintable(event.key) && !event.ctrlKey && !event.metaKey) this.#letter(event.key);
			else return;
			event.preventDefault();
			event.stopPropagation();
		});
		if (isPrintable(params.eventKey)) this.#letter(params.eventKey);
		this.#move(this.#at);
	}

	#letter(letter: string): void {
		const count = this.#choices.length;
		for (let step = 1; step <= count; step += 1) {
			const index = (this.#at + step) % count;
			if (this.#choices[index]?.startsWith(letter.toLowerCase())) {
				this.#move(index);
				return;
			}
		}
	}

	#move(to: number): void {
		this.#at = to;
		for (const [index, option] of [...this.#list.children].entries()) {
			option.setAttribute('aria-selected', String(index === to));
			if (index === to) this.#list.setAttribute('aria-activedescendant', option.id);
		}
	}

	getGui(): HTMLElement {
		return this.#list;
	}

	afterGuiAttached(): void {
		this.#list.focus();
	}

	focusIn(): void {
		this.#list.focus();
	}

	isPopup(): boolean {
		return true;
	}

	getPopupPosition(): 'under' {
		return 'under';
	}

	isCancelAfterEnd(): boolean {
		return this.#choices[this.#at] === this.#initial;
	}

	getValue(): string {
		return this.#choices[this.#at] ?? '';
	}
}
