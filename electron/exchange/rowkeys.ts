import type { ImportedSheetId } from '../contract/sheetexchange.ts';

/** Columns without which two rows cannot be told apart, by sheet. */
export const KEY_COLUMNS: Readonly<Record<ImportedSheetId, readonly string[]>> = {
	rings: ['ring'],
	ground: ['from_ring', 'to_ring', 'stratum'],
	readings: ['time'],
	meters: ['meter', 'valid_from'],
	bypass_decisions: ['from_time', 'to_time', 'quantity'],
	mode_overrides: ['from_time', 'to_time'],
};
