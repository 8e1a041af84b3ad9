import {
	MODE_SIGNAL_LABELS,
	MODE_SIGNALS,
	type ModeSignal,
} from '../../../calc/circuit/moderules.ts';
import { STOPPED_NOISE_M3_S } from '../../../calc/circuit/series.ts';
import { convert } from '../../../calc/quantity/convert.ts';
import { findUnit, isUnitId, UNITS, unit } from '../../../calc/quantity/unit.ts';
import { columnsOf } from '../../../calc/sheet/catalogue.ts';
import type { Column } from '../../../calc/sheet/column.ts';
import { NUMBER_COLUMNS } from '../batch.ts';

/** What a field of a record file can be read as. */
export interface Target {
	/** `mode`, a number column of readings, or `signal:` and a signal. */
	readonly id: string;
	readonly name: string;
	/** null for a signal, which is looked at and not kept. */
	readonly column: Column | null;
	readonly signal: ModeSignal | null;
	/** Unit it is kept in; null where there is none. */
	readonly keptIn: string | null;
	/** Units it can be read from, the usual ones of its kind first. */
	readonly units: readonly string[];
	/** Bounds of the kept figure. */
	readonly min: number;
	readonly max: number;
	readonly plausibleMin: number;
	readonly plausibleMax: number;
}

export const SIGNAL_PREFIX = 'signal:';

/** Units of signals beyond the table of units, as factors into SI. */
const FORCE_UNITS: Readonly<Record<string, number>> = { N: 1, kN: 1e3, MN: 1e6 };
const TORQUE_UNITS: Readonly<Record<string, number>> = { Nm: 1, kNm: 1e3, MNm: 1e6 };
const SIGNAL_UNITS: Readonly<Record<ModeSignal, readonly string[]>> = {
	bypassValve_1: ['%', '1'],
	chamberValve_1: ['%', '1'],
	flushValve_1: ['%', '1'],
	flowDirection_1: ['1'],
	stroke_m: ['mm', 'cm', 'm'],
	thrust_N: Object.keys(FORCE_UNITS),
	torque_N_m: Object.keys(TORQUE_UNITS),
	feedFlow_m3_s: [],
	returnFlow_m3_s: [],
};

/** Signals that come with the flows of the readings and are not mapped by themselves. */
export const FLOW_SIGNALS = {
	feed_flow_m3_h: 'feedFlow_m3_s',
	return_flow_m3_h: 'returnFlow_m3_s',
} as const satisfies Record<string, ModeSignal>;

const unbounded = {
	min: Number.NEGATIVE_INFINITY,
	max: Number.POSITIVE_INFINITY,
	plausibleMin: Number.NEGATIVE_INFINITY,
	plausibleMax: Number.POSITIVE_INFINITY,
};

const COLUMN_TARGETS = columnsOf('readings')
	.filter(
		(column) => column.id === 'mode' || (NUMBER_COLUMNS as readonly string[]).includes(column.id),
	)
	.map((column): Target => {
		const own = column.unit === null ? null : unit(column.unit);
		return {
			id: column.id,
			name: column.heading.toLowerCase(),
			column,
			signal: null,
			keptIn: column.unit,
			units:
				own === null
					? []
					: [
							own.id,
							...UNITS.filter((each) => each.dimension === own.dimension && each.id !== own.id).map(
								(each) => each.id,
							),
						],
			min: column.id.endsWith('_flow_m3_h')
				? -STOPPED_NOISE_M3_S * 3600
				: (column.min ?? Number.NEGATIVE_INFINITY),
			max: column.max ?? Number.POSITIVE_INFINITY,
			plausibleMin: column.plausibleMin ?? column.min ?? Number.NEGATIVE_INFINITY,
			plausibleMax: column.plausibleMax ?? column.max ?? Number.POSITIVE_INFINITY,
		};
	});

const SIGNAL_TARGETS = MODE_SIGNALS.filter((signal) => SIGNAL_UNITS[signal].length > 0).map(
	(signal): Target => ({
		id: `${SIGNAL_PREFIX}${signal}`,
		name: MODE_SIGNAL_LABELS[signal].name,
		column: null,
		signal,
		keptIn: SIGNAL_UNITS[signal][0] ?? null,
		units: SIGNAL_UNITS[signal],
		...unbounded,
	}),
);

export const TARGETS: readonly Target[] = [...COLUMN_TARGETS, ...SIGNAL_TARGETS];

export function findTarget(id: string): Target | null {
	return TARGETS.find((target) => target.id === id) ?? null;
}

/**
 * The function from a file's figure to the kept one: the unit of the column for a reading, SI for a
 * signal. null if the unit is none of the target's.
 */
export function reading(target: Target, from: string | null): ((value: number) => number) | null {
	if (target.signal !== null) {
		const name = from ?? target.keptIn ?? '';
		if (!target.units.includes(name)) return null;
		const factor = FORCE_UNITS[name] ?? TORQUE_UNITS[name];
		if (factor !== undefined) return (value) => value * factor;
		return isUnitId(name)
			? (value) => convert(value, name, target.signal === 'stroke_m' ? 'm' : '1')
			: null;
	}
	const own = target.column?.unit ?? null;
	if (own === null) return from === null ? (value) => value : null;
	if (from === null || from === own) return (value) => value;
	if (!isUnitId(from) || !target.units.includes(from)) return null;
	return (value) => convert(value, from, own);
}

/** A unit as a heading writes it, in the spelling the target lists; null if it is none of the target's. */
export function unitIn(target: Target, text: string): string | null {
	if (target.units.includes(text)) return text;
	const lower = text.toLowerCase();
	const own = target.units.find((each) => each.toLowerCase() === lower);
	if (own !== undefined) return own;
	const found = findUnit(text);
	return found !== null && target.units.includes(found.id) ? found.id : null;
}
