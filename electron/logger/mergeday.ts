import { MODE_MISSING, MODES } from '../../calc/circuit/samples.ts';
import { NUMBER_COLUMNS } from './batch.ts';

/** A figure of a file that differs from the one in the series; modes as words. */
export interface SeriesConflict {
	readonly time_s: number;
	readonly column: string;
	readonly present: number | string;
	readonly offered: number | string;
}

/** What is done with a figure that differs from the one there. */
export type OnConflict = 'refuse' | 'keepBefore' | 'takeFile';

export interface DayNumber {
	readonly id: string;
	values: Float64Array;
	decimals: number | null;
}

/** The rows of one day with all their columns. */
export interface DayRows {
	count: number;
	time_s: Float64Array;
	mode: Uint8Array;
	numbers: DayNumber[];
}

export interface MergeCount {
	/** Rows of the file: with a new time, with nothing new, filling figures that were missing. */
	added: number;
	duplicates: number;
	completed: number;
	/** Figures that differ. */
	conflicts: number;
}

/**
 * Puts the rows of a file among those of a day that is there already. A row of the same time is held
 * against the one there, figure by figure: the same or missing in the file is nothing new, one that
 * was missing is filled in, a different one is a conflict and decided by `onConflict` (`refuse`: kept
 * as it was; whoever asked gives the whole import up).
 */
export function mergeDay(
	there: DayRows,
	file: DayRows,
	onConflict: OnConflict,
	tell: (conflict: SeriesConflict) => void,
): { readonly rows: DayRows; readonly count: MergeCount } {
	const count: MergeCount = { added: 0, duplicates: 0, completed: 0, conflicts: 0 };
	const ids = [...there.numbers, ...file.numbers.filter(({ id }) => !has(there, id))].map(
		({ id }) => id,
	);
	// The same rows give the same file whichever came first.
	const order: readonly string[] = NUMBER_COLUMNS;
	ids.sort((a, b) => order.indexOf(a) - order.indexOf(b));
	const room = there.count + file.count;
	const rows: DayRows = {
		count: 0,
		time_s: new Float64Array(room),
		mode: new Uint8Array(room),
		numbers: ids.map((id) => ({
			id,
			values: new Float64Array(room),
			decimals: most(decimalsOf(there, id), decimalsOf(file, id)),
		})),
	};
	const old = ids.map((id) => valuesOf(there, id));
	const offered = ids.map((id) => valuesOf(file, id));
	let i = 0;
	let j = 0;
	while (i < there.count || j < file.count) {
		const a = i < there.count ? there.time_s[i]! : Number.POSITIVE_INFINITY;
		const b = j < file.count ? file.time_s[j]! : Number.POSITIVE_INFINITY;
		const at = rows.count++;
		rows.time_s[at] = Math.min(a, b);
		const fromOld = a <= b ? i++ : -1;
		const fromFile = b <= a ? j++ : -1;
		let filled = false;
		let differs = 0;
		const decide = (column: string, before: number, after: number, missing: number): number => {
			const was = fromOld >= 0 && !same(before, missing);
			const is = fromFile >= 0 && !same(after, missing);
			if (!is) return was ? before : missing;
			if (!was) {
				filled = true;
				return after;
			}
			if (before === after) return before;
			differs++;
			const word = (value: number): number | string =>
				column === 'mode' ? (MODES[value] ?? '') : value;
			tell({ time_s: rows.time_s[at]!, column, present: word(before), offered: word(after) });
			return onConflict === 'takeFile' ? after : before;
		};
		rows.mode[at] = decide(
			'mode',
			there.mode[fromOld] ?? MODE_MISSING,
			file.mode[fromFile] ?? MODE_MISSING,
			MODE_MISSING,
		);
		for (const [k, column] of rows.numbers.entries())
			column.values[at] = decide(
				column.id,
				old[k]?.[fromOld] ?? Number.NaN,
				offered[k]?.[fromFile] ?? Number.NaN,
				Number.NaN,
			);
		count.conflicts += differs;
		if (fromFile < 0) continue;
		if (fromOld < 0) count.added++;
		else if (filled) count.completed++;
		else if (differs === 0) count.duplicates++;
	}
	return { rows, count };
}

/** NaN is the same as NaN here. */
const same = (a: number, b: number): boolean => a === b || (Number.isNaN(a) && Number.isNaN(b));
const has = (rows: DayRows, id: string): boolean => rows.numbers.some((column) => column.id === id);
const columnOf = (rows: DayRows, id: string): DayNumber | undefined =>
	rows.numbers.find((column) => column.id === id);
const valuesOf = (rows: DayRows, id: string): Float64Array | undefined =>
	columnOf(rows, id)?.values;

function decimalsOf(rows: DayRows, id: string): number | null {
	const column = columnOf(rows, id);
	return column === undefined ? 0 : column.decimals;
}

const most = (a: number | null, b: number | null): number | null =>
	a === null || b === null ? null : Math.max(a, b);
