import { MODE_MISSING, MODES } from '../../../calc/circuit/samples.ts';
import { type Fault, noteFault, stopFault } from '../../../calc/fault/fault.ts';
import type { LoggerLayout } from '../../contract/loggerimport.ts';
import type { FaultList } from '../../folder/faultlist.ts';
import { BATCH_ROWS, type LoggerBatch, NUMBER_COLUMNS } from '../batch.ts';
import { NumberField } from './fields.ts';
import { StampReader } from './stamp.ts';
import { findTarget } from './target.ts';

/** A field as a file gives it: text of a CSV, or a value of a Parquet column. */
export type Field = string | number | boolean | null;

interface NumberPlace {
	readonly at: number;
	readonly slot: number;
	readonly field: NumberField;
	/** Decimals are kept with columns of the series, not with signals. */
	readonly isSignal: boolean;
}

/** A batch with the signals its modes are told from, in SI, by name. */
export interface LaidOutBatch extends LoggerBatch {
	readonly signals: ReadonlyMap<string, Float64Array>;
}

export interface RowReaderOptions {
	readonly file: string;
	readonly layout: LoggerLayout;
	/** Headings of the file, in order of its fields. */
	readonly headings: readonly string[];
	readonly faults: FaultList;
	readonly take: (batch: LaidOutBatch) => void;
	readonly after_s?: number;
}

/**
 * Reads rows of fields by a layout into column batches, by the same rules as the reader of the plain
 * dialect: a field that cannot be read or lies outside the bounds of its column is missing and a stop
 * fault; a row without a readable time, or not later than every row before, is left out, a stop fault.
 */
export class RowReader {
	readonly #file: string;
	readonly #faults: FaultList;
	readonly #take: (batch: LaidOutBatch) => void;
	readonly #stamps: StampReader;
	readonly #timeAt: readonly number[];
	readonly #zone: string;
	readonly #modeAt: number;
	readonly #modeWords = new Map<string, number>();
	readonly #missing: ReadonlySet<string>;
	readonly #places: NumberPlace[] = [];
	readonly #ids: string[] = [];
	readonly #signalIds: string[] = [];
	readonly #fields: number;
	/** Why the file cannot be read by the layout; empty if it can. */
	readonly unusable: readonly Fault[];
	#latest_s: number;
	#rows = 0;
	#repeated = 0;
	#repeatedFrom = 0;
	#count = 0;
	#time = new Float64Array(BATCH_ROWS);
	#mode = new Uint8Array(BATCH_ROWS);
	#columns: Float64Array[] = [];
	#signals: Float64Array[] = [];
	#decimals: (number | null)[] = [];

	constructor({ file, layout, headings, faults, take, after_s }: RowReaderOptions) {
		this.#file = file;
		this.#faults = faults;
		this.#take = take;
		this.#latest_s = after_s ?? Number.NEGATIVE_INFINITY;
		this.#zone = layout.time.zone;
		this.#fields = headings.length;
		this.#missing = new Set((layout.missingWords ?? []).map((word) => word.toLowerCase()));
		const problems: Fault[] = [];
		const fieldAt = fieldsOf(layout, headings);
		const placeOf = (field: number): number => {
			const at = fieldAt(field);
			if (at === null)
				problems.push(
					stopFault('heading_missing', 'A column the layout reads is not in the file.', {
						file,
						column: layout.headings?.[field] ?? `field ${field + 1}`,
						expected: 'the columns of the layout',
					}),
				);
			return at ?? -1;
		};
		this.#stamps = new StampReader(layout.time);
		this.#timeAt = layout.time.fields.map(placeOf);
		let modeAt = -1;
		const wanted = new Map<string, { at: number; unit: string | null }>();
		for (const { field, to, unit } of layout.columns) {
			const at = placeOf(field);
			if (to === 'mode') modeAt = at;
			else if (wanted.has(to))
				problems.push(
					stopFault('target_twice', `Two columns are read as ${to}.`, { file, column: to }),
				);
			else wanted.set(to, { at, unit });
		}
		// In the order of the series, whatever the order of the layout: the same record, the same bytes.
		const order = [
			...NUMBER_COLUMNS,
			...[...wanted.keys()].filter((id) => id.startsWith('signal:')),
		];
		for (const id of order) {
			const place = wanted.get(id);
			const target = findTarget(id);
			if (place === undefined || target === null) continue;
			const isSignal = target.signal !== null;
			const ids = isSignal ? this.#signalIds : this.#ids;
			try {
				const field = new NumberField(target, place.unit, layout.decimal);
				this.#places.push({ at: place.at, slot: ids.length, field, isSignal });
				ids.push(target.signal ?? id);
			} catch {
				problems.push(
					stopFault(
						'unit_unknown',
						`${target.name} cannot be read from ${place.unit ?? 'no unit'}.`,
						{
							file,
							column: id,
							expected: target.units.join(', '),
						},
					),
				);
			}
		}
		for (const id of wanted.keys())
			if (findTarget(id) === null)
				problems.push(
					stopFault('target_unknown', `There is no column ${id}.`, { file, column: id }),
				);
		this.#modeAt = modeAt;
		for (const [at, mode] of MODES.entries()) this.#modeWords.set(mode, at);
		for (const { text, mode } of layout.modeWords) this.#modeWords.set(text, MODES.indexOf(mode));
		this.unusable = problems;
		this.#open();
	}

	/** Fields the layout looks at. */
	get wanted(): ReadonlySet<number> {
		const places = this.#places.map((place) => place.at);
		return new Set([...this.#timeAt, this.#modeAt, ...places].filter((at) => at >= 0));
	}
	get rows(): number {
		return this.#rows + this.#count;
	}
	get latest_s(): number {
		return this.#latest_s;
	}

	/** Takes the next row. `line`: its place in the file, for faults. */
	row(fields: readonly Field[], line: number): void {
		const at = this.#count;
		if (fields.length !== this.#fields) {
			this.#faults.count('fields_number', 'stop', () =>
				stopFault('fields_number', `The row has ${fields.length} fields.`, {
					file: this.#file,
					row: line,
					value: fields.join(' | ').slice(0, 80),
					expected: `${this.#fields} fields as in the headings`,
				}),
			);
			return;
		}
		const time_s = this.#stamp(fields, line);
		if (Number.isNaN(time_s)) return;
		if (!(time_s > this.#latest_s)) {
			this.#notLater(fields, line, time_s);
			return;
		}
		this.#latest_s = time_s;
		this.#time[at] = time_s;
		this.#mode[at] = this.#modeAt < 0 ? MODE_MISSING : this.#modeOf(fields[this.#modeAt], line);
		for (const place of this.#places) this.#number(place, fields[place.at] ?? null, at, line);
		this.#count++;
		if (this.#count === BATCH_ROWS) this.#flush();
	}

	end(): void {
		this.#flush();
		if (this.#repeated > 0)
			this.#faults.add(
				noteFault(
					'hour_repeated',
					`The clock of ${this.#zone} showed ${this.#repeated} of these times twice. They are taken for the first showing as long as the record goes forward, then for the second.`,
					{ file: this.#file, row: this.#repeatedFrom },
				),
			);
	}

	#textOf(field: Field | undefined): string {
		return field === null || field === undefined ? '' : String(field).trim();
	}

	#isMissing(text: string): boolean {
		return text === '' || (this.#missing.size > 0 && this.#missing.has(text.toLowerCase()));
	}

	#stamp(fields: readonly Field[], line: number): number {
		const text = this.#timeAt.map((at) => this.#textOf(fields[at])).join(' ');
		const time_s = this.#stamps.read(text, this.#latest_s);
		const { reading } = this.#stamps;
		if (reading === 'repeated') {
			if (this.#repeated === 0) this.#repeatedFrom = line;
			this.#repeated++;
		}
		if (Number.isNaN(time_s))
			this.#faults.count(reading === 'missing' ? 'hour_missing' : 'time_text', 'stop', () =>
				reading === 'missing'
					? stopFault('hour_missing', `The clock of ${this.#zone} never showed this time.`, {
							file: this.#file,
							row: line,
							column: 'time',
							value: text.slice(0, 80),
							expected: 'another time zone, or a fixed offset',
						})
					: stopFault('time_text', 'This is not a time as the layout says it is written.', {
							file: this.#file,
							row: line,
							column: 'time',
							value: text.slice(0, 80),
							expected:
								this.#zone === 'stamps' ? 'a stamp with its offset' : 'a stamp of that form',
						}),
			);
		return time_s;
	}

	#notLater(fields: readonly Field[], line: number, time_s: number): void {
		const twice = time_s === this.#latest_s;
		const code = twice ? 'stamp_twice' : 'stamp_out_of_order';
		this.#faults.count(code, 'stop', () =>
			stopFault(
				code,
				twice ? 'There is a row with this time before.' : 'This row stands after a later one.',
				{
					file: this.#file,
					row: line,
					column: 'time',
					value: fields.join(' | ').slice(0, 80),
					expected: 'times that ascend from row to row',
				},
			),
		);
	}

	#modeOf(field: Field | undefined, line: number): number {
		const text = this.#textOf(field);
		if (this.#isMissing(text)) return MODE_MISSING;
		const index = this.#modeWords.get(text) ?? this.#modeWords.get(text.toLowerCase());
		if (index !== undefined) return index;
		this.#faults.count('choice_unknown', 'stop', () =>
			stopFault('choice_unknown', 'This word is no mode of the profile.', {
				file: this.#file,
				row: line,
				column: 'mode',
				value: text.slice(0, 80),
				expected: [...this.#modeWords.keys()].join(', ').slice(0, 200),
			}),
		);
		return MODE_MISSING;
	}

	#number(place: NumberPlace, given: Field, at: number, line: number): void {
		const { slot, field, isSignal } = place;
		const column = (isSignal ? this.#signals : this.#columns)[slot]!;
		column[at] = Number.NaN;
		if (given === null || (typeof given === 'number' && Number.isNaN(given))) return;
		const read =
			typeof given === 'string'
				? this.#isMissing(given.trim())
					? null
					: field.read(given.trim())
				: field.kept(Number(given), String(given), null);
		if (read === null) return;
		if ('fault' in read) {
			const { fault } = read;
			this.#faults.count(fault.code, fault.weight, () => ({
				...fault,
				where: { ...fault.where, file: this.#file, row: line, column: field.target.id },
			}));
			return;
		}
		column[at] = read.value;
		if (isSignal) return;
		const most = this.#decimals[slot]!;
		this.#decimals[slot] =
			most === null || read.decimals === null ? null : Math.max(most, read.decimals);
	}

	#open(): void {
		this.#count = 0;
		this.#time = new Float64Array(BATCH_ROWS);
		this.#mode = new Uint8Array(BATCH_ROWS);
		const block = new Float64Array(BATCH_ROWS * this.#ids.length);
		this.#columns = this.#ids.map((_, slot) =>
			block.subarray(slot * BATCH_ROWS, (slot + 1) * BATCH_ROWS),
		);
		this.#signals = this.#signalIds.map(() => new Float64Array(BATCH_ROWS));
		this.#decimals = this.#ids.map(() => 0);
	}

	#flush(): void {
		const count = this.#count;
		if (count === 0) return;
		this.#rows += count;
		const batch: LaidOutBatch = {
			count,
			time_s: this.#time,
			mode: this.#mode,
			numbers: this.#ids.map((id, slot) => ({
				id,
				values: this.#columns[slot]!,
				decimals: this.#decimals[slot]!,
			})),
			signals: new Map(this.#signalIds.map((id, slot) => [id, this.#signals[slot]!])),
		};
		this.#open();
		this.#take(batch);
	}
}

/**
 * Where each field of a layout stands in a file: by heading where the layout knows its headings, so
 * that columns may come in another order; else by number. null where the file has no such field.
 */
export function fieldsOf(
	{ headings: known }: LoggerLayout,
	headings: readonly string[],
): (field: number) => number | null {
	return (field) => {
		const heading = known?.[field];
		if (heading === undefined) return field < headings.length ? field : null;
		if (headings[field] === heading) return field;
		const at = headings.indexOf(heading);
		return at < 0 ? null : at;
	};
}
