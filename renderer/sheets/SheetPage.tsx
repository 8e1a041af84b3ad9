import { CloudOff, type LucideIcon, Plus, RotateCw, Trash2 } from 'lucide-react';
import { type ReactNode, useCallback, useEffect, useMemo, useRef, useState } from 'react';
import type { SheetId, SheetRow } from '../../calc/sheet/column.ts';
import type { EditRefusal } from '../../electron/contract/verbs.ts';
import { useCallDesk, useDeskStore, useDocument, useSheet } from '../desk/desk.tsx';
import { DECIMAL } from '../look/marks.ts';
import { Button } from '../parts/Button.tsx';
import { EmptyState } from '../parts/EmptyState.tsx';
import { tell } from '../parts/Toast.tsx';
import { ArrangePanel } from './arrange/ArrangePanel.tsx';
import { FilterLine } from './arrange/FilterLine.tsx';
import { SheetTools } from './arrange/SheetTools.tsx';
import { useArrange } from './arrange/usearrange.ts';
import { CellLine } from './CellLine.tsx';
import type { Marks } from './celltext.ts';
import { AboutColumn } from './columnhelp/AboutColumn.tsx';
import { EntryStrip } from './EntryStrip.tsx';
import { FindBar } from './find/FindBar.tsx';
import { FindButton, useFindBar } from './find/FindHere.tsx';
import { rowBetween, rowLike } from './newrow.ts';
import { OwnColumnsTool } from './owncolumns/OwnColumnsTool.tsx';
import { takesOwnColumns } from './owncolumns/owncolumn.ts';
import { RefusalList } from './RefusalList.tsx';
import { AskFirst } from './range/AskFirst.tsx';
import type { Question } from './range/hands.ts';
import { RangeLine } from './range/RangeLine.tsx';
import { RangeStore } from './range/rangestore.ts';
import { SheetGrid } from './SheetGrid.tsx';

type RowSheet = 'rings' | 'ground' | 'readings' | 'meters' | 'mode_overrides';

export interface SheetPageProps {
	readonly sheet: Exclude<SheetId, 'drive'>;
	readonly title: string;
	/** One row in a word and several: reading, readings. */
	readonly one: string;
	readonly many: string;
	readonly pinned: readonly string[];
	readonly sortedBy: string;
	readonly empty: { readonly icon: LucideIcon; readonly title: string; readonly text: string };
	/** What to press in the empty state besides adding a row. */
	readonly emptyActions?: ReactNode;
	/** Beside the title. */
	readonly aside?: ReactNode;
	/** Only for sheets rows can be added to. */
	readonly begin?: (rows: Iterable<SheetRow>, marks: Marks) => Record<string, string>;
	readonly day_s?: (rows: Iterable<SheetRow>) => number | null;
	readonly onHow?: (row: number, column: string) => void;
}

const NONE: readonly number[] = [];
/** Beyond this many rows deleting asks first. */
const DELETED_UNASKED = 50;

/** A sheet with its tools, its grid and its states: loading, error, empty, read-only. */
export function SheetPage(props: SheetPageProps) {
	const { sheet, title, one, many, begin, day_s } = props;
	const store = useDeskStore();
	const callDesk = useCallDesk();
	const document = useDocument();
	const view = useSheet(sheet);
	// A column the grid hears of later loses the place a layout gave it.
	const ownColumns = useSheet('formulas').status;
	const columnsKnown = ownColumns === 'ready' || ownColumns === 'error';
	const [ticked, setTicked] = useState<readonly number[]>(NONE);
	const [untick, setUntick] = useState(0);
	const [adding, setAdding] = useState(false);
	const [range] = useState(() => new RangeStore());
	const [question, setQuestion] = useState<Question | null>(null);
	/** Raised with every entry that begins with the texts of a row that is there. */
	const [entry, setEntry] = useState({ count: 0, allFields: false });
	const given = useRef<Record<string, string> | null>(null);
	const [refused, setRefused] = useState<{
		readonly title: string;
		readonly refused: readonly EditRefusal[];
	} | null>(null);
	const readOnly = document?.readOnly ?? true;
	const takesRows = begin !== undefined && !readOnly;
	const utcOffset_min = document?.utcOffset_min ?? 0;
	const marks = useMemo<Marks>(() => ({ decimal: DECIMAL, utcOffset_min }), [utcOffset_min]);

	useEffect(() => {
		if (!takesRows) return;
		const hear = (event: KeyboardEvent) => {
			if (event.key !== 'Enter' || !(event.ctrlKey || event.metaKey)) return;
			// In a heading the same keys open its filter.
			if (event.target instanceof Element && event.target.closest('.ag-header, dialog')) return;
			event.preventDefault();
			setAdding(true);
		};
		window.addEventListener('keydown', hear);
		return () => window.removeEventListener('keydown', hear);
	}, [takesRows]);

	const onNewRow = useCallback(
		(like: 'same' | 'between', row: SheetRow, before: SheetRow | null) => {
			given.current =
				like === 'same' ? rowLike(sheet, row, marks) : rowBetween(sheet, row, before, marks);
			setEntry(({ count }) => ({ count: count + 1, allFields: like === 'same' }));
			setAdding(true);
		},
		[sheet, marks],
	);

	const removeTicked = useCallback(async () => {
		if (ticked.length === 0) return;
		const reply = await callDesk('sheet.delete', { sheet: sheet as RowSheet, rows: [...ticked] });
		if (!reply.ok) {
			tell('stop', reply.message);
			return;
		}
		if (reply.value.refused.length > 0) {
			setRefused({ title: 'Nothing was deleted', refused: reply.value.refused });
			return;
		}
		setRefused(null);
		setTicked(NONE);
		setUntick((n) => n + 1);
		tell('good', `${capital(reply.value.changes?.label ?? 'Deleted')}. Ctrl+Z brings it back.`);
	}, [callDesk, sheet, ticked]);

	const remove = useCallback(() => {
		if (ticked.length <= DELETED_UNASKED) {
			void removeTicked();
			return;
		}
		setQuestion({
			title: `Delete ${ticked.length} ${many}?`,
			text: `${ticked.length} ticked ${many} are taken out of the project. Ctrl+Z brings them back.`,
			yes: `Delete ${ticked.length} ${many}`,
			danger: true,
			onYes: () => void removeTicked(),
		});
	}, [ticked, many, removeTicked]);

	const onRefused = useCallback(
		(list: readonly EditRefusal[]) =>
			setRefused(list.length > 0 ? { title: 'The edit was not taken', refused: list } : null),
		[],
	);

	const arranging = useArrange(sheet, props.pinned, props.sortedBy);
	const [arrangeOpen, setArrangeOpen] = useState(false);
	const toggleArrange = useCallback(() => setArrangeOpen((open) => !open), []);
	const empty = view.status === 'ready' && view.held === 0 && view.span === null;
	const standing = view.status === 'ready' && columnsKnown && (!empty || adding);
	const finding = useFindBar(standing);
	return (
		<div className="sheet-page">
			<div className="sheet-tools">
				<h2>{title}</h2>
				{props.aside ??
					(view.status === 'ready' && (
						<span className="sheet-count">
							{view.held} {view.held === 1 ? one : many}
						</span>
					))}
				<span className="sheet-tools-gap" />
				{standing && takesOwnColumns(sheet) && (
					<OwnColumnsTool sheet={sheet} title={title} marks={marks} api={arranging.api} />
				)}
				{standing && <FindButton finding={finding} />}
				{standing && (
					<SheetTools arranging={arranging} open={arrangeOpen} onToggle={toggleArrange} />
				)}
				{takesRows && ticked.length > 0 && (
					<Button tone="danger" icon={Trash2} onClick={remove}>
						Delete {ticked.length} {ticked.length === 1 ? one : many}
					</Button>
				)}
				{takesRows && !adding && (
					<Button icon={Plus} onClick={() => setAdding(true)} title="Ctrl+Enter">
						New {one}
					</Button>
				)}
			</div>
			{refused && (
				<RefusalList
					sheet={sheet}
					title={refused.title}
					refused={refused.refused}
					onClose={() => setRefused(null)}
				/>
			)}
			{standing && finding.open && (
				<FindBar
					arranging={arranging}
					marks={marks}
					replacing={finding.replacing}
					onReplacing={finding.setReplacing}
					editable={!readOnly && sheet !== 'ledger'}
					asked={finding.asked}
					onClose={finding.close}
				/>
			)}
			{standing && <FilterLine arranging={arranging} one={one} many={many} held={view.held} />}
			<div className="sheet-middle">
				<div className="sheet-body">
					{view.status === 'error' ? (
						<EmptyState
							icon={CloudOff}
							title={`The ${many} could not be read`}
							actions={
								<Button icon={RotateCw} onClick={() => void store.read(sheet, view.span)}>
									Read again
								</Button>
							}
						>
							{view.message}
						</EmptyState>
					) : view.status !== 'ready' || !columnsKnown ? (
						<SheetSkeleton label={`Reading the ${many}`} />
					) : empty && !adding ? (
						<EmptyState
							icon={props.empty.icon}
							title={props.empty.title}
							actions={
								<>
									{takesRows && (
										<Button tone="primary" icon={Plus} onClick={() => setAdding(true)}>
											New {one}
										</Button>
									)}
									{props.emptyActions}
								</>
							}
						>
							{props.empty.text}
						</EmptyState>
					) : (
						<SheetGrid
							sheet={sheet}
							label={title}
							pinned={props.pinned}
							sortedBy={props.sortedBy}
							untick={untick}
							onRefused={onRefused}
							range={range}
							parts={arranging.parts}
							{...(takesRows ? { onTicked: setTicked, onDeleteTicked: remove, onNewRow } : {})}
						/>
					)}
				</div>
				{standing && arrangeOpen && (
					<ArrangePanel arranging={arranging} title={title} onClose={toggleArrange} />
				)}
			</div>
			{view.status === 'ready' && !empty && <AboutColumn sheet={sheet} marks={marks} />}
			{adding && takesRows && (
				<EntryStrip
					key={entry.count}
					allFields={entry.allFields}
					sheet={sheet as RowSheet}
					what={one}
					marks={marks}
					begin={() => given.current ?? begin(store.rowsOf(sheet).values(), marks)}
					day_s={() => day_s?.(store.rowsOf(sheet).values()) ?? null}
					onClose={() => {
						given.current = null;
						setAdding(false);
					}}
					onAdded={(label) => {
						given.current = null;
						tell('good', `${capital(label)}.`);
					}}
				/>
			)}
			{view.status === 'ready' && !empty && (
				<RangeLine range={range} utcOffset_min={utcOffset_min}>
					<CellLine sheet={sheet} {...(props.onHow ? { onHow: props.onHow } : {})} />
				</RangeLine>
			)}
			{question && <AskFirst question={question} onClose={() => setQuestion(null)} />}
		</div>
	);
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

const SKELETON_ROWS = Array.from({ length: 14 }, (_, index) => index);

function SheetSkeleton({ label }: { readonly label: string }) {
	return (
		<div className="sheet-skeleton" role="status" aria-label={label}>
			{SKELETON_ROWS.map((index) => (
				<div
					key={index}
					className="sheet-skeleton-row"
					style={{ width: `${92 - ((index * 7) % 23)}%` }}
				/>
			))}
			<span className="out-of-sight">{label}</span>
		</div>
	);
}
