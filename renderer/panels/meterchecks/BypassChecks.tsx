import './meterchecks.css';
import { Unplug, Waypoints } from 'lucide-react';
import { useMemo, useState } from 'react';
import type { MeterChecks } from '../../../electron/contract/meterchecks.ts';
import { CheckChart } from '../../charts/CheckChart.tsx';
import type { PairId } from '../../charts/checktraces.ts';
import { useAnswer } from '../../desk/answer.ts';
import { useDocument, useSelect } from '../../desk/desk.tsx';
import { MARKS } from '../../look/marks.ts';
import { Button } from '../../parts/Button.tsx';
import { EmptyState } from '../../parts/EmptyState.tsx';
import { DeskProgress } from '../DeskProgress.tsx';
import { CheckRules } from './CheckRules.tsx';
import { CorrectionChoice } from './CorrectionChoice.tsx';
import { DensityLevel } from './DensityLevel.tsx';
import { MeterReminders } from './MeterReminders.tsx';
import { WindowDecision } from './WindowDecision.tsx';
import { WindowTable } from './WindowTable.tsx';

/** Where the meters tell on each other: every bypass window, what to make of it, and what follows. */
export function BypassChecks() {
	const document = useDocument();
	const held = useAnswer('meters.checks', {});

	if (held.kind === 'loading') {
		return (
			<div className="checks-wait">
				<DeskProgress label="Looking for bypass windows…" />
			</div>
		);
	}
	if (held.kind === 'error') {
		return (
			<EmptyState
				icon={Unplug}
				title="The bypass windows could not be worked out"
				actions={<Button onClick={held.again}>Try again</Button>}
			>
				{held.message}
			</EmptyState>
		);
	}
	return (
		<ChecksWorkplace
			checks={held.answer}
			utcOffset_min={document?.utcOffset_min ?? 0}
			readOnly={document?.readOnly ?? true}
		/>
	);
}

function ChecksWorkplace({
	checks,
	utcOffset_min,
	readOnly,
}: {
	readonly checks: MeterChecks;
	readonly utcOffset_min: number;
	readonly readOnly: boolean;
}) {
	const select = useSelect();
	const { windows } = checks;
	const [pair, setPair] = useState<PairId>('flow');
	/** The window in hand by where it begins: other windows may come before it with the next answer. */
	const [begin, setBegin] = useState<number | null>(null);
	const found = useMemo(
		() => (begin === null ? -1 : windows.findIndex((window) => window.from_s === begin)),
		[windows, begin],
	);
	const chosen = found < 0 ? null : found;
	const choose = (entry: number) => {
		const window = windows[entry];
		if (!window) return;
		setBegin(window.from_s);
		if (window.ring !== null) select({ ring: window.ring });
	};
	const window = chosen === null ? undefined : windows[chosen];
	return (
		<div className="checks">
			<div className="checks-main">
				{windows.length === 0 ? (
					<EmptyState icon={Waypoints} title="The meters were never in bypass together">
						A check needs a stretch in which the loop runs without the chamber: the same stream then
						passes the feed and the return meters. Give such readings the mode bypass, or import a
						logger record that has them; a pair read by hand every shift is enough to begin with.
					</EmptyState>
				) : (
					<>
						<div className="checks-upper">
							<CheckChart
								checks={checks}
								chosen={chosen}
								onChoose={choose}
								utcOffset_min={utcOffset_min}
								marks={MARKS}
							/>
						</div>
						<div className="checks-lower">
							<WindowTable
								windows={windows}
								pair={pair}
								onPair={setPair}
								chosen={chosen}
								onChoose={choose}
								utcOffset_min={utcOffset_min}
							/>
							<WindowDecision
								key={`${begin} ${pair}`}
								window={window}
								pair={pair}
								utcOffset_min={utcOffset_min}
								readOnly={readOnly}
							/>
						</div>
					</>
				)}
			</div>
			<aside className="checks-dock" aria-label="What follows from the bypass checks">
				<CorrectionChoice checks={checks} readOnly={readOnly} utcOffset_min={utcOffset_min} />
				<DensityLevel checks={checks} readOnly={readOnly} utcOffset_min={utcOffset_min} />
				<MeterReminders reminders={checks.reminders} utcOffset_min={utcOffset_min} />
				<CheckRules />
			</aside>
		</div>
	);
}
