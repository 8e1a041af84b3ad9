import { Sigma } from 'lucide-react';
import { useCallback } from 'react';
import type { Column, SheetId } from '../../../calc/sheet/column.ts';
import { useDocument } from '../../desk/desk.tsx';
import { Button } from '../../parts/Button.tsx';
import type { Marks } from '../celltext.ts';
import { takesLimits } from '../limits/columnlimits.ts';
import { useLimits } from '../limits/held.ts';
import { LimitsForm } from '../limits/LimitsForm.tsx';
import { useOwnColumns } from '../owncolumns/held.ts';
import { columnHere, OWN_COLUMNS_EVENT } from '../owncolumns/owncolumn.ts';
import { ColumnHelp } from './ColumnHelp.tsx';

/** The card of a sheet's headings: what a column is, from which figures on it is marked, and the way to a formula of one's own. */
export function AboutColumn({ sheet, marks }: { readonly sheet: SheetId; readonly marks: Marks }) {
	const readOnly = useDocument()?.readOnly ?? true;
	const own = useOwnColumns(sheet);
	const limits = useLimits(sheet);
	const find = useCallback((id: string) => columnHere(sheet, id, own), [sheet, own]);
	const more = (column: Column, close: () => void) => (
		<>
			{own.some((one) => one.id === column.id) && (
				<div className="column-help-foot">
					<Button
						icon={Sigma}
						onClick={() => {
							close();
							window.dispatchEvent(new CustomEvent(OWN_COLUMNS_EVENT, { detail: column.id }));
						}}
					>
						{readOnly ? 'Look at the formula' : 'Change the formula'}
					</Button>
				</div>
			)}
			{takesLimits(sheet, column) && (
				<LimitsForm
					key={column.id}
					sheet={sheet}
					column={column}
					limits={limits.get(column.id)}
					marks={marks}
					readOnly={readOnly}
				/>
			)}
		</>
	);
	return <ColumnHelp sheet={sheet} marks={marks} find={find} more={more} />;
}
