import { type KeyboardEvent, useRef } from 'react';

export interface TabsProps<T extends string> {
	readonly label: string;
	readonly tabs: readonly { readonly id: T; readonly title: string }[];
	readonly active: T;
	readonly onChoose: (id: T) => void;
	/** Id of the element the tabs switch, for screen readers. */
	readonly panelId?: string;
}

/** A row of tabs; arrows move between them. */
export function Tabs<T extends string>({ label, tabs, active, onChoose, panelId }: TabsProps<T>) {
	const box = useRef<HTMLDivElement>(null);
	const move = (event: KeyboardEvent) => {
		const at = tabs.findIndex((tab) => tab.id === active);
		const by = event.key === 'ArrowRight' ? 1 : event.key === 'ArrowLeft' ? -1 : 0;
		if (by === 0) return;
		event.preventDefault();
		const to = (at + by + tabs.length) % tabs.length;
		const tab = tabs[to];
		if (!tab) return;
		onChoose(tab.id);
		box.current?.querySelectorAll<HTMLElement>('[role="tab"]')[to]?.focus();
	};
	return (
		<div className="tabs" role="tablist" aria-label={label} ref={box}>
			{tabs.map((tab) => (
				<button
					key={tab.id}
					type="button"
					role="tab"
					className="tab"
					aria-selected={tab.id === active}
					aria-controls={panelId}
					tabIndex={tab.id === active ? 0 : -1}
					onClick={() => onChoose(tab.id)}
					onKeyDown={move}
				>
					{tab.title}
				</button>
			))}
		</div>
	);
}
