import { Save, Trash2 } from 'lucide-react';
import { type FormEvent, useEffect, useMemo, useRef, useState } from 'react';
import type { Column } from '../../../calc/sheet/column.ts';
import type { EditRefusal } from '../../../electron/contract/verbs.ts';
import { useCallDesk } from '../../desk/desk.tsx';
import { refusalsOf } from '../../desk/refusals.ts';
import { DECIMAL } from '../../look/marks.ts';
import { Button } from '../../parts/Button.tsx';
import { TextField } from '../../parts/Field.tsx';
import { Notice } from '../../parts/Notice.tsx';
import { tell } from '../../parts/Toast.tsx';
import type { Marks } from '../celltext.ts';
import { useChecked } from './checked.ts';
import { Depends } from './Depends.tsx';
import {
	type Draft,
	type DraftField,
	draftOf,
	editsOf,
	fieldOf,
	nameFrom,
	rowOf,
	sameDraft,
	unitText,
} from './draft.ts';
import { ExpressionField, type ExpressionHandle } from './ExpressionField.tsx';
import { asColumn, type OwnColumn, type OwnColumnSheet } from './owncolumn.ts';
import { Preview } from './Preview.tsx';
import { UnitField } from './UnitField.tsx';
import { unitMeant } from './unitsearch.ts';

export interface OwnColumnFormProps {
	readonly sheet: OwnColumnSheet;
	/** null: a new one. */
	readonly own: OwnColumn | null;
	readonly draft: Draft;
	readonly onDraft: (draft: Draft) => void;
	/** Stored: its name. */
	readonly onSaved: (id: string) => void;
	readonly onDeleted: () => void;
	/** Goes to another own column by its name. */
	readonly onGo: (id: string) => void;
	readonly marks: Marks;
	readonly readOnly: boolean;
}

const PREVIEW_ROWS = 6;
const NO_FAULTS: readonly EditRefusal[] = [];

/** One own column: what it is called, its formula checked while it is typed, what it comes to and what hangs on it. */
export function OwnColumnForm({
	sheet,
	own,
	draft,
	onDraft,
	onSaved,
	onDeleted,
	onGo,
	marks,
	readOnly,
}: OwnColumnFormProps) {
	const callDesk = useCallDesk();
	const [busy, setBusy] = useState(false);
	const [refused, setRefused] = useState<readonly EditRefusal[]>(NO_FAULTS);
	const [deleting, setDeleting] = useState(false);
	const [tried, setTried] = useState(false);
	const expression = useRef<ExpressionHandle>(null);
	const keep = useRef<HTMLButtonElement>(null);
	// The question stands beneath what may be out of sight.
	useEffect(() => {
		if (!deleting) return;
		keep.current?.focus();
		keep.current?.closest('.notice')?.scrollIntoView({ block: 'nearest' });
	}, [deleting]);
	const decimals = /^[0-9]$/.test(draft.decimals.trim()) ? Number(draft.decimals) : null;
	const started = draft.expression.trim() !== '';
	const { answer, current, trouble } = useChecked({
		sheet,
		expression: draft.expression,
		unit: unitText(draft).slice(0, 40),
		...(decimals === null ? {} : { decimals }),
		...(draft.id === '' ? {} : { id: draft.id.slice(0, 80) }),
		...(own ? { row: own.row } : {}),
		rows: PREVIEW_ROWS,
	});
	const fault = started && current ? (answer?.fault ?? null) : null;
	const changed = own === null || !sameDraft(draft, draftOf(own));
	const shownAs = useMemo<Column>(
		() =>
			asColumn({
				row: own?.row ?? 0,
				sheet,
				id: draft.id,
				heading: draft.heading,
				unit: unitText(draft) || null,
				decimals: decimals ?? 2,
				expression: draft.expression,
				note: draft.note,
			}),
		[own, sheet, draft, decimals],
	);

	const set = (part: Partial<Draft>) => {
		if ('expression' in part) setTried(false);
		const next = { ...draft, ...part };
		if (part.heading !== undefined && !draft.named)
			onDraft({ ...next, id: nameFrom(part.heading) });
		else onDraft(next);
		setDeleting(false);
		setRefused((old) =>
			old.filter((one) => {
				const field = fieldOf(one.column);
				return field !== null && !(field in part);
			}),
		);
	};
	const refusalOf = (field: DraftField): string | null => {
		const one = refused.find((each) => fieldOf(each.column) === field);
		if (!one) return null;
		const { expected } = one.fault.where;
		return `${one.fault.message}${expected ? ` Expected ${expected}.` : ''}`;
	};
	const needed = (field: DraftField): string | null =>
		tried && draft[field].trim() === '' ? 'This is needed.' : null;
	const elsewhere = refused.filter((one) => fieldOf(one.column) === null);

	const save = async () => {
		if (busy || readOnly) return;
		setTried(true);
		if (fault) {
			expression.current?.focus(fault.from);
			return;
		}
		if (draft.heading.trim() === '' || draft.id.trim() === '' || !started) return;
		if (!changed) return;
		setBusy(true);
		const typed = { decimal: DECIMAL };
		const heading = draft.heading.trim();
		const reply = own
			? await callDesk('sheet.edit', {
					sheet: 'formulas',
					edits: editsOf(own, draft),
					typed,
					label: `edit of own column ${heading}`.slice(0, 200),
				})
			: await callDesk('sheet.add', { sheet: 'formulas', rows: [rowOf(sheet, draft)], typed });
		setBusy(false);
		const refusals = refusalsOf(reply);
		setRefused(refusals);
		if (refusals.length > 0) return;
		tell('good', own ? `Own column ${heading} changed.` : `Own column ${heading} added.`);
		onSaved(draft.id.trim());
	};

	const remove = async () => {
		if (!own || busy) return;
		setBusy(true);
		const reply = await callDesk('sheet.delete', { sheet: 'formulas', rows: [own.row] });
		setBusy(false);
		setDeleting(false);
		if (!reply.ok) {
			tell('stop', reply.message);
			return;
		}
		setRefused(reply.value.refused);
		if (reply.value.refused.length > 0) return;
		tell('good', `Own column ${own.heading} deleted. Ctrl+Z brings it back.`);
		onDeleted();
	};

	const submit = (event: FormEvent) => {
		event.preventDefault();
		void save();
	};
	const idFault =
		refusalOf('id') ??
		needed('id') ??
		(draft.id !== '' && current ? asSentence(answer?.idFault) : null);
	const unitFault = refusalOf('unit') ?? (current ? asSentence(answer?.unitFault) : null);
	const usedBy = answer?.usedBy ?? [];
	const fits = unitText(draft);

	return (
		<form
			className="own-form"
			aria-label={own ? `Own column ${own.heading}` : 'New own column'}
			onSubmit={submit}
			onKeyDown={(event) => {
				if (event.key !== 'Enter' || !(event.ctrlKey || event.metaKey)) return;
				event.preventDefault();
				void save();
			}}
		>
			{elsewhere.length > 0 && (
				<Notice status="stop" title="This was not taken">
					{elsewhere.map((one) => one.fault.message).join(' ')}
				</Notice>
			)}
			<div className="own-names">
				<TextField
					label="Heading"
					value={draft.heading}
					readOnly={readOnly}
					maxLength={120}
					onChange={(heading) => set({ heading })}
					fault={refusalOf('heading') ?? needed('heading')}
					data-field="heading"
				/>
				<TextField
					label="Name in formulas"
					value={draft.id}
					readOnly={readOnly}
					maxLength={80}
					onChange={(id) => set({ id, named: true })}
					fault={idFault}
				/>
				<UnitField
					value={draft.unit}
					readOnly={readOnly}
					onChange={(unit) => set({ unit })}
					fault={unitFault}
				/>
				<TextField
					label="Decimals"
					value={draft.decimals}
					readOnly={readOnly}
					inputMode="numeric"
					maxLength={2}
					onChange={(text) => set({ decimals: text })}
					fault={
						refusalOf('decimals') ??
						(decimals === null && draft.decimals.trim() !== '' ? '0 to 9.' : null)
					}
				/>
			</div>
			<ExpressionField
				ref={expression}
				sheet={sheet}
				row={own?.row ?? null}
				value={draft.expression}
				onChange={(text) => set({ expression: text })}
				fault={fault}
				refused={refusalOf('expression') ?? needed('expression')}
				readOnly={readOnly}
				tried={tried}
			>
				{!started ? (
					<span>
						Columns by their names, with + − * / ^, numbers with units (5 m^3), comparisons, a ? b :
						c and functions. Type a letter, or press Ctrl+Space for all there is.
					</span>
				) : (
					answer?.result &&
					current && (
						<span>
							Gives <strong>{answer.result.what}</strong>
							{answer.ok && unitMeant(draft.unit) && `, shown in ${shownUnit(draft.unit)}`}.
						</span>
					)
				)}
				{started && current && !answer?.ok && !readOnly && (answer?.units.length ?? 0) > 0 && (
					<span className="own-units">
						It can be shown in
						{answer?.units.map((one) =>
							one.id === fits ? null : (
								<Button key={one.id} onClick={() => set({ unit: one.id === '1' ? '' : one.label })}>
									{one.label || 'plain number'}
								</Button>
							),
						)}
					</span>
				)}
			</ExpressionField>
			{trouble !== null && (
				<Notice status="stop" title="The formula could not be checked">
					{trouble}
				</Notice>
			)}
			<div className="own-sides">
				<Preview
					column={shownAs}
					marks={marks}
					answer={started ? answer : null}
					current={current}
				/>
				<Depends
					sheet={sheet}
					heading={draft.heading}
					marks={marks}
					uses={started ? (answer?.uses ?? []) : []}
					usedBy={usedBy}
					onGo={onGo}
				/>
			</div>
			<TextField
				label="Note"
				optional
				value={draft.note}
				readOnly={readOnly}
				maxLength={1000}
				onChange={(note) => set({ note })}
				fault={refusalOf('note')}
				help="What the column is for; it stands on the heading's card."
			/>
			{deleting && own && (
				<Notice
					status="note"
					title={`Delete ${own.heading}, although others use it?`}
					actions={
						<>
							<Button ref={keep} onClick={() => setDeleting(false)}>
								Keep it
							</Button>
							<Button tone="danger" icon={Trash2} busy={busy} onClick={() => void remove()}>
								Delete it
							</Button>
						</>
					}
				>
					{usedBy.map((use) => use.heading).join(', ')} {usedBy.length === 1 ? 'is' : 'are'} worked
					out from it and would be blank.
				</Notice>
			)}
			{!readOnly && (
				<div className="own-foot">
					{own && (
						<Button
							tone="danger"
							icon={Trash2}
							busy={busy}
							disabled={deleting || answer === null}
							onClick={() => (usedBy.length > 0 ? setDeleting(true) : void remove())}
						>
							Delete column
						</Button>
					)}
					<span className="own-foot-gap" />
					{own && changed && (
						<Button onClick={() => onDraft(draftOf(own))}>Take changes back</Button>
					)}
					<Button
						tone="primary"
						icon={Save}
						submit
						busy={busy}
						disabled={!changed}
						title="Ctrl+Enter"
					>
						{own ? 'Save changes' : 'Add column'}
					</Button>
				</div>
			)}
		</form>
	);
}

const shownUnit = (text: string): string => {
	const meant = unitMeant(text);
	return !meant || meant.id === '1' ? 'plain numbers' : meant.label;
};

/** Words of the desk as a sentence. */
function asSentence(words: string | null | undefined): string | null {
	if (!words) return null;
	const begun = words.charAt(0).toUpperCase() + words.slice(1);
	return /[.!?]$/.test(begun) ? begun : `${begun}.`;
}
