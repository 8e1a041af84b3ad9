import { CircleCheck, CircleDashed, CircleSlash, TriangleAlert } from 'lucide-react';
import { type FormEvent, useEffect, useId, useState } from 'react';
import { formatNumber } from '../../../calc/quantity/format.ts';
import type { MeterChecks } from '../../../electron/contract/meterchecks.ts';
import { PAIRS, type PairId, pairOf } from '../../charts/checktraces.ts';
import { MARKS } from '../../look/marks.ts';
import { Button } from '../../parts/Button.tsx';
import { TextField } from '../../parts/Field.tsx';
import { Notice } from '../../parts/Notice.tsx';
import { Spinner } from '../../parts/Progress.tsx';
import { useDriveEdit } from './driveedit.ts';
import {
	acceptedWith,
	CORRECTIONS,
	type Correction,
	differenceWords,
	inForceWords,
	secondTermWords,
	stepWords,
	WHAT_BYPASS_TELLS,
} from './words.ts';

/** Said where it belongs: at the pair, with the button that answers it, or at the mud balance. */
const SAID_ELSEWHERE = new Set([
	'correction_beyond_certificate',
	'meter_step',
	'flow_scale_only',
	'density_offset_only',
	'no_bypass_window',
	'balance_resolution',
	'too_few_balance_samples',
]);

/** Which meters are corrected, what that does, and how the correction of each pair stands. */
export function CorrectionChoice({
	checks,
	readOnly,
	utcOffset_min,
}: {
	readonly checks: MeterChecks;
	readonly readOnly: boolean;
	readonly utcOffset_min: number;
}) {
	const { busy, edit } = useDriveEdit();
	const name = useId();
	/** Chosen and on its way: shown until the desk has answered. */
	const [wanted, setWanted] = useState<Correction | null>(null);
	const shown = wanted ?? checks.correction;
	// biome-ignore lint/correctness/useExhaustiveDependencies: a new answer is what counts
	useEffect(() => setWanted(null), [checks]);
	const notes = checks.notes.filter((note) => !SAID_ELSEWHERE.has(note.code));
	return (
		<section className="checks-part">
			<fieldset className="checks-choice" disabled={readOnly || busy}>
				<legend>Which meters are corrected?</legend>
				{CORRECTIONS.map(({ id, label }) => (
					<label key={id} data-on={shown === id || undefined}>
						<input
							type="radio"
							name={name}
							value={id}
							checked={shown === id}
							onChange={() => {
								setWanted(id);
								void edit('meter_correction', id).then((taken) => {
									if (!taken) setWanted(null);
								});
							}}
						/>
						{label}
					</label>
				))}
			</fieldset>
			<p className="checks-says" aria-live="polite">
				{CORRECTIONS.find((one) => one.id === shown)?.says}
			</p>
			<p className="soft checks-small">{WHAT_BYPASS_TELLS}</p>
			{busy && <Spinner label="Balancing the rings again…" />}
			{PAIRS.map(({ id }) => (
				<PairState
					key={id}
					checks={checks}
					pair={id}
					readOnly={readOnly}
					utcOffset_min={utcOffset_min}
				/>
			))}
			{notes.length > 0 && (
				<Notice status="note" title="To be known">
					<ul>
						{notes.map((note) => (
							<li key={note.message}>{note.message}</li>
						))}
					</ul>
				</Notice>
			)}
		</section>
	);
}

function PairState({
	checks,
	pair,
	readOnly,
	utcOffset_min,
}: {
	readonly utcOffset_min: number;
	readonly checks: MeterChecks;
	readonly pair: PairId;
	readonly readOnly: boolean;
}) {
	const check = checks[pair];
	const { meters, unit, decimals } = pairOf(pair);
	const words = inForceWords(checks.correction, check);
	const Icon = check?.inForce
		? CircleCheck
		: check?.heldBack
			? TriangleAlert
			: check
				? CircleSlash
				: CircleDashed;
	return (
		<div className="checks-pair" data-pair={pair}>
			<h3>
				{meters.charAt(0).toUpperCase() + meters.slice(1)}
				<span
					className="checks-state"
					data-status={check?.inForce ? 'good' : check?.heldBack ? 'note' : 'info'}
				>
					<Icon size={14} aria-hidden /> {words}
				</span>
			</h3>
			{check === null ? (
				<p className="soft">No bypass window lets the two be compared.</p>
			) : (
				<>
					<p>{differenceWords(check, pair, MARKS)}</p>
					<p className="soft checks-small">
						{check.limit === null
							? 'These meters have no correction limit: enter one under Certificates to have it watched.'
							: `Their correction limit is ${formatNumber(check.limit, decimals, MARKS)} ${unit}.`}{' '}
						{secondTermWords(check, pair, MARKS)}
					</p>
					{check.steps.length > 0 && (
						<ul className="checks-steps">
							{check.steps.map((step) => (
								<li key={step.after_s}>
									<TriangleAlert size={14} aria-hidden />
									<span>{stepWords(step, pair, utcOffset_min, MARKS)}</span>
								</li>
							))}
						</ul>
					)}
					{check.limit !== null && check.largest > check.limit && (
						<BeyondLimit checks={checks} pair={pair} readOnly={readOnly} />
					)}
				</>
			)}
		</div>
	);
}

/** A correction larger than the papers allow: used only when a person lets it be, with a reason. */
function BeyondLimit({
	checks,
	pair,
	readOnly,
}: {
	readonly checks: MeterChecks;
	readonly pair: PairId;
	readonly readOnly: boolean;
}) {
	const { busy, edit } = useDriveEdit();
	const [asking, setAsking] = useState(false);
	const [why, setWhy] = useState('');
	const [missing, setMissing] = useState(false);
	const check = checks[pair];
	if (!check || check.limit === null) return null;
	const { unit, decimals, meters } = pairOf(pair);
	const send = async (on: boolean) => {
		if (on && why.trim() === '') {
			setMissing(true);
			return;
		}
		const taken = await edit(
			'correction_accepted',
			acceptedWith(checks, pair, on),
			...(on ? [why.trim()] : []),
		);
		if (taken) setAsking(false);
	};
	const submit = (event: FormEvent) => {
		event.preventDefault();
		if (!busy) void send(true);
	};
	const figure = (value: number) => `${formatNumber(value, decimals, MARKS)} ${unit}`;
	return (
		<Notice
			status="note"
			title={`The ${meters} differ by up to ${figure(check.largest)}, their correction limit is ${figure(check.limit)}`}
		>
			{check.accepted ? (
				<>
					<p className="checks-beyond">
						Someone has let it be used all the same; the journal says who, when and why.
					</p>
					{!readOnly && (
						<Button busy={busy} onClick={() => void send(false)}>
							Hold it back again
						</Button>
					)}
				</>
			) : (
				<>
					<p className="checks-beyond">
						A difference that large is a case for the instrument maker first. Until someone lets it
						be used it is shown and not applied.
					</p>
					{!readOnly && !asking && (
						<Button onClick={() => setAsking(true)}>Use it all the same…</Button>
					)}
					{asking && (
						<form className="checks-ask" onSubmit={submit}>
							<TextField
								label="Why may it be used?"
								value={why}
								maxLength={200}
								autoFocus
								fault={missing && why.trim() === '' ? 'A reason is needed.' : null}
								onChange={setWhy}
							/>
							<div className="checks-ask-actions">
								<Button tone="quiet" onClick={() => setAsking(false)}>
									Leave it
								</Button>
								<Button tone="primary" submit busy={busy}>
									Use it
								</Button>
							</div>
						</form>
					)}
				</>
			)}
		</Notice>
	);
}
