import { SlidersVertical, TriangleAlert } from 'lucide-react';
import { useEffect } from 'react';
import { Button } from '../../parts/Button.tsx';
import { GROUP_WORDS } from './groups.ts';
import type { Arranging } from './usearrange.ts';

/** Beside the title of a sheet: only rows with remarks, and the panel that arranges the sheet. */
export function SheetTools({
	arranging,
	open,
	onToggle,
}: {
	readonly arranging: Arranging;
	readonly open: boolean;
	readonly onToggle: () => void;
}) {
	const { arrangement, set } = arranging;
	useEffect(() => {
		const hear = (event: KeyboardEvent) => {
			if (event.key !== 'F8' || event.ctrlKey || event.altKey || event.metaKey) return;
			if (event.target instanceof Element && event.target.closest('dialog')) return;
			event.preventDefault();
			onToggle();
		};
		window.addEventListener('keydown', hear);
		return () => window.removeEventListener('keydown', hear);
	}, [onToggle]);
	return (
		<>
			<Button
				icon={TriangleAlert}
				aria-pressed={arrangement.marked}
				title="Show only rows of which something is to be said"
				onClick={() => set({ ...arrangement, marked: !arrangement.marked })}
			>
				Remarks only
			</Button>
			<Button
				icon={SlidersVertical}
				aria-expanded={open}
				title="Columns, layouts and groups (F8)"
				onClick={onToggle}
			>
				Arrange
				{arrangement.groupBy ? `: by ${GROUP_WORDS[arrangement.groupBy].toLowerCase()}` : ''}
			</Button>
		</>
	);
}
