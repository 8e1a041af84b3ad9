import { useState } from 'react';
import { formatNumber } from '../../../calc/quantity/format.ts';
import type { Column, EnteredSheetId } from '../../../calc/sheet/column.ts';
import type { EditRefusal } from '../../../electron/contract/verbs.ts';
import { useCallDesk } from '../../desk/desk.tsx';
import { DECIMAL, MARKS } from '../../look/marks.ts';
import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import { Notice } from '../../parts/Notice.tsx';
import { tell } from '../../parts/Toast.tsx';
import { type Marks, shownText } from '../celltext.ts';
import { type Replacement, type ReplacePlan, replaceLabel, sentText } from './replacing.ts';

const count = (value: number) => formatNumber(value, 0, MARKS);
const cells = (value: number) => `${count(value)} ${value === 1 ? 'cell' : 'cells'}`;

/** Most cells the desk takes in one step. */
const MOST_CELLS = 20_000;
/** Lines drawn of a list; the rest is counted. */
const MOST_LINES = 500;

/** Everything a replacement would change, old beside new, before anything is changed: one step, or nothing. */
export function ReplacePreview({
	sheet,
	plan,
	first,
	marks,
	onClose,
}: {
	readonly sheet: EnteredSheetId;
	readonly plan: ReplacePlan;
	/** The column rows are named by. */
	readonly first: Column | undefined;
	readonly marks: Marks;
	readonly onClose: () => void;
}) {
	const callDesk = useCallDesk();
	const [changes, setChanges] = useState(plan.changes);
	const [refused, setRefused] = useState<readonly EditRefusal[]>([]);
	const [trouble, setTrouble] = useState<string | null>(null);
	const [busy, setBusy] = useState(false);
	const tooMany = changes.length > MOST_CELLS;

	const replace = async () => {
		setBusy(true);
		setTrouble(null);
		const reply = await callDesk('sheet.edit', {
			sheet,
			edits: changes.map((change) => ({
				row: change.row,
				column: change.column.id,
				text: sentText(change),
			})),
			typed: { decimal: DECIMAL },
			label: replaceLabel(changes.length),
		});
		setBusy(false);
		if (!reply.ok) setTrouble(reply.message);
		else if (reply.value.refused.length > 0) setRefused(reply.value.refused);
		else {
			tell('good', `Replaced in ${cells(changes.length)}. Ctrl+Z takes it back.`);
			onClose();
		}
	};

	const refusalOf = ({ row, column }: Replacement) =>
		refused.filter((one) => one.row === row && one.column === column.id);
	const leaveOut = () => {
		setChanges(changes.filter((change) => refusalOf(change).length === 0));
		setRefused([]);
	};
	const leftAlone = [
		plan.computed > 0 ? `${cells(plan.computed)} computed` : '',
		plan.rounded > 0 ? `${cells(plan.rounded)} whose value does not have the digits shown` : '',
	].filter((words) => words !== '');
	const listed = refused.length > 0 ? changes.filter((one) => refusalOf(one).length > 0) : changes;
	const elsewhere = refused.filter(
		(one) => !changes.some(({ row, column }) => row === one.row && column.id === one.column),
	);

	return (
		<Dialog
			title="Replace"
			width={760}
			locked={busy}
			onClose={onClose}
			footer={
				<>
					<Button onClick={onClose} disabled={busy}>
						Cancel
					</Button>
					{refused.length > 0 ? (
						<Button tone="primary" onClick={leaveOut} disabled={listed.length === 0}>
							Leave these out and look again
						</Button>
					) : (
						<Button
							tone="primary"
							busy={busy}
							disabled={changes.length === 0 || tooMany}
							onClick={() => void replace()}
						>
							Replace in {cells(changes.length)}
						</Button>
					)}
				</>
			}
		>
			{refused.length > 0 && (
				<Notice status="stop" title="Nothing was replaced">
					{cells(listed.length)} of {count(changes.length)} would not be taken, so none was changed.
					{elsewhere.map((one) => (
						<p key={`${one.row}/${one.column}/${one.fault.code}`}>{one.fault.message}</p>
					))}
				</Notice>
			)}
			{trouble && (
				<Notice status="stop" title="Nothing was replaced">
					{trouble}
				</Notice>
			)}
			{tooMany && (
				<Notice status="stop" title="Too many cells at once">
					At most {count(MOST_CELLS)} cells can be changed in one step. Narrow the search, or filter
					the sheet.
				</Notice>
			)}
			{leftAlone.length > 0 && (
				<p className="replace-left">Left as they are: {leftAlone.join('; ')}.</p>
			)}
			{changes.length === 0 ? (
				<p>No entered cell would change.</p>
			) : (
				// biome-ignore lint/a11y/noNoninteractiveTabindex: a list longer than its box is scrolled by keyboard
				<section className="replace-list" tabIndex={0} aria-label="Cells that would change">
					<table>
						<thead>
							<tr>
								<th scope="col">{first?.heading ?? 'Row'}</th>
								<th scope="col">Column</th>
								<th scope="col">Is</th>
								<th scope="col">{refused.length > 0 ? 'Not taken' : 'Becomes'}</th>
							</tr>
						</thead>
						<tbody>
							{listed.slice(0, MOST_LINES).map((change) => (
								<tr key={`${change.row}/${change.column.id}`}>
									<td>
										{first ? shownText(first, change.hit.row.cells[first.id], marks) : change.row}
									</td>
									<td>{change.column.heading}</td>
									<td>{change.before}</td>
									<td>
										{change.after === '' ? <em>empty</em> : change.after}
										{refusalOf(change).map((one) => (
											<div key={one.fault.code} className="replace-refused">
												{one.fault.message}
												{one.fault.where.expected ? ` Expected ${one.fault.where.expected}.` : ''}
											</div>
										))}
									</td>
								</tr>
							))}
						</tbody>
					</table>
					{listed.length > MOST_LINES && <p>and {cells(listed.length - MOST_LINES)} more</p>}
				</section>
			)}
		</Dialog>
	);
}
