import { GripVertical, MoveHorizontal, Pin } from 'lucide-react';
import { type KeyboardEvent, useId, useRef, useState } from 'react';
import type { Column } from '../../../calc/sheet/column.ts';
import { Tabs } from '../../parts/Tabs.tsx';
import { unitLabel } from '../celltext.ts';
import {
	type ArrangedColumn,
	freezeUpTo,
	moveColumn,
	ownWidth,
	showColumn,
} from './arrangement.ts';
import { COLUMN_GROUPS, columnGroup } from './columngroups.ts';
import type { Arranging } from './usearrange.ts';

const LISTS = [
	{ id: 'order', title: 'In their order' },
	{ id: 'group', title: 'By subject' },
] as const;

interface Entry {
	readonly column: Column;
	readonly arranged: ArrangedColumn;
	readonly at: number;
}

/** All columns of a sheet: shown or not, where, how wide, and up to which they stay in sight. */
export function ColumnList({ arranging }: { readonly arranging: Arranging }) {
	const { arrangement, columns, set } = arranging;
	const [list, setList] = useState<'order' | 'group'>('order');
	const [sought, setSought] = useState('');
	const [at, setAt] = useState<string | null>(null);
	const [dragged, setDragged] = useState<string | null>(null);
	const [over, setOver] = useState<string | null>(null);
	const box = useRef<HTMLDivElement>(null);
	const listId = useId();
	const keysId = useId();

	const words = sought.trim().toLowerCase();
	const entries = arrangement.columns.flatMap((arranged, index): Entry[] => {
		const column = columns.find(({ id }) => id === arranged.id);
		if (!column) return [];
		const text = `${column.heading} ${unitLabel(column)} ${column.id} ${column.help}`.toLowerCase();
		return words === '' || text.includes(words) ? [{ column, arranged, at: index }] : [];
	});
	const sections =
		list === 'order'
			? [{ title: null, entries }]
			: COLUMN_GROUPS.map((title) => ({
					title,
					entries: entries.filter(({ column }) => columnGroup(column) === title),
				})).filter((section) => section.entries.length > 0);
	const inOrder = sections.flatMap((section) => section.entries);
	const first = inOrder[0]?.column.id ?? null;
	const current = inOrder.some(({ column }) => column.id === at) ? at : first;
	const hidden = arrangement.columns.filter((column) => column.hidden).length;

	const focus = (id: string) => {
		setAt(id);
		box.current?.querySelector<HTMLElement>(`input[data-column="${CSS.escape(id)}"]`)?.focus();
	};
	const hearKey = (event: KeyboardEvent, { column, at: index }: Entry) => {
		if (event.ctrlKey || event.metaKey) return;
		const step = event.key === 'ArrowDown' ? 1 : event.key === 'ArrowUp' ? -1 : 0;
		const place = inOrder.findIndex((entry) => entry.column.id === column.id);
		let next: string | undefined;
		if (event.altKey) {
			if (step === 0 || list !== 'order') return;
			set(moveColumn(arrangement, column.id, index + step));
		} else if (step !== 0) next = inOrder[place + step]?.column.id;
		else if (event.key === 'Home') next = inOrder[0]?.column.id;
		else if (event.key === 'End') next = inOrder.at(-1)?.column.id;
		else if (event.key.toLowerCase() === 'f') set(freezeUpTo(arrangement, column.id));
		else if (event.key.toLowerCase() === 'w') set(ownWidth(arrangement, column.id));
		else return;
		event.preventDefault();
		event.stopPropagation();
		if (next !== undefined) focus(next);
	};

	return (
		<div className="column-list">
			<div className="column-list-head">
				<input
					className="input"
					type="search"
					aria-label="Look for a column"
					placeholder="Look for a column"
					value={sought}
					onChange={(event) => setSought(event.target.value)}
					onKeyDown={(event) => {
						if (event.key !== 'ArrowDown' || first === null) return;
						event.preventDefault();
						focus(first);
					}}
				/>
				<Tabs
					label="How the columns are listed"
					tabs={LISTS}
					active={list}
					onChoose={setList}
					panelId={listId}
				/>
			</div>
			<div id={listId} ref={box} className="column-list-body">
				{sections.map((section) => (
					<section key={section.title ?? 'all'} aria-label={section.title ?? 'Columns'}>
						{section.title && <h4>{section.title}</h4>}
						<ul>
							{section.entries.map((entry) => {
								const { column, arranged } = entry;
								const { id } = column;
								const isFrozen = entry.at < arrangement.frozen;
								const edge = entry.at === arrangement.frozen - 1;
								const unit = unitLabel(column);
								return (
									<li
										key={id}
										className="column-entry"
										data-hidden={arranged.hidden ? '' : undefined}
										data-edge={edge && list === 'order' ? '' : undefined}
										data-over={over === id && dragged !== id ? '' : undefined}
										draggable={list === 'order'}
										onDragStart={(event) => {
											setDragged(id);
											event.dataTransfer.effectAllowed = 'move';
											event.dataTransfer.setData('text/plain', column.heading);
										}}
										onDragOver={(event) => {
											if (dragged === null) return;
											event.preventDefault();
											setOver(id);
										}}
										onDrop={(event) => {
											event.preventDefault();
											if (dragged !== null) set(moveColumn(arrangement, dragged, entry.at));
										}}
										onDragEnd={() => {
											setDragged(null);
											setOver(null);
										}}
									>
										{list === 'order' && (
											<GripVertical size={14} className="column-entry-grip" aria-hidden />
										)}
										<label>
											<input
												type="checkbox"
												data-column={id}
												checked={!arranged.hidden}
												tabIndex={id === current ? 0 : -1}
												aria-describedby={keysId}
												aria-label={`${column.heading}${unit ? `, ${unit}` : ''}${isFrozen ? ', frozen' : ''}`}
												onFocus={() => setAt(id)}
												onKeyDown={(event) => hearKey(event, entry)}
												onChange={(event) => set(showColumn(arrangement, id, event.target.checked))}
											/>
											<span>{column.heading}</span>
											{unit && <span className="column-entry-unit">{unit}</span>}
										</label>
										{arranged.width !== null && (
											<button
												type="button"
												tabIndex={-1}
												className="column-entry-button"
												title={`Give ${column.heading} its own width (W)`}
												aria-label={`Give ${column.heading} its own width`}
												onClick={() => set(ownWidth(arrangement, id))}
											>
												<MoveHorizontal size={14} aria-hidden />
											</button>
										)}
										{list === 'order' && (
											<button
												type="button"
												tabIndex={-1}
												className="column-entry-button"
												aria-pressed={edge}
												title={edge ? 'Let go of all frozen columns (F)' : 'Freeze up to here (F)'}
												aria-label={`Freeze up to ${column.heading}`}
												onClick={() => set(freezeUpTo(arrangement, id))}
											>
												<Pin size={14} aria-hidden />
											</button>
										)}
									</li>
								);
							})}
						</ul>
					</section>
				))}
				{inOrder.length === 0 && <p className="column-list-none">No column is called so.</p>}
			</div>
			<p className="column-list-said" role="status">
				{arrangement.columns.length - hidden} of {arrangement.columns.length} columns shown
				{arrangement.frozen > 0 ? `, ${arrangement.frozen} frozen` : ''}
			</p>
			<p className="column-list-keys" id={keysId}>
				Space shows or hides · Alt+↑ ↓ moves · F freezes up to here · W own width
			</p>
		</div>
	);
}
