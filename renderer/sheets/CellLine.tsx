import { CircleHelp, Sigma, SquarePen, TriangleAlert } from 'lucide-react';
import type { SheetId } from '../../calc/sheet/column.ts';
import { useDeskStore, useDeskValue, useDocument, useSelection } from '../desk/desk.tsx';
import { DECIMAL } from '../look/marks.ts';
import { Button } from '../parts/Button.tsx';
import { BLANK, editText, reasonsOf, shownText, unitLabel } from './celltext.ts';
import { outsideWords } from './limits/columnlimits.ts';
import { useLimits } from './limits/held.ts';
import { useOwnColumns } from './owncolumns/held.ts';
import { columnHere } from './owncolumns/owncolumn.ts';

export interface CellLineProps {
	readonly sheet: SheetId;
	/** Given where the sheet's computed cells can be asked how they came about. */
	readonly onHow?: (row: number, column: string) => void;
}

/**
 * The cell in hand in one line: what it is, its value, whether entered, computed or missing, and why.
 * It says for the keyboard what hovering says for the mouse.
 */
export function CellLine({ sheet, onHow }: CellLineProps) {
	const store = useDeskStore();
	const selection = useSelection();
	const own = useOwnColumns(sheet);
	const limits = useLimits(sheet);
	const document = useDocument();
	useDeskValue((view) => view.sheets[sheet].version);
	const row =
		selection.sheet === sheet && selection.row !== null
			? store.rowsOf(sheet).get(selection.row)
			: undefined;
	const column = selection.column === null ? undefined : columnHere(sheet, selection.column, own);
	if (!row || !column || !document) {
		return (
			<p className="cell-line cell-line-idle">
				Choose a cell: its value, where it comes from and what is to be said about it stand here.
			</p>
		);
	}
	const marks = { decimal: DECIMAL, utcOffset_min: document.utcOffset_min };
	const value = row.cells[column.id];
	const missing = value === null || value === undefined;
	const reasons = reasonsOf(row.flags, column.id);
	const unit = unitLabel(column);
	const outside = outsideWords(column, value, limits.get(column.id), marks);
	const shown = shownText(column, value, marks);
	const full =
		column.type === 'number' && column.kind === 'entered' ? editText(column, value, marks) : shown;
	return (
		<div className="cell-line" aria-live="polite">
			<strong>{column.heading}</strong>
			<span className="cell-line-value">
				{missing ? BLANK : full}
				{!missing && unit ? ` ${unit}` : ''}
			</span>
			<span className="cell-line-kind">
				{missing ? (
					<TriangleAlert size={14} aria-hidden />
				) : column.kind === 'computed' ? (
					<Sigma size={14} aria-hidden />
				) : (
					<SquarePen size={14} aria-hidden />
				)}
				{missing ? 'missing' : column.kind}
			</span>
			{column.kind === 'computed' && onHow && (
				<Button tone="quiet" icon={CircleHelp} onClick={() => onHow(row.id, column.id)}>
					How?
				</Button>
			)}
			{outside !== null && (
				<span className="cell-line-outside">
					<TriangleAlert size={14} aria-hidden />
					{outside}
				</span>
			)}
			<span className="cell-line-why" title={reasons.join('\n') || column.help}>
				{reasons.length > 0 ? reasons.join(' · ') : column.help}
			</span>
		</div>
	);
}
