import { z } from 'zod';
import { faultShape } from './fault.ts';

/**
 * Asking and answering about single sheets as files. How a file is read is guessed by
 * `exchange.inspect`, changed by a person, and handed to `exchange.take` as it stands. Numbers of
 * fields count from 0, rows of a file from 1.
 */

/** Forms a sheet is written in. */
export const EXPORT_FORMS = ['csv', 'xlsx', 'parquet'] as const;
export type ExportForm = (typeof EXPORT_FORMS)[number];
export const FORM_ENDINGS: Readonly<Record<ExportForm, string>> = {
	csv: '.csv',
	xlsx: '.xlsx',
	parquet: '.parquet',
};

export const SHEET_DELIMITERS = [',', ';', '\t', '|'] as const;

const LISTS = [
	'rings',
	'ground',
	'readings',
	'meters',
	'bypass_decisions',
	'mode_overrides',
] as const;
const listSheet = z.enum(LISTS);
/** Sheets that rows of a file can be taken into. */
export type ImportedSheetId = (typeof LISTS)[number];
/** Sheets that are written to a file. */
export type ExportedSheetId = ImportedSheetId | 'ledger';
/** Their names in words. */
export const SHEET_TITLES: Readonly<Record<ExportedSheetId, string>> = {
	rings: 'Rings',
	ground: 'Ground',
	readings: 'Readings',
	meters: 'Meters',
	bypass_decisions: 'Bypass decisions',
	mode_overrides: 'Set modes',
	ledger: 'Ledger',
};

const placeId = z.string().min(1).max(64);
const fieldNumber = z.number().int().min(0).max(16_383);
const columnId = z.string().min(1).max(80);
const unitName = z.string().min(1).max(20);

/** How a file is read. Everything left out is guessed. */
export const sheetReading = z.object({
	/** XLSX only. */
	worksheet: z.string().min(1).max(200).optional(),
	/** CSV only. */
	delimiter: z.enum(SHEET_DELIMITERS).optional(),
	/** Of numbers that are text. */
	decimal: z.enum(['.', ',']).optional(),
	/** How dates that are text are written: year, day or month first. */
	dates: z.enum(['iso', 'dmy', 'mdy']).optional(),
	headingRow: z.number().int().min(1).max(1_000).optional(),
	/** Offset of times that bear none, minutes east of UTC. */
	utcOffset_min: z.number().int().min(-1_080).max(1_080).optional(),
	/** What fields fill, where it is not as their headings say; `column` null: left out. */
	fields: z
		.array(
			z.object({
				field: fieldNumber,
				column: columnId.nullable(),
				/** Unit of the figures in the file; null: that of the column. */
				unit: unitName.nullable(),
			}),
		)
		.max(1_000)
		.optional(),
	/** What becomes of rows that are there already. */
	existing: z.enum(['update', 'skip']),
});
export type SheetReading = z.infer<typeof sheetReading>;

const counts = {
	/** Rows of data in the file, and what becomes of them. */
	rows: z.number(),
	added: z.number(),
	updated: z.number(),
	/** There already with the same values. */
	same: z.number(),
	/** There already, and left as they are. */
	skipped: z.number(),
	/** Not taken because something in them is wrong. */
	faulty: z.number(),
	faults: z.array(faultShape),
	/** Faults beyond those listed. */
	moreFaults: z.number(),
};

export const sheetInspection = z.object({
	file: z.string(),
	form: z.enum(['csv', 'xlsx']),
	bytes: z.number(),
	/** Of the content that was looked at; what is taken must be the same. */
	sha256: z.string(),
	/** XLSX: names of the worksheets; CSV: empty. */
	worksheets: z.array(z.string()),
	/** Guessed, or as asked. */
	reading: sheetReading,
	/** First rows as they stand, for choosing the heading row. */
	head: z.array(z.string()),
	/** Each field of the file. */
	fields: z.array(
		z.object({
			field: z.number(),
			/** As in the file; "field 3" without one. */
			heading: z.string(),
			column: z.string().nullable(),
			unit: z.string().nullable(),
			/** How the heading was understood; null: it was not. */
			by: z.enum(['id', 'heading', 'alias', 'hand']).nullable(),
			/** Why it is left out or what is to be looked at. */
			remark: z.string().nullable(),
			/** First rows as they stand, and as they are read; null: empty or not readable. */
			texts: z.array(z.string()),
			read: z.array(z.union([z.number(), z.string(), z.null()])),
		}),
	),
	/** Columns a field can fill, with the units it can be in, the column's own first. */
	columns: z.array(
		z.object({
			id: z.string(),
			heading: z.string(),
			required: z.boolean(),
			units: z.array(z.object({ id: z.string(), label: z.string() })),
		}),
	),
	/** Columns that make two rows the same row, by heading. */
	key: z.array(z.string()),
	...counts,
	/** Why nothing can be taken like this; null: it can. */
	notYet: z.string().nullable(),
});
export type SheetInspection = z.infer<typeof sheetInspection>;

export const sheetTaken = z.object({
	outcome: z.enum(['done', 'refused']),
	/** Why it was refused; null when done. */
	why: z.string().nullable(),
	/** Of the step that was made, e.g. "import of 24 rows from shift.xlsx"; null: nothing had to change. */
	label: z.string().nullable(),
	...counts,
});
export type SheetTaken = z.infer<typeof sheetTaken>;

/** Shapes of `sheet.export` and of the verbs `exchange.*`. */
export const EXCHANGE_SHAPES = {
	export: {
		ask: z.object({
			sheet: z.enum([...LISTS, 'ledger']),
			form: z.enum(EXPORT_FORMS),
			intoId: placeId,
			/** The ending of the form is added if it is missing. */
			name: z.string().min(1).max(200),
		}),
		answer: z.object({ file: z.string(), rows: z.number(), columns: z.number() }),
	},
	/** Reads the whole file and says what would become of each row; nothing is taken. */
	inspect: {
		ask: z.object({ sheet: listSheet, fileId: placeId, reading: sheetReading }),
		answer: sheetInspection,
	},
	/** Takes the rows as one step that can be undone. `goodRows`: rows with stop faults are left out; otherwise one refuses all. */
	take: {
		ask: z.object({
			sheet: listSheet,
			fileId: placeId,
			reading: sheetReading,
			sha256: z.string().length(64),
			take: z.enum(['all', 'goodRows']),
		}),
		answer: sheetTaken,
	},
} as const;
