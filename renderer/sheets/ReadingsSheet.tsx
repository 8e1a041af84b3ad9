import { FileClock, Gauge } from 'lucide-react';
import { useDocument } from '../desk/desk.tsx';
import { Button } from '../parts/Button.tsx';
import { lastReading_s, newReading } from './newrow.ts';
import { SheetPage } from './SheetPage.tsx';
import { SpanChooser } from './SpanChooser.tsx';

const PINNED = ['time', 'mode'] as const;

/** Shift readings as the operator takes them, with what follows from each beside it. */
export function ReadingsSheet({
	onHow,
	onImport,
}: {
	readonly onHow: (row: number, column: string) => void;
	/** Begins an import of logger files. */
	readonly onImport: () => void;
}) {
	const readOnly = useDocument()?.readOnly ?? true;
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
				text: 'Enter time, mode, flows and densities of both lines as they are read. Two readings within a ring are the least a balance can be worked out from. Where a logger records the circuit, import its files.',
			}}
			emptyActions={
				readOnly ? null : (
					<Button icon={FileClock} onClick={onImport}>
						Import logger files…
					</Button>
				)
			}
			onHow={onHow}
		/>
	);
}
