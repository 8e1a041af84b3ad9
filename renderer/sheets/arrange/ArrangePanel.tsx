import { X } from 'lucide-react';
import { type FormEvent, useEffect, useId, useRef, useState } from 'react';
import { readShiftStarts, shiftStartsText } from '../../../calc/sheet/shift.ts';
import { Button } from '../../parts/Button.tsx';
import { IconButton } from '../../parts/IconButton.tsx';
import { Tabs } from '../../parts/Tabs.tsx';
import { defaultArrangement, fitArrangement, ownWidth } from './arrangement.ts';
import { ColumnList } from './ColumnList.tsx';
import { GROUP_WORDS, GROUPINGS, type GroupBy, groupingsOf } from './groups.ts';
import {
	forgetLayout,
	keptLayouts,
	type Layout,
	LONGEST_NAME,
	MOST_LAYOUTS,
	saveLayout,
} from './layouts.ts';
import type { Arranging } from './usearrange.ts';

const PARTS = [
	{ id: 'columns', title: 'Columns' },
	{ id: 'rows', title: 'Groups and layouts' },
] as const;

/** Beside a sheet: its columns, what its rows are grouped by, and arrangements saved by name. */
export function ArrangePanel({
	arranging,
	title,
	onClose,
}: {
	readonly arranging: Arranging;
	readonly title: string;
	readonly onClose: () => void;
}) {
	const { arrangement, set } = arranging;
	const panel = useRef<HTMLElement>(null);
	const [part, setPart] = useState<'columns' | 'rows'>('columns');
	const partId = useId();

	useEffect(() => {
		const cameFrom = window.document.activeElement;
		panel.current?.querySelector<HTMLElement>('input[type="search"]')?.focus();
		return () => {
			if (cameFrom instanceof HTMLElement && cameFrom.isConnected) cameFrom.focus();
		};
	}, []);

	return (
		<aside
			ref={panel}
			className="arrange-panel"
			aria-label={`Arrange ${title}`}
			onKeyDown={(event) => {
				if (event.key !== 'Escape') return;
				event.stopPropagation();
				onClose();
			}}
		>
			<header>
				<h3>Arrange this sheet</h3>
				<IconButton label="Close" hint="Close (Escape)" icon={X} onClick={onClose} />
			</header>
			<Tabs
				label="What to arrange"
				tabs={PARTS}
				active={part}
				onChoose={setPart}
				panelId={partId}
			/>
			<div id={partId} className="arrange-part" role="tabpanel">
				{part === 'columns' ? (
					<section className="arrange-columns" aria-label="Columns">
						<ColumnList arranging={arranging} />
						<Button tone="quiet" onClick={() => set(ownWidth(arrangement, null))}>
							Give all columns their own width
						</Button>
					</section>
				) : (
					<>
						<Grouping arranging={arranging} />
						<Layouts arranging={arranging} />
					</>
				)}
			</div>
		</aside>
	);
}

const NONE = '';
/** No name can be this one: names are trimmed. */
const OWN = ' ';

function Layouts({ arranging }: { readonly arranging: Arranging }) {
	const { sheet, arrangement, defaults, set } = arranging;
	const [layouts, setLayouts] = useState<readonly Layout[]>(() => keptLayouts(sheet));
	const [name, setName] = useState('');
	const same = (one: unknown) => JSON.stringify(one) === JSON.stringify(arrangement);
	const plain = defaultArrangement(defaults);
	const chosen = same(plain)
		? OWN
		: (layouts.find((one) => same(fitArrangement(one.arrangement, defaults)))?.name ?? NONE);
	const full = layouts.length >= MOST_LAYOUTS && !layouts.some((one) => one.name === name.trim());

	const apply = (to: string) => {
		if (to === OWN) set(plain);
		const layout = layouts.find((one) => one.name === to);
		if (layout) set(fitArrangement(layout.arrangement, defaults));
	};
	const save = (event: FormEvent) => {
		event.preventDefault();
		if (name.trim() === '' || full) return;
		setLayouts(saveLayout(sheet, { name: name.trim(), arrangement }));
		setName('');
	};
	return (
		<section aria-label="Layouts">
			<h4>Layout</h4>
			<div className="arrange-row">
				<select
					className="input"
					aria-label="Layout in use"
					value={chosen}
					onChange={(event) => apply(event.target.value)}
				>
					{chosen === NONE && <option value={NONE}>not saved</option>}
					<option value={OWN}>Default</option>
					{layouts.map((layout) => (
						<option key={layout.name} value={layout.name}>
							{layout.name}
						</option>
					))}
				</select>
				{chosen !== OWN && (
					<Button
						onClick={() => apply(OWN)}
						title="Columns, order, widths, sort, filters and groups"
					>
						Back to default
					</Button>
				)}
				{chosen !== OWN && chosen !== NONE && (
					<Button
						tone="danger"
						title={`Delete the layout ${chosen}; the sheet stays as it is`}
						onClick={() => setLayouts(forgetLayout(sheet, chosen))}
					>
						Delete
					</Button>
				)}
			</div>
			<form className="arrange-row" onSubmit={save}>
				<input
					className="input"
					aria-label="Name of a layout"
					placeholder="Save as it is now under a name"
					maxLength={LONGEST_NAME}
					value={name}
					onChange={(event) => setName(event.target.value)}
				/>
				<Button submit disabled={name.trim() === '' || full}>
					Save
				</Button>
			</form>
			{full && (
				<p className="arrange-fault" role="alert">
					{MOST_LAYOUTS} layouts are saved for this sheet. Delete one first.
				</p>
			)}
		</section>
	);
}

function Grouping({ arranging }: { readonly arranging: Arranging }) {
	const { sheet, arrangement, set, rows, shifts_min, setShifts } = arranging;
	const offered = groupingsOf(sheet);
	const [typed, setTyped] = useState(() => shiftStartsText(shifts_min));
	const read = readShiftStarts(typed);
	if (offered.length === 0) return null;
	const choose = (text: string) =>
		set({ ...arrangement, groupBy: GROUPINGS.find((one) => one === text) ?? null });
	const take = (event: FormEvent) => {
		event.preventDefault();
		if (read === null) return;
		setShifts(read);
		setTyped(shiftStartsText(read));
	};
	return (
		<section aria-label="Groups">
			<h4>Group rows by</h4>
			<div className="arrange-row">
				<select
					className="input"
					aria-label="Group rows by"
					value={arrangement.groupBy ?? NONE}
					onChange={(event) => choose(event.target.value)}
				>
					<option value={NONE}>nothing</option>
					{offered.map((by: GroupBy) => (
						<option key={by} value={by}>
							{GROUP_WORDS[by]}
						</option>
					))}
				</select>
				{arrangement.groupBy !== null && (
					<>
						<Button onClick={() => rows.setAllOpen(true)}>Open all</Button>
						<Button onClick={() => rows.setAllOpen(false)}>Shut all</Button>
					</>
				)}
			</div>
			{arrangement.groupBy === 'shift' && (
				<form className="arrange-row" onSubmit={take}>
					<label className="arrange-shifts">
						Shifts begin at
						<input
							className="input"
							value={typed}
							aria-invalid={read === null ? true : undefined}
							onChange={(event) => setTyped(event.target.value)}
						/>
					</label>
					<Button
						submit
						disabled={read === null || shiftStartsText(read) === shiftStartsText(shifts_min)}
					>
						Use
					</Button>
				</form>
			)}
			{arrangement.groupBy === 'shift' && read === null && (
				<p className="arrange-fault" role="alert">
					One to eight different clock times, as 06:00, 14:00, 22:00.
				</p>
			)}
		</section>
	);
}
