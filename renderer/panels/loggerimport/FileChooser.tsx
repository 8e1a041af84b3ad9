import '../panels.css';
import { CornerLeftUp, FileText, Folder } from 'lucide-react';
import { type KeyboardEvent, useCallback, useEffect, useRef, useState } from 'react';
import type { Ask, PlaceListing } from '../../../electron/contract/verbs.ts';
import { useCallDesk, useDeskValue } from '../../desk/desk.tsx';
import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import { Notice } from '../../parts/Notice.tsx';
import { Spinner } from '../../parts/Progress.tsx';
import { tell } from '../../parts/Toast.tsx';
import type { ChosenPlace } from '../places.ts';

type Entry = PlaceListing['entries'][number];

/** Whose files are asked for: several of a logger, or one of a sheet. */
type FilesOf = NonNullable<Ask<'places.chooseFiles'>['of']>;

const ASKS: Readonly<Record<FilesOf, { title: string; one: string; text: string }>> = {
	logger: {
		title: 'Choose logger files',
		one: 'Look at the file',
		text: 'CSV or Parquet, of any layout. Several files of one layout can be taken at once: Space or a click on its box ticks a file, Ctrl+A all of the folder.',
	},
	sheet: {
		title: 'Choose a file',
		one: 'Look at the file',
		text: 'CSV or XLSX, with a row of headings. Nothing is taken before you have seen what becomes of its rows.',
	},
};

export interface FileChooserProps {
	readonly of?: FilesOf;
	readonly onChoose: (files: readonly ChosenPlace[]) => void;
	readonly onClose: () => void;
}

/** Asks for files in the way the host has: the system's dialog, else our own. */
export function FileChooser(props: FileChooserProps) {
	const native = useDeskValue((view) => view.state?.nativeDialogs ?? false);
	return native ? <SystemFiles {...props} /> : <ListedFiles {...props} />;
}

function SystemFiles({ of = 'logger', onChoose, onClose }: FileChooserProps) {
	const callDesk = useCallDesk();
	const asked = useRef(false);
	const [refused, setRefused] = useState(false);
	const answer = useRef({ onChoose, onClose });
	answer.current = { onChoose, onClose };
	useEffect(() => {
		// Strict mode runs effects twice; the system's dialog may open only once.
		if (asked.current) return;
		asked.current = true;
		void callDesk('places.chooseFiles', { of }).then((reply) => {
			if (!reply.ok) {
				tell('note', reply.message);
				setRefused(true);
			} else if (reply.value === null) answer.current.onClose();
			else answer.current.onChoose(reply.value);
		});
	}, [callDesk, of]);
	return refused ? <ListedFiles of={of} onChoose={onChoose} onClose={onClose} /> : null;
}

const shows = (entry: Entry): boolean => entry.kind !== 'project';

/** Folder by folder; files of a logger are ticked with Space or a click, several of one folder at once. */
function ListedFiles({ of = 'logger', onChoose, onClose }: FileChooserProps) {
	const callDesk = useCallDesk();
	const [listing, setListing] = useState<PlaceListing | null>(null);
	const [trouble, setTrouble] = useState<string | null>(null);
	const [marked, setMarked] = useState(0);
	const [ticked, setTicked] = useState<ReadonlySet<string>>(new Set());
	const several = of === 'logger';
	const list = useRef<HTMLDivElement>(null);
	const wanted = useRef(0);

	const enter = useCallback(
		async (placeId: string | undefined) => {
			const turn = ++wanted.current;
			const reply = await callDesk('places.list', placeId === undefined ? {} : { placeId });
			if (turn !== wanted.current) return;
			if (!reply.ok) {
				setTrouble(reply.message);
				return;
			}
			setTrouble(null);
			setListing(reply.value);
			setMarked(0);
			setTicked(new Set());
		},
		[callDesk],
	);
	useEffect(() => {
		void enter(undefined);
	}, [enter]);
	const arrived = listing !== null;
	useEffect(() => {
		if (arrived) list.current?.focus();
	}, [arrived]);

	const entries = (listing?.entries ?? []).filter(shows);
	const markedEntry = entries[marked];
	const isFile = (entry: Entry | undefined): boolean => entry?.kind === 'file';
	const chosen =
		ticked.size > 0
			? entries.filter((entry) => ticked.has(entry.placeId))
			: markedEntry && isFile(markedEntry)
				? [markedEntry]
				: [];
	const tick = (entry: Entry) => {
		const next = new Set(ticked);
		if (!next.delete(entry.placeId)) next.add(entry.placeId);
		setTicked(next);
	};
	const confirm = () => onChoose(chosen.map(({ placeId, name }) => ({ placeId, title: name })));
	const act = (entry: Entry) => {
		if (!isFile(entry)) void enter(entry.placeId);
		else if (ticked.size === 0) onChoose([{ placeId: entry.placeId, title: entry.name }]);
		else confirm();
	};
	const mark = (index: number) => {
		const to = Math.max(0, Math.min(entries.length - 1, index));
		setMarked(to);
		list.current?.querySelectorAll('[role="option"]')[to]?.scrollIntoView({ block: 'nearest' });
	};
	const keys = (event: KeyboardEvent) => {
		switch (event.key) {
			case 'ArrowDown':
				mark(marked + 1);
				break;
			case 'ArrowUp':
				mark(marked - 1);
				break;
			case 'Home':
				mark(0);
				break;
			case 'End':
				mark(entries.length - 1);
				break;
			case ' ':
				if (several && markedEntry && isFile(markedEntry)) tick(markedEntry);
				break;
			case 'Enter':
				if (markedEntry) act(markedEntry);
				break;
			case 'Backspace':
			case 'ArrowLeft':
				if (listing?.parent) void enter(listing.parent.placeId);
				break;
			case 'a':
				if (!several || (!event.ctrlKey && !event.metaKey)) return;
				setTicked(new Set(entries.filter(isFile).map(({ placeId }) => placeId)));
				break;
			default:
				return;
		}
		event.preventDefault();
	};

	return (
		<Dialog
			title={ASKS[of].title}
			onClose={onClose}
			width={640}
			footer={
				<>
					<Button onClick={onClose}>Cancel</Button>
					<Button tone="primary" onClick={confirm} disabled={chosen.length === 0}>
						{chosen.length > 1 ? `Look at ${chosen.length} files` : ASKS[of].one}
					</Button>
				</>
			}
		>
			<p className="soft">{ASKS[of].text}</p>
			<div className="places">
				<div className="places-head">
					<Button
						tone="quiet"
						icon={CornerLeftUp}
						disabled={!listing?.parent}
						onClick={() => listing?.parent && void enter(listing.parent.placeId)}
					>
						{listing?.parent ? `Up to ${listing.parent.title}` : 'Up'}
					</Button>
					<span className="places-here">{listing?.title ?? ''}</span>
				</div>
				{trouble !== null && (
					<Notice status="stop" title="This folder cannot be shown">
						{trouble}
					</Notice>
				)}
				{listing === null && trouble === null && <Spinner label="Reading folders…" />}
				{listing !== null && (
					<div
						className="places-list"
						role="listbox"
						aria-multiselectable={several}
						aria-label={`Contents of ${listing.title}`}
						aria-activedescendant={markedEntry ? `file-${marked}` : undefined}
						tabIndex={0}
						ref={list}
						onKeyDown={keys}
					>
						{entries.length === 0 && (
							<p className="soft places-empty">No folders and no files here.</p>
						)}
						{entries.map((entry, index) => {
							const file = isFile(entry);
							const Icon = file ? FileText : Folder;
							return (
								// biome-ignore lint/a11y/useKeyWithClickEvents: the list takes the keys, options are not in the tab order
								<div
									key={entry.placeId}
									id={`file-${index}`}
									role="option"
									tabIndex={-1}
									aria-selected={several ? file && ticked.has(entry.placeId) : index === marked}
									data-marked={index === marked ? '' : undefined}
									className="place place-file"
									data-kind={entry.kind}
									onClick={() => setMarked(index)}
									onDoubleClick={() => act(entry)}
								>
									{file && several ? (
										<input
											type="checkbox"
											tabIndex={-1}
											aria-label={`Take ${entry.name}`}
											checked={ticked.has(entry.placeId)}
											onChange={() => tick(entry)}
										/>
									) : (
										<span />
									)}
									<Icon size={16} aria-hidden />
									<span className="place-name">{entry.name}</span>
									<span className="soft">{file ? 'File' : 'Folder'}</span>
								</div>
							);
						})}
					</div>
				)}
			</div>
		</Dialog>
	);
}
