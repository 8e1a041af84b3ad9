import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { faceMix } from '../../../calc/ground/facemix.ts';
import type { CellValue, EnteredSheetId } from '../../../calc/sheet/column.ts';
import { groundShare } from '../../../calc/sheet/inputs.ts';
import { checkRow, checkSheet } from '../../../calc/sheet/rules.ts';

type Cells = Record<string, CellValue>;
const inRow = (sheet: EnteredSheetId, cells: Cells) => checkRow(sheet, cells).map((f) => f.code);
const inSheet = (sheet: EnteredSheetId, rows: Cells[]) =>
	checkSheet(sheet, rows).map((f) => [f.code, f.where.row]);

describe('a row', () => {
	test.each<[EnteredSheetId, Cells, string[]]>([
		['drive', { overcut_angle_deg: 90 }, ['overcut_missing']],
		['drive', { overcut_angle_deg: 90, overcut_mm: 40 }, []],
		['rings', { advance_start: 100, advance_end: 100 }, ['advance_backwards']],
		['rings', { advance_start: 100, advance_end: 99 }, ['advance_backwards']],
		['rings', { advance_start: 100, advance_end: 101 }, []],
		['rings', { stroke_start_mm: 400, stroke_end_mm: 400 }, ['stroke_backwards']],
		['rings', { stroke_start_mm: 400, stroke_end_mm: 1800 }, []],
		['rings', { stroke_start_mm: 400 }, []],
		['ground', { from_ring: 5, to_ring: 4 }, ['ring_range_backwards']],
		['ground', { from_ring: 5, to_ring: 5 }, []],
		[
			'ground',
			{ grain_density_t_m3: 2.65, dry_density_t_m3: 2.65 },
			['dry_density_not_below_grain'],
		],
		['ground', { 'passing_0.063_mm': 30, passing_2_mm: 20 }, ['passing_falls']],
		['ground', { passing_2_mm: 90, 'passing_0.063_mm': 30, passing_20_mm: 90 }, []],
		['ground', { passing_10_mm: 80, passing_2_mm: 90 }, ['passing_falls']],
		[
			'readings',
			{ mode: 'stop', feed_flow_m3_h: 900, return_flow_m3_h: 20 },
			['flow_while_stopped'],
		],
		['readings', { mode: 'advance', feed_flow_m3_h: 900 }, []],
		['meters', { meter: 'feed_density', offset: 5 }, ['offset_unit']],
		['meters', { meter: 'feed_density', offset: -0.01 }, []],
		['meters', { meter: 'feed_flow', offset: 5 }, []],
		['mode_overrides', { from_time: 100, to_time: 100, mode: 'stop' }, ['stretch_backwards']],
		['mode_overrides', { from_time: 100, to_time: 101, mode: 'stop' }, []],
		['bypass_decisions', { from_time: 100, to_time: 99 }, ['stretch_backwards']],
		['bypass_decisions', { from_time: 100, to_time: 100 }, []],
	])('%s %j', (sheet, cells, codes) => {
		expect(inRow(sheet, cells)).toEqual(codes);
	});

	test('a fault names its column, what stands there and what was expected', () => {
		const [fault] = checkRow('rings', { ring: 12, stroke_start_mm: 1900, stroke_end_mm: 400 });
		expect(fault?.where).toEqual({
			ring: 12,
			column: 'stroke_end_mm',
			value: '400',
			expected: 'more than 1900 mm',
		});
	});
});

describe('the limits of a column', () => {
	test('are of a column with figures, of the catalogue or an own one', () => {
		const of = (sheet: string, column_id: string) => inRow('limits', { sheet, column_id, high: 4 });
		expect(of('ledger', 'ratio_volume')).toEqual([]);
		expect(of('ledger', 'volume_loss')).toEqual([]);
		expect(of('readings', 'mode')).toEqual(['limit_column']);
		expect(of('rings', 'volume_loss')).toEqual(['limit_column']);
		expect(of('ledger', 'Volume')).toEqual(['limit_column']);
	});

	test('say something, do not cross, and are in a unit there is', () => {
		const column = { sheet: 'ledger', column_id: 'ratio_volume' };
		expect(inRow('limits', column)).toEqual(['limits_empty']);
		expect(inRow('limits', { ...column, low: 0.9, high: 1.1, unit: 'm3' })).toEqual([]);
		expect(inRow('limits', { ...column, low: 1.1, high: 0.9 })).toEqual(['limits_crossed']);
		expect(inRow('limits', { ...column, low: 1, high: 1 })).toEqual(['limits_crossed']);
		expect(inRow('limits', { ...column, low: 1, unit: 'furlong' })).toEqual(['unit_unknown']);
	});

	test('are there once', () => {
		const rows = [
			{ sheet: 'ledger', column_id: 'lift', low: 0.9 },
			{ sheet: 'readings', column_id: 'lift', low: 0.9 },
			{ sheet: 'ledger', column_id: 'lift', high: 1.1 },
		];
		expect(inSheet('limits', rows)).toEqual([['limits_twice', 3]]);
	});
});

describe('the rings of a drive', () => {
	const ring = (number: number, start: number, end: number): Cells => ({
		ring: number,
		advance_start: start,
		advance_end: end,
	});
	test.each<[string, Cells[], unknown[]]>([
		['in order', [ring(1, 0, 10), ring(2, 10, 20), ring(5, 30, 40)], []],
		['twice the same', [ring(1, 0, 10), ring(1, 20, 30)], [['ring_twice', 2]]],
		['overlapping', [ring(1, 0, 10), ring(2, 9, 20)], [['advance_overlap', 2]]],
		['before their turn', [ring(1, 50, 60), ring(2, 0, 10)], [['ring_out_of_turn', 2]]],
		[
			'out of order on the sheet, in order in time',
			[ring(2, 10, 20), ring(1, 0, 10)],
			[['ring_out_of_order', 2]],
		],
		[
			'one too early does not hide what the next does to the one before',
			[ring(1, 100, 110), ring(2, 0, 10), ring(3, 105, 130)],
			[
				['ring_out_of_turn', 2],
				['advance_overlap', 3],
			],
		],
		[
			'one mistyped year is one fault',
			[ring(1, 0, 10), ring(2, 9000, 9010), ring(3, 20, 30), ring(4, 40, 50), ring(5, 60, 70)],
			[['ring_out_of_turn', 2]],
		],
		[
			'one mistyped end is one fault',
			[ring(1, 0, 9000), ring(2, 20, 30), ring(3, 40, 50)],
			[['advance_overlap', 2]],
		],
		['without times', [{ ring: 1 }, { ring: 2 }], []],
	])('%s', (_, rows, faults) => {
		expect(inSheet('rings', rows)).toEqual(faults);
	});
	test('whatever is wrong, the rings that are told are enough to mend it and no more than needed', () => {
		const starts = fc.array(fc.integer({ min: 0, max: 30 }), { minLength: 1, maxLength: 9 });
		fc.assert(
			fc.property(starts, (times) => {
				const rows = times.map((time, i) => ring(i, time * 10, time * 10));
				const told = new Set(
					checkSheet('rings', rows)
						.filter((fault) => fault.code === 'ring_out_of_turn')
						.map((fault) => fault.where.ring),
				);
				const left = times.filter((_, i) => !told.has(i));
				expect(left).toEqual([...left].sort((a, b) => a - b));
				// The longest run whose times do not fall, by trying every choice of rings.
				let longest = 0;
				for (let choice = 1; choice < 2 ** times.length; choice++) {
					const chosen = times.filter((_, i) => (choice >> i) & 1);
					if (chosen.every((t, i) => i === 0 || t >= (chosen[i - 1] ?? 0)))
						longest = Math.max(longest, chosen.length);
				}
				expect(left.length).toBe(longest);
			}),
			{ seed: 2161, numRuns: 300 },
		);
	});
	test('names the neighbours a ring has to fit between', () => {
		const [fault] = checkSheet('rings', [
			ring(1, 0, 10),
			ring(2, 90, 95),
			ring(3, 20, 30),
			ring(4, 40, 50),
		]);
		expect(fault?.message).toBe('Ring 2 was cut after ring 3, which has the higher number.');
		expect(fault?.where.expected).toBe(
			'a time after 1970-01-01T00:00:10Z and a time before 1970-01-01T00:00:20Z',
		);
	});
	test('times are told in the offset of the drive', () => {
		const [fault] = checkSheet('rings', [ring(1, 0, 10), ring(2, 5, 20)], 90);
		expect(fault?.where.value).toBe('1970-01-01T01:30:05+01:30');
		expect(fault?.where.expected).toBe('1970-01-01T01:30:10+01:30 or later');
		const cells = { ring: 1, advance_start: 60, advance_end: 0 };
		expect(checkRow('rings', cells, -60)[0]?.where.value).toBe('1969-12-31T23:00:00-01:00');
	});
	test('rows out of order are only noted', () => {
		expect(checkSheet('rings', [ring(2, 10, 20), ring(1, 0, 10)])[0]?.weight).toBe('note');
	});
});

describe('the faces of a drive', () => {
	const share = (stratum: string, from: number, to: number, fraction: number): Cells => ({
		stratum,
		from_ring: from,
		to_ring: to,
		face_fraction: fraction,
		grain_density_t_m3: 2.65,
		dry_density_t_m3: 1.6,
	});
	test.each<[string, Cells[], unknown[]]>([
		['whole', [share('sand', 1, 9, 1)], []],
		['two in one', [share('sand', 1, 9, 0.4), share('clay', 1, 9, 0.6)], []],
		['thirds', [share('a', 1, 1, 0.333), share('b', 1, 1, 0.333), share('c', 1, 1, 0.333)], []],
		['too little', [share('sand', 1, 9, 0.9)], [['face_fraction_sum', 1]]],
		[
			'too much where ranges overlap',
			[share('sand', 1, 9, 1), share('clay', 9, 12, 1)],
			[['face_fraction_sum', 1]],
		],
		['a stratum above and below another', [share('sand', 1, 9, 0.5), share('sand', 1, 9, 0.5)], []],
	])('%s', (_, rows, faults) => {
		expect(inSheet('ground', rows)).toEqual(faults);
	});
	test('says for which rings', () => {
		const rows = [share('sand', 1, 9, 1), share('clay', 8, 12, 0.25), share('silt', 10, 12, 0.75)];
		expect(checkSheet('ground', rows).map((f) => f.message)).toEqual([
			'The face fractions of rings 8 to 9 add to 1.25.',
		]);
	});
	test('finds exactly the rings whose mix the balance would refuse', () => {
		const anyShare = fc
			.tuple(
				fc.constantFrom('sand', 'clay', 'silt'),
				fc.integer({ min: 1, max: 12 }),
				fc.integer({ min: 0, max: 6 }),
				fc.constantFrom(0.25, 0.5, 0.75, 1),
			)
			.map(([stratum, from, length, fraction]) => share(stratum, from, from + length, fraction));
		fc.assert(
			fc.property(fc.array(anyShare, { minLength: 1, maxLength: 8 }), (rows) => {
				const told = new Set<number>();
				for (const fault of checkSheet('ground', rows)) {
					const range = /rings? (\d+)(?: to (\d+))? add/u.exec(fault.message);
					if (!range) continue;
					const [, from, to = from] = range;
					for (let r = Number(from); r <= Number(to); r++) told.add(r);
				}
				const shares = rows.map(groundShare);
				for (let r = 1; r <= 18; r++) {
					const mix = faceMix(shares, r);
					const refused = mix.kind === 'fault' && mix.fault.code === 'face_fraction_sum';
					expect(told.has(r), `ring ${r}`).toBe(refused);
				}
			}),
			{ seed: 2160, numRuns: 500 },
		);
	});
});

test('one reading a time, whatever the order', () => {
	expect(inSheet('readings', [{ time: 5 }, { time: 7 }, { time: 5 }, { time: 6 }])).toEqual([
		['reading_twice', 3],
		['reading_out_of_order', 4],
	]);
});

test('one certificate a meter and time', () => {
	const row = (meter: string, valid_from: number): Cells => ({ meter, valid_from });
	expect(
		inSheet('meters', [
			row('feed_flow', 5),
			row('return_flow', 5),
			row('feed_flow', 6),
			row('feed_flow', 5),
		]),
	).toEqual([['certificate_twice', 4]]);
});

test('stretches that say different things of one time are noted, the one that does not hold stays', () => {
	const set = (from_time: number, to_time: number, mode: string): Cells => ({
		from_time,
		to_time,
		mode,
	});
	expect(
		inSheet('mode_overrides', [
			set(50, 60, 'stop'),
			set(0, 40, 'stop'),
			set(30, 50, 'bypass'),
			set(10, 20, 'stop'),
		]),
	).toEqual([['stretches_overlap', 3]]);
	const decided = (decision: string, quantity: string | null): Cells => ({
		from_time: 0,
		to_time: 9,
		decision,
		quantity,
	});
	expect(
		inSheet('bypass_decisions', [decided('accept', 'flow'), decided('reject', 'density')]),
	).toEqual([]);
	expect(inSheet('bypass_decisions', [decided('accept', null), decided('reject', null)])).toEqual([
		['stretches_overlap', 2],
	]);
});
