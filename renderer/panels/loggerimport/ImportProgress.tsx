import { useEffect, useRef, useState } from 'react';
import { READING_LOGGER } from '../../../electron/contract/progress.ts';
import { useCallDesk, useDeskValue } from '../../desk/desk.tsx';
import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import { Progress } from '../../parts/Progress.tsx';
import { tell } from '../../parts/Toast.tsx';
import { type Mark, paceOf, withMark } from './pace.ts';
import { capital, paceText } from './words.ts';

/** The import under way: how far, how fast, how long still, and a way to end it. */
export function ImportProgress({ title }: { readonly title: string }) {
	const callDesk = useCallDesk();
	const progress = useDeskValue((view) => view.progress);
	const [cancelling, setCancelling] = useState(false);
	const marks = useRef<readonly Mark[]>([]);
	const [rows_s, setPace] = useState<number | null>(null);
	const done = progress?.done ?? 0;
	const what = progress?.what ?? '';
	useEffect(() => {
		marks.current = withMark(marks.current, { at_ms: performance.now(), done });
		setPace(paceOf(marks.current));
	}, [done]);
	// biome-ignore lint/correctness/useExhaustiveDependencies: another piece of work begins its own pace
	useEffect(() => {
		marks.current = [];
		setPace(null);
	}, [what]);

	// Once the rows are read they are recorded: from there on there is nothing to go back from.
	const mayCancel = what === '' || what === READING_LOGGER;
	const cancel = async () => {
		setCancelling(true);
		const reply = await callDesk('logger.cancel', {});
		if (reply.ok) return;
		setCancelling(false);
		tell('stop', reply.message);
	};
	return (
		<Dialog
			title={title}
			onClose={() => void cancel()}
			locked
			footer={
				mayCancel && (
					<Button busy={cancelling} onClick={() => void cancel()}>
						{cancelling ? 'Ending the import' : 'Cancel the import'}
					</Button>
				)
			}
		>
			<div className="logger-progress" role="status">
				<Progress
					label={what === '' ? 'Beginning' : capital(what)}
					done={done}
					of={progress?.of ?? null}
				/>
				{what === READING_LOGGER && (
					<p className="logger-pace">{paceText(done, progress?.of ?? null, rows_s)}</p>
				)}
				<p className="soft">
					{mayCancel
						? 'Nothing of the project changes before the last row is read. Cancelling leaves it as it was; whole days read by then are kept aside, to go on with later.'
						: 'The rows are read and recorded; what depends on them is worked out anew.'}
				</p>
			</div>
		</Dialog>
	);
}
