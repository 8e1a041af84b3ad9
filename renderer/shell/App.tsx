import './shell.css';
import { RotateCw, ServerCrash } from 'lucide-react';
import { useCallback, useEffect, useRef, useState } from 'react';
import { useCallDesk, useDeskStore, useDeskValue, useDocument, useSelect } from '../desk/desk.tsx';
import { CheckResult } from '../panels/CheckResult.tsx';
import { ExportFolder } from '../panels/ExportFolder.tsx';
import { SheetExport } from '../panels/exchange/SheetExport.tsx';
import { SheetImport } from '../panels/exchange/SheetImport.tsx';
import { exportedSheet, importedSheet } from '../panels/exchange/words.ts';
import { FolderImport } from '../panels/FolderImport.tsx';
import { LoggerImport } from '../panels/loggerimport/LoggerImport.tsx';
import { NewDrive } from '../panels/NewDrive.tsx';
import { OpenProject } from '../panels/OpenProject.tsx';
import { SaveCopy } from '../panels/SaveCopy.tsx';
import { StartScreen } from '../panels/StartScreen.tsx';
import { Button } from '../parts/Button.tsx';
import { EmptyState } from '../parts/EmptyState.tsx';
import { Notice } from '../parts/Notice.tsx';
import { Spinner } from '../parts/Progress.tsx';
import { ToastShelf, tell } from '../parts/Toast.tsx';
import { KeySheet } from './KeySheet.tsx';
import { pageKey, takesText } from './keys.ts';
import { StatusStrip } from './StatusStrip.tsx';
import { SHEET_LIST } from './sheetlist.ts';
import { type FileDialog, TitleBar } from './TitleBar.tsx';
import { Workbench } from './Workbench.tsx';

/** The whole page: frame, sheet or start screen, dialogs and messages. */
export function App() {
	const store = useDeskStore();
	const callDesk = useCallDesk();
	const select = useSelect();
	const document_ = useDocument();
	const known = useDeskValue((view) => view.state !== null);
	const trouble = useDeskValue((view) => view.trouble);
	const connection = useDeskValue((view) => view.connection);
	const [dialog, setDialog] = useState<FileDialog | 'keys' | null>(null);
	const title = document_?.title ?? null;
	const sheet = useDeskValue((view) => view.selection.sheet);
	const outSheet = exportedSheet(sheet);
	const inSheet = importedSheet(sheet);
	const shut = () => setDialog(null);

	useEffect(() => {
		document.title = title === null ? 'Slurry Ledger' : `${title} – Slurry Ledger`;
	}, [title]);

	// Steps asked for faster than the desk answers wait for their turn; none is lost.
	const steps = useRef<Promise<void>>(Promise.resolve());
	const step = useCallback(
		(verb: 'history.undo' | 'history.redo') => {
			steps.current = steps.current.then(async () => {
				const document = store.view().state?.document;
				if (!document || document.readOnly) return;
				if ((verb === 'history.undo' ? document.undo : document.redo) === null) return;
				const reply = await callDesk(verb, {});
				if (!reply.ok) tell('stop', reply.message);
				else if (reply.value.refused.length > 0)
					tell('stop', reply.value.refused.map((refusal) => refusal.fault.message).join(' '));
			});
			return steps.current;
		},
		[store, callDesk],
	);

	const close = useCallback(async () => {
		const reply = await callDesk('project.close', {});
		if (!reply.ok) tell('stop', reply.message);
	}, [callDesk]);

	useEffect(() => {
		const hear = (event: KeyboardEvent) => {
			if (event.defaultPrevented || document.querySelector('dialog[open]')) return;
			const asked = pageKey(event, takesText(document.activeElement));
			if (!asked) return;
			if (asked.kind === 'keys') setDialog('keys');
			else if (asked.kind === 'undo') void step('history.undo');
			else if (asked.kind === 'redo') void step('history.redo');
			else {
				const sheet = SHEET_LIST[asked.index]?.sheet;
				if (!sheet || !store.view().state?.document) return;
				select({ sheet, row: null, column: null });
			}
			event.preventDefault();
		};
		window.addEventListener('keydown', hear);
		return () => window.removeEventListener('keydown', hear);
	}, [step, select, store]);

	return (
		<div className="app">
			<TitleBar
				onDialog={setDialog}
				onClose={() => void close()}
				onUndo={() => void step('history.undo')}
				onRedo={() => void step('history.redo')}
				onKeys={() => setDialog('keys')}
			/>
			{connection === 'lost' && (
				<div className="app-banner">
					<Notice status="stop" title="The connection to the desk is lost.">
						What was confirmed is stored. The page tries to reach the desk again and then reads
						everything anew; until then nothing can be edited.
					</Notice>
				</div>
			)}
			<div className="app-body">
				{trouble && (!document_ || trouble.code === 'contract_differs') ? (
					<EmptyState
						icon={ServerCrash}
						title={
							trouble.code === 'contract_differs' ? 'Another version' : 'The desk does not answer'
						}
						actions={
							<Button
								tone="primary"
								icon={RotateCw}
								onClick={() =>
									trouble.code === 'contract_differs'
										? window.location.reload()
										: void store.readAnew()
								}
							>
								{trouble.code === 'contract_differs' ? 'Reload the page' : 'Try again'}
							</Button>
						}
					>
						{trouble.message}
					</EmptyState>
				) : !known ? (
					<div className="app-wait">
						<Spinner label="Reaching the desk" />
					</div>
				) : document_ ? (
					<Workbench onImportLogger={() => setDialog('logger')} />
				) : (
					<StartScreen />
				)}
			</div>
			<StatusStrip />
			<ToastShelf />
			{dialog === 'keys' && <KeySheet onClose={shut} />}
			{dialog === 'open' && <OpenProject onClose={shut} />}
			{dialog === 'folder' && <FolderImport onClose={shut} />}
			{dialog === 'new' && <NewDrive onClose={shut} />}
			{dialog === 'logger' && document_ && <LoggerImport onClose={shut} />}
			{dialog === 'import-sheet' && document_ && inSheet && (
				<SheetImport sheet={inSheet} onClose={shut} />
			)}
			{dialog === 'export-sheet' && document_ && outSheet && (
				<SheetExport sheet={outSheet} onClose={shut} />
			)}
			{dialog === 'copy' && document_ && <SaveCopy onClose={shut} />}
			{dialog === 'export' && document_ && <ExportFolder onClose={shut} />}
			{dialog === 'check' && document_ && <CheckResult onClose={shut} />}
		</div>
	);
}
