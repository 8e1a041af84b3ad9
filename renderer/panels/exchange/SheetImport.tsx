import '../panels.css';
import './exchange.css';
import { useCallback, useRef, useState } from 'react';
import type {
	ImportedSheetId,
	SheetInspection,
	SheetReading,
	SheetTaken,
} from '../../../electron/contract/sheetexchange.ts';
import { useCallDesk, useDocument } from '../../desk/desk.tsx';
import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import { Notice } from '../../parts/Notice.tsx';
import { Spinner } from '../../parts/Progress.tsx';
import { Tabs } from '../../parts/Tabs.tsx';
import { DeskProgress } from '../DeskProgress.tsx';
import { FaultTable } from '../FaultTable.tsx';
import { FileChooser } from '../loggerimport/FileChooser.tsx';
import type { ChosenPlace } from '../places.ts';
import { RefusedDialog } from '../RefusedDialog.tsx';
import { FieldTable } from './FieldTable.tsx';
import { FileReading } from './FileReading.tsx';
import { RowsTaken } from './RowsTaken.tsx';
import { bytesText, countsOf, rowsText, sheetTitle } from './words.ts';

const STEPS = [
	{ id: 'fields', title: '1 File and fields' },
	{ id: 'rows', title: '2 Rows' },
] as const;
type StepId = (typeof STEPS)[number]['id'];

type Stage =
	| { readonly kind: 'choose' }
	| { readonly kind: 'reading' }
	| { readonly kind: 'unread'; readonly message: string }
	| { readonly kind: 'seen' }
	| { readonly kind: 'taking' }
	| { readonly kind: 'taken'; readonly taken: SheetTaken };

/**
 * Rows of a CSV or XLSX file into the sheet on screen: the file, what its fields fill, what would
 * become of each row and every fault; nothing is taken before that is accepted.
 */
export function SheetImport({
	sheet,
	onClose,
}: {
	readonly sheet: ImportedSheetId;
	readonly onClose: () => void;
}) {
	const callDesk = useCallDesk();
	const utcOffset_min = useDocument()?.utcOffset_min ?? 0;
	const [stage, setStage] = useState<Stage>({ kind: 'choose' });
	const [file, setFile] = useState<ChosenPlace | null>(null);
	/** What a person has said of the reading; the rest is guessed by the desk. */
	const [said, setSaid] = useState<SheetReading>({ existing: 'update' });
	const [seen, setSeen] = useState<SheetInspection | null>(null);
	const [step, setStep] = useState<StepId>('fields');
	const [busy, setBusy] = useState(false);
	const [trouble, setTrouble] = useState<string | null>(null);
	const [leaveOut, setLeaveOut] = useState(false);
	const turn = useRef(0);

	/** Looks at the file; the last asked counts. */
	const look = useCallback(
		async (place: ChosenPlace, reading: SheetReading): Promise<SheetInspection | string | null> => {
			const mine = ++turn.current;
			setBusy(true);
			const reply = await callDesk('exchange.inspect', { sheet, fileId: place.placeId, reading });
			if (mine !== turn.current) return null;
			setBusy(false);
			return reply.ok ? reply.value : reply.message;
		},
		[callDesk, sheet],
	);
	const begin = async (place: ChosenPlace) => {
		const reading: SheetReading = { existing: said.existing };
		setFile(place);
		setSaid(reading);
		setStage({ kind: 'reading' });
		const found = await look(place, reading);
		if (found === null) return;
		if (typeof found === 'string') {
			setStage({ kind: 'unread', message: found });
			return;
		}
		setSeen(found);
		setTrouble(null);
		setStep('fields');
		setStage({ kind: 'seen' });
	};
	const change = async (reading: SheetReading) => {
		if (file === null) return;
		setSaid(reading);
		const found = await look(file, reading);
		if (found === null) return;
		if (typeof found === 'string') setTrouble(found);
		else {
			setTrouble(null);
			setSeen(found);
		}
	};
	const changeReading = (part: Partial<SheetReading>, anew: boolean) => {
		const { fields, headingRow, ...rest } = said;
		// Other fields, or another row of headings, are understood from the start.
		const kept = anew
			? rest
			: { ...rest, ...(fields ? { fields } : {}), ...(headingRow ? { headingRow } : {}) };
		void change({ ...kept, ...part });
	};
	const changeField = (field: number, column: string | null, unit: string | null) => {
		const others = (said.fields ?? []).filter(
			(one) => one.field !== field && (column === null || one.column !== column),
		);
		void change({ ...said, fields: [...others, { field, column, unit }] });
	};
	const take = async (found: SheetInspection) => {
		if (file === null) return;
		setStage({ kind: 'taking' });
		const reply = await callDesk('exchange.take', {
			sheet,
			fileId: file.placeId,
			reading: found.reading,
			sha256: found.sha256,
			take: found.faulty > 0 && leaveOut ? 'goodRows' : 'all',
		});
		if (reply.ok && reply.value.outcome === 'done') {
			setStage({ kind: 'taken', taken: reply.value });
			return;
		}
		setTrouble(reply.ok ? reply.value.why : reply.message);
		setStage({ kind: 'seen' });
	};

	const title = `Import into ${sheetTitle(sheet).toLowerCase()}`;
	if (stage.kind === 'choose') {
		return (
			<FileChooser
				of="sheet"
				onChoose={([chosen]) => chosen && void begin(chosen)}
				onClose={onClose}
			/>
		);
	}
	if (stage.kind === 'reading') {
		return (
			<Dialog title={title} onClose={onClose}>
				<Spinner label={`Reading ${file?.title ?? 'the file'}`} />
			</Dialog>
		);
	}
	if (stage.kind === 'unread' || seen === null) {
		return (
			<RefusedDialog
				title={title}
				heading="The file could not be read"
				message={stage.kind === 'unread' ? stage.message : null}
				again="Choose another file…"
				onAgain={() => setStage({ kind: 'choose' })}
				onClose={onClose}
			/>
		);
	}
	if (stage.kind === 'taking') {
		return (
			<Dialog title={title} onClose={onClose} locked>
				<DeskProgress label="Taking the rows" />
			</Dialog>
		);
	}
	if (stage.kind === 'taken') return <RowsTaken taken={stage.taken} onClose={onClose} />;

	const count = seen.added + seen.updated;
	const blocked = seen.faulty > 0 && !leaveOut;
	const mayTake = seen.notYet === null && !busy && count > 0 && !blocked;
	return (
		<Dialog
			title={title}
			onClose={onClose}
			width={1120}
			footer={
				<>
					<span className="exchange-foot" role="status">
						{busy ? <Spinner label="Reading the file anew" /> : (seen.notYet ?? '')}
					</span>
					<Button onClick={onClose}>Cancel</Button>
					{step === 'fields' ? (
						<Button tone="primary" onClick={() => setStep('rows')}>
							Next
						</Button>
					) : (
						<>
							<Button onClick={() => setStep('fields')}>Back</Button>
							<Button tone="primary" disabled={!mayTake} onClick={() => void take(seen)}>
								{count > 0 ? `Import ${rowsText(count)}` : 'Nothing to import'}
							</Button>
						</>
					)}
				</>
			}
		>
			<div className="exchange-import">
				<p className="exchange-file">
					<b>{seen.file}</b> <span className="soft">{bytesText(seen.bytes)}</span>
				</p>
				<Tabs label="Steps of the import" tabs={STEPS} active={step} onChoose={setStep} />
				{trouble !== null && (
					<Notice status="stop" title="It could not be read like this">
						{trouble}
					</Notice>
				)}
				<div className="exchange-step" aria-busy={busy}>
					{step === 'fields' ? (
						<>
							<FileReading seen={seen} onChange={changeReading} />
							<FieldTable
								sheet={sheet}
								seen={seen}
								utcOffset_min={utcOffset_min}
								onField={changeField}
							/>
						</>
					) : (
						<>
							<dl className="summary">
								{countsOf(seen).map(([name, value]) => (
									<div key={name}>
										<dt>{name}</dt>
										<dd>{value}</dd>
									</div>
								))}
							</dl>
							<fieldset className="exchange-existing">
								<legend>Rows that are there already, by {seen.key.join(', ').toLowerCase()}</legend>
								<label>
									<input
										type="radio"
										name="existing"
										checked={said.existing === 'update'}
										onChange={() => void change({ ...said, existing: 'update' })}
									/>
									are updated from the file; an empty field leaves what is there
								</label>
								<label>
									<input
										type="radio"
										name="existing"
										checked={said.existing === 'skip'}
										onChange={() => void change({ ...said, existing: 'skip' })}
									/>
									stay as they are
								</label>
							</fieldset>
							{seen.faulty > 0 && (
								<label className="exchange-leave">
									<input
										type="checkbox"
										checked={leaveOut}
										onChange={(event) => setLeaveOut(event.target.checked)}
									/>
									Leave out {seen.faulty === 1 ? 'the row' : `the ${rowsText(seen.faulty)}`} with
									faults and import the others
								</label>
							)}
							{seen.faults.length > 0 ? (
								<FaultTable
									faults={seen.faults}
									more={seen.moreFaults}
									caption="Rows with a fault are not taken; rows with a note are."
								/>
							) : (
								<Notice status="good">No row has a fault.</Notice>
							)}
						</>
					)}
				</div>
			</div>
		</Dialog>
	);
}
