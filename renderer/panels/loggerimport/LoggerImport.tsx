import { RefusedDialog } from '../RefusedDialog.tsx';
import '../panels.css';
import './loggerimport.css';
import { useCallback, useEffect, useRef, useState } from 'react';
import type {
	LoggerImported,
	LoggerInspection,
	LoggerLayout,
	UnfinishedImport as Unfinished,
} from '../../../electron/contract/loggerimport.ts';
import { useCallDesk, useDocument } from '../../desk/desk.tsx';
import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import { Field } from '../../parts/Field.tsx';
import { Notice } from '../../parts/Notice.tsx';
import { Spinner } from '../../parts/Progress.tsx';
import { Tabs } from '../../parts/Tabs.tsx';
import { FaultTable } from '../FaultTable.tsx';
import type { ChosenPlace } from '../places.ts';
import { ColumnsStep } from './ColumnsStep.tsx';
import { FileChooser } from './FileChooser.tsx';
import { ImportProgress } from './ImportProgress.tsx';
import { ImportResult } from './ImportResult.tsx';
import { type Conflicts, type ImportChoice, ImportStep, type LoggerSource } from './ImportStep.tsx';
import { LayoutStep } from './LayoutStep.tsx';
import { ModesStep } from './ModesStep.tsx';
import { UnfinishedImport } from './UnfinishedImport.tsx';
import { capital } from './words.ts';

const STEPS = [
	{ id: 'layout', title: '1 Layout and time' },
	{ id: 'columns', title: '2 Columns and units' },
	{ id: 'modes', title: '3 Modes' },
	{ id: 'import', title: '4 Import' },
] as const;
type StepId = (typeof STEPS)[number]['id'];

type Stage =
	| { readonly kind: 'asking' }
	| {
			readonly kind: 'unfinished';
			readonly title: string;
			readonly found: Unfinished;
			readonly trouble: string | null;
	  }
	| { readonly kind: 'choose' }
	| { readonly kind: 'looking' }
	| { readonly kind: 'unread'; readonly message: string }
	| { readonly kind: 'layout' }
	| { readonly kind: 'importing'; readonly title: string }
	| { readonly kind: 'result'; readonly result: LoggerImported };

const titleFor = (files: readonly string[]): string =>
	files.length === 1 ? `Import ${files[0] ?? ''}` : `Import ${files.length} logger files`;

/**
 * Logger files of any layout into the series of the open drive: files, layout as guessed and as
 * corrected, columns with a preview, modes, import, result. Nothing is written before the last step. An
 * import that was broken off is offered first.
 */
export function LoggerImport({ onClose }: { readonly onClose: () => void }) {
	const callDesk = useCallDesk();
	const utcOffset_min = useDocument()?.utcOffset_min ?? 0;
	const [stage, setStage] = useState<Stage>({ kind: 'asking' });
	const [files, setFiles] = useState<readonly ChosenPlace[]>([]);
	const [seen, setSeen] = useState<LoggerInspection | null>(null);
	const [step, setStep] = useState<StepId>('layout');
	const [busy, setBusy] = useState(false);
	const [trouble, setTrouble] = useState<string | null>(null);
	const [profiles, setProfiles] = useState<readonly string[]>([]);
	const [sources, setSources] = useState<readonly LoggerSource[]>([]);
	const [choice, setChoice] = useState<ImportChoice>({
		saveAs: '',
		conflicts: 'refuse',
		take: 'all',
	});
	const turn = useRef(0);
	useEffect(() => {
		let wanted = true;
		void callDesk('logger.unfinished', {}).then((reply) => {
			if (!wanted) return;
			const found = reply.ok ? reply.value : null;
			setStage(
				found === null
					? { kind: 'choose' }
					: { kind: 'unfinished', title: 'An import was broken off', found, trouble: null },
			);
		});
		return () => {
			wanted = false;
		};
	}, [callDesk]);

	/** Looks at the files with a layout or a profile; the last asked counts. */
	const look = useCallback(
		async (
			places: readonly ChosenPlace[],
			by: { readonly layout: LoggerLayout } | { readonly profile: string } | null,
		): Promise<LoggerInspection | string | null> => {
			const mine = ++turn.current;
			setBusy(true);
			const reply = await callDesk('logger.inspect', {
				files: places.map(({ placeId }) => placeId),
				...by,
			});
			if (mine !== turn.current) return null;
			setBusy(false);
			return reply.ok ? reply.value : reply.message;
		},
		[callDesk],
	);
	const begin = async (places: readonly ChosenPlace[]) => {
		setFiles(places);
		setStage({ kind: 'looking' });
		const [found, kept, before] = await Promise.all([
			look(places, null),
			callDesk('logger.profiles', {}),
			callDesk('logger.sources', {}),
		]);
		if (before.ok) setSources(before.value);
		if (found === null) return;
		if (kept.ok) setProfiles(kept.value.map(({ name }) => name));
		if (typeof found === 'string') {
			setStage({ kind: 'unread', message: found });
			return;
		}
		setSeen(found);
		setTrouble(null);
		setStep('layout');
		setChoice((old) => ({ ...old, saveAs: found.profile ?? '' }));
		setStage({ kind: 'layout' });
	};
	const relook = async (by: { readonly layout: LoggerLayout } | { readonly profile: string }) => {
		const found = await look(files, by);
		if (found === null) return;
		if (typeof found === 'string') setTrouble(found);
		else {
			setTrouble(null);
			setSeen(found);
			if (found.profile !== null) setChoice((old) => ({ ...old, saveAs: found.profile ?? '' }));
		}
	};
	const change = (layout: LoggerLayout) => {
		// What was chosen is shown at once; what it makes of the rows follows from the desk.
		setSeen((old) => old && { ...old, layout });
		void relook({ layout });
	};
	/** What has come of an import: one that was cancelled can go on if whole days of it are kept aside. */
	const settle = async (result: LoggerImported) => {
		const left = result.outcome === 'cancelled' ? await callDesk('logger.unfinished', {}) : null;
		const found = left?.ok ? left.value : null;
		setStage(
			found === null
				? { kind: 'result', result }
				: { kind: 'unfinished', title: 'The import was cancelled', found, trouble: null },
		);
	};
	const goOn = async (from: Stage & { kind: 'unfinished' }) => {
		setStage({ kind: 'importing', title: titleFor(from.found.files) });
		const reply = await callDesk('logger.goOn', {});
		if (reply.ok) await settle(reply.value);
		else setStage({ ...from, trouble: reply.message });
	};
	const discard = async (from: Stage & { kind: 'unfinished' }) => {
		setBusy(true);
		const reply = await callDesk('logger.discard', {});
		setBusy(false);
		if (reply.ok) setStage({ kind: 'choose' });
		else setStage({ ...from, trouble: reply.message });
	};
	const run = async (layout: LoggerLayout, chosen: ImportChoice) => {
		setStage({ kind: 'importing', title });
		const saveAs = chosen.saveAs.trim();
		const reply = await callDesk('logger.import', {
			files: files.map(({ placeId }) => placeId),
			layout,
			...(saveAs === '' ? {} : { saveAs }),
			conflicts: chosen.conflicts,
			take: chosen.take,
		});
		if (reply.ok) await settle(reply.value);
		else {
			setTrouble(reply.message);
			setStage({ kind: 'layout' });
		}
	};

	const title = titleFor(files.map((file) => file.title));
	if (stage.kind === 'asking') return null;
	if (stage.kind === 'unfinished')
		return (
			<UnfinishedImport
				title={stage.title}
				found={stage.found}
				trouble={stage.trouble}
				busy={busy}
				utcOffset_min={utcOffset_min}
				onGoOn={() => void goOn(stage)}
				onDiscard={() => void discard(stage)}
				onOther={() => setStage({ kind: 'choose' })}
				onClose={onClose}
			/>
		);
	if (stage.kind === 'importing') return <ImportProgress title={stage.title} />;
	if (stage.kind === 'result') {
		return (
			<ImportResult
				result={stage.result}
				utcOffset_min={utcOffset_min}
				headingOf={(column) =>
					capital(seen?.targets.find(({ id }) => id === column)?.heading ?? column)
				}
				onAgain={
					seen &&
					((conflicts: Conflicts) => {
						const next = { ...choice, conflicts };
						setChoice(next);
						void run(seen.layout, next);
					})
				}
				onBack={seen && (() => setStage({ kind: 'layout' }))}
				onClose={onClose}
			/>
		);
	}
	if (stage.kind === 'choose') {
		return <FileChooser onChoose={(chosen) => void begin(chosen)} onClose={onClose} />;
	}
	if (stage.kind === 'looking') {
		return (
			<Dialog title={title} onClose={onClose}>
				<Spinner label="Looking at the first rows" />
			</Dialog>
		);
	}
	if (stage.kind === 'unread' || seen === null) {
		return (
			<RefusedDialog
				title={title}
				heading="The files could not be read"
				message={stage.kind === 'unread' ? stage.message : null}
				again="Choose other files…"
				onAgain={() => setStage({ kind: 'choose' })}
				onClose={onClose}
			/>
		);
	}
	const at = STEPS.findIndex(({ id }) => id === step);
	const next = STEPS[at + 1];
	const before = STEPS[at - 1];
	const mayImport = seen.notYet === null && !busy;
	const parts = { seen, utcOffset_min, onLayout: change };
	return (
		<Dialog
			title={title}
			onClose={onClose}
			width={1180}
			footer={
				<>
					<span className="logger-foot" role="status">
						{busy ? <Spinner label="Reading the first rows anew" /> : (seen.notYet ?? '')}
					</span>
					<Button onClick={onClose}>Cancel</Button>
					{before && <Button onClick={() => setStep(before.id)}>Back</Button>}
					{next ? (
						<Button tone="primary" onClick={() => setStep(next.id)}>
							Next
						</Button>
					) : (
						<Button
							tone="primary"
							disabled={!mayImport}
							onClick={() => void run(seen.layout, choice)}
						>
							Import
						</Button>
					)}
				</>
			}
		>
			<div className="logger-import">
				<div className="logger-steps">
					<Tabs label="Steps of the import" tabs={STEPS} active={step} onChoose={setStep} />
					{profiles.length > 0 && (
						<Field label="Kept layout">
							{({ id }) => (
								<select
									id={id}
									value={seen.profile ?? ''}
									onChange={(event) => {
										if (event.target.value !== '') void relook({ profile: event.target.value });
									}}
								>
									<option value="">{seen.profile === null ? 'none, as below' : 'choose…'}</option>
									{profiles.map((name) => (
										<option key={name} value={name}>
											{name}
										</option>
									))}
								</select>
							)}
						</Field>
					)}
				</div>
				{trouble !== null && (
					<Notice status="stop" title="It could not be read like this">
						{trouble}
					</Notice>
				)}
				<div className="logger-step" aria-busy={busy}>
					{step === 'layout' && <LayoutStep {...parts} />}
					{step === 'columns' && <ColumnsStep {...parts} />}
					{step === 'modes' && <ModesStep {...parts} />}
					{step === 'import' && (
						<ImportStep
							seen={seen}
							profiles={profiles}
							sources={sources}
							utcOffset_min={utcOffset_min}
							choice={choice}
							onChoice={setChoice}
						/>
					)}
				</div>
				{seen.faults.length > 0 && (
					<FaultTable faults={seen.faults} more={0} caption="Seen in the first rows" />
				)}
			</div>
		</Dialog>
	);
}
