import { useMemo } from 'react';
import type { Column, SheetId } from '../../../calc/sheet/column.ts';
import { useSheetRows } from '../../desk/desk.tsx';
import { asColumn, type OwnColumn, ownColumnsOf } from './owncolumn.ts';

/** The own columns of a sheet as the document has them now; the same list until they change. */
export function useOwnColumns(sheet: SheetId): readonly OwnColumn[] {
	const rows = useSheetRows('formulas');
	return useMemo(() => ownColumnsOf(sheet, rows), [sheet, rows]);
}

/** The same as the grid takes them. */
export function useOwnGridColumns(sheet: SheetId): readonly Column[] {
	const own = useOwnColumns(sheet);
	return useMemo(() => own.map(asColumn), [own]);
}
