import './panels.css';
import { useState } from 'react';
import { formatNumber } from '../../calc/quantity/format.ts';
import type { FolderSummary } from '../../electron/contract/verbs.ts';
import { useCallDesk } from '../desk/desk.tsx';
import { MARKS } from '../look/marks.ts';
import { Button } from '../parts/Button.tsx';
import { Dialog } from '../parts/Dialog.tsx';
import { Notice } from '../parts/Notice.tsx';
import { tell } from '../parts/Toast.tsx';
import { ChoosePlace } from './ChoosePlace.tsx';
import { DeskProgress } from './DeskProgress.tsx';
import { FaultTable } from './FaultTable.tsx';
import { choicesOf } from './importchoice.ts';
import { nameFromTitle, projectName } from './placename.ts';
import type { ChosenPlace } from './places.ts';
import { RefusedDialog } from './RefusedDialog.tsx';

type Take = 'all' | 'goodRows';
type Step =
	| { readonly kind: 'choose' }
	| { readonly kind: 'reading'; readonly folder: ChosenPlace }
	| { readonly kind: 'unread'; readonly folder: ChosenPlace; readonly message: string }
	| {
			readonly kind: 'summary';
			readonly folder: ChosenPlace;
			readonly summary: FolderSummary;
			readonly message: string | null;
	  }
	| {
			readonly kind: 'where';
			readonly folder: ChosenPlace;
			readonly summary: FolderSummary;
			readonly take: Take;
	  }
	| { readonly kind: 'making'; readonly folder: ChosenPlace; readonly summary: FolderSummary };

export interface FolderImportProps {
	readonly onClose: () => void;
}

const whole = (value: number): string => formatNumber(value, 0, MARKS);

/**
 * A new project from a plain folder: the folder is read first and everything wrong with it is shown;
 * nothing is written before the person has said what to take.
 */
export function FolderImport({ onClose }: FolderImportProps) {
	const callDesk = useCallDesk();
	const [step, setStep] = useState<Step>({ kind: 'choose' });

	const read = async (folder: ChosenPlace) => {
		setStep({ kind: 'reading', folder });
		const reply = await callDesk('project.inspectFolder', { folderId: folder.placeId });
		setStep(
			reply.ok
				? { kind: 'summary', folder, summary: reply.value, message: null }
				: { kind: 'unread', folder, message: reply.message },
		);
	};
	const make = async (
		folder: ChosenPlace,
		summary: FolderSummary,
		take: Take,
		into: ChosenPlace,
	) => {
		setStep({ kind: 'making', folder, summary });
		const reply = await callDesk('project.create', {
			folderId: folder.placeId,
			intoId: into.placeId,
			name: projectName(into.title),
			take,
		});
		if (!reply.ok) {
			setStep({ kind: 'summary', folder, summary, message: reply.message });
			return;
		}
		tell('good', `Project made from ${folder.title}.`);
		onClose();
	};

	if (step.kind === 'choose') {
		return (
			<ChoosePlace
				key="folder"
				purpose="open-folder"
				onChoose={(folder) => void read(folder)}
				onClose={onClose}
			/>
		);
	}
	if (step.kind === 'where') {
		const { folder, summary, take } = step;
		return (
			<ChoosePlace
				key="where"
				purpose="save-project"
				suggest={nameFromTitle(summary.title === '' ? folder.title : summary.title)}
				onChoose={(into) => void make(folder, summary, take, into)}
				onClose={() => setStep({ kind: 'summary', folder, summary, message: null })}
			/>
		);
	}
	const title = `New project from ${step.folder.title}`;
	if (step.kind === 'reading' || step.kind === 'making') {
		return (
			<Dialog title={title} onClose={onClose} locked>
				<DeskProgress
					label={step.kind === 'reading' ? 'Reading the folder' : 'Making the project'}
				/>
			</Dialog>
		);
	}
	if (step.kind === 'unread') {
		return (
			<RefusedDialog
				title={title}
				heading="The folder could not be read"
				message={step.message}
				again="Choose another folder…"
				onAgain={() => setStep({ kind: 'choose' })}
				onClose={onClose}
			/>
		);
	}
	const { folder, summary, message } = step;
	const choices = choicesOf(summary);
	const take = (what: Take) => setStep({ kind: 'where', folder, summary, take: what });
	return (
		<Dialog
			title={title}
			onClose={onClose}
			width={summary.faults.length > 0 ? 1080 : 560}
			footer={
				<>
					<Button onClick={onClose}>Cancel</Button>
					<Button onClick={() => setStep({ kind: 'choose' })}>Choose another folder…</Button>
					{choices.goodRows !== null && (
						<Button tone={choices.all ? 'plain' : 'primary'} onClick={() => take('goodRows')}>
							Import the good rows only ({whole(choices.goodRows)}{' '}
							{choices.goodRows === 1 ? 'row' : 'rows'} left out)
						</Button>
					)}
					{choices.all && (
						<Button tone="primary" onClick={() => take('all')}>
							Import all
						</Button>
					)}
				</>
			}
		>
			{message !== null && (
				<Notice status="stop" title="The project was not made">
					{message}
				</Notice>
			)}
			<dl className="summary">
				<div>
					<dt>Drive</dt>
					<dd>{summary.title === '' ? 'not told' : summary.title}</dd>
				</div>
				<div>
					<dt>Rings</dt>
					<dd>{whole(summary.rings)}</dd>
				</div>
				<div>
					<dt>Shift readings</dt>
					<dd>{whole(summary.readings)}</dd>
				</div>
				<div>
					<dt>Logger rows</dt>
					<dd>{whole(summary.loggerRows)}</dd>
				</div>
				<div>
					<dt>Rows with faults</dt>
					<dd>{whole(summary.faultyRows)}</dd>
				</div>
			</dl>
			{summary.impossible && (
				<Notice status="stop" title="No project can be made from this folder as it is">
					Mend what is listed below in the files and choose the folder again. Leaving rows out would
					not help.
				</Notice>
			)}
			{summary.faults.length === 0 ? (
				<Notice status="good">Nothing is wrong with the folder.</Notice>
			) : (
				<FaultTable
					faults={summary.faults}
					more={summary.moreFaults}
					caption={
						choices.all
							? 'Nothing stops the import; these notes come with the rows.'
							: 'Nothing has been imported. Rows with a fault cannot be taken; rows with a note can.'
					}
				/>
			)}
		</Dialog>
	);
}
