import { z } from 'zod';
import type { JournalEntry } from './journal.ts';

const storedEntry = z.object({
	seq: z.number(),
	at_s: z.number(),
	who: z.string(),
	gesture: z.number(),
	label: z.string(),
	kind: z.enum(['import', 'create', 'edit', 'add', 'delete', 'undo', 'redo']),
	sheet: z.string().nullable(),
	row: z.number().nullable(),
	column_id: z.string().nullable(),
	old: z.union([z.number(), z.string(), z.null()]),
	new: z.union([z.number(), z.string(), z.null()]),
	why: z.string().nullable(),
	prev_hash: z.string(),
	hash: z.string(),
});

/** One stored entry as it stands in the file, or null if it is not of the shape of an entry. */
export function readEntry(row: unknown): JournalEntry | null {
	const parsed = storedEntry.safeParse(row);
	if (!parsed.success) return null;
	const { column_id, prev_hash, ...rest } = parsed.data;
	return { ...rest, column: column_id, prevHash: prev_hash };
}
