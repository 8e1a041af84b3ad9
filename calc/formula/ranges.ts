/** Rows as stretches, each from its first row up to, not including, `to`; in order and apart. */
export interface Range {
	readonly from: number;
	readonly to: number;
}
export type Ranges = readonly Range[];

export const NO_ROWS: Ranges = [];

/**
 * Rows in any order as stretches.
 *
 * @example
 * rangesOf([4, 2, 3, 9, 3]) // => [{"from":2,"to":5},{"from":9,"to":10}]
 */
export function rangesOf(rows: Iterable<number>): Range[] {
	const sorted = [...rows].sort((a, b) => a - b);
	return joined(sorted.map((row) => ({ from: row, to: row + 1 })));
}

/**
 * Stretches that may overlap, in order of their beginnings, as stretches apart.
 *
 * @example
 * joined([{ from: 0, to: 3 }, { from: 2, to: 4 }, { from: 6, to: 7 }]) // => [{"from":0,"to":4},{"from":6,"to":7}]
 */
export function joined(sorted: readonly Range[]): Range[] {
	const made: { from: number; to: number }[] = [];
	for (const { from, to } of sorted) {
		const last = made.at(-1);
		if (last !== undefined && from <= last.to) last.to = Math.max(last.to, to);
		else if (to > from) made.push({ from, to });
	}
	return made;
}

/**
 * All rows of several lists of stretches.
 *
 * @example
 * united([[{ from: 5, to: 6 }], [{ from: 0, to: 2 }, { from: 6, to: 9 }]]) // => [{"from":0,"to":2},{"from":5,"to":9}]
 */
export function united(lists: readonly Ranges[]): Range[] {
	const [only] = lists;
	if (lists.length === 1 && only !== undefined) return [...only];
	return joined(lists.flat().sort((a, b) => a.from - b.from));
}

/** How far from a row a figure looks at another column. */
export interface Reach {
	/** Rows back. */
	readonly back: number;
	/** From the first row on. */
	readonly onward: boolean;
	/** Any row. */
	readonly anywhere: boolean;
}

export const SAME_ROW: Reach = { back: 0, onward: false, anywhere: false };

/**
 * Rows whose figures look at one of the given rows.
 *
 * @example
 * lookingAt([{ from: 5, to: 6 }], { back: 2, onward: false, anywhere: false }, 100) // => [{"from":5,"to":8}]
 * lookingAt([{ from: 5, to: 6 }], { back: 0, onward: true, anywhere: false }, 100) // => [{"from":5,"to":100}]
 */
export function lookingAt(rows: Ranges, reach: Reach, count: number): Ranges {
	const [first] = rows;
	if (first === undefined) return NO_ROWS;
	if (reach.anywhere) return [{ from: 0, to: count }];
	if (reach.onward) return [{ from: first.from, to: count }];
	if (reach.back === 0) return rows;
	return joined(rows.map(({ from, to }) => ({ from, to: Math.min(count, to + reach.back) })));
}

/** The farther of two reaches in every way. */
export function farther(a: Reach, b: Reach): Reach {
	return {
		back: Math.max(a.back, b.back),
		onward: a.onward || b.onward,
		anywhere: a.anywhere || b.anywhere,
	};
}
