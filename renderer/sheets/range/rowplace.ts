import type { ColDef } from 'ag-grid-community';
import type { CellValue, SheetRow } from '../../../calc/sheet/column.ts';
import { isGroupLine } from '../arrange/groupline.ts';

/** Id of the column that says at which place a row stands; it is no column of the document. */
export const ROW_PLACE = 'row-place';

/** The place of each row on screen, from 1; pressing it chooses the row. */
export const ROW_PLACE_COLUMN: ColDef<SheetRow, CellValue> = {
	colId: ROW_PLACE,
	headerName: '',
	headerTooltip: 'Place of the row on screen; press it to choose the whole row.',
	valueGetter: ({ data, node }) =>
		isGroupLine(data) || node?.rowIndex == null ? null : node.rowIndex + 1,
	cellClass: 'row-place',
	pinned: 'left',
	lockPinned: true,
	lockPosition: 'left',
	suppressMovable: true,
	suppressNavigable: true,
	suppressHeaderKeyboardEvent: () => true,
	sortable: false,
	resizable: false,
	filter: false,
	editable: false,
	width: 46,
	minWidth: 46,
};
