import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CATALOGUE, findColumn } from '../../../calc/sheet/catalogue.ts';
import { readCell } from '../../../calc/sheet/cell.ts';
import {
	BLANK,
	completeTime,
	editText,
	shownText,
	unitLabel,
} from '../../../renderer/sheets/celltext.ts';

const DOT = { decimal: '.', utcOffset_min: 60 } as const;
const COMMA = { decimal: ',', utcOffset_min: -330 } as const;
const column = (sheet: Parameters<typeof findColumn>[0], id: string) => {
	const found = findColumn(sheet, id);
	if (!found) throw new Error(`no column ${id}`);
	return found;
};

describe('shown text', () => {
	it('shows a derived blank as a dash and a missing entry as nothing, never as 0', () => {
		expect(shownText(column('ledger', 'dry_solids_t'), null, DOT)).toBe(BLANK);
		expect(shownText(column('ledger', 'dry_solids_t'), undefined, DOT)).toBe(BLANK);
		expect(shownText(column('readings', 'sand_pct'), null, DOT)).toBe('');
		expect(shownText(column('readings', 'sand_pct'), 0, DOT)).toBe('0.00');
	});

	it('rounds to the column’s decimals and shows choices as words', () => {
		expect(shownText(column('readings', 'feed_density_t_m3'), 1.18349, DOT)).toBe('1.183');
		expect(shownText(column('readings', 'mode'), 'back_flush', DOT)).toBe('back flush');
	});

	it('shows times in the drive’s own offset', () => {
		expect(shownText(column('readings', 'time'), 1_772_343_000, DOT)).toBe('2026-03-01 06:30');
		expect(shownText(column('readings', 'time'), 1_772_343_000, COMMA)).toBe('2026-03-01 00:00');
	});

	it('names the unit of every column that has one', () => {
		for (const each of CATALOGUE) {
			if (each.unit === null || each.unit === '1') expect(unitLabel(each)).toBe('');
			else expect(unitLabel(each), each.id).not.toBe('');
		}
	});
});

describe('what an editor begins with', () => {
	it('gives every digit, not the rounded value', () => {
		expect(editText(column('readings', 'feed_density_t_m3'), 1.18349, COMMA)).toBe('1,18349');
	});

	it('is read back by the desk as the very same number', () => {
		const density = column('readings', 'feed_density_t_m3');
		fc.assert(
			fc.property(
				fc.double({ min: 0.9, max: 2.5, noNaN: true }),
				fc.constantFrom(DOT, COMMA),
				(value, marks) => {
					const read = readCell(density, editText(density, value, marks), marks);
					// Three digits behind the mark may be asked about; then the value is among the choices.
					if (read.kind === 'ambiguous') expect(read.readAs.map((r) => r.value)).toContain(value);
					else expect(read).toMatchObject({ kind: 'value', value });
				},
			),
			{ seed: 31, numRuns: 500 },
		);
	});

	it('is read back as the very same time', () => {
		const time = column('readings', 'time');
		fc.assert(
			fc.property(
				fc.integer({ min: 0, max: 7_000_000_000 }),
				fc.constantFrom(DOT, COMMA),
				(value, marks) => {
					expect(readCell(time, editText(time, value, marks), marks)).toMatchObject({ value });
				},
			),
			{ seed: 32, numRuns: 500 },
		);
	});
});

describe('a bare clock time', () => {
	it('takes the day that stood in the cell', () => {
		expect(completeTime('6:45', 1_772_343_000, DOT)).toBe('2026-03-01 06:45');
	});

	it('is left as typed without a day, when impossible, or when it is no clock time', () => {
		expect(completeTime('6:45', null, DOT)).toBe('6:45');
		expect(completeTime('26:45', 1_772_343_000, DOT)).toBe('26:45');
		expect(completeTime('2026-03-02 06:45', 1_772_343_000, DOT)).toBe('2026-03-02 06:45');
	});
});
