import './panels.css';
import { Check } from 'lucide-react';
import { useEffect, useState } from 'react';
import type { Answer } from '../../electron/contract/verbs.ts';
import { useCallDesk } from '../desk/desk.tsx';
import { Button } from '../parts/Button.tsx';
import { Dialog } from '../parts/Dialog.tsx';
import { Notice } from '../parts/Notice.tsx';
import { DeskProgress } from './DeskProgress.tsx';
import { FaultTable } from './FaultTable.tsx';

type Step =
	| { readonly kind: 'looking' }
	| { readonly kind: 'refused'; readonly message: string }
	| { readonly kind: 'found'; readonly answer: Answer<'project.check'> };

/** Full check of file, journal and data: what was looked at, and everything found. */
export function CheckResult({ onClose }: { readonly onClose: () => void }) {
	const callDesk = useCallDesk();
	const [step, setStep] = useState<Step>({ kind: 'looking' });
	useEffect(() => {
		let wanted = true;
		void callDesk('project.check', {}).then((reply) => {
			if (!wanted) return;
			setStep(
				reply.ok
					? { kind: 'found', answer: reply.value }
					: { kind: 'refused', message: reply.message },
			);
		});
		return () => {
			wanted = false;
		};
	}, [callDesk]);
	const findings = step.kind === 'found' ? step.answer.findings : [];
	const stops = findings.filter((finding) => finding.weight === 'stop').length;
	return (
		<Dialog
			title="Check of the project"
			onClose={onClose}
			width={findings.length > 0 ? 1080 : 560}
			footer={
				<Button tone="primary" onClick={onClose}>
					Close
				</Button>
			}
		>
			{step.kind === 'looking' && <DeskProgress label="Looking through file, journal and data" />}
			{step.kind === 'refused' && (
				<Notice status="stop" title="The check could not be made">
					{step.message}
				</Notice>
			)}
			{step.kind === 'found' && (
				<>
					{findings.length === 0 ? (
						<Notice status="good">Nothing wrong was found.</Notice>
					) : (
						<Notice status={stops > 0 ? 'stop' : 'note'}>
							{stops > 0
								? `${stops} ${stops === 1 ? 'fault' : 'faults'} and ${findings.length - stops} notes were found.`
								: `No faults; ${findings.length} ${findings.length === 1 ? 'note' : 'notes'}.`}
						</Notice>
					)}
					<div>
						<h3>Looked at</h3>
						<ul className="looked">
							{step.answer.looked.map((what) => (
								<li key={what}>
									<Check size={14} aria-hidden />
									{what}
								</li>
							))}
						</ul>
					</div>
					{findings.length > 0 && (
						<FaultTable faults={findings} more={0} caption="What was found." />
					)}
				</>
			)}
		</Dialog>
	);
}
