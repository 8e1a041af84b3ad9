interface Placed {
	readonly where: { readonly file?: string | undefined };
}

/** File or sheet a fault stands in; faults of no single file go under "the whole". */
export const fileOf = (fault: Placed): string => fault.where.file ?? 'the whole';

/** Files that have faults with their number of faults, most first, then by name. */
export function countByFile(
	faults: readonly Placed[],
): readonly { readonly file: string; readonly count: number }[] {
	const counts = new Map<string, number>();
	for (const fault of faults) counts.set(fileOf(fault), (counts.get(fileOf(fault)) ?? 0) + 1);
	return Array.from(counts, ([file, count]) => ({ file, count })).sort(
		(a, b) => b.count - a.count || (a.file < b.file ? -1 : 1),
	);
}
