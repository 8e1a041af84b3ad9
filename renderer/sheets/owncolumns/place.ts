import type { ColumnState, GridApi } from 'ag-grid-community';
import type { SheetRow } from '../../../calc/sheet/column.ts';
import { REMARKS } from '../columndefs.ts';

/** The columns in their order with one brought to its place: before the remarks, as all own columns stand. */
export function orderedWith(state: readonly ColumnState[], id: string): readonly ColumnState[] {
	const moved = state.find((column) => column.colId === id);
	if (!moved) return state;
	const rest = state.filter((column) => column !== moved);
	const at = rest.findIndex((column) => REMARKS.has(column.colId));
	return at < 0 ? [...rest, moved] : [...rest.slice(0, at), moved, ...rest.slice(at)];
}

/** Brings a new column to its place and into sight. */
export function showNewColumn(api: GridApi<SheetRow>, id: string): void {
	if (api.isDestroyed() || !api.getColumn(id)) return;
	api.applyColumnState({ state: [...orderedWith(api.getColumnState(), id)], applyOrder: true });
	api.ensureColumnVisible(id, 'middle');
}
