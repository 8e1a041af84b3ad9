import { mkdir, open, readdir } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { parseArgs } from 'node:util';
import Papa from 'papaparse';
import { checkDriveOptions, type DriveOptions, type DriveSetup } from '../../calc/drive/plan.ts';
import { recordDecimals } from '../../calc/drive/rounding.ts';
import { type SimulatedDrive, simulateDrive } from '../../calc/drive/simulate.ts';
import { type RingTruth, TRUTH_COLUMNS, TRUTH_FILE } from '../../calc/drive/truth.ts';
import { type Fault, stopFault } from '../../calc/fault/fault.ts';
import { isoTime } from '../../calc/quantity/time.ts';
import { FolderNotEmpty, writeFolder } from '../folder/write.ts';
import { LoggerText } from './loggertext.ts';
import type { ExitCode, Streams } from './usage.ts';

/** What to write, and how the drive is to be. */
export interface SimulatedFolder extends DriveOptions {
	/** Write logger.csv; default yes. */
	readonly logger?: boolean;
	/** Write readings.csv; default yes. */
	readonly readings?: boolean;
}

/** What was written. */
export interface WrittenDrive {
	readonly files: readonly string[];
	readonly rings: number;
	readonly readings: number;
	readonly loggerRows: number;
}

const LOGGER_FILE = 'logger.csv';

/**
 * Writes an invented drive as a plain folder: drive.json, rings, ground, meters, readings, the
 * logger's record, and the truth in truth.csv. The folder is made if it is not there; one that holds
 * anything is left alone and `FolderNotEmpty` is thrown. The logger's record goes to disk ring by
 * ring. Throws RangeError for options that `checkDriveOptions` finds fault with.
 */
export async function writeSimulated(
	folder: string,
	asked: SimulatedFolder,
): Promise<WrittenDrive> {
	await mkdir(folder, { recursive: true });
	if ((await readdir(folder)).length > 0) throw new FolderNotEmpty(folder);
	const { logger = true, readings = true, ...options } = asked;
	const drive = simulateDrive(options);
	const files = await writeFolder(folder, {
		drive: drive.drive,
		rings: [...drive.rings],
		ground: [...drive.ground],
		readings: readings ? [...drive.readings] : [],
		meters: [...drive.meters],
		bypass_decisions: [],
		mode_overrides: [],
		formulas: [],
		limits: [],
		utcOffset_min: drive.utcOffset_min,
		invented: true,
	});
	const truth = await open(join(folder, TRUTH_FILE), 'wx');
	try {
		await truth.writeFile(truthText(drive.truth, drive.utcOffset_min), 'utf8');
	} finally {
		await truth.close();
	}
	files.push(TRUTH_FILE);
	let loggerRows = 0;
	if (logger) {
		loggerRows = await writeLogger(join(folder, LOGGER_FILE), drive);
		files.push(LOGGER_FILE);
	}
	return {
		files,
		rings: drive.rings.length,
		readings: readings ? drive.readings.length : 0,
		loggerRows,
	};
}

/** truth.csv: what really happened, ring by ring. */
export function truthText(truth: readonly RingTruth[], utcOffset_min: number): string {
	const time = (time_s: number): string => isoTime(time_s, utcOffset_min);
	const rows = truth.map((ring) => TRUTH_COLUMNS.map((column) => column.text(ring, time)));
	const text = Papa.unparse([TRUTH_COLUMNS.map((column) => column.heading), ...rows], {
		newline: '\n',
	});
	return `${text}\n`;
}

async function writeLogger(path: string, drive: SimulatedDrive): Promise<number> {
	const { plan } = drive;
	const text = new LoggerText(recordDecimals(plan.meters === 'perfect'), plan.utcOffset_min);
	const file = await open(path, 'wx');
	let rows = 0;
	try {
		await file.write(LoggerText.header(plan.sideFlow_m3_h > 0));
		for (const batch of drive.logger()) {
			for (const piece of text.pieces(batch)) await file.write(piece);
			rows += batch.count;
		}
		await file.sync();
	} finally {
		await file.close();
	}
	return rows;
}

type OptionKey = keyof DriveSetup;

/** Options of the command that are numbers, by the setting each stands for. */
const NUMBERS: Readonly<Record<string, OptionKey>> = {
	seed: 'seed',
	rings: 'rings',
	diameter: 'diameter_m',
	advance: 'advance_m',
	speed: 'advanceSpeed_mm_min',
	'feed-flow': 'feedFlow_m3_h',
	'feed-density': 'feedDensity_t_m3',
	'side-flow': 'sideFlow_m3_h',
	distance: 'returnMeterDistance_m',
	growth: 'lineGrowth_m_per_ring',
	'counter-capacity': 'totaliserCapacity_m3',
	'readings-every': 'readingInterval_s',
	'logger-every': 'loggerInterval_s',
	'maintenance-every': 'maintenanceEvery_rings',
	'bypass-check-every': 'checkBypassEvery_rings',
};

const CHOICES = {
	meters: { key: 'meters', of: ['certified', 'perfect', 'uncorrected'] },
	lines: { key: 'lineGrowth', of: ['after_thrust', 'during_thrust'] },
	events: { key: 'events', of: ['usual', 'none'] },
} as const;

/** Options of the command that only are there or not. */
const SWITCHES = {
	steady: { steady: true },
	'no-pauses': { pauses: false },
	'no-weekends': { weekendStop: false },
	'no-logger': { logger: false },
	'no-readings': { readings: false },
} as const satisfies Record<string, Partial<SimulatedFolder>>;

export const SIMULATE_USAGE = `simulate FOLDER --seed N --rings N [options]: write an invented drive as a plain folder.

  --diameter M --advance M --speed MM_MIN       what is cut, how far a ring, how fast
  --feed-flow M3_H --feed-density T_M3 --side-flow M3_H
  --distance M --growth M_PER_RING              from meters to chamber, and how it grows
  --lines after_thrust | during_thrust          pipes put in after the thrust, or telescopic lines
  --meters certified | perfect | uncorrected    how the meters stand to the truth
  --counter-capacity M3                         where the totalisers start anew; without it never
  --events usual | none                         over-excavation, inflow, loss, a wrong densitometer, a gap
  --readings-every S --logger-every S           time between shift readings, between logger rows
  --maintenance-every RINGS --bypass-check-every RINGS
  --steady --no-pauses --no-weekends            nothing wanders; no pauses within rings; no weekend stop
  --no-logger --no-readings                     leave a file out

What really happened stands in truth.csv, ring by ring.
`;

/** The words after `simulate`, read; or what is wrong with them. */
export function readSimulateWords(
	words: readonly string[],
):
	| { readonly kind: 'ask'; readonly folder: string; readonly ask: SimulatedFolder }
	| { readonly kind: 'wrong'; readonly faults: readonly Fault[] } {
	const wrong = (message: string, option: string, value: string, expected: string) =>
		stopFault('simulate_option', message, { column: option, value, expected });
	let parsed: { values: Record<string, unknown>; positionals: string[] };
	try {
		parsed = parseArgs({
			args: [...words],
			allowPositionals: true,
			strict: true,
			options: {
				...Object.fromEntries(Object.keys(NUMBERS).map((name) => [name, TEXT])),
				...Object.fromEntries(Object.keys(CHOICES).map((name) => [name, TEXT])),
				...Object.fromEntries(Object.keys(SWITCHES).map((name) => [name, SWITCH])),
			},
		});
	} catch (error) {
		const message = error instanceof Error ? error.message : String(error);
		return { kind: 'wrong', faults: [stopFault('simulate_option', message)] };
	}
	const [folder, ...more] = parsed.positionals;
	const faults: Fault[] = [];
	if (folder === undefined || more.length > 0)
		faults.push(
			stopFault('simulate_option', 'Name one folder to write to.', { expected: 'simulate FOLDER' }),
		);
	const ask: Record<string, unknown> = {};
	for (const [name, key] of Object.entries(NUMBERS)) {
		const text = parsed.values[name];
		if (typeof text !== 'string') continue;
		// Number('') is 0 and Number('0x10') is 16: neither is what a person meant.
		if (/^-?\d+(\.\d+)?$/u.test(text)) ask[key] = Number(text);
		else faults.push(wrong('This is not a number.', `--${name}`, text, 'a number with a dot'));
	}
	for (const name of ['seed', 'rings']) {
		if (parsed.values[name] === undefined)
			faults.push(
				stopFault('simulate_option', 'An option is missing.', {
					column: `--${name}`,
					expected: 'a whole number',
				}),
			);
	}
	for (const [name, { key, of }] of Object.entries(CHOICES)) {
		const text = parsed.values[name];
		if (typeof text !== 'string') continue;
		if ((of as readonly string[]).includes(text)) ask[key] = text;
		else faults.push(wrong('There is no such choice.', `--${name}`, text, of.join(' or ')));
	}
	for (const [name, settings] of Object.entries(SWITCHES))
		if (parsed.values[name] === true) Object.assign(ask, settings);
	const nameOf = (key: string | undefined): string | undefined =>
		Object.entries(NUMBERS).find(([, setting]) => setting === key)?.[0];
	if (faults.length === 0)
		for (const fault of checkDriveOptions(ask as unknown as DriveOptions))
			faults.push({
				...fault,
				where: { ...fault.where, column: `--${nameOf(fault.where.column) ?? fault.where.column}` },
			});
	if (faults.length > 0 || folder === undefined) return { kind: 'wrong', faults };
	return { kind: 'ask', folder, ask: ask as unknown as SimulatedFolder };
}

const TEXT = { type: 'string' } as const;
const SWITCH = { type: 'boolean' } as const;

/** The verb `simulate`. */
export async function simulate(words: readonly string[], streams: Streams): Promise<ExitCode> {
	if (words.includes('--help')) {
		streams.out(SIMULATE_USAGE);
		return 0;
	}
	const read = readSimulateWords(words);
	if (read.kind === 'wrong') {
		for (const { message, where } of read.faults) {
			const at = where.column === undefined ? '' : `${where.column}: `;
			const value = where.value === undefined ? '' : ` (${where.value})`;
			const expected = where.expected === undefined ? '' : ` Expected ${where.expected}.`;
			streams.err(`${at}${message}${value}${expected}\n`);
		}
		streams.err(`\n${SIMULATE_USAGE}`);
		return 2;
	}
	try {
		const written = await writeSimulated(read.folder, read.ask);
		streams.out(
			`${basename(read.folder)}: ${written.files.join(', ')}; ${written.rings} rings, ${written.readings} readings, ${written.loggerRows} logger rows. Invented data.\n`,
		);
		return 0;
	} catch (error) {
		if (error instanceof FolderNotEmpty) {
			streams.err(`${error.message}. Nothing was written. [folder_not_empty]\n`);
			return 1;
		}
		const code = (error as NodeJS.ErrnoException).code;
		if (code === undefined) throw error;
		streams.err(`${read.folder} cannot be written (${code}). [folder_unwritable]\n`);
		return 1;
	}
}
