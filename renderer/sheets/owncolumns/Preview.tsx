import { showCell } from '../../../calc/sheet/cell.ts';
import type { Column } from '../../../calc/sheet/column.ts';
import type { FormulaCheckAnswer } from '../../../electron/contract/formulas.ts';
import { BLANK, type Marks, unitLabel } from '../celltext.ts';

export interface PreviewProps {
	readonly column: Column;
	readonly marks: Marks;
	readonly answer: FormulaCheckAnswer | null;
	readonly current: boolean;
}

/** What the last rows come to, with the reason of each blank. */
export function Preview({ column, marks, answer, current }: PreviewProps) {
	const rows = answer?.preview ?? [];
	const unit = unitLabel(column);
	return (
		<section className="own-preview" data-current={current || undefined} aria-busy={!current}>
			<h3>Last rows</h3>
			{rows.length === 0 ? (
				<p className="own-soft">
					{answer?.ok
						? 'The sheet has no rows yet.'
						: 'Figures appear here as soon as the formula can be worked out.'}
				</p>
			) : (
				<table>
					<caption className="out-of-sight">What the last rows come to</caption>
					<tbody>
						{rows.map((row) => (
							<tr key={row.name}>
								<th scope="row">{row.name}</th>
								<td className="own-figure">
									{row.value === null ? BLANK : showCell(column, row.value, marks)}
									{row.value !== null && unit && <span className="heading-unit"> {unit}</span>}
								</td>
								<td className="own-why">{row.reasons.join(' ')}</td>
							</tr>
						))}
					</tbody>
				</table>
			)}
			{answer?.blank && answer.blank.of > 0 && (
				<p className="own-soft">
					{answer.blank.rows === 0
						? `None of ${answer.blank.of} rows is blank.`
						: `${answer.blank.rows} of ${answer.blank.of} rows ${answer.blank.rows === 1 ? 'is' : 'are'} blank.`}
				</p>
			)}
		</section>
	);
}
