import type { Fault } from '../../calc/fault/fault.ts';
import type { SHEET_DELIMITERS } from '../contract/sheetexchange.ts';

/** A date-time of a spreadsheet: what the clock shows, as milliseconds since 1970 on that clock. */
export interface ClockTime {
	readonly clock_ms: number;
}

/** A field as the file holds it; `''`: empty. */
export type SourceField = string | number | boolean | ClockTime;

export interface SourceRow {
	/** Line of a text, row of a worksheet; the first is 1. */
	readonly line: number;
	readonly fields: readonly SourceField[];
}

/** A file as rows of fields, before anything is known of what they mean. */
export interface SourceTable {
	readonly form: 'csv' | 'xlsx';
	/** All rows with anything in them. */
	readonly rows: readonly SourceRow[];
	readonly worksheets: readonly string[];
	readonly worksheet: string | null;
	readonly delimiter: (typeof SHEET_DELIMITERS)[number] | null;
	/** Fields whose figures are shaped as percentages: 0.4 stands for 40 %. */
	readonly percentFields: ReadonlySet<number>;
	readonly faults: readonly Fault[];
}

export type ReadSource =
	| { readonly kind: 'table'; readonly table: SourceTable }
	/** Nothing of the file can be read. */
	| { readonly kind: 'fault'; readonly fault: Fault };

/** What a file of a sheet may be at most. A logger's record is imported as such. */
export interface SourceLimits {
	readonly bytes: number;
	readonly rows: number;
	readonly fields: number;
}
export const SOURCE_LIMITS: SourceLimits = { bytes: 64_000_000, rows: 100_000, fields: 1_000 };

export const isClock = (field: SourceField): field is ClockTime => typeof field === 'object';

/** A field as text, the way a person would read it in the file. */
export function fieldText(field: SourceField): string {
	if (typeof field === 'string') return field;
	if (isClock(field)) {
		const text = new Date(field.clock_ms).toISOString().slice(0, -1).replace('T', ' ');
		return text.replace(/\.000$/u, '').replace(/:00$/u, '');
	}
	return String(field);
}
