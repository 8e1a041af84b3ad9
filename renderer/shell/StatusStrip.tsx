import { Check, CircleSlash2, LoaderCircle, PlugZap, Unplug } from 'lucide-react';
import { useEffect, useState } from 'react';
import { formatNumber } from '../../calc/quantity/format.ts';
import { useDeskValue, useDocument } from '../desk/desk.tsx';
import { MARKS } from '../look/marks.ts';

const count = (value: number, one: string, many: string): string =>
	`${formatNumber(value, 0, MARKS)} ${value === 1 ? one : many}`;

/** Shorter than this a change is stored before anyone could read that it is being stored. */
const WORTH_SAYING_MS = 250;

/** True once something has been going on for a while; what is over at once is never told. */
function useSlowly(going: boolean): boolean {
	const [long, setLong] = useState(false);
	useEffect(() => {
		if (!going) return;
		const timer = setTimeout(() => setLong(true), WORTH_SAYING_MS);
		return () => {
			clearTimeout(timer);
			setLong(false);
		};
	}, [going]);
	return going && long;
}

/** What the document holds, whether everything is stored, and whether the desk is there. */
export function StatusStrip() {
	const document = useDocument();
	const busy = useSlowly(useDeskValue((view) => view.busy > 0));
	const connection = useDeskValue((view) => view.connection);
	const last = useDeskValue((view) => view.lastLabel);
	const progress = useDeskValue((view) => view.progress);
	if (!document) return null;
	return (
		<footer className="status-strip">
			<span>{count(document.rings, 'ring', 'rings')}</span>
			<span>{count(document.readings, 'reading', 'readings')}</span>
			<span>{count(document.journalEntries, 'journal entry', 'journal entries')}</span>
			<span
				className="status-strip-stored"
				role="status"
				data-read-only={document.readOnly ? '' : undefined}
			>
				{document.readOnly ? (
					<>
						<CircleSlash2 size={14} aria-hidden /> read-only, nothing is stored
					</>
				) : busy ? (
					<>
						<LoaderCircle size={14} className="spinner" aria-hidden /> storing
					</>
				) : (
					<>
						<Check size={14} aria-hidden /> every edit is stored
					</>
				)}
			</span>
			{progress && (
				<span>
					{progress.what}
					{progress.of ? ` ${Math.round((100 * progress.done) / progress.of)} %` : ''}
				</span>
			)}
			<span className="status-strip-last">{last ? `last: ${last}` : ''}</span>
			<span>
				{connection === 'open' ? (
					<>
						<PlugZap size={14} aria-hidden /> desk connected
					</>
				) : (
					<>
						<Unplug size={14} aria-hidden /> desk lost
					</>
				)}
			</span>
		</footer>
	);
}
