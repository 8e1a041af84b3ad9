import './limits.css';
import { type FormEvent, useRef, useState } from 'react';
import { fullNumber } from '../../../calc/quantity/format.ts';
import type { Column, SheetId } from '../../../calc/sheet/column.ts';
import type { EditRefusal } from '../../../electron/contract/verbs.ts';
import { useCallDesk } from '../../desk/desk.tsx';
import { refusalsOf } from '../../desk/refusals.ts';
import { DECIMAL } from '../../look/marks.ts';
import { Button } from '../../parts/Button.tsx';
import { NumberField, TextField } from '../../parts/Field.tsx';
import { Notice } from '../../parts/Notice.tsx';
import { tell } from '../../parts/Toast.tsx';
import { type Marks, unitLabel } from '../celltext.ts';
import { type ColumnLimits, limitText } from './columnlimits.ts';

export interface LimitsFormProps {
	readonly sheet: SheetId;
	readonly column: Column;
	readonly limits: ColumnLimits | undefined;
	readonly marks: Marks;
	readonly readOnly: boolean;
}

const shown = (value: number | null | undefined): string =>
	value === null || value === undefined
		? ''
		: fullNumber(Number(value.toPrecision(12)), { decimal: DECIMAL });

/** From which figures on a column is marked: low, high, and why. Part of the project, so everyone sees the same. */
export function LimitsForm({ sheet, column, limits, marks, readOnly }: LimitsFormProps) {
	const callDesk = useCallDesk();
	const before = { low: shown(limits?.low), high: shown(limits?.high), why: limits?.why ?? '' };
	const [texts, setTexts] = useState(before);
	const [refused, setRefused] = useState<readonly EditRefusal[]>([]);
	const [busy, setBusy] = useState(false);
	const form = useRef<HTMLFormElement>(null);
	const unit = unitLabel(column);
	const fields = ['low', 'high', 'why'] as const;
	const changed =
		fields.some((field) => texts[field].trim() !== before[field]) || limits?.misfit != null;

	if (readOnly) {
		return (
			<section className="limits-form">
				<h4>Marked outside of</h4>
				<p>
					{limits && limits.misfit === null
						? [
								limits.low === null ? null : `at least ${limitText(column, limits.low, marks)}`,
								limits.high === null ? null : `at most ${limitText(column, limits.high, marks)}`,
							]
								.filter((part) => part !== null)
								.join(', ') + (limits.why === '' ? '' : ` (${limits.why})`)
						: 'No limits are set.'}
				</p>
			</section>
		);
	}

	const finish = (
		reply: Awaited<ReturnType<typeof callDesk<'sheet.add' | 'sheet.edit' | 'sheet.delete'>>>,
		done: string,
	) => {
		setBusy(false);
		const refusals = refusalsOf(reply);
		setRefused(refusals);
		if (refusals.length === 0) tell('good', done);
	};
	const remove = async () => {
		if (!limits || busy) return;
		setBusy(true);
		const reply = await callDesk('sheet.delete', { sheet: 'limits', rows: [limits.row] });
		if (reply.ok && reply.value.refused.length === 0) {
			setTexts({ low: '', high: '', why: '' });
			// The button that had the keyboard goes.
			form.current?.querySelector('input')?.focus();
		}
		finish(reply, `${column.heading} has no limits any more. Ctrl+Z brings them back.`);
	};
	const put = async (given: typeof texts) => {
		if (busy) return;
		if (given.low.trim() === '' && given.high.trim() === '') {
			await remove();
			return;
		}
		setBusy(true);
		const typed = { decimal: DECIMAL };
		const cells = {
			low: given.low.trim(),
			high: given.high.trim(),
			why: given.why.trim(),
			unit: column.unit === null || column.unit === '1' ? '' : column.unit,
		};
		const reply = limits
			? await callDesk('sheet.edit', {
					sheet: 'limits',
					edits: Object.entries(cells).map(([id, text]) => ({
						row: limits.row,
						column: id,
						text,
					})),
					typed,
					label: `edit of the limits of ${column.heading.toLowerCase()}`,
				})
			: await callDesk('sheet.add', {
					sheet: 'limits',
					rows: [
						{
							sheet,
							column_id: column.id,
							...Object.fromEntries(Object.entries(cells).filter(([, text]) => text !== '')),
						},
					],
					typed,
				});
		finish(reply, `Figures of ${column.heading} outside its limits are marked.`);
	};
	const faultOf = (field: string): string | null => {
		const one = refused.find((each) => each.column === field);
		if (!one) return null;
		const { expected } = one.fault.where;
		return `${one.fault.message}${expected && one.readAs.length === 0 ? ` Expected ${expected}.` : ''}`;
	};
	const set = (field: (typeof fields)[number], text: string) => {
		setTexts((old) => ({ ...old, [field]: text }));
		setRefused([]);
	};
	const elsewhere = refused.filter((one) => !(fields as readonly string[]).includes(one.column));
	const submit = (event: FormEvent) => {
		event.preventDefault();
		void put(texts);
	};

	return (
		<form
			ref={form}
			className="limits-form"
			aria-label={`Limits of ${column.heading}`}
			onSubmit={submit}
		>
			<h4>Mark figures</h4>
			{limits?.misfit != null && (
				<Notice status="note">
					Limits were set in {limits.misfit}, which the figures of this column cannot be told in.
					Nothing is marked until they are set anew.
				</Notice>
			)}
			<div className="limits-fields">
				{(['low', 'high'] as const).map((field) => (
					<NumberField
						key={field}
						label={field === 'low' ? 'Below' : 'Above'}
						value={texts[field]}
						unit={unit === '' ? null : unit}
						onChange={(text) => set(field, text)}
						fault={faultOf(field)}
					/>
				))}
			</div>
			{refused
				.filter((one) => one.readAs.length > 0)
				.map((one) => (
					<div className="limits-read" key={one.column}>
						{one.readAs.map((reading) => (
							<Button
								key={reading.text}
								onClick={() => {
									const chosen = { ...texts, [one.column]: reading.text };
									setTexts(chosen);
									void put(chosen);
								}}
							>
								{reading.label}
							</Button>
						))}
					</div>
				))}
			<TextField
				label="Why"
				optional
				value={texts.why}
				maxLength={500}
				onChange={(text) => set('why', text)}
				fault={faultOf('why')}
			/>
			{elsewhere.length > 0 && (
				<Notice status="stop">{elsewhere.map((one) => one.fault.message).join(' ')}</Notice>
			)}
			<div className="limits-foot">
				<Button submit busy={busy} disabled={!changed}>
					Set limits
				</Button>
				{limits && (
					<Button tone="quiet" disabled={busy} onClick={() => void remove()}>
						Remove limits
					</Button>
				)}
			</div>
		</form>
	);
}
