import { SquarePen } from 'lucide-react';
import { lastSetMode_s } from './newrow.ts';
import { SheetPage } from './SheetPage.tsx';

const PINNED = ['from_time', 'to_time', 'mode'] as const;
const nothing = () => ({});

/** Modes set by hand: stretches whose mode a person knows better than the record. */
export function ModesSheet() {
	return (
		<SheetPage
			sheet="mode_overrides"
			title="Modes set by hand"
			one="set mode"
			many="set modes"
			pinned={PINNED}
			sortedBy="from_time"
			begin={nothing}
			day_s={lastSetMode_s}
			empty={{
				icon: SquarePen,
				title: 'No mode is set by hand',
				text: 'Every stretch has the mode of the record, or the one a rule tells from the signals. Where you know better, drag over the mode band of the timeline, or enter a stretch here, and say why.',
			}}
		/>
	);
}
