import {
	Copy,
	FileCheck2,
	FileClock,
	FileInput,
	FileOutput,
	FilePlus2,
	FolderInput,
	FolderOpen,
	FolderOutput,
	Keyboard,
	Menu as MenuIcon,
	Monitor,
	Moon,
	Redo2,
	Sun,
	Undo2,
	X,
} from 'lucide-react';
import { useDeskValue, useDocument } from '../desk/desk.tsx';
import markUrl from '../look/mark.svg';
import { exportedSheet, importedSheet, sheetTitle } from '../panels/exchange/words.ts';
import { Badge } from '../parts/Badge.tsx';
import { IconButton } from '../parts/IconButton.tsx';
import { Menu, type MenuEntry } from '../parts/Menu.tsx';
import { chooseTheme, useTheme } from './theme.ts';
import { WhoAmI } from './WhoAmI.tsx';

/** Dialogs the File menu opens. */
export type FileDialog =
	| 'open'
	| 'folder'
	| 'new'
	| 'logger'
	| 'import-sheet'
	| 'export-sheet'
	| 'copy'
	| 'export'
	| 'check';

export interface TitleBarProps {
	readonly onDialog: (dialog: FileDialog) => void;
	readonly onClose: () => void;
	readonly onUndo: () => void;
	readonly onRedo: () => void;
	readonly onKeys: () => void;
}

/** The drive's name, what is to be known about this copy of it, and the tools that belong to no sheet. */
export function TitleBar({ onDialog, onClose, onUndo, onRedo, onKeys }: TitleBarProps) {
	const document = useDocument();
	const theme = useTheme();
	const sheet = useDeskValue((view) => view.selection.sheet);
	const none = document ? null : 'No drive is open';
	const readOnly = document?.readOnly ? 'This drive is read-only' : null;
	const outSheet = exportedSheet(sheet);
	const inSheet = importedSheet(sheet);
	const file: readonly MenuEntry[] = [
		{ kind: 'item', label: 'Open…', icon: FolderOpen, choose: () => onDialog('open') },
		{
			kind: 'item',
			label: 'New from folder…',
			icon: FolderInput,
			choose: () => onDialog('folder'),
		},
		{
			kind: 'item',
			label: 'New empty drive…',
			icon: FilePlus2,
			choose: () => onDialog('new'),
		},
		{ kind: 'rule' },
		{
			kind: 'item',
			label: 'Import logger files…',
			icon: FileClock,
			notNow: none ?? readOnly,
			choose: () => onDialog('logger'),
		},
		{
			kind: 'item',
			label:
				inSheet && document
					? `Import into ${sheetTitle(inSheet).toLowerCase()}…`
					: 'Import into this sheet…',
			icon: FileInput,
			notNow:
				none ??
				readOnly ??
				(inSheet
					? null
					: sheet === 'ledger'
						? 'The ledger is worked out'
						: 'The settings of the drive are typed in'),
			choose: () => onDialog('import-sheet'),
		},
		{
			kind: 'item',
			label:
				outSheet && document ? `Export ${sheetTitle(outSheet).toLowerCase()}…` : 'Export sheet…',
			icon: FileOutput,
			notNow: none ?? (outSheet ? null : 'Export the folder: it holds the settings'),
			choose: () => onDialog('export-sheet'),
		},
		{
			kind: 'item',
			label: 'Save a copy…',
			icon: Copy,
			notNow: none,
			choose: () => onDialog('copy'),
		},
		{
			kind: 'item',
			label: 'Export folder…',
			icon: FolderOutput,
			notNow: none,
			choose: () => onDialog('export'),
		},
		{
			kind: 'item',
			label: 'Check file and journal',
			icon: FileCheck2,
			notNow: none,
			choose: () => onDialog('check'),
		},
		{ kind: 'rule' },
		{ kind: 'item', label: 'Close drive', icon: X, notNow: none, choose: onClose },
	];
	const themes: readonly MenuEntry[] = [
		{ kind: 'item', label: 'As the system', icon: Monitor, choose: () => chooseTheme('system') },
		{ kind: 'item', label: 'Day', icon: Sun, choose: () => chooseTheme('day') },
		{ kind: 'item', label: 'Night', icon: Moon, choose: () => chooseTheme('night') },
	];
	const ThemeIcon = theme === 'system' ? Monitor : theme === 'day' ? Sun : Moon;
	const undo = document?.undo ?? null;
	const redo = document?.redo ?? null;

	return (
		<header className="title-bar">
			<img src={markUrl} alt="" width={24} height={24} />
			<Menu
				className="frame-button"
				label={
					<>
						<MenuIcon size={16} aria-hidden /> File
					</>
				}
				entries={file}
			/>
			<div className="title-bar-drive">
				<h1>{document?.title ?? 'Slurry Ledger'}</h1>
				{document && (
					<span className="title-bar-file" title={`${document.folder}`}>
						{document.file}
					</span>
				)}
				{document?.invented && (
					<Badge
						status="info"
						hint="Made by the simulator: no real drive, place or person is behind it."
					>
						invented data
					</Badge>
				)}
				{document?.readOnly && (
					<Badge status="note" hint={document.readOnlyWhy ?? undefined}>
						read-only{document.readOnlyWhy ? `: ${document.readOnlyWhy}` : ''}
					</Badge>
				)}
			</div>
			{document && (
				<div className="title-bar-group">
					<IconButton
						label={undo ? `Undo ${undo}` : 'Undo'}
						hint={undo ? `Undo ${undo} (Ctrl+Z)` : 'Nothing to undo'}
						icon={Undo2}
						disabled={!undo || document.readOnly}
						onClick={onUndo}
					/>
					<IconButton
						label={redo ? `Redo ${redo}` : 'Redo'}
						hint={redo ? `Redo ${redo} (Ctrl+Y)` : 'Nothing to redo'}
						icon={Redo2}
						disabled={!redo || document.readOnly}
						onClick={onRedo}
					/>
				</div>
			)}
			<div className="title-bar-group">
				<WhoAmI />
				<Menu
					className="icon-button"
					name="Day or night"
					side="end"
					label={<ThemeIcon size={18} aria-hidden />}
					entries={themes}
				/>
				<IconButton label="Keys" hint="Keys (F1)" icon={Keyboard} onClick={onKeys} />
			</div>
		</header>
	);
}
