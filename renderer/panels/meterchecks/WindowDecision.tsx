import { Check, Info, Undo2, X } from 'lucide-react';
import { type FormEvent, useState } from 'react';
import { dateTime } from '../../../calc/quantity/time.ts';
import type { BypassWindowShown } from '../../../electron/contract/meterchecks.ts';
import type { EditAnswer, Reply } from '../../../electron/contract/verbs.ts';
import { middleOf, type PairId, pairOf } from '../../charts/checktraces.ts';
import { useCallDesk } from '../../desk/desk.tsx';
import { DECIMAL } from '../../look/marks.ts';
import { Button } from '../../parts/Button.tsx';
import { Field, TextField } from '../../parts/Field.tsx';
import { tell } from '../../parts/Toast.tsx';
import { decisionCells, stateWords } from './words.ts';

const VERB = { accept: 'Accept', reject: 'Reject' } as const;
type Decision = keyof typeof VERB;

const other = (pair: PairId): PairId => (pair === 'flow' ? 'density' : 'flow');

/** The window in hand in one line: what the check made of it, and a person's word against that. */
export function WindowDecision({
	window,
	pair,
	utcOffset_min,
	readOnly,
}: {
	readonly window: BypassWindowShown | undefined;
	readonly pair: PairId;
	readonly utcOffset_min: number;
	readonly readOnly: boolean;
}) {
	const callDesk = useCallDesk();
	const [asking, setAsking] = useState<Decision | null>(null);
	const [both, setBoth] = useState(false);
	const [why, setWhy] = useState('');
	const [fault, setFault] = useState<string | null>(null);
	const [busy, setBusy] = useState(false);
	if (!window) {
		return (
			<p className="checks-line soft">
				<Info size={14} aria-hidden /> Choose a window in the chart or in the table to accept or
				reject it. Arrow keys go from window to window.
			</p>
		);
	}
	const seen = window[pair];
	const moment = `${dateTime(Math.round(middleOf(window)), utcOffset_min).slice(0, 16)}${window.ring === null ? '' : `, ring ${window.ring}`}`;
	const comparable = seen.verdict !== 'unusable';
	const otherToo = window[other(pair)].verdict !== 'unusable';
	const { decision } = seen;
	const sharedRow = decision !== null && window[other(pair)].decision?.row === decision.row;

	const answer = (reply: Reply<EditAnswer>): string | null => {
		setBusy(false);
		if (!reply.ok) return reply.message;
		const refused = reply.value.refused[0];
		if (refused) return refused.fault.message;
		const label = reply.value.changes?.label ?? 'decision stored';
		tell('good', `${label.charAt(0).toUpperCase()}${label.slice(1)}. Ctrl+Z takes it back.`);
		return null;
	};
	const send = async (what: Decision) => {
		if (why.trim() === '') {
			setFault('A reason is needed.');
			return;
		}
		setBusy(true);
		const said = answer(
			await callDesk('sheet.add', {
				sheet: 'bypass_decisions',
				rows: [decisionCells(window, both ? null : pair, what, why, utcOffset_min)],
				typed: { decimal: DECIMAL },
			}),
		);
		setFault(said);
		if (said === null) setAsking(null);
	};
	const takeBack = async () => {
		if (!decision) return;
		setBusy(true);
		const said = answer(
			await callDesk('sheet.delete', { sheet: 'bypass_decisions', rows: [decision.row] }),
		);
		if (said !== null) tell('stop', said);
	};

	if (asking) {
		const submit = (event: FormEvent) => {
			event.preventDefault();
			if (!busy) void send(asking);
		};
		return (
			<form
				className="checks-decide"
				aria-label={`${VERB[asking]} the window`}
				onSubmit={submit}
				onKeyDown={(event) => {
					if (event.key !== 'Escape') return;
					event.preventDefault();
					setAsking(null);
				}}
			>
				<TextField
					label={
						asking === 'reject'
							? `Why is the window of ${moment} not to count?`
							: `Why does the window of ${moment} count all the same?`
					}
					value={why}
					maxLength={200}
					autoFocus
					fault={fault}
					onChange={(text) => {
						setWhy(text);
						setFault(null);
					}}
				/>
				<Field label="Concerns">
					{({ id }) => (
						<select
							id={id}
							value={both ? 'both' : 'one'}
							onChange={(event) => setBoth(event.target.value === 'both')}
						>
							<option value="one">the {pairOf(pair).meters}</option>
							{otherToo && <option value="both">both pairs of meters</option>}
						</select>
					)}
				</Field>
				<div className="checks-decide-actions">
					<Button tone="quiet" onClick={() => setAsking(null)}>
						Leave it
					</Button>
					<Button tone="primary" submit busy={busy}>
						{VERB[asking]}
					</Button>
				</div>
			</form>
		);
	}
	return (
		<div className="checks-line" aria-live="polite">
			<strong>{moment}</strong>
			<span>
				{pairOf(pair).meters}: {stateWords(seen)}
			</span>
			<span className="checks-line-why" title={seen.reason ?? undefined}>
				{decision ? `“${decision.why}”` : (seen.reason ?? '')}
			</span>
			{!readOnly && decision && (
				<Button
					icon={Undo2}
					busy={busy}
					onClick={() => void takeBack()}
					title={sharedRow ? 'The decision holds for both pairs of meters' : undefined}
				>
					Take the decision back{sharedRow ? ' for both' : ''}
				</Button>
			)}
			{!readOnly && !decision && comparable && (
				<>
					<Button icon={Check} onClick={() => setAsking('accept')}>
						Accept…
					</Button>
					<Button icon={X} onClick={() => setAsking('reject')}>
						Reject…
					</Button>
				</>
			)}
		</div>
	);
}
