import { TriangleAlert } from 'lucide-react';
import type { PreviewField } from '../../../electron/contract/loggerimport.ts';
import type { StepProps } from './LayoutStep.tsx';
import { unitFor, withTarget, withUnit } from './layoutedit.ts';
import { capital, readText, valueText } from './words.ts';

/** Rows of the preview shown beside each field. */
const SHOWN = 3;

/** What each field of the files fills, in which unit, and how its first values are read. */
export function ColumnsStep({ seen, onLayout }: StepProps) {
	const { layout, targets } = seen;
	const timeFields = layout.time.fields;
	return (
		<>
			<p className="soft">
				Each field fills one column, or is passed over. Beside it stands how the first rows are
				read; least and greatest tell a wrong unit at once.
			</p>
			{/* biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling table must be reachable by keyboard */}
			<section className="logger-columns" tabIndex={0} aria-label="Fields of the files">
				<table>
					<thead>
						<tr>
							<th scope="col">Field</th>
							<th scope="col">As written</th>
							<th scope="col">Fills</th>
							<th scope="col">Unit in the file</th>
							<th scope="col" className="figure">
								Read as
							</th>
							<th scope="col" className="figure">
								Least … greatest
							</th>
							<th scope="col">Plausible</th>
						</tr>
					</thead>
					<tbody>
						{seen.fields.map((field) => {
							const column = layout.columns.find((each) => each.field === field.field);
							const target = targets.find(({ id }) => id === column?.to);
							const ofTime = timeFields.includes(field.field);
							return (
								<tr key={field.field} data-passed={!column && !ofTime ? '' : undefined}>
									<th scope="row">
										{field.heading}
										{field.unitRead !== null && !field.heading.includes(field.unitRead) && (
											<span className="soft"> [{field.unitRead}]</span>
										)}
									</th>
									<td className="logger-texts">
										{field.texts
											.slice(0, SHOWN)
											.map((text) => (text === '' ? '(empty)' : text))
											.join(' · ')}
									</td>
									<td>
										{ofTime ? (
											<span className="soft">Time</span>
										) : (
											<select
												className="input"
												aria-label={`${field.heading} fills`}
												value={column?.to ?? ''}
												onChange={(event) => {
													const to = targets.find(({ id }) => id === event.target.value);
													onLayout(
														withTarget(
															layout,
															field.field,
															to?.id ?? null,
															to ? unitFor(to, field.unitRead) : null,
														),
													);
												}}
											>
												<option value="">(passed over)</option>
												{targets.map(({ id, heading }) => (
													<option key={id} value={id}>
														{capital(heading)}
													</option>
												))}
											</select>
										)}
									</td>
									<td>
										{column && target && target.units.length > 0 && (
											<select
												className="input"
												aria-label={`Unit of ${field.heading}`}
												value={column.unit ?? target.units[0]?.id ?? ''}
												onChange={(event) =>
													onLayout(withUnit(layout, field.field, event.target.value))
												}
											>
												{target.units.map(({ id, label }) => (
													<option key={id} value={id}>
														{label}
													</option>
												))}
											</select>
										)}
									</td>
									<td className="figure">
										{column ? field.parsed.slice(0, SHOWN).map(valueText).join(' · ') : ''}
									</td>
									<td className="figure">{column ? <Range field={field} /> : ''}</td>
									<td>{column && <Plausible field={field} lookedAt={seen.rowsLookedAt} />}</td>
								</tr>
							);
						})}
					</tbody>
				</table>
			</section>
		</>
	);
}

function Range({ field }: { readonly field: PreviewField }) {
	if (field.min === null || field.max === null) return null;
	return (
		<>
			{valueText(field.min)} … {valueText(field.max)}
		</>
	);
}

function Plausible({
	field,
	lookedAt,
}: {
	readonly field: PreviewField;
	readonly lookedAt: number;
}) {
	return (
		<>
			<span className="soft">{readText(field, lookedAt)}</span>
			{field.doubts.map((doubt) => (
				<span className="logger-doubt" key={doubt}>
					<TriangleAlert size={14} aria-hidden /> {doubt}
				</span>
			))}
		</>
	);
}
