import type { GroupBy } from './groups.ts';
import { GROUPINGS } from './groups.ts';

export interface ArrangedColumn {
	readonly id: string;
	readonly hidden: boolean;
	/** px; null: the width the column has of itself. */
	readonly width: number | null;
}

/** How a person has arranged a sheet: which columns, where and how wide, in which order the rows, and which of them. */
export interface Arrangement {
	/** All columns of the sheet from left to right, the hidden ones in their places. */
	readonly columns: readonly ArrangedColumn[];
	/** So many from the left stay in sight. */
	readonly frozen: number;
	readonly sort: readonly { readonly id: string; readonly way: 'asc' | 'desc' }[];
	/** The grid's own filters by column. */
	readonly filters: Readonly<Record<string, unknown>>;
	/** Only rows of which something is to be said. */
	readonly marked: boolean;
	readonly groupBy: GroupBy | null;
}

/** What a sheet is like before anyone has arranged it. */
export interface SheetDefaults {
	readonly ids: readonly string[];
	readonly pinned: readonly string[];
	readonly sortedBy: string;
}

/** The arrangement of a sheet nobody has arranged: its frozen columns first, all others in their order. */
export function defaultArrangement({ ids, pinned, sortedBy }: SheetDefaults): Arrangement {
	const frozen = ids.filter((id) => pinned.includes(id));
	const rest = ids.filter((id) => !pinned.includes(id));
	return {
		columns: [...frozen, ...rest].map((id) => ({ id, hidden: false, width: null })),
		frozen: frozen.length,
		sort: ids.includes(sortedBy) ? [{ id: sortedBy, way: 'asc' }] : [],
		filters: {},
		marked: false,
		groupBy: null,
	};
}

/**
 * An arrangement for the columns there are: those gone since are left out, those new since stand where
 * they stand of themselves, behind the column before them. At least one column stays shown.
 */
export function fitArrangement(arrangement: Arrangement, defaults: SheetDefaults): Arrangement {
	const there = new Set(defaults.ids);
	const columns: ArrangedColumn[] = [];
	let frozen = 0;
	for (const [index, column] of arrangement.columns.entries()) {
		if (!there.has(column.id) || columns.some(({ id }) => id === column.id)) continue;
		columns.push(column);
		if (index < arrangement.frozen) frozen += 1;
	}
	const own = defaultArrangement(defaults).columns;
	for (const [index, column] of own.entries()) {
		if (columns.some(({ id }) => id === column.id)) continue;
		const before = own[index - 1]?.id;
		const at = columns.findIndex(({ id }) => id === before) + 1;
		columns.splice(at, 0, column);
		if (at < frozen) frozen += 1;
	}
	const shown = columns.some(({ hidden }) => !hidden);
	return {
		...arrangement,
		columns: shown
			? columns
			: columns.map((column, i) => (i === 0 ? { ...column, hidden: false } : column)),
		frozen,
		sort: arrangement.sort.filter(({ id }) => there.has(id)),
		filters: Object.fromEntries(
			Object.entries(arrangement.filters).filter(([id]) => there.has(id)),
		),
	};
}

/** Puts one column elsewhere; one moved over the edge of the frozen ones is frozen or no longer so. */
export function moveColumn(arrangement: Arrangement, id: string, to: number): Arrangement {
	const from = arrangement.columns.findIndex((column) => column.id === id);
	const column = arrangement.columns[from];
	const at = Math.max(0, Math.min(to, arrangement.columns.length - 1));
	if (!column || at === from) return arrangement;
	const columns = arrangement.columns.filter((one) => one !== column);
	columns.splice(at, 0, column);
	const was = from < arrangement.frozen;
	const is = at < arrangement.frozen;
	// Moved within reach of the edge it changes sides; the edge itself stays between the same two others.
	return {
		...arrangement,
		columns,
		frozen: arrangement.frozen + (is && !was ? 1 : !is && was ? -1 : 0),
	};
}

/** Shows or hides one column; the last one shown stays. */
export function showColumn(arrangement: Arrangement, id: string, shown: boolean): Arrangement {
	const others = arrangement.columns.some((column) => column.id !== id && !column.hidden);
	if (!shown && !others) return arrangement;
	return {
		...arrangement,
		columns: arrangement.columns.map((column) =>
			column.id === id ? { ...column, hidden: !shown } : column,
		),
	};
}

/** Freezes everything up to a column; of the column that is the last frozen one already: lets all go. */
export function freezeUpTo(arrangement: Arrangement, id: string): Arrangement {
	const at = arrangement.columns.findIndex((column) => column.id === id) + 1;
	if (at === 0) return arrangement;
	return { ...arrangement, frozen: arrangement.frozen === at ? 0 : at };
}

/** Gives one column, or all, the width it has of itself. */
export function ownWidth(arrangement: Arrangement, id: string | null): Arrangement {
	return {
		...arrangement,
		columns: arrangement.columns.map((column) =>
			id === null || column.id === id ? { ...column, width: null } : column,
		),
	};
}

const isRecord = (value: unknown): value is Record<string, unknown> =>
	typeof value === 'object' && value !== null && !Array.isArray(value);

/** Widths a column can be dragged to, px. */
const WIDEST = 4000;
const MOST_COLUMNS = 1000;

/** An arrangement out of what was kept, or null: what a browser keeps may be of any age and shape. */
export function readArrangement(kept: unknown): Arrangement | null {
	if (!isRecord(kept) || !Array.isArray(kept.columns) || kept.columns.length > MOST_COLUMNS)
		return null;
	const columns: ArrangedColumn[] = [];
	for (const one of kept.columns) {
		if (!isRecord(one) || typeof one.id !== 'string') return null;
		const width =
			typeof one.width === 'number' && one.width > 0 ? Math.min(one.width, WIDEST) : null;
		columns.push({ id: one.id, hidden: one.hidden === true, width });
	}
	const sort = Array.isArray(kept.sort) ? kept.sort : [];
	const frozen = typeof kept.frozen === 'number' ? kept.frozen : 0;
	return {
		columns,
		frozen: Math.max(0, Math.min(columns.length, Math.floor(frozen) || 0)),
		sort: sort.flatMap((one) =>
			isRecord(one) && typeof one.id === 'string' && (one.way === 'asc' || one.way === 'desc')
				? [{ id: one.id, way: one.way }]
				: [],
		),
		filters: isRecord(kept.filters) ? kept.filters : {},
		marked: kept.marked === true,
		groupBy: GROUPINGS.find((one) => one === kept.groupBy) ?? null,
	};
}
