import '../panels.css';
import './exchange.css';
import { useState } from 'react';
import {
	type ExportedSheetId,
	type ExportForm,
	FORM_ENDINGS,
} from '../../../electron/contract/sheetexchange.ts';
import { useCallDesk, useDocument } from '../../desk/desk.tsx';
import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import { Notice } from '../../parts/Notice.tsx';
import { ChoosePlace } from '../ChoosePlace.tsx';
import { DeskProgress } from '../DeskProgress.tsx';
import { nameFromTitle } from '../placename.ts';
import type { ChosenPlace } from '../places.ts';
import { RefusedDialog } from '../RefusedDialog.tsx';
import { FORM_WORDS, rowsText, sheetTitle } from './words.ts';

type Step =
	| { readonly kind: 'form' }
	| { readonly kind: 'place' }
	| { readonly kind: 'writing' }
	| {
			readonly kind: 'written';
			readonly file: string;
			readonly rows: number;
			readonly columns: number;
	  }
	| { readonly kind: 'refused'; readonly message: string };

const FORMS = Object.keys(FORM_WORDS) as ExportForm[];

/** The sheet on screen as one file: in which form, where, written. */
export function SheetExport({
	sheet,
	onClose,
}: {
	readonly sheet: ExportedSheetId;
	readonly onClose: () => void;
}) {
	const callDesk = useCallDesk();
	const document = useDocument();
	const [form, setForm] = useState<ExportForm>('xlsx');
	const [step, setStep] = useState<Step>({ kind: 'form' });
	const title = `Export ${sheetTitle(sheet).toLowerCase()}`;
	const write = async (into: ChosenPlace) => {
		setStep({ kind: 'writing' });
		const reply = await callDesk('sheet.export', {
			sheet,
			form,
			intoId: into.placeId,
			name: into.title,
		});
		setStep(
			reply.ok ? { kind: 'written', ...reply.value } : { kind: 'refused', message: reply.message },
		);
	};
	if (step.kind === 'place') {
		const drive = nameFromTitle(document?.title ?? '');
		return (
			<ChoosePlace
				purpose="save-sheet"
				suggest={`${drive} ${sheetTitle(sheet).toLowerCase()}${FORM_ENDINGS[form]}`}
				onChoose={(into) => void write(into)}
				onClose={() => setStep({ kind: 'form' })}
			/>
		);
	}
	if (step.kind === 'writing') {
		return (
			<Dialog title={title} onClose={onClose} locked>
				<DeskProgress label="Writing the file" />
			</Dialog>
		);
	}
	if (step.kind === 'refused') {
		return (
			<RefusedDialog
				title="The sheet was not written"
				message={step.message}
				again="Choose another place…"
				onAgain={() => setStep({ kind: 'place' })}
				onClose={onClose}
			/>
		);
	}
	if (step.kind === 'written') {
		return (
			<Dialog
				title="The sheet is written"
				onClose={onClose}
				footer={
					<Button tone="primary" onClick={onClose}>
						Done
					</Button>
				}
			>
				<Notice status="good">
					<b>{step.file}</b>: {rowsText(step.rows)}, {step.columns} columns
				</Notice>
			</Dialog>
		);
	}
	return (
		<Dialog
			title={title}
			onClose={onClose}
			footer={
				<>
					<Button onClick={onClose}>Cancel</Button>
					<Button tone="primary" onClick={() => setStep({ kind: 'place' })}>
						Choose where…
					</Button>
				</>
			}
		>
			<p className="soft">
				All rows of the sheet with their units, also those a filter hides, in full digits.
			</p>
			<fieldset className="exchange-forms">
				<legend className="out-of-sight">Form of the file</legend>
				{FORMS.map((each) => (
					<label key={each} className="exchange-form">
						<input
							type="radio"
							name="form"
							value={each}
							checked={form === each}
							onChange={() => setForm(each)}
						/>
						<span>
							<b>{FORM_WORDS[each].name}</b> <span className="soft">{FORM_ENDINGS[each]}</span>
							<span className="soft exchange-what">{FORM_WORDS[each].what}</span>
						</span>
					</label>
				))}
			</fieldset>
		</Dialog>
	);
}
