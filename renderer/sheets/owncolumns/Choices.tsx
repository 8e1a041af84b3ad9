import type { ReactNode } from 'react';
import { useEffect, useRef } from 'react';

export interface Choice {
	readonly key: string;
	/** What is taken. */
	readonly main: string;
	/** Beside it: a heading, how a function is written. */
	readonly beside?: ReactNode;
	/** At the right: a unit, a kind. */
	readonly right?: ReactNode;
}

export interface ChoicesProps {
	readonly id: string;
	readonly label: string;
	readonly choices: readonly Choice[];
	readonly active: number;
	readonly onTake: (index: number) => void;
	/** A line of help about the active one. */
	readonly foot?: ReactNode;
}

/** Id of an option, for the field that keeps the keyboard. */
export const optionId = (listId: string, index: number): string => `${listId}-${index}`;

/** A list of things to take beneath a field. The field keeps the keyboard; the mouse takes directly. */
export function Choices({ id, label, choices, active, onTake, foot }: ChoicesProps) {
	const list = useRef<HTMLDivElement>(null);
	useEffect(() => {
		list.current?.children[active]?.scrollIntoView({ block: 'nearest' });
	}, [active]);
	return (
		<div className="choices">
			<div className="choices-list" id={id} role="listbox" aria-label={label} ref={list}>
				{choices.map((choice, index) => (
					// biome-ignore lint/a11y/useKeyWithClickEvents: the field takes the keys
					<div
						key={choice.key}
						id={optionId(id, index)}
						role="option"
						tabIndex={-1}
						aria-selected={index === active}
						className="choice"
						// The field must not lose the keyboard.
						onMouseDown={(event) => event.preventDefault()}
						onClick={() => onTake(index)}
					>
						<span className="choice-main">{choice.main}</span>
						<span className="choice-beside">{choice.beside}</span>
						<span className="choice-right">{choice.right}</span>
					</div>
				))}
			</div>
			{foot && <div className="choices-foot">{foot}</div>}
		</div>
	);
}

/** Where an arrow key leads in a list of choices; null for any other key. */
export function stepOf(key: string, active: number, count: number): number | null {
	if (count === 0) return null;
	switch (key) {
		case 'ArrowDown':
			return (active + 1) % count;
		case 'ArrowUp':
			return (active - 1 + count) % count;
		case 'PageDown':
			return Math.min(count - 1, active + 8);
		case 'PageUp':
			return Math.max(0, active - 8);
		default:
			return null;
	}
}
