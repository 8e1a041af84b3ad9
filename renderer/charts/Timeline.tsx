import { Clock, FileClock, Unplug } from 'lucide-react';
import { memo, useMemo, useState } from 'react';
import type { Timeline as TimelineAnswer } from '../../electron/contract/verbs.ts';
import { useAnswer } from '../desk/answer.ts';
import { useDocument, useSheetRows } from '../desk/desk.tsx';
import { DECIMAL } from '../look/marks.ts';
import { Button } from '../parts/Button.tsx';
import { EmptyState } from '../parts/EmptyState.tsx';
import { Spinner } from '../parts/Progress.tsx';
import { RecordNotes } from './RecordNotes.tsx';
import { SetMode } from './SetMode.tsx';
import { setModesIn } from './setmodes.ts';
import { TimelineChart } from './TimelineChart.tsx';
import { fullSpan, type Span } from './traces.ts';

/** Enough for a ring of over an hour at one sample a second without thinning. */
const POINTS = 6_000;

/** The timeline of one ring, asked from the desk and asked again whenever the document changes. */
export const Timeline = memo(function Timeline({
	ring,
	onImport,
}: {
	readonly ring: number | null;
	/** Begins an import of logger files. */
	readonly onImport: () => void;
}) {
	const document = useDocument();
	const held = useAnswer('ring.timeline', ring === null ? null : { ring, points: POINTS });

	if (ring === null) {
		return (
			<EmptyState icon={Clock} title="No ring selected">
				Select a ring in the ledger to see its flows, densities and modes on the clock.
			</EmptyState>
		);
	}
	if (held.kind === 'loading') {
		return (
			<div className="timeline-wait">
				<Spinner label={`Reading ring ${ring}…`} />
			</div>
		);
	}
	if (held.kind === 'error') {
		return (
			<EmptyState
				icon={Unplug}
				title={`The timeline of ring ${ring} could not be read`}
				actions={<Button onClick={held.again}>Try again</Button>}
			>
				{held.message}
			</EmptyState>
		);
	}
	const timeline = held.answer;
	if (timeline.time_s.length === 0) {
		return (
			<EmptyState
				icon={Clock}
				title={`No samples around ring ${timeline.ring}`}
				actions={
					document?.readOnly === false && (
						<Button icon={FileClock} onClick={onImport}>
							Import logger files…
						</Button>
					)
				}
			>
				There is neither a logger record nor a shift reading in the ring's advance window. Add shift
				readings for its time, or import the logger's files.
			</EmptyState>
		);
	}
	return (
		<RingTimeline
			key={timeline.ring}
			timeline={timeline}
			utcOffset_min={document?.utcOffset_min ?? 0}
			readOnly={document?.readOnly ?? true}
		/>
	);
});

/** One ring's timeline with what can be done on it: setting modes, and looking into the record. */
function RingTimeline({
	timeline,
	utcOffset_min,
	readOnly,
}: {
	readonly timeline: TimelineAnswer;
	readonly utcOffset_min: number;
	readonly readOnly: boolean;
}) {
	const rows = useSheetRows('mode_overrides');
	const setModes = useMemo(() => setModesIn(rows, fullSpan(timeline)), [rows, timeline]);
	const [chosen, setChosen] = useState<Span | null>(null);
	const [setting, setSetting] = useState(false);
	const [record, setRecord] = useState(false);
	const stop = () => {
		setSetting(false);
		setChosen(null);
	};
	return (
		<>
			<TimelineChart
				timeline={timeline}
				utcOffset_min={utcOffset_min}
				decimal={DECIMAL}
				chosen={chosen}
				sets={!readOnly}
				setModes={setModes.length}
				onChoose={(stretch) => {
					setChosen(stretch);
					if (stretch === null) setSetting(false);
				}}
				onSet={(stretch) => {
					setChosen(stretch);
					setSetting(true);
				}}
				onRecord={() => setRecord(true)}
			>
				{setting && chosen && (
					<SetMode stretch={chosen} utcOffset_min={utcOffset_min} onClose={stop} />
				)}
			</TimelineChart>
			{record && (
				<RecordNotes
					timeline={timeline}
					setModes={setModes}
					utcOffset_min={utcOffset_min}
					readOnly={readOnly}
					onClose={() => setRecord(false)}
				/>
			)}
		</>
	);
}
