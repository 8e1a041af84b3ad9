import { Plus, X } from 'lucide-react';
import { type FormEvent, useEffect, useRef, useState } from 'react';
import { columnsOf } from '../../calc/sheet/catalogue.ts';
import type { Column } from '../../calc/sheet/column.ts';
import type { EditRefusal } from '../../electron/contract/verbs.ts';
import { useCallDesk } from '../desk/desk.tsx';
import { refusalsOf } from '../desk/refusals.ts';
import { DECIMAL } from '../look/marks.ts';
import { Button } from '../parts/Button.tsx';
import { IconButton } from '../parts/IconButton.tsx';
import { Notice } from '../parts/Notice.tsx';
import { choiceWords, completeTime, type Marks, unitLabel } from './celltext.ts';

export interface EntryStripProps {
	readonly sheet: 'rings' | 'ground' | 'readings' | 'meters' | 'mode_overrides';
	/** One row of the sheet in a word, e.g. "reading". */
	readonly what: string;
	readonly marks: Marks;
	/** Texts a new row begins with. Asked again after each row that was taken. */
	readonly begin: () => Record<string, string>;
	/** Day that a bare clock time belongs to, Unix s. */
	readonly day_s: () => number | null;
	/** Fields that may stay empty are shown from the start. */
	readonly allFields?: boolean;
	readonly onClose: () => void;
	readonly onAdded: (what: string) => void;
}

type Texts = Record<string, string>;

const problem = (refused: readonly EditRefusal[], column: Column): EditRefusal | undefined =>
	refused.find((refusal) => refusal.column === column.id);

/**
 * A new row, field by field: required ones first, the rest on demand. Enter adds it and begins the
 * next; what is refused stays as typed, with the reason at its field.
 */
export function EntryStrip({
	sheet,
	what,
	marks,
	begin,
	day_s,
	allFields = false,
	onClose,
	onAdded,
}: EntryStripProps) {
	const callDesk = useCallDesk();
	const [texts, setTexts] = useState<Texts>(begin);
	const [more, setMore] = useState(allFields);
	const [busy, setBusy] = useState(false);
	const [refused, setRefused] = useState<readonly EditRefusal[]>([]);
	const form = useRef<HTMLFormElement>(null);
	const columns = columnsOf(sheet).filter((column) => column.kind === 'entered');
	const shown = columns.filter(
		(column) => column.required || more || problem(refused, column) !== undefined,
	);
	const elsewhere = refused.filter(
		(refusal) => !columns.some((column) => column.id === refusal.column),
	);

	const toFirstOpen = () => {
		const fields = Array.from(
			form.current?.querySelectorAll<HTMLInputElement | HTMLSelectElement>('[data-field]') ?? [],
		);
		(fields.find((field) => field.value === '') ?? fields[0])?.focus();
	};
	useEffect(toFirstOpen, []);

	const add = async (given: Texts) => {
		setBusy(true);
		const row: Texts = {};
		for (const column of columns) {
			const text = given[column.id] ?? '';
			if (text.trim() === '') continue;
			row[column.id] = column.type === 'time' ? completeTime(text, day_s(), marks) : text;
		}
		const reply = await callDesk('sheet.add', { sheet, rows: [row], typed: { decimal: DECIMAL } });
		setBusy(false);
		const refusals = refusalsOf(reply);
		setRefused(refusals);
		if (!reply.ok) return;
		if (refusals.length > 0) {
			const first = columns.find((column) => problem(refusals, column));
			if (first)
				form.current?.querySelector<HTMLElement>(`[data-field="${CSS.escape(first.id)}"]`)?.focus();
			return;
		}
		onAdded(reply.value.changes?.label ?? `${what} added`);
		setTexts(begin());
		requestAnimationFrame(toFirstOpen);
	};

	const submit = (event: FormEvent) => {
		event.preventDefault();
		if (!busy) void add(texts);
	};
	const set = (id: string, text: string) => {
		setTexts((old) => ({ ...old, [id]: text }));
		setRefused((old) => old.filter((refusal) => refusal.column !== id));
	};

	return (
		<form
			ref={form}
			className="entry-strip"
			aria-label={`New ${what}`}
			onSubmit={submit}
			onKeyDown={(event) => {
				if (event.key !== 'Escape') return;
				event.preventDefault();
				onClose();
			}}
		>
			<div className="entry-strip-head">
				<h3>New {what}</h3>
				<span className="entry-strip-hint">
					Enter adds it and begins the next. A unit may be typed after the number.
				</span>
				<Button tone="quiet" aria-expanded={more} onClick={() => setMore(!more)}>
					{more ? 'Required fields only' : 'All fields'}
				</Button>
				<Button tone="primary" icon={Plus} submit busy={busy}>
					Add {what}
				</Button>
				<IconButton label={`Close new ${what}`} icon={X} onClick={onClose} />
			</div>
			{elsewhere.length > 0 && (
				<Notice status="stop">{elsewhere.map((refusal) => refusal.fault.message).join(' ')}</Notice>
			)}
			<div className="entry-strip-fields">
				{shown.map((column) => {
					const refusal = problem(refused, column);
					const id = `new-${sheet}-${column.id}`;
					const unit = unitLabel(column);
					return (
						<div className="entry-field" key={column.id} data-type={column.type}>
							<label htmlFor={id} title={column.help}>
								{column.heading} {unit && <span className="heading-unit">{unit}</span>}
							</label>
							{column.type === 'choice' ? (
								<select
									id={id}
									data-field={column.id}
									className="input"
									value={texts[column.id] ?? ''}
									aria-invalid={refusal ? true : undefined}
									aria-describedby={refusal ? `${id}-why` : undefined}
									onChange={(event) => set(column.id, event.target.value)}
								>
									<option value="">choose</option>
									{column.choices?.map((choice) => (
										<option key={choice} value={choice}>
											{choiceWords(choice)}
										</option>
									))}
								</select>
							) : (
								<input
									id={id}
									data-field={column.id}
									className="input"
									type="text"
									autoComplete="off"
									spellCheck={false}
									inputMode={
										column.type === 'number' || column.type === 'integer' ? 'decimal' : undefined
									}
									value={texts[column.id] ?? ''}
									aria-invalid={refusal ? true : undefined}
									aria-describedby={refusal ? `${id}-why` : undefined}
									onChange={(event) => set(column.id, event.target.value)}
								/>
							)}
							{refusal && (
								<div className="field-fault" id={`${id}-why`} role="alert">
									<span>
										{refusal.fault.message}
										{refusal.fault.where.expected && refusal.readAs.length === 0
											? ` Expected ${refusal.fault.where.expected}.`
											: ''}
									</span>
								</div>
							)}
							{refusal && refusal.readAs.length > 0 && (
								<div className="entry-field-read">
									{refusal.readAs.map((reading) => (
										<Button
											key={reading.text}
											onClick={() => {
												const chosen = { ...texts, [column.id]: reading.text };
												setTexts(chosen);
												void add(chosen);
											}}
										>
											{reading.label}
										</Button>
									))}
								</div>
							)}
						</div>
					);
				})}
			</div>
		</form>
	);
}
