/** How fast rows have come lately: the rate over the last stretch of a few seconds. */

const REACH_MS = 6_000;

export interface Mark {
	readonly at_ms: number;
	readonly done: number;
}

/** The marks with a new one, those beyond reach left out. A count that fell begins anew. */
export function withMark(marks: readonly Mark[], mark: Mark): readonly Mark[] {
	const last = marks.at(-1);
	if (last && mark.done < last.done) return [mark];
	const kept = marks.filter(({ at_ms }) => mark.at_ms - at_ms <= REACH_MS);
	return [...kept, mark];
}

/** Rows a second between the oldest and the newest mark; null while it cannot be told. */
export function paceOf(marks: readonly Mark[]): number | null {
	const [first] = marks;
	const last = marks.at(-1);
	if (!first || !last || last.at_ms - first.at_ms < 250) return null;
	return ((last.done - first.done) / (last.at_ms - first.at_ms)) * 1000;
}
