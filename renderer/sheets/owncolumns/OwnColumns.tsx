import './owncolumns.css';
import { Plus, Sigma, SquareFunction } from 'lucide-react';
import { type KeyboardEvent, useEffect, useRef, useState } from 'react';
import { useDocument } from '../../desk/desk.tsx';
import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import { EmptyState } from '../../parts/EmptyState.tsx';
import { Notice } from '../../parts/Notice.tsx';
import type { Marks } from '../celltext.ts';
import { type Draft, draftOf, NEW_DRAFT, sameDraft } from './draft.ts';
import { useOwnColumns } from './held.ts';
import { OwnColumnForm } from './OwnColumnForm.tsx';
import type { OwnColumn, OwnColumnSheet } from './owncolumn.ts';
import { unitMeant, unitWords } from './unitsearch.ts';

export interface OwnColumnsProps {
	readonly sheet: OwnColumnSheet;
	/** The sheet in words, e.g. "Ring ledger". */
	readonly title: string;
	/** Name of the column to begin with. */
	readonly begin?: string | null;
	readonly marks: Marks;
	readonly onClose: () => void;
}

const NEW = 'new';
type Chosen = number | typeof NEW | null;

/** The columns of a sheet that people add with a formula: all of them at the left, one in hand at the right. */
export function OwnColumns({ sheet, title, begin, marks, onClose }: OwnColumnsProps) {
	const readOnly = useDocument()?.readOnly ?? true;
	const own = useOwnColumns(sheet);
	const [chosen, setChosen] = useState<Chosen>(
		() => own.find((one) => one.id === begin)?.row ?? own[0]?.row ?? (readOnly ? null : NEW),
	);
	/** What is typed and not stored yet, by row; it stays when another column is looked at. */
	const [drafts, setDrafts] = useState<ReadonlyMap<number | typeof NEW, Draft>>(new Map());
	const [leaving, setLeaving] = useState(false);
	/** Stored under this name; chosen as soon as its row is there. */
	const [awaited, setAwaited] = useState<string | null>(null);
	const list = useRef<HTMLDivElement>(null);
	const form = useRef<HTMLDivElement>(null);
	const inHand = typeof chosen === 'number' ? own.find((one) => one.row === chosen) : undefined;

	useEffect(() => {
		const stored = awaited === null ? undefined : own.find((one) => one.id === awaited);
		if (!stored) return;
		setAwaited(null);
		setChosen(stored.row);
	}, [awaited, own]);
	// Taken away here, by undo or by another page.
	useEffect(() => {
		if (typeof chosen === 'number' && !inHand) setChosen(own[0]?.row ?? (readOnly ? null : NEW));
	}, [chosen, inHand, own, readOnly]);
	const arrived = useRef(false);
	useEffect(() => {
		if (arrived.current) return;
		arrived.current = true;
		if (own.length > 0) list.current?.focus();
		else form.current?.querySelector<HTMLElement>('[data-field="heading"]')?.focus();
	}, [own]);

	const setDraft = (key: number | typeof NEW, draft: Draft | null) =>
		setDrafts((old) => {
			const next = new Map(old);
			if (draft) next.set(key, draft);
			else next.delete(key);
			return next;
		});
	const dirty = (one: OwnColumn): boolean => {
		const draft = drafts.get(one.row);
		return draft !== undefined && !sameDraft(draft, draftOf(one));
	};
	const begun = (() => {
		const draft = drafts.get(NEW);
		return draft !== undefined && !sameDraft(draft, NEW_DRAFT);
	})();
	const unsaved = [
		...own.filter(dirty).map((one) => one.heading),
		...(begun ? [drafts.get(NEW)?.heading.trim() || 'the new column'] : []),
	];
	const leave = () => (unsaved.length > 0 && !readOnly ? setLeaving(true) : onClose());
	const choose = (to: Chosen) => {
		setChosen(to);
		setLeaving(false);
	};
	const startNew = () => {
		choose(NEW);
		requestAnimationFrame(() =>
			form.current?.querySelector<HTMLElement>('[data-field="heading"]')?.focus(),
		);
	};
	const goTo = (id: string) => {
		const there = own.find((one) => one.id === id);
		if (!there) return;
		choose(there.row);
		list.current?.focus();
	};
	const at = own.findIndex((one) => one.row === chosen);
	const keys = (event: KeyboardEvent) => {
		const to =
			event.key === 'ArrowDown'
				? Math.min(own.length - 1, at + 1)
				: event.key === 'ArrowUp'
					? Math.max(0, at - 1)
					: event.key === 'Home'
						? 0
						: event.key === 'End'
							? own.length - 1
							: null;
		if (to !== null && own[to]) choose(own[to].row);
		else if (event.key === 'Enter' || event.key === 'F2')
			form.current?.querySelector<HTMLElement>('textarea')?.focus();
		else return;
		event.preventDefault();
	};

	return (
		<Dialog
			title={`Own columns of the ${title.toLowerCase()}`}
			onClose={leave}
			width={1080}
			footer={
				leaving ? (
					<div className="own-leaving" role="alert">
						<span>
							Not stored yet: <strong>{unsaved.join(', ')}</strong>
						</span>
						<Button onClick={() => setLeaving(false)}>Keep editing</Button>
						<Button tone="danger" onClick={onClose}>
							Close without storing
						</Button>
					</div>
				) : (
					<Button onClick={leave}>Close</Button>
				)
			}
		>
			{readOnly && (
				<Notice status="info">
					The document is read-only: columns can be looked at, not changed.
				</Notice>
			)}
			<div className="own-columns">
				<div className="own-side">
					{!readOnly && (
						<Button icon={Plus} onClick={startNew} aria-pressed={chosen === NEW}>
							New column{begun ? ' •' : ''}
						</Button>
					)}
					<div
						className="own-list"
						role="listbox"
						tabIndex={0}
						ref={list}
						aria-label="Own columns"
						aria-activedescendant={at >= 0 ? `own-${own[at]?.row}` : undefined}
						onKeyDown={keys}
					>
						{own.map((one) => {
							const unit = one.unit === null ? undefined : unitMeant(one.unit);
							return (
								// biome-ignore lint/a11y/useKeyWithClickEvents: the list takes the keys, options are not in the tab order
								<div
									key={one.row}
									id={`own-${one.row}`}
									role="option"
									tabIndex={-1}
									aria-selected={one.row === chosen}
									className="own-entry"
									data-column={one.id}
									onClick={() => choose(one.row)}
								>
									<Sigma size={14} aria-hidden />
									<span className="own-entry-heading">
										{one.heading}
										{dirty(one) && <span title="not stored yet"> •</span>}
									</span>
									<span className="heading-unit">{unit ? unitWords(unit) : ''}</span>
									<span className="own-entry-formula">{one.expression}</span>
								</div>
							);
						})}
						{own.length === 0 && <p className="own-soft">No own columns yet.</p>}
					</div>
				</div>
				<div className="own-in-hand" ref={form}>
					{chosen === NEW ? (
						<OwnColumnForm
							key={NEW}
							sheet={sheet}
							own={null}
							draft={drafts.get(NEW) ?? NEW_DRAFT}
							onDraft={(draft) => setDraft(NEW, draft)}
							onSaved={(id) => {
								setDraft(NEW, null);
								setAwaited(id);
							}}
							onDeleted={() => {}}
							onGo={goTo}
							marks={marks}
							readOnly={readOnly}
						/>
					) : inHand ? (
						<OwnColumnForm
							key={inHand.row}
							sheet={sheet}
							own={inHand}
							draft={drafts.get(inHand.row) ?? draftOf(inHand)}
							onDraft={(draft) => setDraft(inHand.row, draft)}
							onSaved={() => setDraft(inHand.row, null)}
							onDeleted={() => setDraft(inHand.row, null)}
							onGo={goTo}
							marks={marks}
							readOnly={readOnly}
						/>
					) : (
						<EmptyState icon={SquareFunction} title="No own columns">
							Nobody has added a column to this sheet.
						</EmptyState>
					)}
				</div>
			</div>
		</Dialog>
	);
}
