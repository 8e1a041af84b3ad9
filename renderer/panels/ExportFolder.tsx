import './panels.css';
import { useState } from 'react';
import { useCallDesk, useDocument } from '../desk/desk.tsx';
import { Button } from '../parts/Button.tsx';
import { Dialog } from '../parts/Dialog.tsx';
import { Notice } from '../parts/Notice.tsx';
import { ChoosePlace } from './ChoosePlace.tsx';
import { DeskProgress } from './DeskProgress.tsx';
import { nameFromTitle } from './placename.ts';
import type { ChosenPlace } from './places.ts';
import { RefusedDialog } from './RefusedDialog.tsx';

type Step =
	| { readonly kind: 'choose' }
	| { readonly kind: 'writing' }
	| { readonly kind: 'written'; readonly folder: string; readonly files: readonly string[] }
	| { readonly kind: 'refused'; readonly message: string };

/** The open project as a plain folder of CSV files that any program reads. */
export function ExportFolder({ onClose }: { readonly onClose: () => void }) {
	const callDesk = useCallDesk();
	const document = useDocument();
	const [step, setStep] = useState<Step>({ kind: 'choose' });
	const write = async (into: ChosenPlace) => {
		setStep({ kind: 'writing' });
		const reply = await callDesk('project.exportFolder', {
			intoId: into.placeId,
			name: into.title,
		});
		setStep(
			reply.ok ? { kind: 'written', ...reply.value } : { kind: 'refused', message: reply.message },
		);
	};
	if (step.kind === 'choose') {
		return (
			<ChoosePlace
				purpose="export-folder"
				suggest={`${nameFromTitle(document?.title ?? '')} export`}
				onChoose={(into) => void write(into)}
				onClose={onClose}
			/>
		);
	}
	if (step.kind === 'writing') {
		return (
			<Dialog title="Export as a plain folder" onClose={onClose} locked>
				<DeskProgress label="Writing the folder" />
			</Dialog>
		);
	}
	if (step.kind === 'refused') {
		return (
			<RefusedDialog
				title="The folder was not written"
				message={step.message}
				again="Choose another place…"
				onAgain={() => setStep({ kind: 'choose' })}
				onClose={onClose}
			/>
		);
	}
	return (
		<Dialog
			title="Exported as a plain folder"
			onClose={onClose}
			footer={
				<Button tone="primary" onClick={onClose}>
					Done
				</Button>
			}
		>
			<Notice status="good">
				{step.files.length} {step.files.length === 1 ? 'file' : 'files'} written to{' '}
				<b>{step.folder}</b>
			</Notice>
			<ul className="file-list">
				{step.files.map((file) => (
					<li key={file}>{file}</li>
				))}
			</ul>
		</Dialog>
	);
}
