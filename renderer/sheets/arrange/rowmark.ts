import type { ColDef } from 'ag-grid-community';
import type { CellValue, SheetRow } from '../../../calc/sheet/column.ts';
import { isGroupLine } from './groupline.ts';

export const MARK_COLUMN = 'row_mark';

/** What a row is marked for: a figure of it is blank for a reason, or something is to be said about one. */
export type RowMark = 'blank' | 'note';

/** Whether a column is one of the sheet as it is on screen. */
export type HasColumn = (id: string) => boolean;

/**
 * The mark of a row; null where there is nothing to be said. A blank figure goes before a note. What is
 * said of columns the sheet does not have is left out: no one could find it.
 */
export function markOf(row: SheetRow | undefined, has: HasColumn): RowMark | null {
	if (row?.flags === undefined || isGroupLine(row)) return null;
	let mark: RowMark | null = null;
	for (const id in row.flags) {
		if ((row.flags[id]?.length ?? 0) === 0 || !has(id)) continue;
		if (id !== 'flags' && (row.cells[id] ?? null) === null) return 'blank';
		mark = 'note';
	}
	return mark;
}

const RANK = { blank: 0, note: 1 } as const;
const rank = (mark: unknown): number => (mark === 'blank' || mark === 'note' ? RANK[mark] : 2);

const WORDS = { blank: 'figure missing', note: 'note' } as const;

/** All that is said about a row, column by column. */
function reasonsOfRow(
	row: SheetRow | undefined,
	heading: (id: string) => string | undefined,
): string | null {
	if (row?.flags === undefined || isGroupLine(row)) return null;
	const lines = Object.entries(row.flags).flatMap(([id, reasons]) => {
		const words = heading(id);
		if (words === undefined) return [];
		return reasons.map((reason) => (id === 'flags' ? reason : `${words}: ${reason}`));
	});
	return lines.length === 0 ? null : [...new Set(lines)].join('\n');
}

/** A narrow column at the left that shows by shape, and tells screen readers in words, which rows to look at. */
export function markColumn(
	heading: (id: string) => string | undefined,
): ColDef<SheetRow, CellValue> {
	const has = (id: string) => heading(id) !== undefined;
	return {
		colId: MARK_COLUMN,
		headerName: 'Remarks',
		headerTooltip:
			'Rows of which something is to be said. Square: a figure is missing for a stated reason. Triangle: a note to a figure.',
		headerClass: 'heading-mark',
		valueGetter: (params) => markOf(params.data, has),
		valueFormatter: ({ value }) => (value === 'blank' || value === 'note' ? WORDS[value] : ''),
		tooltipValueGetter: (params) => reasonsOfRow(params.data, heading),
		comparator: (a, b) => rank(a) - rank(b),
		cellClass: 'row-mark',
		cellClassRules: {
			'row-mark-blank': (params) => params.value === 'blank',
			'row-mark-note': (params) => params.value === 'note',
		},
		initialPinned: 'left',
		lockPinned: true,
		lockPosition: 'left',
		width: 30,
		minWidth: 30,
		resizable: false,
		suppressMovable: true,
	};
}
