import fc from 'fast-check';
import { all, create } from 'mathjs';
import { describe, expect, it } from 'vitest';
import { findColumn } from '../../../../calc/sheet/catalogue.ts';
import type { SheetId } from '../../../../calc/sheet/column.ts';
import { rangeFigures } from '../../../../renderer/sheets/range/rangefigures.ts';

const math = create(all ?? {}, { number: 'BigNumber', precision: 60 });
const column = (sheet: SheetId, id: string) => {
	const found = findColumn(sheet, id);
	if (!found) throw new Error(`no column ${id}`);
	return found;
};
const volume = column('ledger', 'volume_apparent_m3');
const density = column('readings', 'feed_density_t_m3');
const other = column('readings', 'return_density_t_m3');
const flow = column('readings', 'feed_flow_m3_h');
const total = column('readings', 'feed_total_m3');
const time = column('readings', 'time');
const mode = column('readings', 'mode');
const ring = column('readings', 'ring');

describe('figures of chosen cells', () => {
	it('are those of exact arithmetic', () => {
		fc.assert(
			fc.property(
				fc.array(fc.option(fc.double({ noNaN: true, min: -1e12, max: 1e12 })), {
					minLength: 1,
					maxLength: 60,
				}),
				(values) => {
					const told = rangeFigures(
						[volume],
						values.map((value) => ({ [volume.id]: value })),
					);
					const numbers = values.filter((value) => value !== null);
					expect([told.rows, told.filled, told.numbers]).toEqual([
						values.length,
						numbers.length,
						numbers.length,
					]);
					if (numbers.length === 0) {
						expect(told.figures).toBeNull();
						return;
					}
					const exact = Number(math.sum(numbers.map((value) => math.bignumber(value))));
					const { figures } = told;
					if (figures?.kind !== 'numbers') throw new Error('no figures');
					const size = Math.max(...numbers.map(Math.abs), Number.MIN_VALUE);
					expect(Math.abs((figures.sum ?? Number.NaN) - exact)).toBeLessThanOrEqual(size * 1e-15);
					expect(
						Math.abs((figures.mean ?? Number.NaN) - exact / numbers.length),
					).toBeLessThanOrEqual(size * 1e-15);
					expect([figures.min, figures.max]).toEqual([Math.min(...numbers), Math.max(...numbers)]);
				},
			),
			{ seed: 20260404 },
		);
	});

	it('sum only what adds up, and average only what may be averaged', () => {
		const of = (one: typeof volume) =>
			rangeFigures([one], [{ [one.id]: 1 }, { [one.id]: 2 }]).figures;
		expect(of(volume)).toMatchObject({ unit: 'm3', sum: 3, mean: 1.5, min: 1, max: 2 });
		expect(of(density)).toMatchObject({ unit: 't/m3', sum: null, mean: 1.5 });
		expect(of(column('ledger', 'ratio_volume'))).toMatchObject({ sum: null, mean: 1.5 });
		// A counter adds up to nothing, and a ring's number has no mean.
		expect(of(total)).toMatchObject({ unit: 'm3', sum: null, mean: null, min: 1, max: 2 });
		expect(of(ring)).toMatchObject({ unit: null, sum: null, mean: null, max: 2 });
	});

	it('go over columns of one unit, and are not given for different ones', () => {
		const rows = [{ [density.id]: 1.1, [other.id]: 1.3, [flow.id]: 1000, mode: 'advance' }];
		expect(rangeFigures([density, other, mode], rows)).toMatchObject({
			filled: 3,
			numbers: 2,
			figures: { unit: 't/m3', mean: expect.closeTo(1.2, 12), min: 1.1, max: 1.3 },
		});
		expect(rangeFigures([density, flow], rows)).toMatchObject({
			numbers: 2,
			figures: null,
			why: expect.stringContaining('different units'),
		});
		// An empty column beside it changes nothing.
		expect(rangeFigures([density, total], rows).figures).toMatchObject({ unit: 't/m3' });
	});

	it('say from when to when times reach', () => {
		expect(rangeFigures([time], [{ time: 200 }, { time: 100 }, { time: null }])).toMatchObject({
			filled: 2,
			figures: { kind: 'times', from_s: 100, to_s: 200 },
		});
	});
});
