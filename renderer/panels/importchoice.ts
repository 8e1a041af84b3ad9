import type { FolderSummary } from '../../electron/contract/verbs.ts';

/** What may be done with an inspected folder. */
export interface ImportChoices {
	/** Everything can be taken as it stands. */
	readonly all: boolean;
	/** Rows left out when only the good ones are taken; null when that is not a choice. */
	readonly goodRows: number | null;
}

/** `moreFaults` may hide a fault that stops, so a cut list counts as having one if rows are faulty. */
export function choicesOf(
	summary: Pick<FolderSummary, 'faults' | 'faultyRows' | 'impossible'>,
): ImportChoices {
	if (summary.impossible) return { all: false, goodRows: null };
	const stopped = summary.faultyRows > 0 || summary.faults.some((fault) => fault.weight === 'stop');
	return stopped ? { all: false, goodRows: summary.faultyRows } : { all: true, goodRows: null };
}
