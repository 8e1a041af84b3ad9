import { type FormEvent, useEffect, useRef, useState } from 'react';
import { MODES } from '../../calc/circuit/samples.ts';
import { dateTime } from '../../calc/quantity/time.ts';
import type { EditRefusal } from '../../electron/contract/verbs.ts';
import { useCallDesk } from '../desk/desk.tsx';
import { DECIMAL } from '../look/marks.ts';
import { Button } from '../parts/Button.tsx';
import { Field, TextField } from '../parts/Field.tsx';
import { tell } from '../parts/Toast.tsx';
import { completeTime } from '../sheets/celltext.ts';
import { MODE_WORDS } from './bands.ts';
import type { Span } from './traces.ts';

type Mode = (typeof MODES)[number];

/** Sets the mode of a stretch, with the reason: one row more in the sheet of set modes. */
export function SetMode({
	stretch,
	utcOffset_min,
	onClose,
}: {
	/** Follows the stretch in hand for as long as the form is open. */
	readonly stretch: Span;
	readonly utcOffset_min: number;
	readonly onClose: () => void;
}) {
	const callDesk = useCallDesk();
	const [from, setFrom] = useState('');
	const [to, setTo] = useState('');
	const [mode, setMode] = useState<Mode | ''>('');
	const [why, setWhy] = useState('');
	const [busy, setBusy] = useState(false);
	const [refused, setRefused] = useState<readonly Pick<EditRefusal, 'column' | 'fault'>[]>([]);
	const form = useRef<HTMLFormElement>(null);
	const { from_s, to_s } = stretch;
	useEffect(() => {
		setFrom(dateTime(from_s, utcOffset_min));
		setTo(dateTime(to_s, utcOffset_min));
		setRefused([]);
	}, [from_s, to_s, utcOffset_min]);
	useEffect(() => form.current?.querySelector('select')?.focus(), []);

	const faultOf = (column: string): string | null =>
		refused.find((refusal) => refusal.column === column)?.fault.message ?? null;
	const refuse = (column: string, message: string) =>
		setRefused([{ column, fault: { code: 'needed', message, where: {}, weight: 'stop' } }]);
	const send = async (event: FormEvent) => {
		event.preventDefault();
		if (busy) return;
		if (mode === '') return refuse('mode', 'Choose a mode.');
		if (why.trim() === '') return refuse('why', 'A reason is needed.');
		setBusy(true);
		const marks = { decimal: DECIMAL, utcOffset_min };
		const reply = await callDesk('sheet.add', {
			sheet: 'mode_overrides',
			rows: [
				{
					from_time: completeTime(from, from_s, marks),
					to_time: completeTime(to, to_s, marks),
					mode,
					why: why.trim(),
				},
			],
			typed: { decimal: DECIMAL },
		});
		setBusy(false);
		if (!reply.ok) return refuse('', reply.message);
		if (reply.value.refused.length > 0) return setRefused(reply.value.refused);
		const label = reply.value.changes?.label ?? 'mode set';
		tell('good', `${label.charAt(0).toUpperCase()}${label.slice(1)}. Ctrl+Z takes it back.`);
		onClose();
	};
	const elsewhere = refused.find(
		({ column }) => !['from_time', 'to_time', 'mode', 'why'].includes(column),
	);

	return (
		<form
			className="timeline-set"
			aria-label="Set the mode of a stretch"
			ref={form}
			onSubmit={(event) => void send(event)}
			onKeyDown={(event) => {
				event.stopPropagation();
				if (event.key !== 'Escape') return;
				event.preventDefault();
				onClose();
			}}
		>
			<TextField label="From" value={from} onChange={setFrom} fault={faultOf('from_time')} />
			<TextField label="To" value={to} onChange={setTo} fault={faultOf('to_time')} />
			<Field label="Mode" fault={faultOf('mode')}>
				{({ id, describedBy }) => (
					<select
						id={id}
						value={mode}
						aria-describedby={describedBy}
						aria-invalid={faultOf('mode') ? true : undefined}
						onChange={(event) => setMode(event.target.value as Mode | '')}
					>
						<option value="">choose…</option>
						{MODES.map((each) => (
							<option key={each} value={each}>
								{MODE_WORDS[each]}
							</option>
						))}
					</select>
				)}
			</Field>
			<div className="timeline-set-why">
				<TextField
					label="Why"
					value={why}
					maxLength={200}
					fault={faultOf('why') ?? elsewhere?.fault.message ?? null}
					onChange={setWhy}
				/>
			</div>
			<div className="timeline-set-actions">
				<Button tone="quiet" onClick={onClose}>
					Leave it
				</Button>
				<Button tone="primary" submit busy={busy}>
					Set the mode
				</Button>
			</div>
		</form>
	);
}
