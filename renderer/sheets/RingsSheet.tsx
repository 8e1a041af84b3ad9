import { CircleDashed } from 'lucide-react';
import { lastAdvance_s, newRing } from './newrow.ts';
import { SheetPage } from './SheetPage.tsx';

const PINNED = ['ring'] as const;

/** Advance windows, strokes, levels and spoil of each ring, as the crew records them. */
export function RingsSheet() {
	return (
		<SheetPage
			sheet="rings"
			title="Rings"
			one="ring"
			many="rings"
			pinned={PINNED}
			sortedBy="ring"
			begin={newRing}
			day_s={lastAdvance_s}
			empty={{
				icon: CircleDashed,
				title: 'No rings yet',
				text: 'Enter when cutting of a ring began and ended, with the mean strokes of the thrust rams. The ledger follows.',
			}}
		/>
	);
}
