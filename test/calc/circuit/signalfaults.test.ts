import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
	FAULT_RULES,
	type FaultKind,
	type FaultRules,
	type FaultSignal,
	type SignalFault,
} from '../../../calc/circuit/faultrules.ts';
import type { Samples } from '../../../calc/circuit/samples.ts';
import {
	faultsOfRing,
	ringFaultNote,
	SignalFaultWatch,
	signalFaults,
} from '../../../calc/circuit/signalfaults.ts';
import { firstAtOrAfter } from '../../../calc/circuit/span.ts';
import { simulateDrive } from '../../../calc/drive/simulate.ts';
import { cleanRecord, rowsOf, withColumn } from './faultyrecord.ts';
import { loggerSamples } from './recordeddrive.ts';

const { record, truth } = cleanRecord(21, 6);
const rowAt = (time_s: number): number => firstAtOrAfter(record.time_s, record.count, time_s);
/** A row in the middle of a ring's advance, past whatever pause it has. */
const inRing = (ring: number): number => {
	const { advanceStart_s, advanceEnd_s } = truth[ring - 1]!;
	return rowAt(advanceStart_s + 0.8 * (advanceEnd_s - advanceStart_s));
};
const all = (count: number): number[] => Array.from({ length: count }, (_, i) => i);
const told = (faults: readonly SignalFault[]) => faults.map(({ kind, signal }) => [kind, signal]);
const span = (from: number, rows: number) => ({
	from_s: record.time_s[from]!,
	to_s: record.time_s[from + rows - 1]!,
	count: rows,
});
/** Holds a signal at its value in one row for so many rows. */
const hold = (signal: FaultSignal, from: number, rows: number, base = record): Samples =>
	withColumn(base, signal, (column) => column.fill(column[from]!, from, from + rows));
const lift = (signal: FaultSignal, from: number, rows: number, by: number): Samples =>
	withColumn(record, signal, (column) => {
		for (let i = from; i < from + rows; i++) column[i] = column[i]! + by;
	});
/** Moves the stamps of all rows from one on. */
const shift = (base: Samples, from: number, by_s: number): Samples =>
	withColumn(base, 'time_s', (time) => {
		for (let i = from; i < time.length; i++) time[i] = time[i]! + by_s;
	});

const FINE: readonly FaultSignal[] = [
	'feedFlow_m3_s',
	'feedDensity_kg_m3',
	'returnFlow_m3_s',
	'returnDensity_kg_m3',
	'chamberLevel_m',
];

describe('no false finding on clean simulated drives', () => {
	// Noise, drift, pauses, back-flushes, pump starts and week-ends are no faults.
	const rounded = (samples: Samples, step: Partial<Record<FaultSignal, number>>): Samples =>
		Object.entries(step).reduce(
			(so, [signal, size]) =>
				withColumn(so, signal as FaultSignal, (column) => {
					for (let i = 0; i < column.length; i++) column[i] = Math.round(column[i]! / size) * size;
				}),
			samples,
		);
	const SEEDS = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10];

	test('seeds 1 to 10, every second, as recorded and in a coarse record', () => {
		for (const seed of SEEDS) {
			const clean = cleanRecord(seed, 8).record;
			expect(signalFaults(clean)).toEqual([]);
			const middling = rounded(clean, {
				feedDensity_kg_m3: 1,
				returnDensity_kg_m3: 1,
				chamberLevel_m: 0.01,
				feedTotal_m3: 1,
				returnTotal_m3: 1,
			});
			expect(signalFaults(middling)).toEqual([]);
			const coarse = rounded(clean, {
				feedFlow_m3_s: 10 / 3600,
				returnFlow_m3_s: 10 / 3600,
				feedDensity_kg_m3: 10,
				returnDensity_kg_m3: 10,
				chamberLevel_m: 0.1,
				feedTotal_m3: 10,
				returnTotal_m3: 10,
			});
			expect(signalFaults(coarse)).toEqual([]);
		}
	});

	test('seeds 1 to 10, meters without noise, and a row every 5 s or every minute', () => {
		for (const seed of SEEDS) {
			expect(signalFaults(cleanRecord(seed, 8, { meters: 'perfect' }).record)).toEqual([]);
			expect(signalFaults(cleanRecord(seed, 8, { loggerInterval_s: 5 }).record)).toEqual([]);
			expect(signalFaults(cleanRecord(seed, 8, { loggerInterval_s: 60 }).record)).toEqual([]);
		}
	});

	test('a drive with its usual events (seeds 1 to 3) has the gap in its record and nothing else', () => {
		for (const seed of [1, 2, 3]) {
			const drive = simulateDrive({ seed, rings: 12 });
			const faults = signalFaults(loggerSamples(drive));
			expect(told(faults)).toEqual([['dropout', null]]);
			expect(faults[0]!.count).toBe(17 * 60);
			const counted = drive.truth.map((ring) => faultsOfRing(faults, ring).stretches.dropout);
			expect(counted).toEqual(
				drive.truth.map(({ events }) => (events.includes('no record for 17 min') ? 1 : 0)),
			);
		}
	});
});

describe('frozen', () => {
	test.each(FINE)(
		'%s held for five minutes of the advance is found, and nothing else',
		(signal) => {
			const from = inRing(5);
			const [fault, ...more] = signalFaults(hold(signal, from, 300));
			expect(more).toEqual([]);
			expect(fault).toMatchObject({ kind: 'frozen', signal });
			// A neighbour may have had the value by chance.
			expect(Math.abs(fault!.from_s - record.time_s[from]!)).toBeLessThanOrEqual(2);
			expect(Math.abs(fault!.to_s - record.time_s[from + 299]!)).toBeLessThanOrEqual(2);
		},
	);

	test('held for less than the limit it is not', () => {
		for (const signal of FINE) expect(signalFaults(hold(signal, inRing(5), 150))).toEqual([]);
	});

	test('a flow that stands at its value while the other line stops needs no habit', () => {
		const first = rowAt(truth[0]!.advanceEnd_s) - 100;
		let stopped = first;
		while (record.mode[stopped] !== 3) stopped++;
		const held = hold('feedFlow_m3_s', first, stopped + 600 - first);
		const [fault] = signalFaults(held);
		expect(fault).toMatchObject({ kind: 'frozen', signal: 'feedFlow_m3_s' });
		expect(fault!.rule).toContain('stood still');
	});

	test('a total that stays while the flow runs is found', () => {
		const from = inRing(4);
		const [fault, ...more] = signalFaults(hold('returnTotal_m3', from, 240));
		expect(more).toEqual([]);
		expect(fault).toMatchObject({ kind: 'frozen', signal: 'returnTotal_m3' });
	});

	test('in a coarse record it is not told, since it cannot be', () => {
		const coarse = withColumn(record, 'feedDensity_kg_m3', (column) => {
			for (let i = 0; i < column.length; i++) column[i] = Math.round(column[i]! / 10) * 10;
		});
		expect(signalFaults(hold('feedDensity_kg_m3', inRing(5), 1200, coarse))).toEqual([]);
	});

	test('a return density that never moved in six hours of circulation is, whatever its digits', () => {
		const dead = withColumn(record, 'returnDensity_kg_m3', (column) => column.fill(1150));
		expect(told(signalFaults(dead))).toEqual([['frozen', 'returnDensity_kg_m3']]);
	});
});

describe('spike', () => {
	test.each([
		['feedFlow_m3_s', 0.08],
		['returnFlow_m3_s', -0.3],
		['feedDensity_kg_m3', 40],
		['returnDensity_kg_m3', -90],
		['chamberLevel_m', 1.5],
	] as const)('%s out by %d for one, two and three rows', (signal, by) => {
		for (const rows of [1, 2, 3]) {
			const from = inRing(3);
			const faults = signalFaults(lift(signal, from, rows, by));
			expect(faults).toEqual([
				expect.objectContaining({ kind: 'spike', signal, ...span(from, rows) }),
			]);
		}
	});

	test('what stays longer or does not come back is none', () => {
		const from = inRing(3);
		expect(signalFaults(lift('returnDensity_kg_m3', from, 5, 90))).toEqual([]);
		expect(signalFaults(lift('returnDensity_kg_m3', from, record.count - from, 90))).toEqual([]);
	});

	test('spikes close together are one stretch that counts its rows', () => {
		const from = inRing(3);
		const twice = withColumn(lift('feedFlow_m3_s', from, 1, 0.1), 'feedFlow_m3_s', (column) => {
			column[from + 6] = column[from + 6]! - 0.1;
		});
		expect(signalFaults(twice)).toMatchObject([
			{ kind: 'spike', from_s: record.time_s[from], to_s: record.time_s[from + 6], count: 2 },
		]);
	});
});

describe('saturation', () => {
	const sorted = record.returnDensity_kg_m3.slice(0, record.count).sort();
	const clip = Math.round(sorted[Math.floor(0.9 * record.count)]! * 10) / 10;
	const clipped = withColumn(record, 'returnDensity_kg_m3', (column) => {
		for (let i = 0; i < column.length; i++) column[i] = Math.min(column[i]!, clip);
	});
	/** Rows above the clip in stretches of at least so many. */
	const above = (least: number): Set<number> => {
		const rows = new Set<number>();
		for (let i = 0; i < record.count; ) {
			let to = i;
			while (to < record.count && record.returnDensity_kg_m3[to]! >= clip) to++;
			if (to - i >= least) for (let k = i; k < to; k++) rows.add(record.time_s[k]!);
			i = Math.max(to, i + 1);
		}
		return rows;
	};
	const covered = (faults: readonly SignalFault[]): number =>
		faults.reduce((sum, { count }) => sum + count, 0);

	test('a range that is known: every stretch of ten rows at its end', () => {
		const rules: FaultRules = {
			...FAULT_RULES,
			saturation: {
				...FAULT_RULES.saturation,
				ranges: { returnDensity_kg_m3: { high: clip } },
			},
		};
		const faults = signalFaults(clipped, rules);
		expect(new Set(told(faults).flat())).toEqual(new Set(['saturation', 'returnDensity_kg_m3']));
		expect(covered(faults)).toBe(above(11).size);
	});

	test('a range that is not known: the highest value, held again and again', () => {
		const faults = signalFaults(clipped);
		expect(new Set(told(faults).flat())).toEqual(new Set(['saturation', 'returnDensity_kg_m3']));
		const rows = above(60);
		expect(rows.size).toBeGreaterThan(500);
		for (const t of rows)
			expect(faults.some(({ from_s, to_s }) => from_s <= t && t <= to_s)).toBe(true);
	});

	test('a higher value later shows that it was no end of the range', () => {
		const from = inRing(5);
		const topped = withColumn(clipped, 'returnDensity_kg_m3', (column) => {
			for (let i = from; i < from + 8; i++) column[i] = clip + i - from + 50;
		});
		const faults = signalFaults(topped).filter(({ to_s }) => to_s < record.time_s[from]!);
		expect(faults.filter(({ kind }) => kind === 'saturation')).toEqual([]);
	});

	test('a flow of nothing in a stopped circuit is not the low end', () => {
		const rules: FaultRules = {
			...FAULT_RULES,
			saturation: { ...FAULT_RULES.saturation, ranges: { feedFlow_m3_s: { low: 0 } } },
		};
		expect(signalFaults(record, rules)).toEqual([]);
		const from = inRing(4);
		const dead = withColumn(record, 'feedFlow_m3_s', (column) => column.fill(0, from, from + 60));
		expect(signalFaults(dead, rules)).toMatchObject([
			{ kind: 'saturation', signal: 'feedFlow_m3_s', ...span(from, 60) },
		]);
	});
});

describe('dropout', () => {
	test.each(['feedFlow_m3_s', 'returnDensity_kg_m3', 'sideFlow_m3_s', 'feedTotal_m3'] as const)(
		'%s missing for a minute',
		(signal) => {
			const from = inRing(2);
			const gone = (rows: number) =>
				signalFaults(
					withColumn(record, signal, (column) => column.fill(Number.NaN, from, from + rows)),
				);
			expect(gone(60)).toMatchObject([{ kind: 'dropout', signal, ...span(from, 60) }]);
			expect(gone(5)).toEqual([]);
		},
	);

	test('missing until the end of the record', () => {
		const from = inRing(5);
		const gone = withColumn(record, 'chamberLevel_m', (column) => column.fill(Number.NaN, from));
		expect(signalFaults(gone)).toMatchObject([
			{ kind: 'dropout', signal: 'chamberLevel_m', to_s: record.time_s[record.count - 1] },
		]);
	});

	test('rows missing for a minute', () => {
		const from = inRing(2);
		const rows = all(record.count).filter((i) => i < from || i >= from + 60);
		expect(signalFaults(rowsOf(record, rows))).toMatchObject([
			{
				kind: 'dropout',
				signal: null,
				from_s: record.time_s[from - 1],
				to_s: record.time_s[from + 60],
				count: 60,
			},
		]);
	});

	test('a level that is recorded once a minute among rows a second apart is not missing between', () => {
		const seldom = withColumn(record, 'chamberLevel_m', (column) => {
			for (let i = 0; i < column.length; i++) if (i % 60 !== 0) column[i] = Number.NaN;
		});
		expect(signalFaults(seldom)).toEqual([]);
		const gone = withColumn(seldom, 'chamberLevel_m', (column) =>
			column.fill(Number.NaN, 12_000, 12_600),
		);
		expect(told(signalFaults(gone))).toEqual([['dropout', 'chamberLevel_m']]);
	});

	test('a column that was never kept is not missing', () => {
		expect(signalFaults({ ...record, sideFlow_m3_s: null, chamberLevel_m: null })).toEqual([]);
	});
});

describe('the clock', () => {
	const bare: Samples = { ...record, feedTotal_m3: null, returnTotal_m3: null };

	test('a step back, with the rows whose stamps were there before', () => {
		const from = inRing(3);
		const faults = signalFaults(shift(bare, from, -41));
		expect(faults).toEqual([
			{
				kind: 'clock_jump',
				signal: null,
				from_s: record.time_s[from]! - 41,
				to_s: record.time_s[from - 1]!,
				count: 41,
				rule: 'stamps step back: the clock was put back by 41 s',
			},
		]);
	});

	test('a jump ahead is a clock that was set if the totaliser has not moved, else missing rows', () => {
		const from = inRing(3);
		expect(told(signalFaults(shift(record, from, 300)))).toEqual([['clock_jump', null]]);
		expect(told(signalFaults(shift(bare, from, 300)))).toEqual([['dropout', null]]);
	});

	test('a jump ahead that is put back later was the clock', () => {
		const from = inRing(3);
		const faults = signalFaults(shift(shift(bare, from, 300), from + 900, -300));
		expect(told(faults)).toEqual([
			['clock_jump', null],
			['clock_jump', null],
		]);
		expect(faults[0]!.rule).toContain('put back later');
	});

	test('a jump by part of a step in an even record', () => {
		const from = inRing(3);
		expect(signalFaults(shift(bare, from, 4.5))).toMatchObject([
			{ kind: 'clock_jump', from_s: record.time_s[from - 1], count: 1 },
		]);
		expect(signalFaults(shift(bare, from, 4))).toEqual([]);
	});

	test('daylight saving: exactly one hour, at a full hour, in local stamps only', () => {
		let hour = inRing(3);
		while (record.time_s[hour]! % 3600 !== 0) hour++;
		const back = shift(bare, hour, -3600);
		expect(signalFaults(back)).toEqual([
			{
				kind: 'daylight_saving',
				signal: null,
				from_s: record.time_s[hour]! - 3600,
				to_s: record.time_s[hour - 1]!,
				count: 3600,
				rule: 'local stamps step back by exactly one hour; the hour is told twice',
			},
		]);
		expect(told(signalFaults(shift(bare, hour, 3600)))).toEqual([['daylight_saving', null]]);
		expect(told(signalFaults(shift(bare, hour + 450, 3600)))).toEqual([['dropout', null]]);
		expect(told(signalFaults(shift(bare, hour, -3500)))).toEqual([['clock_jump', null]]);
		const rules: FaultRules = {
			...FAULT_RULES,
			stamps: { ...FAULT_RULES.stamps, are: 'absolute' },
		};
		expect(told(signalFaults(back, rules))).toEqual([['clock_jump', null]]);
		expect(told(signalFaults(shift(bare, hour, 3600), rules))).toEqual([['dropout', null]]);
	});
});

describe('repeated rows', () => {
	test('every signal kept from the row before for a minute is one finding, not one a signal', () => {
		const from = inRing(4);
		for (const rows of [60, 400]) {
			const source = all(record.count).map((i) => (i > from && i <= from + rows ? from : i));
			const stale = { ...rowsOf(record, source), time_s: record.time_s };
			const faults = signalFaults(stale).filter(({ signal }) => signal === null);
			expect(faults).toMatchObject([{ kind: 'repeated_rows', ...span(from + 1, rows) }]);
			// Totals say the same in their own words once enough has passed.
			const others = signalFaults(stale).filter(({ signal }) => signal !== null);
			expect(others.every(({ signal }) => signal!.endsWith('Total_m3'))).toBe(true);
		}
	});

	test('the same stamp again', () => {
		const from = inRing(4);
		const rows = all(record.count).flatMap((i) => (i >= from && i < from + 5 ? [i, i] : [i]));
		expect(signalFaults(rowsOf(record, rows))).toMatchObject([
			{ kind: 'repeated_rows', signal: null, ...span(from, 5) },
		]);
	});
});

describe('properties', () => {
	const some = rowsOf(
		record,
		all(record.count).filter((i) => i >= rowAt(truth[1]!.advanceStart_s) - 2400),
	);
	const kinds = fc.constantFrom<FaultKind>(
		'frozen',
		'spike',
		'dropout',
		'clock_jump',
		'repeated_rows',
	);
	/** Plants one fault well inside some advance and says where. */
	const plant = (kind: FaultKind, signal: FaultSignal, from: number, rows: number): Samples => {
		switch (kind) {
			case 'frozen':
				return hold(signal, from, 240 + rows);
			case 'spike':
				return lift(signal, from, 1 + (rows % 3), signal.includes('Density') ? 60 : 0.5);
			case 'dropout':
				return withColumn(record, signal, (column) =>
					column.fill(Number.NaN, from, from + 12 + rows),
				);
			case 'clock_jump':
				return shift(record, from, -2 - rows);
			default: {
				const last = from + 40 + rows;
				const source = all(record.count).map((i) => (i > from && i <= last ? from : i));
				return { ...rowsOf(record, source), time_s: record.time_s };
			}
		}
	};

	test('one fault planted anywhere in an advance is found there, and no other', () => {
		fc.assert(
			fc.property(
				kinds,
				fc.constantFrom(...FINE),
				fc.integer({ min: 3, max: 6 }),
				fc.integer({ min: 0, max: 60 }),
				fc.integer({ min: -120, max: 60 }),
				(kind, signal, ring, rows, aside) => {
					const from = inRing(ring) + aside;
					const faults = signalFaults(plant(kind, signal, from, rows));
					const own = kind === 'repeated_rows' || kind === 'clock_jump' ? null : signal;
					expect(told(faults)).toEqual([[kind, own]]);
					const t = record.time_s[from]!;
					expect(faults[0]!.from_s).toBeLessThanOrEqual(t + 1);
					expect(faults[0]!.to_s).toBeGreaterThanOrEqual(t - 1);
					const counted = truth.map((each) => faultsOfRing(faults, each).stretches[kind]);
					expect(counted[ring - 1]).toBe(1);
					expect(ringFaultNote(faults, truth[ring - 1]!)?.code).toBe('signal_faults');
				},
			),
			{ seed: 3201, numRuns: 60 },
		);
	});

	test('where batches are cut does not matter', () => {
		const from = inRing(4) - (record.count - some.count);
		const messy = [
			(s: Samples) =>
				withColumn(s, 'returnDensity_kg_m3', (c) => c.fill(c[from]!, from, from + 400)),
			(s: Samples) => withColumn(s, 'feedFlow_m3_s', (c) => c.fill(0.9, from - 50, from - 47)),
			(s: Samples) => withColumn(s, 'chamberLevel_m', (c) => c.fill(Number.NaN, 900, 950)),
			(s: Samples) => shift(s, from + 450, -30),
			(s: Samples) => shift(s, from + 4000, 500),
			(s: Samples) =>
				rowsOf(
					s,
					all(s.count).map((i) => (i > 300 && i < 400 ? 300 : i)),
				),
		].reduce((s, change) => change(s), some);
		const whole = signalFaults(messy);
		expect(new Set(whole.map(({ kind }) => kind)).size).toBeGreaterThanOrEqual(5);
		fc.assert(
			fc.property(
				fc.array(fc.integer({ min: 1, max: messy.count - 1 }), { maxLength: 12 }),
				fc.array(fc.integer({ min: from - 5, max: from + 905 }), { maxLength: 12 }),
				(cuts, close) => {
					const at = [...new Set([0, ...cuts, ...close, messy.count])].sort((a, b) => a - b);
					const watch = new SignalFaultWatch();
					for (let k = 1; k < at.length; k++) {
						const rows = all(at[k]! - at[k - 1]!).map((i) => i + at[k - 1]!);
						watch.push(rowsOf(messy, rows));
					}
					expect(watch.end()).toEqual(whole);
				},
			),
			{ seed: 3202, numRuns: 25 },
		);
	});

	test('every stretch runs forwards, counts something and says its rule, whatever the record', () => {
		const value = fc.constantFrom(0, 0.01, 0.3, 0.31, 5, Number.NaN, -1);
		fc.assert(
			fc.property(
				fc.array(
					fc.record({
						step: fc.constantFrom(1, 1, 1, 0, -7, 30, 3601, -3599, 0.4),
						feed: value,
						back: value,
						lasts: fc.integer({ min: 1, max: 40 }),
					}),
					{ maxLength: 30 },
				),
				(parts) => {
					const time: number[] = [];
					const feed: number[] = [];
					const back: number[] = [];
					let t = 7200;
					for (const one of parts) {
						for (let i = 0; i < one.lasts; i++) {
							t += i === 0 ? one.step : 1;
							time.push(t);
							feed.push(one.feed);
							back.push(one.back);
						}
					}
					const faults = signalFaults({
						count: time.length,
						time_s: Float64Array.from(time),
						mode: new Uint8Array(time.length),
						feedFlow_m3_s: Float64Array.from(feed),
						feedDensity_kg_m3: Float64Array.from(back, (q) => 1000 + 100 * q),
						returnFlow_m3_s: Float64Array.from(back),
						returnDensity_kg_m3: Float64Array.from(feed, (q) => 1000 + 100 * q),
						sideFlow_m3_s: null,
						chamberLevel_m: null,
						feedTotal_m3: null,
						returnTotal_m3: null,
					});
					let before = Number.NEGATIVE_INFINITY;
					for (const fault of faults) {
						expect(fault.from_s).toBeLessThanOrEqual(fault.to_s);
						expect(fault.from_s).toBeGreaterThanOrEqual(before);
						expect(fault.count).toBeGreaterThanOrEqual(1);
						expect(Number.isInteger(fault.count)).toBe(true);
						expect(fault.rule).not.toMatch(/NaN|undefined|Infinity/);
						before = fault.from_s;
					}
				},
			),
			{ seed: 3203, numRuns: 300 },
		);
	});
});
