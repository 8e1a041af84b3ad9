import type { LucideIcon } from 'lucide-react';
import { type KeyboardEvent, type ReactNode, useEffect, useId, useRef, useState } from 'react';

export type MenuEntry =
	| {
			readonly kind: 'item';
			readonly label: string;
			readonly icon?: LucideIcon;
			/** Shown at the right, e.g. "Ctrl+O". */
			readonly keys?: string;
			/** Why it cannot be chosen now; shown on hover. */
			readonly notNow?: string | null;
			readonly choose: () => void;
	  }
	| { readonly kind: 'rule' };

export interface MenuProps {
	/** What the opening button shows. */
	readonly label: ReactNode;
	/** Name read out for the button when the label is not plain words. */
	readonly name?: string;
	readonly entries: readonly MenuEntry[];
	readonly side?: 'start' | 'end';
	readonly className?: string;
}

/** A button that opens a list of commands; arrows, Home, End, first letters, Enter and Escape work in it. */
export function Menu({ label, name, entries, side = 'start', className = 'button' }: MenuProps) {
	const [open, setOpen] = useState(false);
	const box = useRef<HTMLDivElement>(null);
	const button = useRef<HTMLButtonElement>(null);
	const listId = useId();

	const items = () =>
		Array.from(box.current?.querySelectorAll<HTMLElement>('[role="menuitem"]') ?? []);

	useEffect(() => {
		if (!open) return;
		box.current?.querySelector<HTMLElement>('[role="menuitem"]')?.focus();
		const outside = (event: PointerEvent) => {
			if (!(event.target instanceof Node && box.current?.contains(event.target))) setOpen(false);
		};
		document.addEventListener('pointerdown', outside);
		return () => document.removeEventListener('pointerdown', outside);
	}, [open]);

	const shut = () => {
		setOpen(false);
		button.current?.focus();
	};

	const step = (event: KeyboardEvent) => {
		const all = items();
		const at = all.indexOf(document.activeElement as HTMLElement);
		let to = -1;
		if (event.key === 'ArrowDown') to = (at + 1) % all.length;
		else if (event.key === 'ArrowUp') to = (at - 1 + all.length) % all.length;
		else if (event.key === 'Home') to = 0;
		else if (event.key === 'End') to = all.length - 1;
		else if (event.key === 'Escape') {
			event.preventDefault();
			event.stopPropagation();
			shut();
			return;
		} else if (event.key === 'Tab') {
			setOpen(false);
			return;
		} else if (/^\p{L}$/u.test(event.key)) {
			const letter = event.key.toLowerCase();
			to =
				[...all.keys()]
					.map((i) => (at + 1 + i) % all.length)
					.find((i) => all[i]?.textContent?.trim().toLowerCase().startsWith(letter)) ?? -1;
		}
		if (to < 0) return;
		event.preventDefault();
		all[to]?.focus();
	};

	return (
		<div className="menu" ref={box}>
			<button
				ref={button}
				type="button"
				className={className}
				aria-haspopup="menu"
				aria-expanded={open}
				aria-controls={open ? listId : undefined}
				aria-label={name}
				title={name}
				onClick={() => setOpen(!open)}
				onKeyDown={(event) => {
					if (event.key !== 'ArrowDown') return;
					event.preventDefault();
					setOpen(true);
				}}
			>
				{label}
			</button>
			{open && (
				<div
					id={listId}
					className="menu-list"
					role="menu"
					tabIndex={-1}
					data-side={side}
					onKeyDown={step}
				>
					{entries.map((entry, index) =>
						entry.kind === 'rule' ? (
							// biome-ignore lint/suspicious/noArrayIndexKey: rules have no identity but their place
							<hr key={index} className="menu-rule" />
						) : (
							<button
								key={entry.label}
								type="button"
								role="menuitem"
								tabIndex={-1}
								className="menu-item"
								aria-disabled={entry.notNow ? true : undefined}
								title={entry.notNow ?? undefined}
								onClick={() => {
									if (entry.notNow) return;
									shut();
									entry.choose();
								}}
							>
								{entry.icon ? <entry.icon size={16} aria-hidden /> : <span />}
								<span>{entry.label}</span>
								<span className="key-hint">{entry.keys}</span>
							</button>
						),
					)}
				</div>
			)}
		</div>
	);
}
