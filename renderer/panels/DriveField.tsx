import { CircleDashed, TriangleAlert } from 'lucide-react';
import { useEffect, useRef, useState } from 'react';
import { fullNumber } from '../../calc/quantity/format.ts';
import type { CellValue, Column } from '../../calc/sheet/column.ts';
import { useCallDesk } from '../desk/desk.tsx';
import { DECIMAL } from '../look/marks.ts';
import { Field } from '../parts/Field.tsx';
import { choiceWords } from '../sheets/celltext.ts';
import { LEFT_OUT } from './leftout.ts';
import { ReadAs } from './ReadAs.tsx';
import { unitLabel } from './unitlabel.ts';

interface Refused {
	readonly message: string;
	readonly readAs: readonly { readonly label: string; readonly text: string }[];
}

export interface DriveFieldProps {
	readonly column: Column;
	readonly row: number;
	readonly value: CellValue;
	/** What the desk has to say about the value it holds. */
	readonly flags: readonly string[];
	readonly readOnly: boolean;
}

const textOf = (value: CellValue): string =>
	value === null ? '' : typeof value === 'number' ? fullNumber(value, { decimal: DECIMAL }) : value;

/** One setting: typed text goes to the desk when the field is left; a refusal stays at the field with what was typed. */
export function DriveField({ column, row, value, flags, readOnly }: DriveFieldProps) {
	const callDesk = useCallDesk();
	const stored = textOf(value);
	const [text, setText] = useState(stored);
	const [refused, setRefused] = useState<Refused | null>(null);
	const [sending, setSending] = useState(false);
	const held = useRef(stored);

	useEffect(() => {
		// The desk's value changed (an answer, an undo, another window): it goes before what stood here.
		if (held.current === stored) return;
		held.current = stored;
		setText(stored);
		setRefused(null);
	}, [stored]);

	const send = async (typed: string) => {
		if (readOnly || sending) return;
		if (typed.trim() === stored) {
			setText(stored);
			setRefused(null);
			return;
		}
		setSending(true);
		const reply = await callDesk('sheet.edit', {
			sheet: 'drive',
			edits: [{ row, column: column.id, text: typed }],
			typed: { decimal: DECIMAL },
		});
		setSending(false);
		if (!reply.ok) {
			setRefused({ message: reply.message, readAs: [] });
			return;
		}
		const refusal =
			reply.value.refused.find((one) => one.column === column.id) ?? reply.value.refused[0];
		if (refusal) {
			const expected = refusal.fault.where.expected;
			setRefused({
				message: expected
					? `${refusal.fault.message} Expected ${expected}.`
					: refusal.fault.message,
				readAs: refusal.readAs,
			});
			return;
		}
		setRefused(null);
		// "1180 kg/m³" may be the value already held, in other words: then no new value comes back.
		setText(held.current);
	};
	const missing = value === null && text === '' && !column.required;
	const leftOut = LEFT_OUT[column.id];

	return (
		<div className="drive-field" data-column={column.id}>
			<Field
				label={column.heading}
				help={column.help}
				fault={refused?.message ?? null}
				unit={unitLabel(column.unit)}
			>
				{({ id, describedBy }) =>
					column.choices ? (
						<select
							id={id}
							value={text}
							disabled={readOnly || sending}
							aria-invalid={refused ? true : undefined}
							aria-describedby={describedBy}
							onChange={(event) => {
								setText(event.target.value);
								void send(event.target.value);
							}}
						>
							{!column.required && <option value="">not stated</option>}
							{column.choices.map((choice) => (
								<option key={choice} value={choice}>
									{choiceWords(choice)}
								</option>
							))}
						</select>
					) : (
						<input
							id={id}
							type="text"
							autoComplete="off"
							spellCheck={false}
							value={text}
							readOnly={readOnly}
							required={column.required}
							aria-invalid={refused ? true : undefined}
							aria-describedby={describedBy}
							{...(column.type === 'text'
								? {}
								: { inputMode: 'decimal' as const, 'data-number': '' })}
							onChange={(event) => setText(event.target.value)}
							onBlur={() => void send(text)}
							onKeyDown={(event) => {
								if (event.key === 'Enter') void send(text);
								else if (event.key === 'Escape' && (text !== stored || refused)) {
									event.stopPropagation();
									setText(stored);
									setRefused(null);
								}
							}}
						/>
					)
				}
			</Field>
			{refused && refused.readAs.length > 0 && (
				<ReadAs
					readAs={refused.readAs}
					onChoose={(chosen) => {
						setText(chosen);
						void send(chosen);
					}}
				/>
			)}
			{missing && (
				<p className="field-missing">
					<CircleDashed size={14} aria-hidden />
					<span>missing{leftOut ? `: ${leftOut}` : ''}</span>
				</p>
			)}
			{flags.map((flag) => (
				<p className="field-flag" key={flag}>
					<TriangleAlert size={14} aria-hidden />
					<span>{flag}</span>
				</p>
			))}
			{column.source && <p className="field-source">Source: {column.source}</p>}
		</div>
	);
}
