import type { ColDef, GridApi, GridOptions } from 'ag-grid-community';
import type { CellValue, SheetRow } from '../../../calc/sheet/column.ts';

/** What is put around the grid of a sheet: columns that are not the sheet's own, what it asks, its api. */
export interface GridParts {
	/** Stand before the columns of the sheet. */
	readonly columns: readonly ColDef<SheetRow, CellValue>[];
	readonly options: Pick<
		GridOptions<SheetRow>,
		| 'postSortRows'
		| 'alwaysPassFilter'
		| 'isExternalFilterPresent'
		| 'doesExternalFilterPass'
		| 'rowClassRules'
	>;
	/** Called once the grid stands, before its first rows are drawn. */
	readonly onApi: (api: GridApi<SheetRow>) => void;
}
