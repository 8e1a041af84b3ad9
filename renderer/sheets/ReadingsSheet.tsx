import { Gauge } from 'lucide-react';
import { lastReading_s, newReading } from './newrow.ts';
import { SheetPage } from './SheetPage.tsx';
import { SpanChooser } from './SpanChooser.tsx';

const PINNED = ['time', 'mode'] as const;

/** Shift readings as the operator takes them, with what follows from each beside it. */
export function ReadingsSheet({
	onHow,
}: {
	readonly onHow: (row: number, column: string) => void;
}) {
	return (
		<SheetPage
			sheet="readings"
			title="Shift readings"
			one="reading"
			many="readings"
			pinned={PINNED}
			sortedBy="time"
			aside={<SpanChooser />}
			begin={newReading}
			day_s={lastReading_s}
			empty={{
				icon: Gauge,
				title: 'No readings yet',
				text: 'Enter time, mode, flows and densities of both lines as they are read. Two readings within a ring are the least a balance can be worked out from.',
			}}
			onHow={onHow}
		/>
	);
}
