import { CircleAlert, CircleHelp } from 'lucide-react';
import { type RefObject, useEffect, useLayoutEffect, useRef, useState } from 'react';
import type { EditRefusal } from '../../electron/contract/verbs.ts';
import { Button } from '../parts/Button.tsx';

/** An entry the desk did not take, with the text as typed. */
export interface RefusedEntry {
	readonly row: number;
	readonly column: string;
	readonly text: string;
	readonly refusal: EditRefusal;
}

export interface RefusalAtCellProps {
	readonly entry: RefusedEntry;
	/** Element the cell lies in. */
	readonly box: RefObject<HTMLDivElement | null>;
	readonly heading: string;
	/** The person chose one of the ways the text can be read. */
	readonly onRead: (text: string) => void;
	/** Open the cell again with the text as typed. */
	readonly onCorrect: () => void;
	/** Leave the cell as it was. */
	readonly onDrop: () => void;
}

interface Spot {
	readonly left: number;
	readonly top: number;
	readonly above: boolean;
}

const WIDTH = 340;

/** Where beside the cell there is room; null while the cell is out of sight. */
function spotOf(box: HTMLDivElement, row: number, column: string): Spot | null {
	const cell = box.querySelector(`[row-id="${row}"] [col-id="${CSS.escape(column)}"]`);
	if (!cell) return null;
	const at = cell.getBoundingClientRect();
	const inside = box.getBoundingClientRect();
	const above = at.bottom + 150 > inside.bottom && at.top - 150 > inside.top;
	return {
		left: Math.max(8, Math.min(at.left - inside.left, inside.width - WIDTH - 8)),
		top: above ? at.top - inside.top - 4 : at.bottom - inside.top + 4,
		above,
	};
}

/** The arrows go through the answers, from the panel into the first or the last of them. */
function focusAnswer(panel: HTMLElement, step: 1 | -1): void {
	const answers = [...panel.querySelectorAll('button')];
	const at = answers.indexOf(document.activeElement as HTMLButtonElement);
	const next = at < 0 && step < 0 ? answers.length - 1 : at + step;
	answers[(next + answers.length) % answers.length]?.focus();
}

/** What was wrong with an entry, at its cell; for an ambiguous number, the question which one is meant. */
export function RefusalAtCell({
	entry,
	box,
	heading,
	onRead,
	onCorrect,
	onDrop,
}: RefusalAtCellProps) {
	const { refusal } = entry;
	const [spot, setSpot] = useState<Spot | null>(null);
	const panel = useRef<HTMLDivElement>(null);
	const asks = refusal.readAs.length > 0;

	useLayoutEffect(() => {
		const element = box.current;
		if (!element) return;
		const place = () => setSpot(spotOf(element, entry.row, entry.column));
		place();
		element.addEventListener('scroll', place, true);
		const resized = new ResizeObserver(place);
		resized.observe(element);
		return () => {
			element.removeEventListener('scroll', place, true);
			resized.disconnect();
		};
	}, [box, entry]);

	const placed = spot !== null;
	useEffect(() => {
		// The panel itself, not its first answer: an Enter typed on before the question came must not answer it.
		if (asks && placed) panel.current?.focus();
	}, [asks, placed]);

	if (!spot) return null;
	return (
		<div
			ref={panel}
			className="refusal"
			data-status={asks ? 'note' : 'stop'}
			role="alertdialog"
			tabIndex={-1}
			aria-live="assertive"
			aria-label={`${heading}: ${asks ? 'which number is meant?' : 'not taken'}`}
			style={{
				left: spot.left,
				top: spot.top,
				width: WIDTH,
				transform: spot.above ? 'translateY(-100%)' : undefined,
			}}
			// Keeps the cell's editor open while a button here is pressed.
			onMouseDown={(event) => event.preventDefault()}
			onKeyDown={(event) => {
				event.stopPropagation();
				const step = event.key === 'ArrowDown' ? 1 : event.key === 'ArrowUp' ? -1 : 0;
				if (step === 0 && event.key !== 'Escape') return;
				event.preventDefault();
				if (step !== 0) focusAnswer(event.currentTarget, step);
				else if (asks) onCorrect();
				else onDrop();
			}}
		>
			{asks ? <CircleHelp size={16} aria-hidden /> : <CircleAlert size={16} aria-hidden />}
			<div>
				<div className="refusal-text">{refusal.fault.message}</div>
				{refusal.fault.where.expected && !asks && (
					<div className="refusal-expected">Expected {refusal.fault.where.expected}.</div>
				)}
				{asks && (
					<div className="refusal-choices">
						{refusal.readAs.map((reading) => (
							<Button key={reading.text} onClick={() => onRead(reading.text)}>
								{reading.label}
							</Button>
						))}
					</div>
				)}
				<div className="refusal-actions">
					<Button tone="quiet" onClick={onCorrect}>
						Correct the entry
					</Button>
					<Button tone="quiet" onClick={onDrop}>
						Leave it as it was
					</Button>
				</div>
			</div>
		</div>
	);
}
