import { join } from 'node:path';
import { type Fault, noteFault, stopFault } from '../../calc/fault/fault.ts';
import { columnsOf, findColumn } from '../../calc/sheet/catalogue.ts';
import { checkRow } from '../../calc/sheet/cell.ts';
import type { RowCells } from './content.ts';
import type { FaultList } from './faultlist.ts';
import { type JsonDoubt, jsonDoubts } from './jsontext.ts';
import { readFileCell } from './sheetfile.ts';
import { type HandFileLimits, readTextFile } from './textfile.ts';

export const DRIVE_FILE = 'drive.json';
/** Prefix of the drive sheet's columns that stand in the nested object `uncertainty`. */
export const UNCERTAINTY = 'uncertainty';

export interface DriveFile {
	readonly cells: RowCells;
	readonly invented: boolean;
	/** No drive can be made of it. */
	readonly unusable: boolean;
}

/**
 * Reads drive.json: an object with the columns of the drive sheet, `uncertainty` nested, and
 * optionally `"invented": true`. Numbers are JSON numbers. Every fault names the key and what was
 * expected; unknown keys are noted. A file without the required keys is unusable.
 */
export async function readDriveFile(
	folder: string,
	limits: HandFileLimits,
	faults: FaultList,
): Promise<DriveFile> {
	const unusable: DriveFile = { cells: {}, invented: false, unusable: true };
	const read = await readTextFile(join(folder, DRIVE_FILE), DRIVE_FILE, limits);
	if (read.kind === 'absent') {
		faults.add(
			stopFault('file_missing', `${DRIVE_FILE} is missing.`, {
				file: DRIVE_FILE,
				expected: `a file ${DRIVE_FILE} in the folder`,
			}),
		);
		return unusable;
	}
	if (read.kind === 'fault') {
		faults.add(read.fault);
		return unusable;
	}
	faults.add(...read.notes);
	let parsed: unknown;
	try {
		parsed = JSON.parse(read.text);
	} catch (error) {
		faults.add(syntaxFault(read.text, error as SyntaxError));
		return unusable;
	}
	if (!isObject(parsed)) {
		faults.add(
			stopFault('json_not_object', `${DRIVE_FILE} does not hold an object.`, {
				file: DRIVE_FILE,
				row: 1,
				expected: 'an object { "title": …, "excavated_diameter_m": …, … }',
			}),
		);
		return unusable;
	}
	const doubts = jsonDoubts(read.text);
	const found: Fault[] = [];
	const cells = driveCells(
		withoutKeys(parsed, doubts),
		found,
		new Set(doubts.map(({ key }) => key)),
	);
	const invented = parsed.invented;
	if (invented !== undefined && typeof invented !== 'boolean')
		found.push(
			stopFault('json_type', 'invented is not true or false.', {
				column: 'invented',
				value: shown(invented),
				expected: 'true or false',
			}),
		);
	found.push(...checkRow('drive', cells));
	const located = found.map((fault) => ({
		...fault,
		where: { ...fault.where, file: DRIVE_FILE, ...lineOf(read.text, fault.where.column) },
	}));
	faults.add(...doubts.map(doubtFault), ...located);
	const lacking = columnsOf('drive').some(
		(column) => column.required && cells[column.id] === undefined,
	);
	return { cells, invented: invented === true, unusable: lacking };
}

const isObject = (value: unknown): value is Record<string, unknown> =>
	typeof value === 'object' && value !== null && !Array.isArray(value);

const shown = (value: unknown): string => {
	const text = JSON.stringify(value) ?? String(value);
	return text.length > 80 ? `${text.slice(0, 80)}…` : text;
};

/** What was read without the values that cannot be told: of two for one key neither is taken. */
function withoutKeys(
	parsed: Record<string, unknown>,
	doubts: readonly JsonDoubt[],
): Record<string, unknown> {
	const kept = structuredClone(parsed);
	for (const { key } of doubts) {
		const path = key.split('.');
		const name = path.pop() ?? '';
		const holder = path.reduce<unknown>(
			(value, step) => (isObject(value) ? value[step] : undefined),
			kept,
		);
		if (isObject(holder)) delete holder[name];
	}
	return kept;
}

function doubtFault({ what, key, row, value }: JsonDoubt): Fault {
	const where = { file: DRIVE_FILE, row, column: key, value };
	return what === 'key_twice'
		? stopFault('key_twice', `The key ${key} stands twice; neither value is taken.`, {
				...where,
				expected: 'every key once',
			})
		: stopFault('number_range', 'The number is beyond what can be held.', {
				...where,
				expected: 'zero, or a number from about 1e-308 to 1e308 in size',
			});
}

/** `doubted`: keys whose faults have been told. */
function driveCells(
	parsed: Record<string, unknown>,
	faults: Fault[],
	doubted: ReadonlySet<string>,
): RowCells {
	const cells: RowCells = {};
	const entries = Object.entries(parsed).filter(
		([key]) => key !== 'invented' && key !== UNCERTAINTY,
	);
	const nested = parsed[UNCERTAINTY];
	if (isObject(nested))
		entries.push(
			...Object.entries(nested).map(
				([key, value]) => [`${UNCERTAINTY}.${key}`, value] as [string, unknown],
			),
		);
	else if (nested !== undefined && nested !== null)
		faults.push(
			stopFault('json_type', 'uncertainty is not an object.', {
				column: UNCERTAINTY,
				value: shown(nested),
				expected: 'an object of standard uncertainties',
			}),
		);
	for (const [id, value] of entries) {
		const column = findColumn('drive', id);
		if (column === undefined) {
			faults.push(
				noteFault('key_unknown', `The key ${id} is not known; it is not taken.`, {
					column: id,
					value: shown(value),
				}),
			);
			continue;
		}
		if (value === null) continue;
		const wanted = column.type === 'text' || column.type === 'choice' ? 'string' : 'number';
		if (typeof value !== wanted) {
			faults.push(
				stopFault(
					'json_type',
					`${column.heading} is not a ${wanted === 'string' ? 'text' : 'number'}.`,
					{
						column: id,
						value: shown(value),
						expected:
							wanted === 'string'
								? 'a text in quotation marks'
								: 'a number without quotation marks, with a dot as decimal mark',
					},
				),
			);
			continue;
		}
		const read = readFileCell(column, String(value));
		if (read.fault !== null) faults.push(read.fault);
		faults.push(...read.notes);
		if (read.value !== null) cells[id] = read.value;
	}
	for (const column of columnsOf('drive')) {
		if (!column.required || cells[column.id] !== undefined || doubted.has(column.id)) continue;
		if (faults.some((fault) => fault.where.column === column.id && fault.weight === 'stop'))
			continue;
		faults.push(
			stopFault('key_missing', `${column.heading} is missing.`, {
				column: column.id,
				expected: `a key ${column.id}`,
			}),
		);
	}
	return cells;
}

/** Line of a key in the text, if it can be found. */
function lineOf(text: string, key: string | undefined): { row?: number } {
	if (key === undefined) return {};
	const at = text.indexOf(
		JSON.stringify(key.startsWith(`${UNCERTAINTY}.`) ? key.slice(UNCERTAINTY.length + 1) : key),
	);
	return at < 0 ? {} : { row: text.slice(0, at).split('\n').length };
}

/** The engine's message names a position; a person needs the line and what stands there. */
function syntaxFault(text: string, error: SyntaxError): Fault {
	const told = /position (\d+)/u.exec(error.message)?.[1];
	const at = told === undefined ? text.length : Number(told);
	const before = text.slice(0, at);
	const row = before.split('\n').length;
	const column = at - before.lastIndexOf('\n');
	const line = text.split('\n')[row - 1] ?? '';
	return stopFault('json_syntax', `This is not JSON from character ${column} of line ${row} on.`, {
		file: DRIVE_FILE,
		row,
		value: line.trim().slice(0, 80),
		expected: 'JSON: keys and texts in double quotation marks, commas between, none after the last',
	});
}
