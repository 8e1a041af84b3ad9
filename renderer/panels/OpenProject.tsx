import { useState } from 'react';
import { useCallDesk } from '../desk/desk.tsx';
import { Button } from '../parts/Button.tsx';
import { Dialog } from '../parts/Dialog.tsx';
import { Notice } from '../parts/Notice.tsx';
import { ChoosePlace } from './ChoosePlace.tsx';
import { DeskProgress } from './DeskProgress.tsx';
import type { ChosenPlace } from './places.ts';

type Step =
	| { readonly kind: 'choose' }
	| { readonly kind: 'opening'; readonly place: ChosenPlace }
	| { readonly kind: 'refused'; readonly place: ChosenPlace; readonly message: string };

/** Choose a project and open it; a refusal says why and lets another be chosen. */
export function OpenProject({ onClose }: { readonly onClose: () => void }) {
	const callDesk = useCallDesk();
	const [step, setStep] = useState<Step>({ kind: 'choose' });
	const open = async (place: ChosenPlace) => {
		setStep({ kind: 'opening', place });
		const reply = await callDesk('project.open', { placeId: place.placeId });
		if (reply.ok) onClose();
		else setStep({ kind: 'refused', place, message: reply.message });
	};
	if (step.kind === 'choose') {
		return (
			<ChoosePlace
				purpose="open-project"
				onChoose={(place) => void open(place)}
				onClose={onClose}
			/>
		);
	}
	if (step.kind === 'opening') {
		return (
			<Dialog title={`Opening ${step.place.title}`} onClose={onClose} locked>
				<DeskProgress label="Opening the project" />
			</Dialog>
		);
	}
	return (
		<Dialog
			title={`${step.place.title} was not opened`}
			onClose={onClose}
			footer={
				<>
					<Button onClick={onClose}>Cancel</Button>
					<Button tone="primary" onClick={() => setStep({ kind: 'choose' })}>
						Choose another…
					</Button>
				</>
			}
		>
			<Notice status="stop">{step.message}</Notice>
		</Dialog>
	);
}
