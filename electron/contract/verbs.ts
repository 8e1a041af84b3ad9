import { z } from 'zod';
import { FAULT_KINDS, FAULT_SIGNALS } from '../../calc/circuit/faultrules.ts';
import { faultShape } from './fault.ts';
import { FORMULA_SHAPES } from './formulas.ts';
import { LOGGER_SHAPES } from './loggerimport.ts';
import { meterChecks } from './meterchecks.ts';
import { EXCHANGE_SHAPES } from './sheetexchange.ts';

/**
 * The one contract between a page and the desk: every verb with the shape of what it is asked and
 * what it answers. Both hosts carry it; nothing else crosses. Page, preload and hosts import types
 * from here; only the desk's gate runs the parsers on what comes in.
 */
export type { MeterChecks } from './meterchecks.ts';
export { CONTRACT_VERSION } from './version.ts';

const id = z.number().int().positive().max(Number.MAX_SAFE_INTEGER);
const ringNumber = z.number().int().min(0).max(1_000_000);
const shortText = z.string().max(200);
const longText = z.string().max(4_000);
/** Places (files and folders) cross only as tokens the desk handed out; a page never sends a path. */
const placeId = z.string().min(1).max(64);
const fileName = z.string().min(1).max(200);
/** Sheets whose rows come and go. */
const LISTS = [
	'rings',
	'ground',
	'readings',
	'meters',
	'bypass_decisions',
	'mode_overrides',
	'formulas',
	'limits',
] as const;
const listSheet = z.enum(LISTS);
const enteredSheet = z.enum(['drive', ...LISTS]);
const anySheet = z.enum(['drive', ...LISTS, 'ledger']);
const columnId = z.string().min(1).max(80);

const cellValue = z.union([z.number(), z.string().max(4_000), z.null()]);

export const sheetRow = z.object({
	id: z.number(),
	cells: z.record(z.string(), cellValue),
	flags: z.record(z.string(), z.array(z.string())).optional(),
});
export type SheetRowMessage = z.infer<typeof sheetRow>;

/** What a person types is sent as text with the marks their locale uses; the desk parses it. */
const typedNumbers = z.object({ decimal: z.enum(['.', ',']) });

const documentState = z.object({
	title: z.string(),
	/** File name without folder. */
	file: z.string(),
	/** Folder, for display only. */
	folder: z.string(),
	readOnly: z.boolean(),
	/** Why it is read-only: who holds it, or that the file or folder cannot be written. */
	readOnlyWhy: z.string().nullable(),
	rings: z.number(),
	readings: z.number(),
	/** First and last ring number, null when there are none. */
	firstRing: z.number().nullable(),
	lastRing: z.number().nullable(),
	hasLogger: z.boolean(),
	/** Label of the step undo / redo would take back, e.g. "edit of feed density, reading 41". */
	undo: z.string().nullable(),
	redo: z.string().nullable(),
	/** Journal entries so far. */
	journalEntries: z.number(),
	/** The drive is invented (made by the simulator); every screen says so. */
	invented: z.boolean(),
	/** Offset the drive shows its times in, minutes east of UTC. */
	utcOffset_min: z.number(),
});
export type DocumentState = z.infer<typeof documentState>;

const deskState = z.object({
	contract: z.number(),
	appVersion: z.string(),
	host: z.enum(['electron', 'loopback', 'headless']),
	/** True when choosing a place opens the system's own dialog. */
	nativeDialogs: z.boolean(),
	person: z.string(),
	document: documentState.nullable(),
});
export type DeskState = z.infer<typeof deskState>;

/**
 * What one command changed, over all sheets. `rows` are whole rows to replace or add by id;
 * `removed` are ids to drop. Pages apply it as it stands, in order of `seq`. When more rows changed
 * than are worth sending, the desk leaves out a number: a page that sees one missing asks again for
 * the sheets it shows.
 */
const changeSet = z.object({
	seq: z.number(),
	label: z.string(),
	sheets: z.partialRecord(
		anySheet,
		z.object({ rows: z.array(sheetRow), removed: z.array(z.number()) }),
	),
	document: documentState,
});
export type ChangeSet = z.infer<typeof changeSet>;

/** A refused edit: the fault, and for an ambiguous number the readings it could have. */
const refusal = z.object({
	row: z.number().nullable(),
	column: z.string(),
	fault: faultShape,
	readAs: z.array(z.object({ label: z.string(), text: z.string() })),
});
export type EditRefusal = z.infer<typeof refusal>;

/** Either everything was applied (refused empty) or nothing was (changes null). */
const editAnswer = z.object({ changes: changeSet.nullable(), refused: z.array(refusal) });
export type EditAnswer = z.infer<typeof editAnswer>;

const folderSummary = z.object({
	title: z.string(),
	rings: z.number(),
	readings: z.number(),
	loggerRows: z.number(),
	/** Rows that would be left out if only the good ones are taken. */
	faultyRows: z.number(),
	faults: z.array(faultShape),
	/** Faults beyond those listed. */
	moreFaults: z.number(),
	/** Something is wrong that no choice of rows can mend (no drive.json, unreadable file). */
	impossible: z.boolean(),
});
export type FolderSummary = z.infer<typeof folderSummary>;

const listing = z.object({
	placeId: z.string(),
	title: z.string(),
	parent: z.object({ placeId: z.string(), title: z.string() }).nullable(),
	writable: z.boolean(),
	entries: z.array(
		z.object({
			placeId: z.string(),
			name: z.string(),
			kind: z.enum(['folder', 'project', 'driveFolder', 'file']),
			modified_s: z.number().nullable(),
		}),
	),
});
export type PlaceListing = z.infer<typeof listing>;

const nullableNumbers = z.array(z.number().nullable());
const timeline = z.object({
	ring: z.number(),
	source: z.enum(['logger', 'readings', 'none']),
	/** Unix seconds. */
	time_s: z.array(z.number()),
	/** Trade units; null where the meter gave nothing. */
	feed_flow_m3_h: nullableNumbers,
	return_flow_m3_h: nullableNumbers,
	feed_density_t_m3: nullableNumbers,
	return_density_t_m3: nullableNumbers,
	chamber_level_m: nullableNumbers,
	/** Stretches of one mode, in order, covering the shown span; mode null = no data. */
	modes: z.array(
		z.object({
			from_s: z.number(),
			to_s: z.number(),
			mode: z.enum(['advance', 'bypass', 'back_flush', 'stop']).nullable(),
			/** Recorded, told from signals by a rule, or set by a person; absent where there is no mode. */
			decidedBy: z.enum(['record', 'rule', 'override']).optional(),
			/** The rule in words, or the person's reason. */
			why: z.string().optional(),
			/** Row of `mode_overrides` that set it. */
			override: z.number().optional(),
		}),
	),
	/** Stretches in which something is wrong with a signal or the stamps, in order; one moment: from = to. */
	signalFaults: z
		.array(
			z.object({
				kind: z.enum(FAULT_KINDS),
				/** null: all signals, or the stamps themselves. */
				signal: z.enum(FAULT_SIGNALS).nullable(),
				from_s: z.number(),
				to_s: z.number(),
				/** Rows concerned. */
				count: z.number(),
				/** The rule that found it, in words. */
				rule: z.string(),
			}),
		)
		.optional(),
	/** The ring's advance window, and the same ring as the feed and the return meters see it. */
	advanceWindow: z.object({ from_s: z.number(), to_s: z.number() }),
	feedWindow: z.object({ from_s: z.number(), to_s: z.number() }).nullable(),
	returnWindow: z.object({ from_s: z.number(), to_s: z.number() }).nullable(),
	lag_s: z.number().nullable(),
	/** True if fewer points than stored are sent (each kept pair is the min and max of its stretch). */
	thinned: z.boolean(),
});
export type Timeline = z.infer<typeof timeline>;

/** One line of "how was this computed". */
const workingLine = z.object({
	symbol: z.string(),
	name: z.string(),
	/** Already formatted with its unit, or "missing". */
	value: z.string(),
	/** Where it came from: entered, logger, drive settings, computed from … */
	from: z.string(),
});
const working = z.object({
	heading: z.string(),
	/** Result with unit and its uncertainty, or "blank". */
	result: z.string(),
	/** Why it is blank or flagged; empty when neither. */
	reasons: z.array(z.string()),
	/** Formula in symbols. */
	formula: z.string(),
	/** The same with the numbers put in. */
	withNumbers: z.string(),
	lines: z.array(workingLine),
	source: z.string(),
	/** Budget of the standard uncertainty, largest share first; empty where there is none. */
	budget: z.array(
		z.object({
			input: z.string(),
			inputU: z.string(),
			contribution: z.string(),
			sharePct: z.number(),
		}),
	),
	cautions: z.array(z.string()),
});
export type Working = z.infer<typeof working>;

const ringDetail = z.object({
	ring: z.number(),
	/** Facts to list, in order: heading and formatted value. `column` set when "how" can be asked for. */
	facts: z.array(
		z.object({
			group: z.string(),
			heading: z.string(),
			value: z.string(),
			column: z.string().nullable(),
			reasons: z.array(z.string()),
		}),
	),
	notes: z.array(z.string()),
});
export type RingDetail = z.infer<typeof ringDetail>;

const verb = <A extends z.ZodType, B extends z.ZodType>(ask: A, answer: B, mutates: boolean) => ({
	ask,
	answer,
	mutates,
});

export const VERBS = {
	/* the desk and its document */
	'desk.state': verb(z.object({}), deskState, false),
	'person.set': verb(z.object({ person: z.string().trim().min(1).max(80) }), deskState, false),
	'recent.list': verb(
		z.object({}),
		z.array(
			z.object({
				placeId: z.string(),
				title: z.string(),
				folder: z.string(),
				opened_s: z.number(),
				exists: z.boolean(),
			}),
		),
		false,
	),
	/** List a folder; without placeId the person's documents folder. */
	'places.list': verb(z.object({ placeId: placeId.optional() }), listing, false),
	/**
	 * Opens the system's dialog; null when the person cancels. Refused by hosts without one. To open,
	 * `placeId` is the thing chosen. To save or export, `placeId` is the folder it goes into and
	 * `title` its name in there: the one chosen, or for an export the suggested one, numbered if it
	 * is taken. Both are handed on as `intoId` and `name`.
	 */
	'places.choose': verb(
		z.object({
			purpose: z.enum([
				'open-project',
				'open-folder',
				'save-project',
				'export-folder',
				'save-sheet',
			]),
			suggest: fileName.optional(),
		}),
		z.object({ placeId: z.string(), title: z.string() }).nullable(),
		false,
	),
	/** Opens the system's dialog for files of a logger, several at once, or for one file of a sheet; null when the person cancels. */
	'places.chooseFiles': verb(
		z.object({ of: z.enum(['logger', 'sheet']).optional() }),
		z.array(z.object({ placeId: z.string(), title: z.string() })).nullable(),
		false,
	),
	'project.open': verb(z.object({ placeId }), deskState, false),
	/** Opens the demo drive, making it first if it is not there yet. */
	'project.openDemo': verb(z.object({}), deskState, false),
	/** Reads a plain folder and says what is in it and what is wrong, without writing anything. */
	'project.inspectFolder': verb(z.object({ folderId: placeId }), folderSummary, false),
	/** Makes a project from a plain folder. `take: 'all'` needs a folder without stop faults. */
	'project.create': verb(
		z.object({
			folderId: placeId,
			intoId: placeId,
			name: fileName,
			take: z.enum(['all', 'goodRows']),
		}),
		deskState,
		false,
	),
	/** Makes an empty project from the few figures a drive cannot do without. */
	'project.createEmpty': verb(
		z.object({
			intoId: placeId,
			name: fileName,
			title: z.string().trim().min(1).max(200),
			excavated_diameter_m: z.number().min(1).max(25),
			nominal_advance_m: z.number().min(0.1).max(5),
		}),
		deskState,
		false,
	),
	'project.saveCopy': verb(
		z.object({ intoId: placeId, name: fileName }),
		z.object({ file: z.string() }),
		false,
	),
	'project.exportFolder': verb(
		z.object({ intoId: placeId, name: fileName }),
		z.object({ folder: z.string(), files: z.array(z.string()) }),
		false,
	),
	'project.close': verb(z.object({}), deskState, false),
	/** Full check of file, journal chain and data; each finding a fault. */
	'project.check': verb(
		z.object({}),
		z.object({ findings: z.array(faultShape), looked: z.array(z.string()) }),
		false,
	),

	/* rows */
	'sheet.rows': verb(
		z.object({
			sheet: anySheet,
			/** For readings: only those belonging to these rings (inclusive) and the time around them. */
			fromRing: ringNumber.optional(),
			toRing: ringNumber.optional(),
		}),
		z.object({ rows: z.array(sheetRow), total: z.number() }),
		false,
	),
	'sheet.edit': verb(
		z.object({
			sheet: enteredSheet,
			edits: z
				.array(z.object({ row: id, column: columnId, text: longText }))
				.min(1)
				.max(20_000),
			/** Rows added in the same step, as in `sheet.add`: a block pasted beyond the last row. Not for `drive`. */
			add: z.array(z.record(columnId, longText)).max(20_000).optional(),
			typed: typedNumbers,
			why: shortText.optional(),
			/** What the person did, for the undo label: "paste of 24 cells". Default: made from the edits. */
			label: shortText.optional(),
		}),
		editAnswer,
		true,
	),
	'sheet.add': verb(
		z.object({
			sheet: listSheet,
			rows: z.array(z.record(columnId, longText)).min(1).max(20_000),
			typed: typedNumbers,
			why: shortText.optional(),
		}),
		editAnswer,
		true,
	),
	'sheet.delete': verb(
		z.object({
			sheet: listSheet,
			rows: z.array(id).min(1).max(20_000),
			why: shortText.optional(),
		}),
		editAnswer,
		true,
	),
	'history.undo': verb(z.object({}), editAnswer, true),
	'history.redo': verb(z.object({}), editAnswer, true),

	/* one ring */
	'ring.detail': verb(z.object({ ring: ringNumber }), ringDetail, false),
	'ring.timeline': verb(
		z.object({ ring: ringNumber, points: z.number().int().min(100).max(20_000) }),
		timeline,
		false,
	),
	/** Every bypass window and what the check of the meters makes of them. */
	'meters.checks': verb(z.object({}), meterChecks, false),

	/* logger files */
	/** Looks at record files of any layout, without importing anything. */
	'logger.inspect': verb(LOGGER_SHAPES.inspect.ask, LOGGER_SHAPES.inspect.answer, false),
	/** Imports record files into the series beside the project, all of them or nothing. */
	'logger.import': verb(LOGGER_SHAPES.import.ask, LOGGER_SHAPES.import.answer, true),
	'logger.cancel': verb(LOGGER_SHAPES.cancel.ask, LOGGER_SHAPES.cancel.answer, false),
	'logger.unfinished': verb(LOGGER_SHAPES.unfinished.ask, LOGGER_SHAPES.unfinished.answer, false),
	'logger.goOn': verb(LOGGER_SHAPES.goOn.ask, LOGGER_SHAPES.goOn.answer, true),
	'logger.discard': verb(LOGGER_SHAPES.discard.ask, LOGGER_SHAPES.discard.answer, true),
	'logger.profiles': verb(LOGGER_SHAPES.profiles.ask, LOGGER_SHAPES.profiles.answer, false),
	'logger.sources': verb(LOGGER_SHAPES.sources.ask, LOGGER_SHAPES.sources.answer, false),

	/* single sheets as files */
	/** Writes a sheet as it is shown to a new CSV, XLSX or Parquet file. */
	'sheet.export': verb(EXCHANGE_SHAPES.export.ask, EXCHANGE_SHAPES.export.answer, false),
	/** Reads a CSV or XLSX file as rows of a sheet and says what would become of each. */
	'exchange.inspect': verb(EXCHANGE_SHAPES.inspect.ask, EXCHANGE_SHAPES.inspect.answer, false),
	/** Takes the rows of a file into a sheet, in one step. */
	'exchange.take': verb(EXCHANGE_SHAPES.take.ask, EXCHANGE_SHAPES.take.answer, true),

	/** What a formula would be as a column of a sheet, without entering it. */
	'formula.check': verb(FORMULA_SHAPES.check.ask, FORMULA_SHAPES.check.answer, false),
	/** What could be written at the caret. */
	'formula.suggest': verb(FORMULA_SHAPES.suggest.ask, FORMULA_SHAPES.suggest.answer, false),

	/** How a computed cell came about. */
	'cell.working': verb(
		z.object({ sheet: z.enum(['ledger', 'readings']), row: id, column: columnId }),
		working,
		false,
	),
} as const;

export type VerbName = keyof typeof VERBS;
export type Ask<V extends VerbName> = z.infer<(typeof VERBS)[V]['ask']>;
export type Answer<V extends VerbName> = z.infer<(typeof VERBS)[V]['answer']>;

/** Every call is answered; nothing is thrown across. */
export type Reply<T> = { ok: true; value: T } | { ok: false; code: string; message: string };

/** Pushed from the desk to every page. */
export type DeskEvent =
	| { event: 'changed'; changes: ChangeSet }
	| { event: 'state'; state: DeskState }
	| { event: 'progress'; what: string; done: number; of: number | null };

/** What a page has in its hands, whichever host it stands on. */
export interface DeskDoor {
	call<V extends VerbName>(verb: V, ask: Ask<V>): Promise<Reply<Answer<V>>>;
	/** Returns the function that ends the subscription. */
	listen(hear: (event: DeskEvent) => void): () => void;
}
