import { useMemo } from 'react';
import type { SheetId } from '../../../calc/sheet/column.ts';
import { useSheetRows } from '../../desk/desk.tsx';
import { useOwnColumns } from '../owncolumns/held.ts';
import { columnHere } from '../owncolumns/owncolumn.ts';
import { limitsOf, type SheetLimits } from './columnlimits.ts';

/** The limits of a sheet's columns as the document has them now; the same map until they change. */
export function useLimits(sheet: SheetId): SheetLimits {
	const rows = useSheetRows('limits');
	const own = useOwnColumns(sheet);
	return useMemo(
		() => limitsOf(sheet, rows, (id) => columnHere(sheet, id, own)),
		[sheet, rows, own],
	);
}
