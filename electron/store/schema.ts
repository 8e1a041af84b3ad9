import type { DatabaseSync } from 'node:sqlite';

/**
 * The tables of a `.slurrybook` file and their history. A released step is never edited: a change
 * of the tables is a new step at the end. Values stand as entered, in the unit of their heading;
 * times are Unix seconds (UTC).
 */

/** "SLB1", at byte 68 of the file: tells our files from any other SQLite database. */
export const APPLICATION_ID = 0x534c4231;

export interface SchemaStep {
	/** `user_version` of a file once this step is done. */
	readonly version: number;
	/** What the step is for, in one line. */
	readonly what: string;
	/** Runs inside one transaction; must leave the rows of the version before intact. */
	readonly apply: (db: DatabaseSync) => void;
}

const FIRST_TABLES = `
CREATE TABLE document (
	key TEXT NOT NULL PRIMARY KEY,
	value ANY
) STRICT, WITHOUT ROWID;
CREATE TABLE drive (
	column_id TEXT NOT NULL PRIMARY KEY,
	value ANY NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE rings (
	id INTEGER PRIMARY KEY,
	"ring" INTEGER NOT NULL,
	"advance_start" REAL NOT NULL,
	"advance_end" REAL NOT NULL,
	"stroke_start_mm" REAL,
	"stroke_end_mm" REAL,
	"chamber_level_start_m" REAL,
	"chamber_level_end_m" REAL,
	"line_extension_m" REAL,
	"spoil_wet_t" REAL,
	"spoil_moisture_pct" REAL
) STRICT;
CREATE TABLE ground (
	id INTEGER PRIMARY KEY,
	"from_ring" INTEGER NOT NULL,
	"to_ring" INTEGER NOT NULL,
	"stratum" TEXT NOT NULL,
	"face_fraction" REAL,
	"grain_density_t_m3" REAL,
	"dry_density_t_m3" REAL,
	"d10_mm" REAL
) STRICT;
CREATE TABLE ground_passing (
	ground_id INTEGER NOT NULL REFERENCES ground(id) ON DELETE CASCADE,
	column_id TEXT NOT NULL,
	passing_pct REAL NOT NULL,
	PRIMARY KEY (ground_id, column_id)
) STRICT, WITHOUT ROWID;
CREATE TABLE readings (
	id INTEGER PRIMARY KEY,
	"time" REAL NOT NULL,
	"mode" TEXT,
	"feed_flow_m3_h" REAL,
	"feed_density_t_m3" REAL,
	"return_flow_m3_h" REAL,
	"return_density_t_m3" REAL,
	"ring" INTEGER,
	"chamber_level_m" REAL,
	"side_flow_m3_h" REAL,
	"face_pressure_bar" REAL,
	"feed_total_m3" REAL,
	"return_total_m3" REAL,
	"marsh_s_per_quart" REAL,
	"sand_pct" REAL,
	"filtrate_ml" REAL,
	"ph" REAL,
	"yield_point_pa" REAL,
	"temperature_c" REAL,
	"entered_by" TEXT,
	"note" TEXT
) STRICT;
CREATE TABLE meters (
	id INTEGER PRIMARY KEY,
	"meter" TEXT NOT NULL,
	"valid_from" REAL NOT NULL,
	"slope" REAL,
	"offset" REAL,
	"certificate" TEXT
) STRICT;
CREATE TABLE source_file (
	file TEXT NOT NULL PRIMARY KEY,
	sha256 TEXT NOT NULL,
	bytes INTEGER NOT NULL,
	rows INTEGER,
	first_time_s REAL,
	last_time_s REAL
) STRICT, WITHOUT ROWID;
CREATE TABLE logger_balance (
	ring INTEGER NOT NULL PRIMARY KEY,
	input_sha256 TEXT NOT NULL,
	balance TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE journal (
	seq INTEGER PRIMARY KEY,
	at_s REAL NOT NULL,
	who TEXT NOT NULL,
	gesture INTEGER NOT NULL,
	label TEXT NOT NULL,
	kind TEXT NOT NULL,
	sheet TEXT,
	row INTEGER,
	column_id TEXT,
	old ANY,
	new ANY,
	why TEXT,
	prev_hash TEXT NOT NULL,
	hash TEXT NOT NULL
) STRICT;
`;

const METER_CHECKS = `
ALTER TABLE readings ADD COLUMN "mud_balance_feed_t_m3" REAL;
ALTER TABLE readings ADD COLUMN "mud_balance_return_t_m3" REAL;
ALTER TABLE meters ADD COLUMN "instrument" TEXT;
ALTER TABLE meters ADD COLUMN "correction_limit" REAL;
ALTER TABLE meters ADD COLUMN "standardised_on" REAL;
ALTER TABLE meters ADD COLUMN "standardise_every_days" INTEGER;
ALTER TABLE meters ADD COLUMN "half_life_years" REAL;
CREATE TABLE bypass_decisions (
	id INTEGER PRIMARY KEY,
	"from_time" REAL NOT NULL,
	"to_time" REAL NOT NULL,
	"decision" TEXT NOT NULL,
	"quantity" TEXT,
	"why" TEXT NOT NULL
) STRICT;
CREATE TABLE mode_overrides (
	id INTEGER PRIMARY KEY,
	"from_time" REAL NOT NULL,
	"to_time" REAL NOT NULL,
	"mode" TEXT NOT NULL,
	"why" TEXT NOT NULL
) STRICT;
CREATE TABLE bypass_window (
	from_s REAL NOT NULL PRIMARY KEY,
	to_s REAL NOT NULL,
	input_sha256 TEXT NOT NULL,
	window TEXT NOT NULL
) STRICT, WITHOUT ROWID;
`;

const FORMULA_COLUMNS = `
CREATE TABLE formulas (
	id INTEGER PRIMARY KEY,
	"sheet" TEXT NOT NULL,
	"column_id" TEXT NOT NULL,
	"heading" TEXT NOT NULL,
	"unit" TEXT,
	"decimals" INTEGER,
	"expression" TEXT NOT NULL,
	"note" TEXT
) STRICT;
`;

const COLUMN_LIMITS = `
CREATE TABLE limits (
	id INTEGER PRIMARY KEY,
	"sheet" TEXT NOT NULL,
	"column_id" TEXT NOT NULL,
	"low" REAL,
	"high" REAL,
	"unit" TEXT,
	"why" TEXT
) STRICT;
`;

export const SCHEMA_HISTORY: readonly SchemaStep[] = [
	{
		version: 1,
		what: 'sheets, source files, balances from the logger, journal',
		apply: (db) => db.exec(FIRST_TABLES),
	},
	{
		version: 2,
		what: 'decisions on bypass windows, set modes, papers of the meters, mud balance, windows of the logger',
		apply: (db) => db.exec(METER_CHECKS),
	},
	{
		version: 3,
		what: 'columns people add with a formula',
		apply: (db) => db.exec(FORMULA_COLUMNS),
	},
	{
		version: 4,
		what: 'limits of columns',
		apply: (db) => db.exec(COLUMN_LIMITS),
	},
];

/** The version this program writes. */
export function newestVersion(history: readonly SchemaStep[]): number {
	const last = history.at(-1);
	if (last === undefined) throw new RangeError('a schema history needs at least one step');
	return last.version;
}

/** Table columns of the row sheets, apart from `id`; the drive sheet is kept as key and value. */
export const TABLE_COLUMNS = {
	rings: [
		'ring',
		'advance_start',
		'advance_end',
		'stroke_start_mm',
		'stroke_end_mm',
		'chamber_level_start_m',
		'chamber_level_end_m',
		'line_extension_m',
		'spoil_wet_t',
		'spoil_moisture_pct',
	],
	ground: [
		'from_ring',
		'to_ring',
		'stratum',
		'face_fraction',
		'grain_density_t_m3',
		'dry_density_t_m3',
		'd10_mm',
	],
	readings: [
		'time',
		'mode',
		'feed_flow_m3_h',
		'feed_density_t_m3',
		'return_flow_m3_h',
		'return_density_t_m3',
		'ring',
		'chamber_level_m',
		'side_flow_m3_h',
		'face_pressure_bar',
		'feed_total_m3',
		'return_total_m3',
		'marsh_s_per_quart',
		'sand_pct',
		'filtrate_ml',
		'ph',
		'yield_point_pa',
		'temperature_c',
		'entered_by',
		'note',
		'mud_balance_feed_t_m3',
		'mud_balance_return_t_m3',
	],
	meters: [
		'meter',
		'valid_from',
		'slope',
		'offset',
		'certificate',
		'instrument',
		'correction_limit',
		'standardised_on',
		'standardise_every_days',
		'half_life_years',
	],
	bypass_decisions: ['from_time', 'to_time', 'decision', 'quantity', 'why'],
	mode_overrides: ['from_time', 'to_time', 'mode', 'why'],
	formulas: ['sheet', 'column_id', 'heading', 'unit', 'decimals', 'expression', 'note'],
	limits: ['sheet', 'column_id', 'low', 'high', 'unit', 'why'],
} as const satisfies Record<string, readonly string[]>;
