import { ChevronDown, ChevronUp, X } from 'lucide-react';
import { type KeyboardEvent, useEffect, useMemo, useRef, useState } from 'react';
import { formatNumber } from '../../../calc/quantity/format.ts';
import type { EnteredSheetId } from '../../../calc/sheet/column.ts';
import { useCallDesk, useDeskValue } from '../../desk/desk.tsx';
import { DECIMAL, MARKS } from '../../look/marks.ts';
import { Button } from '../../parts/Button.tsx';
import { IconButton } from '../../parts/IconButton.tsx';
import type { Arranging } from '../arrange/usearrange.ts';
import type { Marks } from '../celltext.ts';
import { type Hit, nextHit, type Sought } from './finding.ts';
import { ReplacePreview } from './ReplacePreview.tsx';
import { planReplace, type ReplacePlan, replaceLabel, sentText } from './replacing.ts';
import { useFinding } from './usefinding.ts';

const count = (value: number) => formatNumber(value, 0, MARKS);

export interface FindBarProps {
	readonly arranging: Arranging;
	readonly marks: Marks;
	/** Whether the line for replacing is asked for; never on sheets nothing can be entered in. */
	readonly replacing: boolean;
	readonly onReplacing: (on: boolean) => void;
	/** Whether cells of this sheet can be edited at all. */
	readonly editable: boolean;
	/** Raised whenever finding is asked for again. */
	readonly asked: number;
	readonly onClose: () => void;
}

/** Above a sheet: looks for a text in its cells, goes from one to the next, and replaces it in entries. */
export function FindBar(props: FindBarProps) {
	const { arranging, marks, replacing, editable, asked, onClose } = props;
	const { api, rows: view, sheet, columns } = arranging;
	const callDesk = useCallDesk();
	const atColumn = useDeskValue((all) =>
		all.selection.sheet === sheet ? all.selection.column : null,
	);
	const [text, setText] = useState('');
	const [by, setBy] = useState('');
	const [whole, setWhole] = useState(false);
	const [matchCase, setMatchCase] = useState(false);
	const [full, setFull] = useState(false);
	const [only, setOnly] = useState<string | null>(null);
	const [at, setAt] = useState<Hit | null>(null);
	const [said, setSaid] = useState<string | null>(null);
	const [plan, setPlan] = useState<ReplacePlan | null>(null);
	const bar = useRef<HTMLElement>(null);
	const field = useRef<HTMLInputElement>(null);

	const sought = useMemo<Sought>(
		() => ({ text, whole, matchCase, full }),
		[text, whole, matchCase, full],
	);
	const { hits, rows, columns: lookedAt } = useFinding(arranging, sought, only, marks);
	const place =
		hits?.findIndex((hit) => at && hit.row.id === at.row.id && hit.column.id === at.column.id) ??
		-1;

	// biome-ignore lint/correctness/useExhaustiveDependencies: the number only says that it was asked for
	useEffect(() => {
		field.current?.focus();
		field.current?.select();
	}, [asked]);
	const asking = plan !== null;
	const wasAsking = useRef(false);
	useEffect(() => {
		if (wasAsking.current && !asking) field.current?.focus();
		wasAsking.current = asking;
	}, [asking]);
	// The second line takes room from the grid: what was found stays in sight.
	useEffect(() => {
		const focused = replacing && api && !api.isDestroyed() ? api.getFocusedCell() : null;
		if (focused) requestAnimationFrame(() => api?.ensureIndexVisible(focused.rowIndex));
	}, [api, replacing]);

	/** Where the person is in what was looked through: asked of the grid, which knows it at once. */
	const here = () => {
		const focused = api && !api.isDestroyed() ? api.getFocusedCell() : null;
		const row = focused ? api?.getDisplayedRowAtIndex(focused.rowIndex)?.data : undefined;
		return {
			rowAt: row ? rows.findIndex(({ id }) => id === row.id) : -1,
			columnAt: lookedAt.findIndex(({ id }) => id === focused?.column.getColId()),
		};
	};
	const goTo = (hit: Hit, stay: boolean) => {
		if (!api || api.isDestroyed()) return;
		view.reveal(hit.row);
		const index = api.getRowNode(String(hit.row.id))?.rowIndex ?? null;
		if (index === null) return;
		setAt(hit);
		const back = document.activeElement;
		api.ensureIndexVisible(index);
		api.ensureColumnVisible(hit.column.id);
		api.setFocusedCell(index, hit.column.id);
		if (stay && back instanceof HTMLElement) back.focus();
	};
	const go = (step: 1 | -1, stay: boolean) => {
		if (!hits) return;
		setSaid(null);
		const hit = hits[nextHit(hits, here(), step)];
		if (hit) goTo(hit, stay);
	};
	const goNow = useRef(go);
	goNow.current = go;

	useEffect(() => {
		const hear = (event: globalThis.KeyboardEvent) => {
			if (event.key !== 'F3' || event.ctrlKey || event.altKey || event.metaKey) return;
			if (event.target instanceof Element && event.target.closest('dialog')) return;
			event.preventDefault();
			const inBar = bar.current?.contains(document.activeElement) ?? false;
			goNow.current(event.shiftKey ? -1 : 1, inBar);
		};
		window.addEventListener('keydown', hear);
		return () => window.removeEventListener('keydown', hear);
	}, []);

	const close = () => {
		onClose();
		const focused = api && !api.isDestroyed() ? api.getFocusedCell() : null;
		if (focused) api?.setFocusedCell(focused.rowIndex, focused.column);
	};

	const replaceHere = async () => {
		const hit = hits?.[place];
		if (!hits || !hit) {
			go(1, true);
			return;
		}
		const { changes, computed } = planReplace([hit], sought, by, marks);
		const [change] = changes;
		if (!change) {
			setSaid(computed > 0 ? 'This figure is computed.' : NOT_IN_VALUE);
			return;
		}
		const reply = await callDesk('sheet.edit', {
			sheet: sheet as EnteredSheetId,
			edits: [{ row: change.row, column: change.column.id, text: sentText(change) }],
			typed: { decimal: DECIMAL },
			label: replaceLabel(1),
		});
		if (!reply.ok) setSaid(reply.message);
		else if (reply.value.refused.length > 0) {
			setSaid(`Not replaced: ${reply.value.refused.map((one) => one.fault.message).join(' ')}`);
		} else go(1, true);
	};

	const onKeyDown = (event: KeyboardEvent) => {
		if (event.key === 'Escape') {
			event.preventDefault();
			event.stopPropagation();
			close();
		} else if (event.key === 'Enter' && event.target === field.current) {
			event.preventDefault();
			go(event.shiftKey ? -1 : 1, true);
		}
	};

	const heading = (id: string | null) => columns.find((one) => one.id === id)?.heading;
	const onlyHeading = heading(only ?? atColumn);
	const nothing = hits !== null && hits.length === 0;
	const none = nothing && text !== '';
	return (
		<section ref={bar} className="find-bar" aria-label="Find in this sheet" onKeyDown={onKeyDown}>
			<div className="find-row">
				<label className="find-field">
					<span>Find</span>
					<input
						ref={field}
						className="input"
						value={text}
						spellCheck={false}
						autoComplete="off"
						data-none={none ? '' : undefined}
						onChange={(event) => {
							setText(event.target.value);
							setSaid(null);
						}}
					/>
				</label>
				<span className="find-count" role="status">
					{text === ''
						? ''
						: hits === null
							? 'looking…'
							: hits.length === 0
								? 'not found'
								: place < 0
									? `${count(hits.length)} ${hits.length === 1 ? 'cell' : 'cells'}`
									: `${count(place + 1)} of ${count(hits.length)}`}
				</span>
				<IconButton
					label="Previous cell"
					hint="Previous cell (Shift+Enter, Shift+F3)"
					icon={ChevronUp}
					disabled={nothing}
					onClick={() => go(-1, true)}
				/>
				<IconButton
					label="Next cell"
					hint="Next cell (Enter, F3)"
					icon={ChevronDown}
					disabled={nothing}
					onClick={() => go(1, true)}
				/>
				<fieldset className="find-how">
					<legend className="out-of-sight">How it is looked for</legend>
					<Tick label="Whole cell" on={whole} onTick={setWhole} />
					<Tick label="Match case" on={matchCase} onTick={setMatchCase} />
					<Tick label="All digits" on={full} onTick={setFull} />
					<Tick
						label={onlyHeading ? `Only in ${onlyHeading}` : 'Only in one column'}
						on={only !== null}
						disabled={only === null && onlyHeading === undefined}
						onTick={(on) => setOnly(on ? atColumn : null)}
					/>
				</fieldset>
				<span className="sheet-tools-gap" />
				{editable && (
					<Button
						aria-expanded={replacing}
						title="Ctrl+H"
						onClick={() => props.onReplacing(!replacing)}
					>
						Replace
					</Button>
				)}
				<IconButton label="Close" hint="Close (Escape)" icon={X} onClick={close} />
			</div>
			{replacing && editable && (
				<form
					className="find-row"
					onSubmit={(event) => {
						event.preventDefault();
						void replaceHere();
					}}
				>
					<label className="find-field">
						<span>Replace with</span>
						<input
							className="input"
							value={by}
							spellCheck={false}
							autoComplete="off"
							onChange={(event) => setBy(event.target.value)}
						/>
					</label>
					<Button submit disabled={nothing} title="Enter">
						Replace this one
					</Button>
					<Button
						disabled={nothing}
						onClick={() => hits && setPlan(planReplace(hits, sought, by, marks))}
					>
						Replace all…
					</Button>
				</form>
			)}
			{said && (
				<p className="find-said" role="alert">
					{said}
				</p>
			)}
			{plan && (
				<ReplacePreview
					sheet={sheet as EnteredSheetId}
					plan={plan}
					first={columns[0]}
					marks={marks}
					onClose={() => setPlan(null)}
				/>
			)}
		</section>
	);
}

const NOT_IN_VALUE =
	'These digits are a rounding: the value itself does not have them. Tick “All digits” to look in the values.';

function Tick({
	label,
	on,
	disabled = false,
	onTick,
}: {
	readonly label: string;
	readonly on: boolean;
	readonly disabled?: boolean;
	readonly onTick: (on: boolean) => void;
}) {
	return (
		<label className="find-tick">
			<input
				type="checkbox"
				checked={on}
				disabled={disabled}
				onChange={(event) => onTick(event.target.checked)}
			/>
			{label}
		</label>
	);
}
