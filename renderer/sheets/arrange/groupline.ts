import type { SheetRow } from '../../../calc/sheet/column.ts';
import type { GroupFigure } from '../../../calc/sheet/grouptotals.ts';

/**
 * The line above the rows of one group. It stands among the rows of the grid, but it is no row of the
 * document: its id is negative, nothing of it can be edited, and its cells are what is said of the group.
 */
export interface GroupLine extends SheetRow {
	readonly groupLine: {
		readonly key: string;
		readonly title: string;
		/** Rows of the group that pass the filters. */
		readonly count: number;
		readonly open: boolean;
		/** How the figure of a column came about; a column without one has none. */
		readonly figures: Readonly<Record<string, GroupFigure>>;
	};
}

/** Whether what the grid shows in a row is the line of a group instead of a row of the document. */
export function isGroupLine(row: SheetRow | undefined): row is GroupLine {
	return row !== undefined && 'groupLine' in row;
}

const SIGN = { sum: 'Σ', mean: 'x̄', ratio: '' } as const;

/** Sign that stands before the figure of a group. */
export function groupSign(line: GroupLine, columnId: string): string {
	const figure = line.groupLine.figures[columnId];
	return figure === undefined ? '' : SIGN[figure.how];
}

/** The figure of a group in words: how it was made, and of how many rows. */
export function groupFigureWords(line: GroupLine, columnId: string): string | null {
	const figure = line.groupLine.figures[columnId];
	if (figure === undefined) return null;
	const { how, of, missing } = figure;
	const made =
		how === 'sum'
			? `Sum of ${of} rows`
			: how === 'mean'
				? `Mean of ${of} rows`
				: `Ratio of the sums of ${of} rows`;
	return missing === 0 ? made : `${made}; ${missing} without a figure are not in it`;
}
