import { basename } from 'node:path';
import { type ModeRule, type ModeSignal, modeRuleText } from '../../../calc/circuit/moderules.ts';
import { signalRange, suggestModeRules } from '../../../calc/circuit/modesuggest.ts';
import { MODES } from '../../../calc/circuit/samples.ts';
import type { Fault } from '../../../calc/fault/fault.ts';
import { isoTime } from '../../../calc/quantity/time.ts';
import { findUnit, isUnitId, unit as unitOf } from '../../../calc/quantity/unit.ts';
import type { LoggerInspection, LoggerLayout, PreviewField } from '../../contract/loggerimport.ts';
import { FaultList } from '../../folder/faultlist.ts';
import { namedFields } from './csvreader.ts';
import { modeOfWord, NumberField } from './fields.ts';
import { headingParts, matchesOf } from './headingguess.ts';
import { openParquet } from './parquetreader.ts';
import { type Field, fieldsOf, RowReader } from './rowreader.ts';
import { guessDelimiter, isBlank, rowsOf, sampleText, usualWidth } from './sample.ts';
import { readStamp, StampReader } from './stamp.ts';
import { FLOW_SIGNALS, findTarget, SIGNAL_PREFIX, TARGETS, type Target } from './target.ts';
import { guessTime } from './timeguess.ts';
import { unitByFigures } from './unitguess.ts';
import { isZone } from './zone.ts';

/** Rows shown, rows of the head and of each later piece looked at. */
const ROWS_SHOWN = 8;
const HEAD_ROWS = 3000;
const PIECE_ROWS = 400;
const HEAD_LINES_SHOWN = 12;
const FAULTS_SHOWN = 20;
/** A heading less like a target than this is not taken for it. */
const LEAST_LIKENESS = 0.55;
/** Share of fields that must be readable for no doubt to be raised. */
const SOUND_SHARE = 0.98;
const MISSING_WORDS = /^(nan|null|none|n\/?a|#n\/a|-+|bad|inf|-inf|error|#error)$/iu;

/** The part of a file that is looked at, as a table. */
interface Table {
	readonly bytes: number;
	readonly rows: number;
	readonly head: string[];
	readonly headings: string[];
	/** What stands in a row of units under the headings; empty where nothing does. */
	readonly below: string[];
	readonly data: Field[][];
	/** Fields that are points in time by their type, Unix ms. */
	readonly stamps: ReadonlySet<number>;
	readonly form: Pick<
		LoggerLayout,
		'format' | 'encoding' | 'delimiter' | 'headingRow' | 'firstRow'
	>;
}

/** A look at one file: what `logger.inspect` answers but for the names and the profile. */
export type Look = Omit<LoggerInspection, 'files' | 'profile'> & {
	readonly bytes: number;
	/** Rows of data, counted or estimated. */
	readonly rows: number;
};

/**
 * Looks at the head, middle and end of a file and says how it would be read: by `given`, else by a
 * guess. `zone` is taken for stamps without one. Throws what the system throws, and
 * `ParquetUnreadable`.
 */
export async function lookAt(
	path: string,
	given: LoggerLayout | null,
	zone: string,
): Promise<Look> {
	const isParquet = given === null ? /\.(parquet|pq)$/iu.test(path) : given.format === 'parquet';
	const table = isParquet ? await parquetTable(path) : textTable(path, given);
	const doubts = { time: [] as string[], fields: new Map<number, string[]>() };
	const layout = given === null ? guessLayout(table, zone, doubts) : given;
	return describe(basename(path), table, layout, doubts);
}

function textTable(path: string, given: LoggerLayout | null): Table {
	const sample = sampleText(path, given?.encoding);
	const delimiter = given?.delimiter ?? guessDelimiter(sample.head);
	const rows = rowsOf(sample.head, delimiter);
	const width = usualWidth(rows.filter((row) => !isBlank(row)));
	const shape = given ?? headingsIn(rows, width);
	const { headingRow, firstRow } = shape;
	const named = headingRow === null ? null : rows[headingRow - 1];
	const headings = namedFields(named ?? new Array<string>(width).fill(''));
	const isUnits = headingRow !== null && firstRow > headingRow + 1;
	const isData = (row: string[]): boolean => !isBlank(row) && row.length === headings.length;
	const head = rows.slice(firstRow - 1).filter(isData);
	const later = sample.later.flatMap((piece) =>
		rowsOf(piece, delimiter).filter(isData).slice(0, PIECE_ROWS),
	);
	const { isWhole } = sample;
	return {
		bytes: sample.bytes,
		rows: isWhole
			? head.length
			: Math.max(0, Math.round(sample.bytes / sample.lineBytes) - (firstRow - 1)),
		head: sample.head.split(/\r\n|\n|\r/u, HEAD_LINES_SHOWN).map((line) => line.slice(0, 400)),
		headings,
		below: isUnits ? (rows[headingRow] ?? []) : [],
		data: [...head.slice(0, HEAD_ROWS), ...later],
		stamps: new Set(),
		form: { format: 'csv', encoding: sample.encoding, delimiter, headingRow, firstRow },
	};
}

async function parquetTable(path: string): Promise<Table> {
	const record = await openParquet(path);
	try {
		const all = new Set(record.headings.map((_, at) => at));
		const data: Field[][] = [];
		for await (const group of record.groups(all, HEAD_ROWS))
			for (let at = 0; at < group.count; at++) data.push(group.fields(at));
		return {
			bytes: 0,
			rows: record.rows,
			head: [],
			headings: namedFields(record.headings),
			below: [],
			data,
			stamps: record.stamps,
			form: { format: 'parquet', encoding: 'utf-8', delimiter: ',', headingRow: null, firstRow: 1 },
		};
	} finally {
		await record.close();
	}
}

const isNumber = (text: string): boolean =>
	/^[+-]?(\d+([.,]\d+)?|[.,]\d+)([eE][+-]?\d+)?$/u.test(text);
const isStamp = (text: string): boolean =>
	readStamp(text, 'iso') !== null ||
	readStamp(text, 'dmy') !== null ||
	readStamp(text, 'mdy') !== null;

/** Where the headings stand and the data begin: data rows hold figures and stamps, headings words. */
function headingsIn(
	rows: readonly (readonly string[])[],
	width: number,
): { headingRow: number | null; firstRow: number } {
	const isData = (row: readonly string[]): boolean => {
		const filled = row.filter((field) => field !== '');
		if (row.length !== width || filled.length === 0) return false;
		const read = filled.filter((field) => isNumber(field) || isStamp(field)).length;
		return filled.some(isStamp) || read >= filled.length / 2;
	};
	const first = rows.findIndex(isData);
	if (first <= 0)
		return { headingRow: first < 0 && rows.length > 0 ? 1 : null, firstRow: first < 0 ? 2 : 1 };
	const above = [first - 1, first - 2].filter(
		(at) => at >= 0 && rows[at]?.length === width && !isBlank(rows[at] ?? []),
	);
	const [near, far] = above;
	const units = (near === undefined ? [] : (rows[near] ?? [])).filter((field) => field !== '');
	const isUnits =
		far !== undefined &&
		units.filter((field) => findUnit(field.replace(/^[[(]|[\])]$/gu, '')) !== null).length >=
			units.length / 2;
	return {
		headingRow: near === undefined ? null : (isUnits ? far : near) + 1,
		firstRow: first + 1,
	};
}

interface Doubts {
	readonly time: string[];
	readonly fields: Map<number, string[]>;
}

function guessLayout(table: Table, zone: string, doubts: Doubts): LoggerLayout {
	const { headings, below, data, stamps, form } = table;
	const texts = headings.map((_, field) => data.map((row) => textOf(row[field])));
	const [typed] = stamps;
	const time =
		typed === undefined
			? guessTime(headings, texts)
			: { fields: [typed], format: 'epoch_ms' as const, hasZone: true, orderOpen: false };
	if (time?.orderOpen)
		doubts.time.push(
			'Day and month could be the other way round; nothing in the part looked at tells.',
		);
	if (time !== null && !time.hasZone)
		doubts.time.push(
			`The stamps carry no offset from UTC; the zone of the drive, ${zone}, is taken.`,
		);
	const free = headings.map((_, field) => field).filter((field) => !time?.fields.includes(field));
	const decimal = guessDecimal(free.flatMap((field) => texts[field] ?? []));
	const columns: LoggerLayout['columns'] = [];
	const missing = new Set<string>();
	const taken = new Set<string>();
	const offers = free
		.flatMap((field) =>
			matchesOf(headings[field] ?? '', below[field] ?? '').map((match) => ({ field, ...match })),
		)
		.filter((offer) => offer.likeness >= LEAST_LIKENESS)
		.sort((a, b) => b.likeness - a.likeness);
	const used = new Set<number>();
	for (const { field, target, unit, likeness } of offers) {
		if (used.has(field) || taken.has(target.id)) continue;
		used.add(field);
		taken.add(target.id);
		if (likeness < 0.7)
			doubt(doubts, field, `Taken for ${target.name} by its heading; look whether it is.`);
		if (target.id === 'mode') {
			columns.push({ field, to: 'mode', unit: null });
			continue;
		}
		const plain = new NumberField(target, target.keptIn, decimal);
		const figures: number[] = [];
		for (const text of texts[field] ?? []) {
			if (MISSING_WORDS.test(text)) missing.add(text.toLowerCase());
			const figure = Number(decimal === ',' ? text.replace(',', '.') : text);
			if (text !== '' && Number.isFinite(figure)) figures.push(figure);
		}
		const told = unit === null ? unitByFigures(target, figures) : { unit, doubt: null };
		if (told.doubt !== null) doubt(doubts, field, `Unit: ${told.doubt}.`);
		columns.push({ field, to: plain.target.id, unit: told.unit });
	}
	columns.sort((a, b) => a.field - b.field);
	const base: LoggerLayout = {
		...form,
		decimal,
		headings,
		time: {
			fields: [...(time?.fields ?? [0])],
			format: time?.format ?? 'iso',
			zone: time === null || time.hasZone ? 'stamps' : zone,
		},
		columns,
		modeWords: [],
		modeRules: [],
		missingWords: [...missing],
	};
	const modeField = columns.find((column) => column.to === 'mode')?.field;
	if (modeField === undefined)
		return { ...base, modeRules: suggestionFor(base, table).rules.map(copyRule) };
	const words = [...new Set(texts[modeField])].filter((word) => word !== '');
	return {
		...base,
		modeWords: words.flatMap((text) => {
			const mode = modeOfWord(text);
			return mode === null || text === mode ? [] : [{ text, mode }];
		}),
	};
}

const copyRule = (rule: ModeRule): LoggerLayout['modeRules'][number] => ({
	...rule,
	when: rule.when.map((condition) => ({ ...condition })),
});

function doubt({ fields }: Doubts, field: number, words: string): void {
	fields.set(field, [...(fields.get(field) ?? []), words]);
}

const textOf = (field: Field | undefined): string =>
	field === null || field === undefined ? '' : String(field).trim();

function guessDecimal(texts: readonly string[]): LoggerLayout['decimal'] {
	let commas = 0;
	let dots = 0;
	for (const text of texts) {
		if (/^[+-]?\d+,\d+$/u.test(text)) commas++;
		else if (/^[+-]?\d+\.\d+$/u.test(text)) dots++;
	}
	return commas > dots ? ',' : '.';
}

/** Rules that fit the signals of a layout, with the limits of forces from the figures looked at. */
function suggestionFor(layout: LoggerLayout, table: Table) {
	const present: ModeSignal[] = [];
	const ranges: Partial<Record<ModeSignal, NonNullable<ReturnType<typeof signalRange>>>> = {};
	const fieldAt = fieldsOf(layout, table.headings);
	for (const { field, to, unit } of layout.columns) {
		const target = findTarget(to);
		const flow = FLOW_SIGNALS[to as keyof typeof FLOW_SIGNALS];
		if (flow !== undefined) present.push(flow);
		if (target?.signal === undefined || target.signal === null) continue;
		present.push(target.signal);
		const at = fieldAt(field);
		const reader = numberField(target, unit, layout.decimal);
		if (at === null || reader === null) continue;
		const values = table.data.map((row) => valueIn(reader, row[at], layout) ?? Number.NaN);
		const range = signalRange(Float64Array.from(values));
		if (range !== null) ranges[target.signal] = range;
	}
	return suggestModeRules(present, ranges);
}

function numberField(
	target: Target,
	unit: string | null,
	decimal: LoggerLayout['decimal'],
): NumberField | null {
	try {
		return new NumberField(target, unit, decimal);
	} catch {
		return null;
	}
}

/** null: missing or not readable. */
function valueIn(
	reader: NumberField,
	field: Field | undefined,
	layout: LoggerLayout,
): number | null {
	if (field === null || field === undefined) return null;
	const text = textOf(field);
	if (text === '' || layout.missingWords?.includes(text.toLowerCase())) return null;
	const read =
		typeof field === 'string' ? reader.read(text) : reader.kept(Number(field), text, null);
	return 'fault' in read ? null : read.value;
}

function describe(file: string, table: Table, layout: LoggerLayout, doubts: Doubts): Look {
	const fieldAt = fieldsOf(layout, table.headings);
	const placed = new Map(
		layout.columns.flatMap((column) => {
			const at = fieldAt(column.field);
			return at === null ? [] : [[at, column] as const];
		}),
	);
	const timeAt = layout.time.fields.map(fieldAt);
	const faults = new FaultList(FAULTS_SHOWN);
	const zoneKnown = layout.time.zone === 'stamps' || isZone(layout.time.zone);
	let unusable: readonly Fault[] = [];
	if (zoneKnown) {
		const reader = new RowReader({
			file,
			layout,
			headings: table.headings,
			faults,
			take: () => {},
		});
		unusable = reader.unusable;
		if (unusable.length === 0) {
			for (const [at, row] of table.data.entries()) reader.row(row, layout.firstRow + at);
			reader.end();
		}
	}
	const time = timeOf(table, layout, timeAt, zoneKnown, doubts.time);
	const modeAt = [...placed].find(([, column]) => column.to === 'mode')?.[0];
	const suggestion = suggestionFor(layout, table);
	return {
		bytes: table.bytes,
		rows: table.rows,
		layout,
		head: table.head,
		rowsLookedAt: table.data.length,
		fields: table.headings.map((heading, at) =>
			fieldLook(table, layout, heading, at, placed.get(at), doubts.fields.get(at) ?? []),
		),
		time,
		targets: TARGETS.map((target) => ({
			id: target.id,
			heading: target.name,
			units: target.units.map((id) => ({ id, label: isUnitId(id) ? unitOf(id).label : id })),
		})),
		zones: ['stamps', 'UTC', ...Intl.supportedValuesOf('timeZone')],
		modes: {
			from: modeAt !== undefined ? 'field' : layout.modeRules.length > 0 ? 'rules' : 'nothing',
			words: modeAt === undefined ? [] : wordsOf(table, layout, modeAt),
			rules: [...layout.modeRules]
				.sort((a, b) => b.priority - a.priority)
				.map((rule) => ({ id: rule.id, text: modeRuleText(rule as ModeRule) })),
			optional: [...suggestion.rules, ...suggestion.optional]
				.filter(({ id }) => !layout.modeRules.some((rule) => rule.id === id))
				.map((rule) => ({ rule: copyRule(rule), text: modeRuleText(rule) })),
			cannotTell: modeAt === undefined ? suggestion.cannotTell.map((one) => ({ ...one })) : [],
		},
		faults: faults.listed.map((fault) => ({ ...fault, where: { ...fault.where } })),
		notYet: notYet(layout, zoneKnown, unusable, time),
	};
}

function notYet(
	layout: LoggerLayout,
	zoneKnown: boolean,
	unusable: readonly Fault[],
	time: Look['time'],
): string | null {
	if (!zoneKnown) return `The time zone ${layout.time.zone} is not known here.`;
	const [first] = unusable;
	if (first !== undefined) return first.message;
	if (time.read === 0)
		return 'No time could be read: say which field has it and how it is written.';
	if (
		!layout.columns.some((column) => column.to !== 'mode' && !column.to.startsWith(SIGNAL_PREFIX))
	)
		return 'No field is read as a figure of the circuit: say what the fields are.';
	return null;
}

function timeOf(
	table: Table,
	layout: LoggerLayout,
	at: readonly (number | null)[],
	zoneKnown: boolean,
	doubts: readonly string[],
): Look['time'] {
	const texts = table.data.map((row) =>
		at.map((field) => (field === null ? '' : textOf(row[field]))).join(' '),
	);
	const reader = zoneKnown ? new StampReader(layout.time) : null;
	let last_s = Number.NEGATIVE_INFINITY;
	const read: (number | null)[] = [];
	for (const text of texts) {
		const time_s = reader?.read(text, last_s) ?? Number.NaN;
		if (!Number.isNaN(time_s)) last_s = time_s;
		read.push(Number.isNaN(time_s) ? null : time_s);
	}
	const known = read.filter((time_s) => time_s !== null);
	const steps = known
		.slice(1)
		.map((time_s, i) => time_s - known[i]!)
		.filter((step) => step > 0)
		.sort((a, b) => a - b);
	const more = [...doubts];
	if (known.length < texts.length * SOUND_SHARE)
		more.push(`${texts.length - known.length} of ${texts.length} stamps looked at cannot be read.`);
	if (steps.length < (known.length - 1) * SOUND_SHARE)
		more.push('Not every stamp is later than the one before.');
	return {
		texts: texts
			.slice(0, ROWS_SHOWN)
			.map((text) =>
				table.stamps.size > 0 && /^\d+$/u.test(text) ? isoTime(Number(text) / 1000, 0) : text,
			),
		parsed: read.slice(0, ROWS_SHOWN),
		read: known.length,
		first_s: known.length === 0 ? null : Math.min(...known),
		last_s: known.length === 0 ? null : Math.max(...known),
		step_s: steps[steps.length >> 1] ?? null,
		doubts: more,
	};
}

function wordsOf(table: Table, layout: LoggerLayout, at: number): Look['modes']['words'] {
	const counts = new Map<string, number>();
	for (const row of table.data) {
		const text = textOf(row[at]);
		if (text !== '') counts.set(text, (counts.get(text) ?? 0) + 1);
	}
	return [...counts].slice(0, 50).map(([text, count]) => ({
		text,
		count,
		mode:
			layout.modeWords.find((word) => word.text === text)?.mode ??
			MODES.find((mode) => mode === text.toLowerCase()) ??
			null,
	}));
}

function fieldLook(
	table: Table,
	layout: LoggerLayout,
	heading: string,
	at: number,
	column: LoggerLayout['columns'][number] | undefined,
	known: readonly string[],
): PreviewField {
	const shown = table.data.slice(0, ROWS_SHOWN).map((row) => textOf(row[at]));
	const doubts = [...known];
	const target = column === undefined ? null : findTarget(column.to);
	const look: PreviewField = {
		field: at,
		heading,
		unitRead: headingParts(heading, table.below[at] ?? '').unit,
		texts: shown,
		parsed: shown.map(() => null),
		filled: table.data.filter((row) => textOf(row[at]) !== '').length,
		read: 0,
		min: null,
		max: null,
		doubts,
	};
	if (target === null) return look;
	if (target.id === 'mode') {
		const words = wordsOf(table, layout, at);
		const mode = new Map(words.map((word) => [word.text, word.mode]));
		const unknown = words.filter((word) => word.mode === null);
		if (unknown.length > 0)
			doubts.push(`No mode is said for ${unknown.map((word) => `"${word.text}"`).join(', ')}.`);
		return {
			...look,
			parsed: shown.map((text) => mode.get(text) ?? null),
			read: words.reduce((sum, word) => sum + (word.mode === null ? 0 : word.count), 0),
		};
	}
	const reader = numberField(target, column?.unit ?? null, layout.decimal);
	if (reader === null) {
		doubts.push(`${target.name} is not read from ${column?.unit ?? 'no unit'}.`);
		return look;
	}
	const values = table.data.map((row) => valueIn(reader, row[at], layout));
	const numbers = values.filter((value) => value !== null);
	const absent = layout.missingWords ?? [];
	const due = table.data.filter((row) => {
		const text = textOf(row[at]);
		return text !== '' && !absent.includes(text.toLowerCase());
	}).length;
	if (numbers.length < due * SOUND_SHARE)
		doubts.push(`${due - numbers.length} of ${due} fields looked at cannot be read.`);
	const odd = numbers.filter(
		(value) => value !== 0 && (value < target.plausibleMin || value > target.plausibleMax),
	).length;
	if (odd > numbers.length * (1 - SOUND_SHARE))
		doubts.push(
			`${odd} of ${numbers.length} figures are outside what is plausible, ${target.plausibleMin} to ${target.plausibleMax} ${target.keptIn ?? ''}.`.trim(),
		);
	return {
		...look,
		parsed: values.slice(0, ROWS_SHOWN),
		read: numbers.length,
		min: numbers.length === 0 ? null : Math.min(...numbers),
		max: numbers.length === 0 ? null : Math.max(...numbers),
	};
}
