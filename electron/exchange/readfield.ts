import { type Fault, stopFault } from '../../calc/fault/fault.ts';
import { convert } from '../../calc/quantity/convert.ts';
import { parseNumber } from '../../calc/quantity/parse.ts';
import type { UnitId } from '../../calc/quantity/unit.ts';
import { type CellMarks, checkValue, readCell } from '../../calc/sheet/cell.ts';
import type { CellValue, Column } from '../../calc/sheet/column.ts';
import { unguardText } from '../../calc/sheet/formulaguard.ts';
import { modeOfWord } from '../logger/layout/fields.ts';
import { readStamp } from '../logger/layout/stamp.ts';
import { timeOfClock } from './daynumber.ts';
import { fieldText, isClock, type SourceField } from './sourcetable.ts';

/** How the fields of a file that fill one column are read. */
export interface FieldReading {
	readonly column: Column;
	/** Unit of the figures in the file; null where the column has none. */
	readonly unit: UnitId | null;
	readonly decimal: CellMarks['decimal'];
	/** How dates that are text are written. */
	readonly dates: 'iso' | 'dmy' | 'mdy';
	/** Of times that bear none, minutes east of UTC. */
	readonly utcOffset_min: number;
	/** Texts were guarded against being run as formulas. */
	readonly guarded: boolean;
}

export interface ReadField {
	readonly value: CellValue;
	/** They know their column and value, not yet file and row. */
	readonly faults: readonly Fault[];
}

/** A field of a file as the cell it stands for, in the unit of its column. */
export function readField(field: SourceField, how: FieldReading): ReadField {
	const { column } = how;
	if (isClock(field) && column.type === 'time')
		return checked(column, timeOfClock(field.clock_ms, how.utcOffset_min), field);
	if (typeof field === 'number' && (column.type === 'number' || column.type === 'integer'))
		return checked(column, inColumnUnit(field, how), field);
	if (typeof field === 'number' && column.type === 'time')
		return refused(column, field, 'time_number', 'This is a number, not a date and time.');
	if (typeof field !== 'string' && column.type !== 'text' && column.type !== 'choice')
		return refused(column, field, 'field_kind', 'This is not what the column holds.');
	return readText(fieldText(field), how);
}

function readText(text: string, how: FieldReading): ReadField {
	const { column } = how;
	if (column.type === 'time' && how.dates !== 'iso') {
		const stamp = readStamp(text.trim(), how.dates);
		// A date with the year first means one day, whatever the others are like.
		if (stamp !== null) {
			const offset_min = stamp.offset_s === null ? how.utcOffset_min : stamp.offset_s / 60;
			return checked(column, timeOfClock(stamp.local_s * 1000, offset_min), text);
		}
	}
	if (column.type === 'text' && how.guarded) return readAsCell(unguardText(text), text, how);
	if (column.type === 'number' && how.unit !== column.unit) {
		const parsed = parseNumber(text, how);
		// A figure that names its own unit is taken at its word.
		if (parsed.kind === 'number' && parsed.unit === null)
			return checked(column, inColumnUnit(parsed.value, how), text);
	}
	const read = readAsCell(text, text, how);
	if (column.id !== 'mode' || !read.faults.some(({ code }) => code === 'choice_unknown'))
		return read;
	const mode = modeOfWord(text);
	return mode === null ? read : { value: mode, faults: [] };
}

function readAsCell(text: string, written: string, how: FieldReading): ReadField {
	const { column } = how;
	const read = readCell(column, text, how);
	if (read.kind === 'value') {
		const { value, notes } = read;
		// To the millisecond, as times go out: an offset taken off leaves crumbs beyond it.
		const isTime = column.type === 'time' && typeof value === 'number';
		return { value: isTime ? Math.round(value * 1000) / 1000 : value, faults: notes };
	}
	if (read.kind === 'fault') return { value: null, faults: [read.fault] };
	return {
		value: null,
		faults: [
			stopFault('number_ambiguous', 'This can be read as more than one number.', {
				column: column.id,
				value: written,
				expected: read.readAs.map((reading) => reading.text).join(' or '),
			}),
		],
	};
}

function inColumnUnit(value: number, { column, unit }: FieldReading): number {
	const told = unit === null || column.unit === null ? value : convert(value, unit, column.unit);
	return told === 0 ? 0 : told;
}

function checked(column: Column, value: number, field: SourceField): ReadField {
	const faults = checkValue(column, value).map((fault) => ({
		...fault,
		where: { ...fault.where, value: fieldText(field) },
	}));
	const stopped = faults.some(({ weight }) => weight === 'stop');
	return { value: stopped ? null : value, faults };
}

function refused(column: Column, field: SourceField, code: string, message: string): ReadField {
	const expected =
		column.type === 'time'
			? 'a cell that is a date and time, or a text such as 2026-03-01T06:30:00+01:00'
			: 'a number';
	return {
		value: null,
		faults: [
			stopFault(code, message, {
				column: column.id,
				value: fieldText(field).slice(0, 80),
				expected,
			}),
		],
	};
}
