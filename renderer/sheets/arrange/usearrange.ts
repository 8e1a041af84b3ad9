import './arrange.css';
import type { GridApi } from 'ag-grid-community';
import { useCallback, useEffect, useMemo, useRef, useState } from 'react';
import type { Column, SheetId, SheetRow } from '../../../calc/sheet/column.ts';
import { afterPaint } from '../../desk/afterpaint.ts';
import { useDeskStore, useDocument } from '../../desk/desk.tsx';
import {
	type Arrangement,
	defaultArrangement,
	fitArrangement,
	type SheetDefaults,
} from './arrangement.ts';
import { arrangeGrid, arrangementOf, gridColumns } from './gridarrangement.ts';
import type { GridParts } from './gridparts.ts';
import { groupKeys } from './groups.ts';
import { keepArrangement, keepShifts, keptArrangement, keptShifts } from './layouts.ts';
import { RowView } from './rowview.ts';

/** A sheet as the person has arranged it, and the ways to arrange it otherwise. */
export interface Arranging {
	readonly sheet: SheetId;
	readonly parts: GridParts;
	/** null until the grid stands. */
	readonly api: GridApi<SheetRow> | null;
	readonly rows: RowView;
	/** Columns of the sheet as they come of themselves. */
	readonly columns: readonly Column[];
	readonly arrangement: Arrangement;
	readonly defaults: SheetDefaults;
	/** When the shifts begin, minutes after midnight. */
	readonly shifts_min: readonly number[];
	readonly set: (next: Arrangement) => void;
	readonly setShifts: (starts_min: readonly number[]) => void;
}

const MOVES = [
	'columnMoved',
	'columnVisible',
	'columnPinned',
	'columnResized',
	'sortChanged',
	'filterChanged',
] as const;

const same = (a: unknown, b: unknown) => JSON.stringify(a) === JSON.stringify(b);

/** Arranges the grid of a sheet, keeps how it was arranged, and follows what is done in the grid itself. */
export function useArrange(
	sheet: Exclude<SheetId, 'drive'>,
	pinned: readonly string[],
	sortedBy: string,
): Arranging {
	const store = useDeskStore();
	const document = useDocument();
	const key = document ? `${document.folder}/${document.file}` : '';
	const utcOffset_min = document?.utcOffset_min ?? 0;
	const rows = useMemo(() => new RowView(), []);
	const [api, setApi] = useState<GridApi<SheetRow> | null>(null);
	const [columns, setColumns] = useState<readonly Column[]>([]);
	const [shifts_min, setShiftStarts] = useState<readonly number[]>(() => keptShifts(key));
	const defaults = useMemo<SheetDefaults>(
		() => ({ ids: columns.map(({ id }) => id), pinned, sortedBy }),
		[columns, pinned, sortedBy],
	);
	const [arrangement, setArrangement] = useState<Arrangement>(
		() => keptArrangement(key, sheet) ?? defaultArrangement({ ids: [], pinned, sortedBy }),
	);
	const now = useRef(arrangement);

	/** Takes an arrangement over; `arrange`: the grid is yet to follow. */
	const take = useCallback(
		(next: Arrangement, grid: GridApi<SheetRow> | null) => {
			if (same(next, now.current)) return;
			now.current = next;
			setArrangement(next);
			keepArrangement(key, sheet, next);
			rows.setMarked(next.marked);
			if (grid && !grid.isDestroyed()) arrangeGrid(grid, next);
		},
		[key, sheet, rows],
	);

	const onApi = useCallback(
		(grid: GridApi<SheetRow>) => {
			const follow = () => {
				const there = gridColumns(grid);
				rows.setColumns(there);
				setColumns((held) => (same(held, there) ? held : there));
				const ids = there.map(({ id }) => id);
				const kept = keptArrangement(key, sheet);
				const fresh = { ids, pinned, sortedBy };
				const fitted = fitArrangement(kept ?? defaultArrangement(fresh), fresh);
				now.current = fitted;
				setArrangement(fitted);
				arrangeGrid(grid, fitted);
			};
			rows.attach(grid);
			rows.setMarked(now.current.marked);
			follow();
			setApi(grid);
			let told = false;
			const moved = () => {
				if (told) return;
				told = true;
				queueMicrotask(() => {
					told = false;
					if (!grid.isDestroyed()) take(arrangementOf(grid, now.current), null);
				});
			};
			for (const event of MOVES) grid.addEventListener(event, moved);
			grid.addEventListener('newColumnsLoaded', () => {
				if (!same(gridColumns(grid), columnsNow.current)) follow();
			});
		},
		[rows, key, sheet, pinned, sortedBy, take],
	);
	const columnsNow = useRef(columns);
	columnsNow.current = columns;

	const { groupBy } = arrangement;
	const grouped = groupBy !== null;
	const parts = useMemo<GridParts>(
		() => ({
			columns: rows.columns,
			options: {
				...rows.options,
				...(grouped ? { postSortRows: rows.postSortRows } : {}),
			},
			onApi,
		}),
		[rows, grouped, onApi],
	);

	useEffect(() => {
		if (!api || api.isDestroyed()) return;
		let by = groupBy;
		const regroup = (again: boolean) =>
			rows.group(
				by === null
					? null
					: groupKeys(by, {
							sheet,
							rings: store.rowsOf('rings').values(),
							ground: store.rowsOf('ground').values(),
							shifts_min,
							utcOffset_min,
						}),
				again,
			);
		regroup(true);
		if (by === null) return;
		if (by === 'stratum') store.need('ground');
		let due = false;
		const soon = (keys: boolean) => () => {
			if (due) return;
			due = true;
			afterPaint(() => {
				due = false;
				if (by === null) return;
				if (keys) regroup(false);
				else rows.sync();
			});
		};
		const ends = [
			store.onRows(sheet, soon(sheet === 'rings')),
			...(sheet === 'rings' ? [] : [store.onRows('rings', soon(true))]),
			store.onRows('ground', soon(true)),
		];
		let status = store.view().sheets.ground.status;
		ends.push(
			store.subscribe(() => {
				const next = store.view().sheets.ground.status;
				if (next === status) return;
				status = next;
				if (next === 'ready' && by === 'stratum') soon(true)();
			}),
		);
		return () => {
			by = null;
			for (const end of ends) end();
		};
	}, [api, groupBy, rows, sheet, store, shifts_min, utcOffset_min]);

	const set = useCallback((next: Arrangement) => take(next, api), [take, api]);
	const setShifts = useCallback(
		(starts_min: readonly number[]) => {
			keepShifts(key, starts_min);
			setShiftStarts(starts_min);
		},
		[key],
	);

	return { sheet, parts, api, rows, columns, arrangement, defaults, shifts_min, set, setShifts };
}
