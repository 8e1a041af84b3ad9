import { type KeyboardEvent, type PointerEvent, useRef } from 'react';

export interface SplitterProps {
	readonly label: string;
	/** `column`: a bar between left and right; `row`: between above and below. */
	readonly between: 'column' | 'row';
	/** Size in px of the part behind the bar (right or below). */
	readonly size: number;
	readonly least: number;
	readonly most: number;
	readonly onSize: (size: number) => void;
}

const STEP = 16;

/** A bar that can be dragged, or moved by the arrows, to share the room between two parts. */
export function Splitter({ label, between, size, least, most, onSize }: SplitterProps) {
	const start = useRef<{ at: number; size: number } | null>(null);
	const set = (to: number) => onSize(Math.round(Math.min(most, Math.max(least, to))));
	const at = (event: PointerEvent) => (between === 'column' ? event.clientX : event.clientY);

	const keys = (event: KeyboardEvent) => {
		const bigger = between === 'column' ? 'ArrowLeft' : 'ArrowUp';
		const smaller = between === 'column' ? 'ArrowRight' : 'ArrowDown';
		if (event.key === bigger) set(size + STEP);
		else if (event.key === smaller) set(size - STEP);
		else if (event.key === 'Home') set(most);
		else if (event.key === 'End') set(least);
		else return;
		event.preventDefault();
	};

	return (
		// biome-ignore lint/a11y/useSemanticElements: an <hr> cannot be focused and moved
		<div
			className="splitter"
			data-between={between}
			role="separator"
			aria-label={label}
			aria-orientation={between === 'column' ? 'vertical' : 'horizontal'}
			aria-valuenow={size}
			aria-valuemin={least}
			aria-valuemax={most}
			tabIndex={0}
			onKeyDown={keys}
			onPointerDown={(event) => {
				start.current = { at: at(event), size };
				event.currentTarget.setPointerCapture(event.pointerId);
			}}
			onPointerMove={(event) => {
				if (start.current) set(start.current.size + start.current.at - at(event));
			}}
			onPointerUp={() => {
				start.current = null;
			}}
		/>
	);
}
