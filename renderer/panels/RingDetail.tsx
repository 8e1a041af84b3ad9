import './panels.css';
import { ChevronLeft, ChevronRight, CircleHelp, Rows3, TriangleAlert } from 'lucide-react';
import { memo, useMemo, useState } from 'react';
import { useAnswer } from '../desk/answer.ts';
import { useSelect, useSheetRows } from '../desk/desk.tsx';
import { Button } from '../parts/Button.tsx';
import { EmptyState } from '../parts/EmptyState.tsx';
import { IconButton } from '../parts/IconButton.tsx';
import { Notice } from '../parts/Notice.tsx';
import { Spinner } from '../parts/Progress.tsx';
import { Cautions } from './Cautions.tsx';
import { groupFacts } from './facts.ts';
import { HowComputed } from './HowComputed.tsx';
import { neighbours, rowOfRing } from './rings.ts';

export interface RingDetailProps {
	readonly ring: number | null;
}

/** All facts of one ring by group; each computed one can be asked how it came about. */
export const RingDetail = memo(function RingDetail({ ring }: RingDetailProps) {
	const select = useSelect();
	const ledger = useSheetRows('ledger');
	const held = useAnswer('ring.detail', ring === null ? null : { ring });
	const [asked, setAsked] = useState<string | null>(null);
	const around = useMemo(
		() => (ring === null ? { before: null, after: null } : neighbours(ledger, ring)),
		[ledger, ring],
	);
	const row = useMemo(() => (ring === null ? null : rowOfRing(ledger, ring)), [ledger, ring]);

	if (ring === null) {
		return (
			<EmptyState icon={Rows3} title="No ring selected">
				Select a ring in the ledger to see all its facts and how each was computed.
			</EmptyState>
		);
	}
	const go = (to: number | null) => {
		if (to === null) return;
		select({ ring: to, row: rowOfRing(ledger, to) });
	};
	return (
		<section className="ring-detail" aria-label={`Ring ${ring} in detail`}>
			<header className="panel-head">
				<h2>Ring {ring}</h2>
				<IconButton
					label="Ring before"
					hint={around.before === null ? 'This is the first ring' : `Ring ${around.before}`}
					icon={ChevronLeft}
					disabled={around.before === null}
					onClick={() => go(around.before)}
				/>
				<IconButton
					label="Ring after"
					hint={around.after === null ? 'This is the last ring' : `Ring ${around.after}`}
					icon={ChevronRight}
					disabled={around.after === null}
					onClick={() => go(around.after)}
				/>
			</header>
			{held.kind === 'loading' && <Spinner label={`Reading ring ${ring}…`} />}
			{held.kind === 'error' && (
				<Notice
					status="stop"
					title={`Ring ${ring} could not be read`}
					actions={<Button onClick={held.again}>Try again</Button>}
				>
					{held.message}
				</Notice>
			)}
			{held.kind === 'ready' && (
				<>
					{held.answer.notes.length > 0 && (
						<Notice status="note" title="Before these figures are used">
							<ul>
								{held.answer.notes.map((note) => (
									<li key={note}>{note}</li>
								))}
							</ul>
						</Notice>
					)}
					{groupFacts(held.answer.facts).map(({ group, facts }) => (
						<div className="facts" key={group}>
							<h3>{group}</h3>
							<dl>
								{facts.map((fact) => (
									<div className="fact" key={fact.heading} data-column={fact.column ?? undefined}>
										<dt>{fact.heading}</dt>
										<dd className="fact-figure">
											<span className="fact-value">{fact.value}</span>
											{fact.column !== null && row !== null ? (
												<button
													type="button"
													className="how-button"
													aria-label={`How was ${fact.heading} computed?`}
													aria-expanded={asked === fact.column}
													title="How was this computed?"
													onClick={() => setAsked(asked === fact.column ? null : fact.column)}
												>
													<CircleHelp size={14} aria-hidden />
												</button>
											) : (
												<span className="how-button" aria-hidden="true" />
											)}
										</dd>
										{fact.reasons.map((reason) => (
											<dd className="fact-reason" key={reason}>
												<TriangleAlert size={12} aria-hidden />
												<span>{reason}</span>
											</dd>
										))}
										{fact.column !== null && asked === fact.column && row !== null && (
											<dd className="fact-how">
												<HowComputed
													cell={{ sheet: 'ledger', row, column: fact.column }}
													onClose={() => setAsked(null)}
												/>
											</dd>
										)}
									</div>
								))}
							</dl>
						</div>
					))}
					<Cautions />
				</>
			)}
		</section>
	);
});
