import type { ExportForm } from '../contract/sheetexchange.ts';
import type { SheetTable } from './exportcolumns.ts';
import { csvOf } from './writecsv.ts';
import { parquetOf } from './writeparquet.ts';
import { workbookOf } from './writeworkbook.ts';

/** A sheet as the bytes of a file. */
export async function sheetBytes(table: SheetTable, form: ExportForm): Promise<Uint8Array> {
	switch (form) {
		case 'csv':
			return csvOf(table);
		case 'xlsx':
			return workbookOf(table);
		case 'parquet':
			return parquetOf(table);
	}
}
