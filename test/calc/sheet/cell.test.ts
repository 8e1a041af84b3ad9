import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { fullNumber } from '../../../calc/quantity/format.ts';
import { unit } from '../../../calc/quantity/unit.ts';
import { CATALOGUE, findColumn } from '../../../calc/sheet/catalogue.ts';
import { checkValue, readCell, showCell } from '../../../calc/sheet/cell.ts';
import type { Column, SheetId } from '../../../calc/sheet/column.ts';

const dot = { decimal: '.', utcOffset_min: 60 } as const;
const comma = { decimal: ',', utcOffset_min: 60 } as const;

const column = (sheet: SheetId, id: string): Column => {
	const found = findColumn(sheet, id);
	if (!found) throw new Error(`no column ${id}`);
	return found;
};
const value = (one: Column, text: string, marks: typeof dot | typeof comma = dot) => {
	const read = readCell(one, text, marks);
	if (read.kind !== 'value') throw new Error(`${one.id} ${text}: ${JSON.stringify(read)}`);
	return read.value;
};
const code = (one: Column, text: string) => {
	const read = readCell(one, text, dot);
	return read.kind === 'fault' ? read.fault.code : read.kind;
};

const entered = CATALOGUE.filter((one) => one.kind === 'entered');
const named = entered.map((one) => [`${one.sheet} ${one.id}`, one] as const);

describe.each(named)('%s', (_, one) => {
	test('empty is missing, or refused where the cell is needed', () => {
		for (const text of ['', '  ', '\u00a0']) {
			const read = readCell(one, text, dot);
			if (one.required) {
				if (read.kind !== 'fault') throw new Error(read.kind);
				expect(read.fault).toMatchObject({ code: 'cell_required', where: { column: one.id } });
				expect(read.fault.where.expected).not.toBe('');
			} else expect(read).toEqual({ kind: 'value', value: null, notes: [] });
		}
		expect(showCell(one, null, dot)).toBe('');
	});

	test('what is not of its kind is refused, naming column, text and what was expected', () => {
		const wrong = one.type === 'text' ? 'a\u0000b' : 'unsayable';
		const read = readCell(one, wrong, dot);
		if (read.kind !== 'fault') throw new Error(read.kind);
		expect(read.fault.where).toMatchObject({ column: one.id, value: wrong });
		expect(read.fault.where.expected).not.toBe('');
		expect(read.fault.weight).toBe('stop');
	});

	test('a value read is a value that may be kept, with the same notes', () => {
		const texts = [
			'0',
			'1',
			'1.05',
			'2.6',
			'2600',
			'12',
			'30',
			'95',
			'2026-03-01T06:30Z',
			'stop',
			'feed_flow',
			'Sand',
			'both',
			'meters',
			'accept',
			'density',
			'ledger',
		];
		let kept = 0;
		for (const text of texts) {
			const read = readCell(one, text, dot);
			if (read.kind !== 'value') continue;
			kept++;
			const said = checkValue(one, read.value).map((fault) => fault.code);
			expect(said, text).toEqual(read.notes.map((note) => note.code));
		}
		expect(kept).toBeGreaterThan(0);
	});

	test('a kept value of the wrong kind or size is told', () => {
		const codes = (value: number | string | null) => checkValue(one, value).map((f) => f.code);
		expect(codes(null)).toEqual(one.required ? ['cell_required'] : []);
		if (one.type === 'text' || one.type === 'choice') {
			expect(codes(5)).toEqual(['value_not_text']);
			expect(codes('a\u0000')).toEqual(['text_unprintable']);
		} else {
			expect(codes('5')).toEqual(['value_not_number']);
			expect(codes(Number.NaN)).toEqual(['value_not_number']);
			expect(codes(1e300)).toEqual([one.type === 'time' ? 'time_out_of_reach' : 'value_above']);
			expect(codes(-1e300)).toEqual([one.type === 'time' ? 'time_out_of_reach' : 'value_below']);
		}
		if (one.type === 'choice') expect(codes('Stop')).toEqual(['choice_unknown']);
	});

	if (one.type === 'number' || one.type === 'integer') {
		const step = one.type === 'integer' ? 1 : 0.001;
		const said = (number: number) => fullNumber(number, { decimal: '.' });

		test('its bounds hold', () => {
			const { min, max } = one;
			if (min === undefined || max === undefined)
				throw new Error('a number column has both bounds');
			expect(code(one, said(min))).toBe(one.minOpen ? 'value_below' : 'value');
			expect(code(one, said(min - step))).toBe('value_below');
			expect(code(one, said(max))).toBe('value');
			expect(code(one, said(max + step))).toBe('value_above');
		});

		test('outside the plausible range is taken with a note', () => {
			const { plausibleMin, plausibleMax } = one;
			const notes = (number: number) => {
				const read = readCell(one, said(number), dot);
				return read.kind === 'value'
					? read.notes.map((note) => [note.code, note.weight])
					: read.kind;
			};
			if (plausibleMin !== undefined) {
				expect(notes(plausibleMin)).toEqual([]);
				expect(notes(plausibleMin - step)).toEqual([['value_implausibly_low', 'note']]);
			}
			if (plausibleMax !== undefined) {
				expect(notes(plausibleMax)).toEqual([]);
				expect(notes(plausibleMax + step)).toEqual([['value_implausibly_high', 'note']]);
			}
		});

		test('what is shown is read back, in both ways of writing', () => {
			const { min = 0, max = 0, decimals, minOpen } = one;
			const smallest = 10 ** -decimals;
			const range = fc.double({ min: minOpen ? min + smallest : min, max, noNaN: true });
			fc.assert(
				fc.property(range, fc.constantFrom(dot, comma), (number, marks) => {
					const kept = one.type === 'integer' ? Math.round(number) : number;
					const again = value(one, showCell(one, kept, marks), marks);
					expect(Math.abs(Number(again) - kept)).toBeLessThanOrEqual(
						0.5 * 10 ** -decimals + Math.abs(kept) * 1e-15,
					);
				}),
				{ seed: 2150, numRuns: 200 },
			);
		});

		test('its own unit may be typed, another kind of unit may not', () => {
			const number = said(one.min === undefined || one.minOpen ? (one.max ?? 1) : one.min);
			if (one.unit === null) expect(code(one, `${number} m`)).toBe('unit_unwanted');
			else {
				const label = one.unit === '1' ? '' : ` ${unit(one.unit).label}`;
				expect(code(one, number + label)).toBe('value');
				const other = unit(one.unit).dimension === 'mass flow' ? 'bar' : 't/h';
				expect(code(one, `${number} ${other}`)).toBe('unit_mismatch');
			}
		});
	}

	if (one.type === 'time')
		test('reads and shows a time', () => {
			expect(value(one, '2026-03-01T06:30:00+01:00')).toBe(1_772_343_000);
			expect(value(one, '2026-03-01 06:30')).toBe(1_772_343_000);
			expect(showCell(one, 1_772_343_000, dot)).toBe('2026-03-01 06:30');
			const file = readCell(one, '2026-03-01 06:30', { decimal: '.', utcOffset_min: null });
			expect(file).toMatchObject({ kind: 'fault', fault: { code: 'time_without_offset' } });
			expect(code(one, '0202-03-01T06:30Z')).toBe('time_out_of_reach');
			expect(code(one, '2200-01-01T00:00Z')).toBe('time_out_of_reach');
			expect(code(one, '2199-12-31T23:59Z')).toBe('value');
		});

	if (one.type === 'choice')
		test('takes every choice however it is written, and no other', () => {
			for (const choice of one.choices ?? []) {
				expect(value(one, choice)).toBe(choice);
				expect(value(one, showCell(one, choice, dot))).toBe(choice);
				expect(value(one, choice.toUpperCase().replaceAll('_', '-'))).toBe(choice);
			}
			expect(code(one, 'advanc')).toBe('choice_unknown');
		});

	if (one.type === 'text')
		test('keeps a text as it stands', () => {
			expect(value(one, '  Sand, 2–3 m „grob“\nfeucht ')).toBe('Sand, 2–3 m „grob“\nfeucht');
			expect(code(one, 'x'.repeat(4001))).toBe('text_too_long');
			expect(code(one, 'a\ud800')).toBe('text_unprintable');
		});
});

test('every column a person enters has been looked at', () => {
	expect(entered.length).toBeGreaterThan(50);
	for (const one of entered.filter((c) => c.type === 'choice'))
		expect(one.choices?.length).toBeGreaterThan(1);
});

describe('a number that can be read two ways', () => {
	test('is asked about, with both readings where both can be', () => {
		const flow = readCell(column('readings', 'feed_flow_m3_h'), '1,180', dot);
		expect(flow.kind === 'ambiguous' && flow.readAs.map((r) => r.value)).toEqual([1.18, 1180]);
	});
	test('is still asked about where only one reading can be', () => {
		const density = readCell(column('readings', 'feed_density_t_m3'), '1,180', dot);
		expect(density.kind === 'ambiguous' && density.readAs.map((r) => r.text)).toEqual(['1.18']);
	});
	test('is refused where none can be', () => {
		expect(code(column('readings', 'feed_density_t_m3'), '9,180')).toBe('value_out_of_bounds');
	});
});

test('a whole number is whole', () => {
	expect(code(column('rings', 'ring'), '12.5')).toBe('value_not_whole');
	expect(value(column('rings', 'ring'), '12.0')).toBe(12);
});

test('sieve columns of the ground sheet are read like any other', () => {
	expect(value(column('ground', 'passing_0.063_mm'), '12.5 %')).toBe(12.5);
	expect(code(column('ground', 'passing_0.063_mm'), '101')).toBe('value_above');
});

test('long numbers are grouped so that they read back without a question', () => {
	expect(showCell(column('readings', 'feed_total_m3'), 1_234_567.8, comma)).toBe(
		'1\u202f234\u202f567,8',
	);
	expect(showCell(column('readings', 'feed_flow_m3_h'), 1150, dot)).toBe('1150');
	expect(showCell(column('rings', 'ring'), 123_456, dot)).toBe('123456');
});
