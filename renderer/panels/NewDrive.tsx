import './panels.css';
import { useRef, useState } from 'react';
import { findColumn } from '../../calc/sheet/catalogue.ts';
import { readCell } from '../../calc/sheet/cell.ts';
import type { Column } from '../../calc/sheet/column.ts';
import { useCallDesk } from '../desk/desk.tsx';
import { DECIMAL } from '../look/marks.ts';
import { Button } from '../parts/Button.tsx';
import { Dialog } from '../parts/Dialog.tsx';
import { NumberField, TextField } from '../parts/Field.tsx';
import { Notice } from '../parts/Notice.tsx';
import { tell } from '../parts/Toast.tsx';
import { ChoosePlace } from './ChoosePlace.tsx';
import { DeskProgress } from './DeskProgress.tsx';
import { nameFromTitle, projectName } from './placename.ts';
import type { ChosenPlace } from './places.ts';
import { ReadAs } from './ReadAs.tsx';
import { unitLabel } from './unitlabel.ts';

/** The figures no drive can do without. */
const NEEDED = ['title', 'excavated_diameter_m', 'nominal_advance_m'] as const;
type NeededId = (typeof NEEDED)[number];

const column = (id: NeededId): Column => {
	const found = findColumn('drive', id);
	if (!found) throw new Error(`the catalogue has no ${id}`);
	return found;
};

type Outcome =
	| { readonly kind: 'good'; readonly value: string | number }
	| { readonly kind: 'bad'; readonly message: string }
	| { readonly kind: 'ambiguous'; readonly readAs: readonly { label: string; text: string }[] };

function outcomeOf(id: NeededId, text: string): Outcome {
	const read = readCell(column(id), text, { decimal: DECIMAL, utcOffset_min: 0 });
	if (read.kind === 'ambiguous') return read;
	if (read.kind === 'fault') return { kind: 'bad', message: read.fault.message };
	if (read.value === null) return { kind: 'bad', message: 'This figure is needed.' };
	return { kind: 'good', value: read.value };
}

type Step =
	| { readonly kind: 'figures'; readonly message: string | null }
	| { readonly kind: 'where' }
	| { readonly kind: 'making' };

/** An empty project from the few figures a drive cannot do without. */
export function NewDrive({ onClose }: { readonly onClose: () => void }) {
	const callDesk = useCallDesk();
	const [texts, setTexts] = useState<Readonly<Record<NeededId, string>>>({
		title: '',
		excavated_diameter_m: '',
		nominal_advance_m: '',
	});
	const [tried, setTried] = useState(false);
	const [step, setStep] = useState<Step>({ kind: 'figures', message: null });
	const form = useRef<HTMLFormElement>(null);
	const outcomes = NEEDED.map((id) => [id, outcomeOf(id, texts[id])] as const);
	const values = new Map(
		outcomes.flatMap(([id, outcome]) => (outcome.kind === 'good' ? [[id, outcome.value]] : [])),
	);
	const put = (id: NeededId, text: string) => setTexts({ ...texts, [id]: text });

	const make = async (into: ChosenPlace) => {
		setStep({ kind: 'making' });
		const reply = await callDesk('project.createEmpty', {
			intoId: into.placeId,
			name: projectName(into.title),
			title: String(values.get('title')).trim(),
			excavated_diameter_m: Number(values.get('excavated_diameter_m')),
			nominal_advance_m: Number(values.get('nominal_advance_m')),
		});
		if (!reply.ok) {
			setStep({ kind: 'figures', message: reply.message });
			return;
		}
		tell('good', 'Empty drive made. Enter rings and readings, or complete the drive sheet first.');
		onClose();
	};

	if (step.kind === 'where') {
		return (
			<ChoosePlace
				purpose="save-project"
				suggest={nameFromTitle(texts.title)}
				onChoose={(into) => void make(into)}
				onClose={() => setStep({ kind: 'figures', message: null })}
			/>
		);
	}
	if (step.kind === 'making') {
		return (
			<Dialog title="New empty drive" onClose={onClose} locked>
				<DeskProgress label="Making the project" />
			</Dialog>
		);
	}
	const go = () => {
		setTried(true);
		if (values.size === NEEDED.length) setStep({ kind: 'where' });
		else
			setTimeout(() =>
				form.current?.querySelector<HTMLInputElement>('[aria-invalid="true"]')?.focus(),
			);
	};
	return (
		<Dialog
			title="New empty drive"
			onClose={onClose}
			footer={
				<>
					<Button onClick={onClose}>Cancel</Button>
					<Button tone="primary" onClick={go}>
						Choose where to keep it…
					</Button>
				</>
			}
		>
			{step.message !== null && (
				<Notice status="stop" title="The project was not made">
					{step.message}
				</Notice>
			)}
			<form
				className="new-drive"
				ref={form}
				onSubmit={(event) => {
					event.preventDefault();
					go();
				}}
			>
				{outcomes.map(([id, outcome]) => {
					const { heading, help, unit, type } = column(id);
					const shown = tried || (texts[id] !== '' && outcome.kind === 'ambiguous');
					const shared = {
						label: heading,
						value: texts[id],
						onChange: (text: string) => put(id, text),
						help,
						unit: unitLabel(unit),
						fault:
							!shown || outcome.kind === 'good'
								? null
								: outcome.kind === 'bad'
									? outcome.message
									: 'This can be read in more than one way.',
					};
					return (
						<div key={id}>
							{type === 'text' ? <TextField {...shared} /> : <NumberField {...shared} />}
							{shown && outcome.kind === 'ambiguous' && (
								<ReadAs readAs={outcome.readAs} onChoose={(text) => put(id, text)} />
							)}
						</div>
					);
				})}
				<button type="submit" hidden />
			</form>
			<p className="soft">Everything else can be entered afterwards on the drive sheet.</p>
		</Dialog>
	);
}
