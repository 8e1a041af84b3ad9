import { dateTime } from '../../../calc/quantity/time.ts';
import type { UnfinishedImport as Unfinished } from '../../../electron/contract/loggerimport.ts';
import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import { Notice } from '../../parts/Notice.tsx';
import { bytesText, whole } from './words.ts';

/** An import that was cancelled or died: how far it came, and whether it goes on, is left or is discarded. */
export function UnfinishedImport({
	title,
	found,
	trouble,
	busy,
	utcOffset_min,
	onGoOn,
	onDiscard,
	onOther,
	onClose,
}: {
	readonly title: string;
	readonly found: Unfinished;
	/** Why it did not go on when it was last tried. */
	readonly trouble: string | null;
	/** It is being discarded. */
	readonly busy: boolean;
	readonly utcOffset_min: number;
	readonly onGoOn: () => void;
	readonly onDiscard: () => void;
	readonly onOther: () => void;
	readonly onClose: () => void;
}) {
	const { files, read, ofBytes, days, upTo_s, begun_s, notNow } = found;
	const part = ofBytes === 0 ? 0 : Math.floor((100 * read) / ofBytes);
	const facts: readonly (readonly [string, string])[] = [
		['Begun', dateTime(begun_s, utcOffset_min)],
		['Read', `${bytesText(read)} of ${bytesText(ofBytes)}, ${part} %`],
		['Days kept aside', whole(days)],
		['Whole up to', dateTime(upTo_s, utcOffset_min)],
	];
	const why = trouble ?? notNow;
	return (
		<Dialog
			title={title}
			onClose={onClose}
			width={760}
			footer={
				<>
					<Button busy={busy} onClick={onDiscard}>
						Discard what was read
					</Button>
					<Button onClick={onOther}>Choose other files…</Button>
					<Button tone="primary" disabled={notNow !== null || busy} onClick={onGoOn}>
						Go on with it
					</Button>
				</>
			}
		>
			<Notice status={why === null ? 'info' : 'stop'} title={why === null ? '' : 'It cannot go on'}>
				{why ??
					'The project is as it was: nothing of the files counts before the last row is read. The import can go on where it stopped, with the same files, layout and choices.'}
			</Notice>
			<dl className="summary">
				{facts.map(([name, value]) => (
					<div key={name}>
						<dt>{name}</dt>
						<dd>{value}</dd>
					</div>
				))}
			</dl>
			<ul className="logger-files" aria-label="Files of the import">
				{files.map((file, index) => (
					// biome-ignore lint/suspicious/noArrayIndexKey: two files can have the same name
					<li key={index}>
						<span className="logger-file-name">{file}</span>
					</li>
				))}
			</ul>
			<p className="soft">Importing other files takes the place of what was read.</p>
		</Dialog>
	);
}
