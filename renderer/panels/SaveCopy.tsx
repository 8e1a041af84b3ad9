import { useState } from 'react';
import { useCallDesk, useDocument } from '../desk/desk.tsx';
import { Dialog } from '../parts/Dialog.tsx';
import { tell } from '../parts/Toast.tsx';
import { ChoosePlace } from './ChoosePlace.tsx';
import { DeskProgress } from './DeskProgress.tsx';
import { nameFromTitle, projectName } from './placename.ts';
import type { ChosenPlace } from './places.ts';
import { RefusedDialog } from './RefusedDialog.tsx';

type Step =
	| { readonly kind: 'choose' }
	| { readonly kind: 'copying' }
	| { readonly kind: 'refused'; readonly message: string };

/** A copy of the open project under another name; the open one stays open. */
export function SaveCopy({ onClose }: { readonly onClose: () => void }) {
	const callDesk = useCallDesk();
	const document = useDocument();
	const [step, setStep] = useState<Step>({ kind: 'choose' });
	const save = async (into: ChosenPlace) => {
		setStep({ kind: 'copying' });
		const reply = await callDesk('project.saveCopy', {
			intoId: into.placeId,
			name: projectName(into.title),
		});
		if (!reply.ok) {
			setStep({ kind: 'refused', message: reply.message });
			return;
		}
		tell('good', `Copy saved: ${reply.value.file}. You go on working in the original.`);
		onClose();
	};
	if (step.kind === 'choose') {
		return (
			<ChoosePlace
				purpose="save-project"
				suggest={`${nameFromTitle(document?.title ?? '')} copy`}
				onChoose={(into) => void save(into)}
				onClose={onClose}
			/>
		);
	}
	if (step.kind === 'copying') {
		return (
			<Dialog title="Save a copy" onClose={onClose} locked>
				<DeskProgress label="Writing the copy" />
			</Dialog>
		);
	}
	return (
		<RefusedDialog
			title="The copy was not saved"
			message={step.message}
			again="Choose another place…"
			onAgain={() => setStep({ kind: 'choose' })}
			onClose={onClose}
		/>
	);
}
