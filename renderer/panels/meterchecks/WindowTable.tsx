import '../../sheets/sheets.css';
import type {
	CellFocusedEvent,
	ColDef,
	GetRowIdParams,
	GridApi,
	RowClickedEvent,
} from 'ag-grid-community';
import { AgGridReact } from 'ag-grid-react';
import { useCallback, useEffect, useMemo, useRef, useState } from 'react';
import { formatNumber } from '../../../calc/quantity/format.ts';
import { dateTime } from '../../../calc/quantity/time.ts';
import type { BypassWindowShown } from '../../../electron/contract/meterchecks.ts';
import { asFlow, middleOf, PAIRS, type PairId, pairOf, signed } from '../../charts/checktraces.ts';
import { MARKS } from '../../look/marks.ts';
import { Tabs } from '../../parts/Tabs.tsx';
import { gridTheme, styleNonce } from '../../sheets/gridtheme.ts';
import { ColumnHeading } from '../../sheets/heading.ts';
import { registerGridModules } from '../../sheets/modules.ts';
import { stateWords } from './words.ts';

registerGridModules();

/** One line of the table: a window and its place among all. */
interface WindowRow {
	readonly entry: number;
	readonly window: BypassWindowShown;
}

const CHOSEN = { mode: 'singleRow', checkboxes: false, enableClickSelection: true } as const;
const TABS = PAIRS.map(({ id, heading }) => ({ id, title: heading }));

/** The columns for one pair of meters. */
function columnsFor(pair: PairId, utcOffset_min: number): ColDef<WindowRow>[] {
	const { unit, decimals, readingUnit, readingDecimals } = pairOf(pair);
	const figure = (
		colId: string,
		headerName: string,
		of: (row: WindowRow) => number | null,
		show: (value: number) => string,
		unitShown: string,
		help: string,
		width: number,
	): ColDef<WindowRow> => ({
		colId,
		headerName,
		headerTooltip: help,
		width,
		valueGetter: ({ data }) => (data ? of(data) : null),
		valueFormatter: ({ value }) => (typeof value === 'number' ? show(value) : '—'),
		filter: 'agNumberColumnFilter',
		headerClass: ['heading-number', 'ag-right-aligned-header'],
		cellClass: 'cell-number',
		headerComponentParams: {
			innerHeaderComponent: ColumnHeading,
			innerHeaderComponentParams: { unit: unitShown },
		},
	});
	const words = (
		colId: string,
		headerName: string,
		of: (row: WindowRow) => string,
		help: string,
		width: number,
	): ColDef<WindowRow> => ({
		colId,
		headerName,
		headerTooltip: help,
		width,
		valueGetter: ({ data }) => (data ? of(data) : ''),
		filter: 'agTextColumnFilter',
		headerComponentParams: { innerHeaderComponent: ColumnHeading },
	});
	const seen = ({ window }: WindowRow) => window[pair];
	const plain = (digits: number) => (value: number) => formatNumber(value, digits, MARKS);
	const withSign = (digits: number) => (value: number) => signed(value, digits, MARKS);
	return [
		{
			...words('time', 'Window', () => '', 'Middle of the bypass window.', 150),
			valueGetter: ({ data }) => (data ? middleOf(data.window) : null),
			valueFormatter: ({ value }) =>
				typeof value === 'number' ? dateTime(Math.round(value), utcOffset_min).slice(0, 16) : '',
			filter: false,
			sort: 'asc',
			pinned: 'left',
			lockPinned: true,
		},
		figure(
			'ring',
			'Ring',
			({ window }) => window.ring,
			plain(0),
			'',
			'The last ring whose advance had begun.',
			66,
		),
		figure(
			'feed',
			'Feed',
			(row) => seen(row).feed,
			plain(readingDecimals),
			readingUnit,
			'Mean of the feed meter, certificate applied.',
			86,
		),
		figure(
			'return',
			'Return',
			(row) => seen(row).return,
			plain(readingDecimals),
			readingUnit,
			'Mean of the return meter, certificate applied.',
			86,
		),
		figure(
			'difference',
			'Difference',
			(row) => seen(row).difference,
			withSign(decimals),
			unit,
			'Return − feed.',
			94,
		),
		...(pair === 'flow'
			? [
					figure(
						'difference_m3_h',
						'Difference',
						(row) => {
							const { difference, feed } = seen(row);
							return difference === null || feed === null ? null : asFlow(difference, feed);
						},
						withSign(1),
						'm³/h',
						'Return − feed.',
						94,
					),
				]
			: []),
		figure(
			'u',
			'u',
			(row) => seen(row).u,
			plain(decimals),
			unit,
			'Standard uncertainty of the difference (k = 1) from its scatter. A lone pair has none.',
			74,
		),
		figure(
			'residual',
			'Residual',
			(row) => seen(row).residual,
			withSign(decimals),
			unit,
			'Difference less the smoothed line.',
			88,
		),
		figure(
			'standardised',
			'Residual',
			(row) => seen(row).standardised,
			withSign(1),
			'std dev.',
			'The residual in standard deviations of such a residual.',
			88,
		),
		{
			...words(
				'state',
				'State',
				(row) => stateWords(seen(row)),
				'In use, set aside by the rule, rejected or accepted by a person.',
				126,
			),
			cellClassRules: {
				'checks-aside': ({ data }) => {
					const verdict = data && seen(data).verdict;
					return verdict === 'outlier' || verdict === 'pending';
				},
				'checks-out': ({ data }) => {
					const verdict = data && seen(data).verdict;
					return verdict === 'rejected' || verdict === 'unusable';
				},
			},
		},
		{
			...words(
				'reason',
				'Reason',
				(row) => seen(row).reason ?? '',
				'Why it stands as it does.',
				260,
			),
			tooltipValueGetter: ({ data }) => (data ? seen(data).reason : null),
			flex: 1,
			minWidth: 200,
		},
		words(
			'source',
			'From',
			({ window }) => (window.source === 'logger' ? 'logger' : 'by hand'),
			'Logger record, or readings by hand.',
			84,
		),
	];
}

/** All bypass windows, one line each, for one pair of meters at a time. */
export function WindowTable({
	windows,
	pair,
	onPair,
	chosen,
	onChoose,
	utcOffset_min,
}: {
	readonly windows: readonly BypassWindowShown[];
	readonly pair: PairId;
	readonly onPair: (pair: PairId) => void;
	readonly chosen: number | null;
	readonly onChoose: (entry: number) => void;
	readonly utcOffset_min: number;
}) {
	const api = useRef<GridApi<WindowRow> | null>(null);
	const rows = useMemo(() => windows.map((window, entry) => ({ entry, window })), [windows]);
	const columns = useMemo(() => columnsFor(pair, utcOffset_min), [pair, utcOffset_min]);

	const show = useCallback((entry: number | null) => {
		const grid = api.current;
		if (!grid) return;
		if (entry === null) {
			grid.deselectAll();
			return;
		}
		const node = grid.getRowNode(String(entry));
		if (!node || node.rowIndex === null) return;
		node.setSelected(true, true);
		// The grid counts the room behind its lower scroll bar as in sight.
		const sight = grid.getVerticalPixelRange();
		const top = node.rowTop ?? 0;
		const inSight = top >= sight.top && top + 2 * (node.rowHeight ?? 0) <= sight.bottom;
		if (!inSight) grid.ensureIndexVisible(node.rowIndex, 'middle');
	}, []);
	// The grid draws what changes at once, which React does not allow while it works itself: so rows
	// after the first ones and the mark of the window in hand are handed over between two pictures.
	const [first] = useState(rows);
	const given = useRef(rows);
	const wanted = useRef({ rows, chosen });
	wanted.current = { rows, chosen };
	const bring = useCallback(() => {
		if (!api.current || api.current.isDestroyed()) return;
		if (given.current !== wanted.current.rows) {
			given.current = wanted.current.rows;
			api.current.setGridOption('rowData', wanted.current.rows);
		}
		show(wanted.current.chosen);
	}, [show]);
	// biome-ignore lint/correctness/useExhaustiveDependencies: what has to be brought into the grid anew; other columns may take room from the rows
	useEffect(() => {
		const frame = requestAnimationFrame(bring);
		return () => cancelAnimationFrame(frame);
	}, [bring, chosen, rows, columns]);

	return (
		<div className="checks-table">
			<Tabs label="Pair of meters" tabs={TABS} active={pair} onChoose={onPair} />
			<section className="sheet-grid checks-grid" aria-label="Bypass windows" data-pair={pair}>
				<AgGridReact<WindowRow>
					theme={gridTheme}
					styleNonce={styleNonce() as string}
					themeCssLayer="grid"
					rowData={first}
					columnDefs={columns}
					getRowId={rowId}
					rowSelection={CHOSEN}
					onGridReady={(event) => {
						api.current = event.api;
						requestAnimationFrame(bring);
					}}
					onRowClicked={(event: RowClickedEvent<WindowRow>) => {
						if (event.data) onChoose(event.data.entry);
					}}
					onCellFocused={(event: CellFocusedEvent<WindowRow>) => {
						if (event.rowIndex === null) return;
						const row = event.api.getDisplayedRowAtIndex(event.rowIndex)?.data;
						if (row) onChoose(row.entry);
					}}
					tooltipShowDelay={400}
					tooltipHideDelay={20_000}
					suppressNoRowsOverlay
					suppressDragLeaveHidesColumns
					ensureDomOrder={rows.length < 500}
					animateRows={false}
				/>
			</section>
		</div>
	);
}

const rowId = (params: GetRowIdParams<WindowRow>): string => String(params.data.entry);
