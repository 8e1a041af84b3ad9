import { useMemo, useState } from 'react';
import type { Column } from '../../../calc/sheet/column.ts';
import type { EditRefusal } from '../../../electron/contract/verbs.ts';
import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import {
	cellCount,
	cellsWord,
	type Gesture,
	refusedPlace,
	withoutRefused,
	withTexts,
} from './gesture.ts';

/** A gesture of which nothing was done, with every reason. */
export interface RefusedGesture {
	readonly gesture: Gesture;
	readonly refused: readonly EditRefusal[];
}

export interface RefusedCellsProps extends RefusedGesture {
	readonly columnOf: (id: string) => Column | undefined;
	/** Place of a row on screen, from 1; null where it is not shown. */
	readonly placeOf: (row: number) => number | null;
	/** Tries again with what the person made of it. */
	readonly onTry: (gesture: Gesture) => void;
	readonly onClose: () => void;
}

/** Refusals listed at once; more on demand. */
const LISTED = 100;
const MARK_CODES: ReadonlySet<string> = new Set(['number_decimal_mark', 'number_ambiguous']);

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/**
 * Every cell of a gesture that the desk did not take, with what was to go into it, why not and what
 * was expected. Nothing has been changed yet: the person corrects, takes the good ones only, or leaves it.
 */
export function RefusedCells({
	gesture,
	refused,
	columnOf,
	placeOf,
	onTry,
	onClose,
}: RefusedCellsProps) {
	const [texts, setTexts] = useState<ReadonlyMap<string, string>>(new Map());
	const [listed, setListed] = useState(LISTED);
	const good = useMemo(() => withoutRefused(gesture, refused), [gesture, refused]);
	const otherMark = gesture.decimal === '.' ? ',' : '.';
	const byMarks = refused.some((one) => MARK_CODES.has(one.fault.code));
	const set = (key: string, text: string) => setTexts((now) => new Map(now).set(key, text));
	const all = cellCount(gesture);
	const rowWords = (row: number | null, addedAt: number | null): string => {
		if (addedAt !== null) return `New row ${addedAt + 1}`;
		const place = row === null ? null : placeOf(row);
		return place === null ? 'Sheet' : `Row ${place}`;
	};
	return (
		<Dialog
			title={`Nothing was ${gesture.done}: ${cellsWord(refused.length)} of ${all} not taken`}
			onClose={onClose}
			width={860}
			footer={
				<>
					<Button onClick={onClose}>Leave all as it was</Button>
					{good && (
						<Button onClick={() => onTry(good)}>
							{capital(gesture.name)} of the good {cellsWord(cellCount(good))} only
						</Button>
					)}
					<Button
						tone="primary"
						disabled={texts.size === 0}
						onClick={() => onTry(withTexts(gesture, texts))}
					>
						Try again with the corrections
					</Button>
				</>
			}
		>
			{byMarks && (
				<p>
					These numbers were read with a {gesture.decimal === '.' ? 'dot' : 'comma'} as decimal
					mark.{' '}
					<Button onClick={() => onTry({ ...gesture, decimal: otherMark })}>
						Read all with a {otherMark === '.' ? 'dot' : 'comma'}
					</Button>
				</p>
			)}
			<div className="refused-scroll">
				<table className="refused-cells">
					<thead>
						<tr>
							<th scope="col">Cell</th>
							<th scope="col">Text</th>
							<th scope="col">Why it is not taken</th>
						</tr>
					</thead>
					<tbody>
						{refused.slice(0, listed).map((refusal, at) => {
							const place = refusedPlace(gesture, refusal);
							const heading = columnOf(refusal.column)?.heading ?? refusal.column;
							const name = [rowWords(place.row, place.addedAt), heading]
								.filter((part) => part !== '')
								.join(' · ');
							const { expected } = refusal.fault.where;
							return (
								// biome-ignore lint/suspicious/noArrayIndexKey: the list never changes its order, and a cell may be refused twice
								<tr key={at}>
									<td>{name}</td>
									<td>
										{place.text === null ? (
											'—'
										) : (
											<input
												className="input"
												type="text"
												autoComplete="off"
												spellCheck={false}
												aria-label={`Text for ${name}`}
												value={texts.get(place.key) ?? place.text}
												onChange={(event) => set(place.key, event.target.value)}
											/>
										)}
									</td>
									<td>
										{refusal.fault.message}
										{expected && refusal.readAs.length === 0 ? ` Expected ${expected}.` : ''}
										{refusal.readAs.length > 0 && (
											<div className="refused-readings">
												{refusal.readAs.map((reading) => (
													<Button
														key={reading.text}
														aria-pressed={texts.get(place.key) === reading.text}
														onClick={() => set(place.key, reading.text)}
													>
														{reading.label}
													</Button>
												))}
											</div>
										)}
									</td>
								</tr>
							);
						})}
					</tbody>
				</table>
			</div>
			{refused.length > listed && (
				<p>
					{refused.length - listed} more.{' '}
					<Button onClick={() => setListed(listed + 4 * LISTED)}>Show more</Button>
				</p>
			)}
		</Dialog>
	);
}
