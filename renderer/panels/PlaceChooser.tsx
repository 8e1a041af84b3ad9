import './panels.css';
import { CornerLeftUp, FileSpreadsheet, Folder, FolderInput, Lock } from 'lucide-react';
import { type KeyboardEvent, useCallback, useEffect, useRef, useState } from 'react';
import { dateTime } from '../../calc/quantity/time.ts';
import type { PlaceListing } from '../../electron/contract/verbs.ts';
import { useCallDesk } from '../desk/desk.tsx';
import { Button } from '../parts/Button.tsx';
import { Dialog } from '../parts/Dialog.tsx';
import { TextField } from '../parts/Field.tsx';
import { Notice } from '../parts/Notice.tsx';
import { Spinner } from '../parts/Progress.tsx';
import { nameFault } from './placename.ts';
import type { ChosenPlace, PlacePurpose } from './places.ts';

type Entry = PlaceListing['entries'][number];

const ASKS: Readonly<Record<PlacePurpose, { title: string; button: string; empty: string }>> = {
	'open-project': {
		title: 'Open a project',
		button: 'Open',
		empty: 'No folders and no projects here.',
	},
	'open-folder': {
		title: 'Choose a plain folder',
		button: 'Read this folder',
		empty: 'No folders here.',
	},
	'save-project': {
		title: 'Where to keep the project',
		button: 'Save here',
		empty: 'No folders here.',
	},
	'export-folder': {
		title: 'Where to write the folder',
		button: 'Write here',
		empty: 'No folders here.',
	},
	'save-sheet': {
		title: 'Where to write the sheet',
		button: 'Write here',
		empty: 'No folders here.',
	},
};
const KIND_WORDS: Readonly<Record<Entry['kind'], string>> = {
	folder: 'Folder',
	project: 'Project',
	driveFolder: 'Plain folder of a drive',
	file: 'File',
};
const KIND_ICON = {
	folder: Folder,
	project: FileSpreadsheet,
	driveFolder: FolderInput,
	file: FileSpreadsheet,
} as const;

export interface PlaceChooserProps {
	readonly purpose: PlacePurpose;
	/** Name to begin with when saving. */
	readonly suggest?: string;
	readonly onChoose: (place: ChosenPlace) => void;
	readonly onClose: () => void;
}

/** Folder by folder through the places the desk shows; for hosts without the system's own dialogs. */
export function PlaceChooser({ purpose, suggest, onChoose, onClose }: PlaceChooserProps) {
	const callDesk = useCallDesk();
	const ask = ASKS[purpose];
	const saves = purpose !== 'open-project' && purpose !== 'open-folder';
	const [listing, setListing] = useState<PlaceListing | null>(null);
	const [trouble, setTrouble] = useState<string | null>(null);
	const [marked, setMarked] = useState(0);
	const [name, setName] = useState((suggest ?? '').replace(/\.slurrybook$/i, ''));
	const [nameTouched, setNameTouched] = useState(false);
	const list = useRef<HTMLDivElement>(null);
	const nameField = useRef<HTMLInputElement>(null);
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
		},
		[callDesk],
	);
	useEffect(() => {
		void enter(undefined);
	}, [enter]);
	const arrived = listing !== null;
	useEffect(() => {
		// Once only: going from folder to folder the focus is already where it belongs.
		if (arrived) (nameField.current ?? list.current)?.focus();
	}, [arrived]);

	const entries = (listing?.entries ?? []).filter(
		(entry) => entry.kind !== 'file' && (purpose === 'open-project' || entry.kind !== 'project'),
	);
	const markedEntry = entries[marked];
	const fault = saves ? nameFault(name) : null;
	const readOnlyHere = saves && listing !== null && !listing.writable;

	const act = (entry: Entry) => {
		if (purpose === 'open-project' && entry.kind === 'project') {
			onChoose({ placeId: entry.placeId, title: entry.name });
		} else if (purpose === 'open-folder' && entry.kind === 'driveFolder') {
			onChoose({ placeId: entry.placeId, title: entry.name });
		} else void enter(entry.placeId);
	};
	const confirm = () => {
		if (!listing) return;
		if (saves) {
			setNameTouched(true);
			if (fault === null && !readOnlyHere) {
				onChoose({ placeId: listing.placeId, title: name.trim() });
			}
		} else if (purpose === 'open-folder') {
			onChoose(
				markedEntry?.kind === 'driveFolder'
					? { placeId: markedEntry.placeId, title: markedEntry.name }
					: { placeId: listing.placeId, title: listing.title },
			);
		} else if (markedEntry) act(markedEntry);
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
			case 'Enter':
				if (markedEntry) act(markedEntry);
				break;
			case 'Backspace':
			case 'ArrowLeft':
				if (listing?.parent) void enter(listing.parent.placeId);
				break;
			default: {
				if (event.ctrlKey || event.altKey || event.metaKey || event.key.length !== 1) return;
				const letter = event.key.toLowerCase();
				const at = entries.findIndex((_, i) =>
					entries[(marked + 1 + i) % entries.length]?.name.toLowerCase().startsWith(letter),
				);
				if (at < 0) return;
				mark((marked + 1 + at) % entries.length);
			}
		}
		event.preventDefault();
	};

	return (
		<Dialog
			title={ask.title}
			onClose={onClose}
			width={640}
			footer={
				<>
					<Button onClick={onClose}>Cancel</Button>
					<Button
						tone="primary"
						onClick={confirm}
						disabled={
							!listing || readOnlyHere || (purpose === 'open-project' && markedEntry === undefined)
						}
					>
						{purpose === 'open-project' && markedEntry?.kind !== 'project' && markedEntry
							? 'Go into folder'
							: ask.button}
					</Button>
				</>
			}
		>
			{saves && (
				<TextField
					label="Name"
					ref={nameField}
					value={name}
					onChange={setName}
					onBlur={() => setNameTouched(true)}
					onKeyDown={(event) => {
						if (event.key === 'Enter') confirm();
					}}
					fault={nameTouched ? fault : null}
					unit={purpose === 'save-project' ? '.slurrybook' : null}
				/>
			)}
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
					{readOnlyHere && (
						<span className="places-locked">
							<Lock size={14} aria-hidden /> cannot be written
						</span>
					)}
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
						aria-label={`Contents of ${listing.title}`}
						aria-activedescendant={markedEntry ? `place-${marked}` : undefined}
						tabIndex={0}
						ref={list}
						onKeyDown={keys}
					>
						{entries.length === 0 && <p className="soft places-empty">{ask.empty}</p>}
						{entries.map((entry, index) => {
							const Icon = KIND_ICON[entry.kind];
							return (
								// biome-ignore lint/a11y/useKeyWithClickEvents: the list takes the keys, options are not in the tab order
								<div
									key={entry.placeId}
									id={`place-${index}`}
									role="option"
									tabIndex={-1}
									aria-selected={index === marked}
									className="place"
									data-kind={entry.kind}
									onClick={() => setMarked(index)}
									onDoubleClick={() => act(entry)}
								>
									<Icon size={16} aria-hidden />
									<span className="place-name">{entry.name}</span>
									<span className="soft">{KIND_WORDS[entry.kind]}</span>
									<span className="soft figure">
										{entry.modified_s === null
											? ''
											: dateTime(minuteOf(entry.modified_s), localOffset_min(entry.modified_s))}
									</span>
								</div>
							);
						})}
					</div>
				)}
			</div>
		</Dialog>
	);
}

const minuteOf = (time_s: number): number => Math.floor(time_s / 60) * 60;
/** File times are shown on the person's own clock: they belong to the machine, not to the drive. */
const localOffset_min = (time_s: number): number => -new Date(time_s * 1000).getTimezoneOffset();
