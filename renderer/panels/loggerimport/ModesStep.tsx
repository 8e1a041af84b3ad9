import { MODES } from '../../../calc/circuit/samples.ts';
import { MODE_WORDS } from '../../charts/bands.ts';
import { Notice } from '../../parts/Notice.tsx';
import type { StepProps } from './LayoutStep.tsx';
import { withModeWord, withRule } from './layoutedit.ts';
import { rowsText } from './words.ts';

type Mode = (typeof MODES)[number];

/** Where the mode of the circuit comes from: a field of the files, or rules over signals. */
export function ModesStep({ seen, onLayout }: StepProps) {
	const { layout, modes } = seen;
	const open = modes.cannotTell;
	return (
		<div className="logger-modes">
			{modes.from === 'field' && (
				<section aria-label="Words of the mode field">
					<h3>The files name the mode</h3>
					<p className="soft">
						Words that stand for no mode leave it missing; the stretch then counts as unusable until
						a mode is set by hand.
					</p>
					<table>
						<thead>
							<tr>
								<th scope="col">Word in the files</th>
								<th scope="col" className="figure">
									Rows looked at
								</th>
								<th scope="col">Means</th>
							</tr>
						</thead>
						<tbody>
							{modes.words.map(({ text, count, mode }) => (
								<tr key={text}>
									<th scope="row">{text === '' ? '(empty)' : text}</th>
									<td className="figure">{rowsText(count)}</td>
									<td>
										<select
											className="input"
											aria-label={`${text} means`}
											value={mode ?? ''}
											onChange={(event) =>
												onLayout(
													withModeWord(
														layout,
														text,
														event.target.value === '' ? null : (event.target.value as Mode),
													),
												)
											}
										>
											<option value="">no mode</option>
											{MODES.map((each) => (
												<option key={each} value={each}>
													{MODE_WORDS[each]}
												</option>
											))}
										</select>
									</td>
								</tr>
							))}
						</tbody>
					</table>
				</section>
			)}
			{modes.from !== 'field' && (
				<section aria-label="Rules for the mode">
					<h3>
						{modes.rules.length > 0
							? 'No field names the mode: it is told from signals'
							: 'No field names the mode'}
					</h3>
					{modes.rules.length === 0 ? (
						<Notice status="note" title="Nothing tells the mode">
							{modes.optional.length > 0
								? 'Choose among the rules below, or put a field to Mode in the columns.'
								: 'Put a field to Mode, or one to a valve, the stroke, the thrust or the torque, in the columns.'}{' '}
							Without a mode no stretch counts as advance or bypass.
						</Notice>
					) : (
						<>
							<p className="soft">
								At each stamp the first of these rules that is met decides. A rule can be left out;
								on the timeline each stretch says which rule made it, and a mode can be set by hand.
							</p>
							<ol className="logger-rules">
								{modes.rules.map(({ id, text }) => {
									const rule = layout.modeRules.find((each) => each.id === id);
									return (
										<li key={id}>
											<label>
												<input
													type="checkbox"
													checked={rule !== undefined}
													onChange={() => rule && onLayout(withRule(layout, rule, false))}
												/>
												{text}
											</label>
										</li>
									);
								})}
							</ol>
						</>
					)}
					{modes.optional.length > 0 && (
						<>
							<h3>Rules that fit the signals and are not used</h3>
							<ul className="logger-rules">
								{modes.optional.map(({ rule, text }) => (
									<li key={rule.id}>
										<label>
											<input
												type="checkbox"
												checked={layout.modeRules.some(({ id }) => id === rule.id)}
												onChange={() => onLayout(withRule(layout, rule, true))}
											/>
											{text}
											{rule.assumes ? <span className="soft">; {rule.assumes}</span> : null}
										</label>
									</li>
								))}
							</ul>
						</>
					)}
					{open.length > 0 && (
						<>
							<h3>What cannot be told</h3>
							<ul className="logger-rules">
								{open.map(({ mode, why }) => (
									<li key={mode}>
										<strong>{MODE_WORDS[mode]}</strong>: {why}
									</li>
								))}
							</ul>
						</>
					)}
				</section>
			)}
		</div>
	);
}
