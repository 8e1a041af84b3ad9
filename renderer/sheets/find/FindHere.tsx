import './find.css';
import { Search } from 'lucide-react';
import { useEffect, useState } from 'react';
import { Button } from '../../parts/Button.tsx';

/** Whether the bar for finding is open, and with which part. */
export interface Finding {
	readonly open: boolean;
	readonly replacing: boolean;
	/** Raised each time it is asked for. */
	readonly asked: number;
	readonly ask: (replacing: boolean) => void;
	readonly setReplacing: (on: boolean) => void;
	readonly close: () => void;
}

/** Opens the bar by Ctrl+F and Ctrl+H, unless a dialog is in front; `on`: there is a sheet to look through. */
export function useFindBar(on: boolean): Finding {
	const [state, setState] = useState({ open: false, replacing: false, asked: 0 });
	useEffect(() => {
		if (!on) return;
		const hear = (event: KeyboardEvent) => {
			if (!(event.ctrlKey || event.metaKey) || event.altKey || event.shiftKey) return;
			const key = event.key.toLowerCase();
			if (key !== 'f' && key !== 'h') return;
			if (document.querySelector('dialog[open]')) return;
			event.preventDefault();
			setState(({ asked, replacing }) => ({
				open: true,
				replacing: key === 'h' || replacing,
				asked: asked + 1,
			}));
		};
		window.addEventListener('keydown', hear);
		return () => window.removeEventListener('keydown', hear);
	}, [on]);
	return {
		...state,
		ask: (replacing) => setState(({ asked }) => ({ open: true, replacing, asked: asked + 1 })),
		setReplacing: (replacing) => setState((now) => ({ ...now, replacing })),
		close: () => setState(({ asked }) => ({ open: false, replacing: false, asked })),
	};
}

/** The button that opens the bar. */
export function FindButton({ finding }: { readonly finding: Finding }) {
	return (
		<Button
			icon={Search}
			aria-expanded={finding.open}
			title="Find in this sheet (Ctrl+F; replace: Ctrl+H)"
			onClick={() => (finding.open ? finding.close() : finding.ask(false))}
		>
			Find
		</Button>
	);
}
