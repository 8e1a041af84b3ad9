import { z } from 'zod';
import { MODE_COMPARISONS, MODE_SIGNALS } from '../../calc/circuit/moderules.ts';
import { MODES } from '../../calc/circuit/samples.ts';
import { faultShape } from './fault.ts';

/**
 * Asking and answering about logger files of any layout. A layout says how the files are read; it is
 * guessed by `logger.inspect`, changed by a person, and kept under a name as a profile. Numbers of
 * fields count from 0, rows of a file from 1. Figures in a preview are in the unit of the column they
 * go to, times are Unix s.
 */

export const DELIMITERS = [',', ';', '\t', '|', ' '] as const;
export const TIME_FORMATS = [
	/** 2024-05-31T12:00:00, with or without an offset, T or a blank between. */
	'iso',
	/** 31.05.2024 12:00:00 and with - or / between; day first. */
	'dmy',
	/** 05/31/2024 12:00:00; month first. */
	'mdy',
	/** Days since 1899-12-30. */
	'excel',
	'epoch_s',
	'epoch_ms',
] as const;

const field = z.number().int().min(0).max(4_000);

/** `stamps`: each stamp bears its offset. Else `UTC`, a fixed offset such as `+01:00`, or a name of the time-zone database. */
const zone = z.string().min(1).max(64);

const modeRule = z.object({
	id: z.string().min(1).max(80),
	mode: z.enum(MODES),
	when: z
		.array(
			z.object({
				signal: z.enum(MODE_SIGNALS),
				is: z.enum(MODE_COMPARISONS),
				limit: z.number(),
				hysteresis: z.number().min(0),
				over_s: z.number().positive().max(86_400).optional(),
			}),
		)
		.min(1)
		.max(9),
	debounce_s: z.number().min(0).max(86_400),
	priority: z.number(),
	assumes: z.string().max(300).optional(),
});

export const loggerLayout = z.object({
	format: z.enum(['csv', 'parquet']),
	/** CSV only. */
	delimiter: z.enum(DELIMITERS),
	decimal: z.enum(['.', ',']),
	encoding: z.enum(['utf-8', 'utf-16le', 'windows-1252']),
	/** Row of the headings; null: the file has none. */
	headingRow: z.number().int().min(1).max(1_000).nullable(),
	/** Headings the fields had: in a file where they stand in another order they are found again by them. Empty: fields go by number. */
	headings: z.array(z.string().max(200)).max(4_000).optional(),
	/** First row of data: rows of units or remarks may stand between. */
	firstRow: z.number().int().min(1).max(1_000),
	time: z.object({
		/** One field, or date and time of day. */
		fields: z.array(field).min(1).max(2),
		format: z.enum(TIME_FORMATS),
		/** Zone of stamps that bear no offset themselves. */
		zone,
	}),
	/** What the fields fill; a field not named is passed over. */
	columns: z
		.array(
			z.object({
				field,
				/** A column of the readings, `mode`, or a signal the mode can be told from. */
				to: z.string().min(1).max(80),
				/** Unit in the file; null: that of the column, or none. */
				unit: z.string().max(20).nullable(),
			}),
		)
		.max(200),
	/** Words or numbers of a mode field, besides our own; others cannot be read. */
	modeWords: z.array(z.object({ text: z.string().max(80), mode: z.enum(MODES) })).max(200),
	/** Used when no field gives the mode. */
	modeRules: z.array(modeRule).max(200),
	/** Words that stand for "no value", besides nothing at all. */
	missingWords: z.array(z.string().max(40)).max(40).optional(),
});

const previewField = z.object({
	field,
	/** As in the file; "field 3" without a heading. */
	heading: z.string(),
	/** Unit read from the heading or the row below it; null: none was found. */
	unitRead: z.string().nullable(),
	/** First rows as they stand, and what is made of them: number, word of a mode, or null. */
	texts: z.array(z.string()),
	parsed: z.array(z.union([z.number(), z.string(), z.null()])),
	/** Of the rows looked at: those with something in the field, and those of them that could be read. */
	filled: z.number(),
	read: z.number(),
	/** Least and greatest of what was read; null: nothing, or no numbers. */
	min: z.number().nullable(),
	max: z.number().nullable(),
	/** Why it looks wrong: beyond what is plausible, hardly anything read, another unit likely. */
	doubts: z.array(z.string()),
});

export const loggerInspection = z.object({
	files: z.array(
		z.object({
			placeId: z.string(),
			name: z.string(),
			bytes: z.number(),
			/** Rows of data, counted or estimated from the size; null: cannot be told. */
			rows: z.number().nullable(),
			/** A source of this content has been imported before. */
			importedBefore: z.boolean(),
		}),
	),
	/** Guessed, of the profile, or as asked. */
	layout: loggerLayout,
	/** Name of the profile the layout is from; null: guessed or changed. */
	profile: z.string().nullable(),
	/** First rows of the first file as they stand, for choosing the heading row; none for Parquet. */
	head: z.array(z.string()),
	rowsLookedAt: z.number(),
	fields: z.array(previewField),
	time: z.object({
		texts: z.array(z.string()),
		parsed: z.array(z.number().nullable()),
		/** Stamps that could be read, of the rows looked at. */
		read: z.number(),
		first_s: z.number().nullable(),
		last_s: z.number().nullable(),
		/** Usual distance of two stamps, s. */
		step_s: z.number().nullable(),
		doubts: z.array(z.string()),
	}),
	/** What a field may fill, with the units it can be in, the column's own first. */
	targets: z.array(
		z.object({
			id: z.string(),
			heading: z.string(),
			units: z.array(z.object({ id: z.string(), label: z.string() })),
		}),
	),
	/** Zones to choose from, by name. */
	zones: z.array(z.string()),
	modes: z.object({
		from: z.enum(['field', 'rules', 'nothing']),
		/** Words found in the mode field and what each is taken for. */
		words: z.array(
			z.object({ text: z.string(), count: z.number(), mode: z.enum(MODES).nullable() }),
		),
		/** The rules in words, in order of priority. */
		rules: z.array(z.object({ id: z.string(), text: z.string() })),
		/** Rules that fit the signals and are not used: left out, for signals mapped later, or because they take something for granted. */
		optional: z.array(z.object({ rule: modeRule, text: z.string() })),
		cannotTell: z.array(z.object({ mode: z.enum(MODES), why: z.string() })),
	}),
	faults: z.array(faultShape),
	/** Why it cannot be imported like this; null: it can. */
	notYet: z.string().nullable(),
});

export const loggerImported = z.object({
	outcome: z.enum(['done', 'cancelled', 'refused']),
	/** Why it was refused, or what of a cancelled import is kept; null when done. */
	why: z.string().nullable(),
	sources: z.array(
		z.object({ file: z.string(), sha256: z.string(), bytes: z.number(), rows: z.number() }),
	),
	/** Rows of the files, and of them: new, there already and the same, there already and different. */
	rows: z.number(),
	added: z.number(),
	duplicates: z.number(),
	conflicts: z.number(),
	/** The stretch that was there already; null: none. */
	overlap: z.object({ from_s: z.number(), to_s: z.number() }).nullable(),
	/** The first conflicts; `kept` is what stands now. */
	conflictList: z.array(
		z.object({
			time_s: z.number(),
			column: z.string(),
			before: z.string(),
			file: z.string(),
			kept: z.enum(['before', 'file']),
		}),
	),
	first_s: z.number().nullable(),
	last_s: z.number().nullable(),
	/** Rings balanced anew. */
	rings: z.number(),
	/** Time taken, s. */
	took_s: z.number(),
	faults: z.array(faultShape),
	moreFaults: z.number(),
});

const placeId = z.string().min(1).max(64);
const profileName = z.string().trim().min(1).max(80);

/** Shapes of the verbs `logger.*`: what is asked and what is answered. */
export const LOGGER_SHAPES = {
	/** Looks at the first rows only. Without `layout`: that of `profile`, else the profile that fits, else a guess. */
	inspect: {
		ask: z.object({
			files: z.array(placeId).min(1).max(1_000),
			layout: loggerLayout.optional(),
			profile: profileName.optional(),
		}),
		answer: loggerInspection,
	},
	/** Pushes `progress` events; ends early by `logger.cancel`. */
	import: {
		ask: z.object({
			files: z.array(placeId).min(1).max(1_000),
			layout: loggerLayout,
			/** Keeps the layout under this name; one of that name is replaced. */
			saveAs: profileName.optional(),
			/** Rows that differ from what is there: nothing is imported, or one of the two is taken. */
			conflicts: z.enum(['refuse', 'keepBefore', 'takeFile']),
			/** `goodRows`: what cannot be read is left out. Otherwise a stop fault refuses the import. */
			take: z.enum(['all', 'goodRows']).optional(),
		}),
		answer: loggerImported,
	},
	/** Answered at once: whether there was an import to cancel. */
	cancel: { ask: z.object({}), answer: z.object({ cancelled: z.boolean() }) },
	/** The import that was broken off and can go on where it stopped; null: there is none. */
	unfinished: {
		ask: z.object({}),
		answer: z
			.object({
				files: z.array(z.string()),
				/** Bytes read, and of all files together. */
				read: z.number(),
				ofBytes: z.number(),
				/** Days kept aside that are whole; all before this moment are. */
				days: z.number(),
				upTo_s: z.number(),
				begun_s: z.number(),
				/** Why it cannot go on as things are; null: it can. */
				notNow: z.string().nullable(),
			})
			.nullable(),
	},
	/** Goes on with it: the same files, layout and choices. As `import` otherwise. */
	goOn: { ask: z.object({}), answer: loggerImported },
	/** Removes what it has left. */
	discard: { ask: z.object({}), answer: z.object({ discarded: z.boolean() }) },
	profiles: {
		ask: z.object({}),
		answer: z.array(z.object({ name: z.string(), layout: loggerLayout, usedAt_s: z.number() })),
	},
	/** Files the series was made from, in order of import. */
	sources: {
		ask: z.object({}),
		answer: z.array(
			z.object({
				file: z.string(),
				sha256: z.string(),
				bytes: z.number(),
				rows: z.number(),
				first_s: z.number().nullable(),
				last_s: z.number().nullable(),
			}),
		),
	},
} as const;

export type LoggerLayout = z.infer<typeof loggerLayout>;
export type LoggerInspection = z.infer<typeof loggerInspection>;
export type LoggerImported = z.infer<typeof loggerImported>;
export type UnfinishedImport = NonNullable<z.infer<typeof LOGGER_SHAPES.unfinished.answer>>;
export type PreviewField = z.infer<typeof previewField>;
