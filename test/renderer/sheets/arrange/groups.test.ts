import { describe, expect, it } from 'vitest';
import { parseTime } from '../../../../calc/quantity/time.ts';
import { columnsOf } from '../../../../calc/sheet/catalogue.ts';
import type { SheetRow } from '../../../../calc/sheet/column.ts';
import { THREE_SHIFTS } from '../../../../calc/sheet/shift.ts';
import { COLUMN_GROUPS, columnGroup } from '../../../../renderer/sheets/arrange/columngroups.ts';
import { filterWords } from '../../../../renderer/sheets/arrange/filterwords.ts';
import { groupKeys } from '../../../../renderer/sheets/arrange/groups.ts';
import { markOf } from '../../../../renderer/sheets/arrange/rowmark.ts';

const OFFSET_MIN = 120;
function at(text: string): number {
	const time = parseTime(text, { utcOffset_min: OFFSET_MIN });
	if (time.kind !== 'time') throw new Error(text);
	return time.time_s;
}
const row = (id: number, cells: SheetRow['cells']): SheetRow => ({ id, cells });
const RINGS = [
	row(2, { ring: 12, advance_start: at('2026-05-04 13:40') }),
	row(1, { ring: 11, advance_start: at('2026-05-04 05:10') }),
];
const GROUND = [
	row(1, { from_ring: 1, to_ring: 11, stratum: 'gravel', face_fraction: 0.4 }),
	row(2, { from_ring: 1, to_ring: 11, stratum: 'clay', face_fraction: 0.6 }),
	row(3, { from_ring: 12, to_ring: 20, stratum: 'gravel', face_fraction: 1 }),
];
const around = (sheet: 'readings' | 'ledger') => ({
	sheet,
	rings: RINGS,
	ground: GROUND,
	shifts_min: THREE_SHIFTS,
	utcOffset_min: OFFSET_MIN,
});
const reading = (time: string) => row(9, { time: at(time) });

describe('groups of rows', () => {
	it('are shifts by the clock of the drive; the one over midnight is of the day it began', () => {
		const keyOf = groupKeys('shift', around('readings'));
		expect(keyOf(reading('2026-05-04 06:00')).title).toBe('2026-05-04 06:00–14:00');
		expect(keyOf(reading('2026-05-04 13:59')).title).toBe('2026-05-04 06:00–14:00');
		expect(keyOf(reading('2026-05-04 14:00')).title).toBe('2026-05-04 14:00–22:00');
		expect(keyOf(reading('2026-05-05 03:00')).title).toBe('2026-05-04 22:00–06:00');
		expect(keyOf(row(1, {})).title).toBe('Without a time');
	});

	it('are rings: the last one whose advance had begun', () => {
		const keyOf = groupKeys('ring', around('readings'));
		expect(keyOf(reading('2026-05-04 05:00')).title).toBe('Before the first ring');
		expect(keyOf(reading('2026-05-04 05:10')).title).toBe('Ring 11');
		expect(keyOf(reading('2026-05-04 13:39')).title).toBe('Ring 11');
		expect(keyOf(reading('2026-05-04 13:40')).title).toBe('Ring 12');
	});

	it('are strata: the one with the largest share of the face', () => {
		const keyOf = groupKeys('stratum', around('ledger'));
		expect(keyOf(row(1, { ring: 11 })).title).toBe('clay');
		expect(keyOf(row(1, { ring: 12 })).title).toBe('gravel');
		expect(keyOf(row(1, { ring: 40 })).title).toBe('Ground not entered');
	});
});

describe('the mark of a row', () => {
	const has = (id: string) => id !== 'hidden_m3';
	it('tells a blank figure before a note, and nothing of columns that are not there', () => {
		expect(markOf({ id: 1, cells: { a: 1 } }, has)).toBeNull();
		expect(markOf({ id: 1, cells: { a: 1 }, flags: { a: ['high'] } }, has)).toBe('note');
		expect(markOf({ id: 1, cells: { a: 1 }, flags: { a: ['high'], b: ['no flow'] } }, has)).toBe(
			'blank',
		);
		expect(markOf({ id: 1, cells: {}, flags: { flags: ['of the ring'] } }, has)).toBe('note');
		expect(markOf({ id: 1, cells: {}, flags: { hidden_m3: ['no correction'] } }, has)).toBeNull();
	});
});

describe('words of a filter', () => {
	const flow = columnsOf('readings').find(({ id }) => id === 'return_flow_m3_h');
	const mode = columnsOf('readings').find(({ id }) => id === 'mode');
	it('bear the heading, what is compared, and the unit', () => {
		if (!flow || !mode) throw new Error('the columns are gone');
		const above = { filterType: 'number', type: 'greaterThan', filter: 1200.5 };
		expect(filterWords(flow, above, ',')).toBe('Return flow above 1200,5 m³/h');
		expect(filterWords(flow, { type: 'inRange', filter: 1, filterTo: 2 }, '.')).toBe(
			'Return flow between 1 and 2 m³/h',
		);
		expect(filterWords(flow, { type: 'blank' }, '.')).toBe('Return flow is empty');
		const either = {
			operator: 'OR',
			conditions: [
				{ type: 'contains', filter: 'adv' },
				{ type: 'equals', filter: 'stop' },
			],
		};
		expect(filterWords(mode, either, '.')).toBe('Mode contains “adv” or is “stop”');
	});
});

describe('subjects of columns', () => {
	it('put every column of every grid under one heading, and pH with the suspension', () => {
		for (const sheet of ['readings', 'rings', 'ground', 'ledger', 'mode_overrides'] as const) {
			for (const column of columnsOf(sheet)) {
				expect(COLUMN_GROUPS).toContain(columnGroup(column));
				expect(columnGroup(column), column.id).not.toBe('Own columns');
			}
		}
		const ph = columnsOf('readings').find(({ id }) => id === 'ph');
		expect(ph && columnGroup(ph)).toBe('Suspension');
	});
});
