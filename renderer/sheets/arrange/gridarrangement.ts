import type { ColDef, ColumnState, FilterModel, GridApi } from 'ag-grid-community';
import type { CellValue, Column, SheetRow } from '../../../calc/sheet/column.ts';
import type { Arrangement } from './arrangement.ts';
import { GROUP_COLUMN } from './rowview.ts';

type Api = GridApi<SheetRow>;

/** The sheet's own columns in the grid, in the order they have of themselves. */
export function gridColumns(api: Api): readonly Column[] {
	return (api.getColumnDefs() ?? []).flatMap((def) => {
		const params = (def as ColDef<SheetRow, CellValue>).cellEditorParams as
			| { readonly catalogueColumn?: Column }
			| undefined;
		return params?.catalogueColumn ? [params.catalogueColumn] : [];
	});
}

/** Arranges the grid. Columns that are not the sheet's (ticks, marks, groups) stay where they stand. */
export function arrangeGrid(api: Api, arrangement: Arrangement): void {
	const known = new Set(arrangement.columns.map(({ id }) => id));
	const state: ColumnState[] = api
		.getColumnState()
		.filter(({ colId }) => !known.has(colId))
		.map(({ colId }) => ({
			colId,
			...(colId === GROUP_COLUMN ? { hide: arrangement.groupBy === null } : {}),
		}));
	for (const [index, { id, hidden, width }] of arrangement.columns.entries()) {
		const def = api.getColumnDef<CellValue>(id);
		const sorted = arrangement.sort.findIndex((one) => one.id === id);
		const flex = width === null ? (def?.initialFlex ?? null) : null;
		const own = width ?? def?.initialWidth ?? null;
		state.push({
			colId: id,
			hide: hidden,
			pinned: index < arrangement.frozen ? 'left' : null,
			flex,
			...(own === null ? {} : { width: own }),
			sort: arrangement.sort[sorted]?.way ?? null,
			sortIndex: sorted < 0 ? null : sorted,
		});
	}
	api.applyColumnState({ state, applyOrder: true });
	const now = JSON.stringify(api.getFilterModel());
	if (now !== JSON.stringify(arrangement.filters)) {
		api.setFilterModel(arrangement.filters as FilterModel);
	}
}

/** How the grid is arranged now; what it does not know itself (groups, marked rows) is taken from `before`. */
export function arrangementOf(api: Api, before: Arrangement): Arrangement {
	const known = new Set(gridColumns(api).map(({ id }) => id));
	const state = api.getColumnState().filter(({ colId }) => known.has(colId));
	const ordered = [
		...state.filter(({ pinned }) => pinned === 'left'),
		...state.filter(({ pinned }) => pinned !== 'left'),
	];
	const sorted = state
		.filter(({ sort }) => sort === 'asc' || sort === 'desc')
		.sort((a, b) => (a.sortIndex ?? 0) - (b.sortIndex ?? 0));
	return {
		...before,
		columns: ordered.map(({ colId, hide, width, flex }) => {
			const own = api.getColumnDef<CellValue>(colId)?.initialWidth;
			const asOwn = (flex ?? null) !== null || width === undefined || width === own;
			return { id: colId, hidden: hide === true, width: asOwn ? null : width };
		}),
		frozen: state.filter(({ pinned }) => pinned === 'left').length,
		sort: sorted.map(({ colId, sort }) => ({ id: colId, way: sort === 'desc' ? 'desc' : 'asc' })),
		filters: api.getFilterModel(),
	};
}
