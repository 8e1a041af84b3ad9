import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
	applyModeOverrides,
	modeStretches,
	overrideAt,
} from '../../../calc/circuit/modeoverrides.ts';
import {
	checkModeRules,
	MODE_SIGNALS,
	type ModeCondition,
	type ModeRule,
	type ModeSignal,
	modeRuleText,
} from '../../../calc/circuit/moderules.ts';
import {
	deriveModes,
	type ModeColumns,
	ModeDeriver,
	type ModeRun,
	NO_RULE,
} from '../../../calc/circuit/modesignals.ts';
import { signalRange, suggestModeRules } from '../../../calc/circuit/modesuggest.ts';
import { MODE_MISSING, MODES, type Mode, type Samples } from '../../../calc/circuit/samples.ts';
import { simulateDrive } from '../../../calc/drive/simulate.ts';
import type { RingTruth } from '../../../calc/drive/truth.ts';
import { loggerSamples } from './recordeddrive.ts';

const index = (mode: Mode): number => MODES.indexOf(mode);
const seconds = (count: number): Float64Array => Float64Array.from({ length: count }, (_, i) => i);
const condition = (
	signal: ModeSignal,
	is: ModeCondition['is'],
	limit: number,
	hysteresis = 0,
): ModeCondition => ({ signal, is, limit, hysteresis });
const rule = (
	id: string,
	mode: Mode,
	when: ModeCondition[],
	debounce_s = 0,
	priority = 1,
): ModeRule => ({ id, mode, when, debounce_s, priority });
const derive = (
	signals: ModeColumns['signals'],
	rules: readonly ModeRule[],
	time_s = seconds(Object.values(signals)[0]!.length),
	gapLimit_s = 10,
): number[] => [...deriveModes({ count: time_s.length, time_s, signals }, rules, gapLimit_s).mode];

describe('one rule at a time', () => {
	const valve = (...of: number[]) => ({ bypassValve_1: Float64Array.from(of) });
	const open = condition('bypassValve_1', 'above', 0.5);

	test('no rule met: the mode is missing, never the one before', () => {
		expect(derive(valve(1, 1, 0, Number.NaN, 1), [rule('open', 'bypass', [open])])).toEqual([
			1, 1, 255, 255, 1,
		]);
		expect(derive({ stroke_m: seconds(2) }, [rule('open', 'bypass', [open])])).toEqual([255, 255]);
	});

	test('hysteresis keeps a condition until the limit is missed by it', () => {
		const wide = rule('open', 'bypass', [condition('bypassValve_1', 'above', 0.5, 0.2)]);
		expect(derive(valve(0.4, 0.6, 0.4, 0.31, 0.3, 0.4), [wide])).toEqual([255, 1, 1, 1, 255, 255]);
		const low = rule('still', 'stop', [condition('feedFlow_m3_s', 'within', 0.01, 0.005)]);
		expect(
			derive({ feedFlow_m3_s: Float64Array.of(-0.012, -0.009, -0.014, 0.014, 0.015, 0.012) }, [
				low,
			]),
		).toEqual([255, 3, 3, 3, 255, 255]);
	});

	test('a missing value ends the memory of its hysteresis', () => {
		const wide = rule('open', 'bypass', [condition('bypassValve_1', 'above', 0.5, 0.2)]);
		expect(derive(valve(0.6, 0.4, Number.NaN, 0.4), [wide])).toEqual([1, 1, 255, 255]);
	});

	test('debounce: what lasts counts from its beginning, what does not keeps the rule before', () => {
		const rules = [
			rule('open', 'bypass', [open], 3),
			rule('shut', 'advance', [condition('bypassValve_1', 'below', 0.5)], 3),
		];
		expect(derive(valve(0, 0, 0, 0, 1, 1, 1, 0, 1, 1, 1, 1, 0), rules)).toEqual([
			0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1,
		]);
		expect(derive(valve(1, 1, 0, 0, 0, 0), rules)).toEqual([255, 255, 0, 0, 0, 0]);
	});

	test('a gap forgets rule, debounce, hysteresis and rate', () => {
		const time = Float64Array.of(0, 1, 2, 100, 101);
		const wide = rule('open', 'bypass', [condition('bypassValve_1', 'above', 0.5, 0.2)], 2);
		expect(derive(valve(1, 1, 1, 0.4, 0.4), [wide], time)).toEqual([1, 1, 1, 255, 255]);
		expect(derive(valve(1, 1, 1, 1, 1), [wide], time)).toEqual([1, 1, 1, 255, 255]);
		const rising = rule('cut', 'advance', [
			{ ...condition('stroke_m', 'rising', 0.001), over_s: 2 },
		]);
		const stroke = { stroke_m: Float64Array.of(0, 0.01, 0.02, 0.9, 0.91) };
		expect(derive(stroke, [rising], time)).toEqual([255, 255, 0, 255, 255]);
	});

	test('rising and falling are told apart, and a stroke that is pulled back is not rising', () => {
		const over_s = 4;
		const rules = [
			rule('cut', 'advance', [{ ...condition('stroke_m', 'rising', 0.001), over_s }]),
			rule('back', 'stop', [{ ...condition('stroke_m', 'falling', 0.001), over_s }]),
		];
		const stroke_m = Float64Array.from([0, 2, 4, 6, 8, 8, 8, 8, 8, 4, 0].map((mm) => mm / 1000));
		expect(derive({ stroke_m }, rules)).toEqual([255, 255, 255, 255, 0, 0, 255, 255, 255, 255, 3]);
	});

	test('the highest priority decides, of equals the earlier', () => {
		const rules = [
			rule('a', 'bypass', [open], 0, 1),
			rule('b', 'back_flush', [open], 0, 5),
			rule('c', 'stop', [open], 0, 5),
		];
		expect(derive(valve(1), rules)).toEqual([index('back_flush')]);
	});

	test('stamps that do not ascend and rules with faults are programmer mistakes', () => {
		const deriver = new ModeDeriver([rule('open', 'bypass', [open])], 10);
		const row = (t: number) => ({ count: 1, time_s: Float64Array.of(t), signals: {} });
		deriver.push(row(5));
		expect(() => deriver.push(row(5))).toThrow(RangeError);
		expect(() => new ModeDeriver([rule('', 'bypass', [open])], 10)).toThrow(RangeError);
		expect(() => new ModeDeriver([], 0)).toThrow(RangeError);
	});

	test('every kind of faulty rule is named', () => {
		const good = rule('open', 'bypass', [open]);
		const with_ = (part: Partial<ModeCondition>) => ({ ...good, when: [{ ...open, ...part }] });
		const code = (one: unknown) => checkModeRules([one as ModeRule]).map((f) => f.code);
		expect(code(good)).toEqual([]);
		expect(code({ ...good, mode: 'drill' })).toEqual(['mode_unknown']);
		expect(code({ ...good, priority: Number.NaN })).toEqual(['mode_rule_priority']);
		expect(code(with_({ signal: 'speed' as ModeSignal }))).toEqual(['mode_signal_unknown']);
		expect(code(with_({ is: 'like' as 'above' }))).toEqual(['mode_comparison_unknown']);
		expect(code(with_({ limit: Number.POSITIVE_INFINITY }))).toEqual(['mode_rule_limit']);
		expect(code(with_({ hysteresis: -1 }))).toEqual(['mode_rule_hysteresis']);
		expect(code(with_({ is: 'rising' }))).toEqual(['mode_rule_rate']);
		expect(code(with_({ over_s: 5 }))).toEqual(['mode_rule_rate']);
		const many = Array.from({ length: 201 }, (_, i) => ({ ...good, id: `rule ${i}` }));
		expect(checkModeRules(many).map((f) => f.code)).toEqual(['mode_rules_many']);
	});
});

/* What the deriver does, worked out the long way round: all at once, run by run. */
function plainModes(
	columns: ModeColumns,
	rules: readonly ModeRule[],
	gapLimit_s: number,
): number[] {
	const { count, time_s } = columns;
	const out: number[] = [];
	const order = rules.map((_, i) => i);
	order.sort((a, b) => rules[b]!.priority - rules[a]!.priority || a - b);
	let from = 0;
	while (from < count) {
		let to = from + 1;
		while (to < count && time_s[to]! - time_s[to - 1]! <= gapLimit_s) to++;
		const met = rules.map(({ when }) =>
			when.map(({ signal, is, limit, hysteresis }) => {
				let before = false;
				return Array.from({ length: to - from }, (_, k) => {
					const value = columns.signals[signal]?.[from + k] ?? Number.NaN;
					const size = is === 'within' || is === 'beyond' ? Math.abs(value) : value;
					const slack = before ? hysteresis : 0;
					before = is === 'above' || is === 'beyond' ? size > limit - slack : size < limit + slack;
					return before;
				});
			}),
		);
		const first = Array.from({ length: to - from }, (_, k) => {
			const at = order.find((number) => met[number]!.every((each) => each[k]));
			return at ?? NO_RULE;
		});
		let decided = NO_RULE;
		for (let k = 0; k < first.length; ) {
			let last = k;
			while (last + 1 < first.length && first[last + 1] === first[k]) last++;
			const debounce = first[k] === NO_RULE ? 0 : rules[first[k]!]!.debounce_s;
			if (time_s[from + last]! - time_s[from + k]! >= debounce) decided = first[k]!;
			for (let each = k; each <= last; each++) out.push(decided);
			k = last + 1;
		}
		from = to;
	}
	return out;
}

const someRules: fc.Arbitrary<ModeRule[]> = fc
	.array(
		fc.record({
			mode: fc.constantFrom(...MODES),
			when: fc.array(
				fc.record({
					signal: fc.constantFrom<ModeSignal>('bypassValve_1', 'chamberValve_1', 'thrust_N'),
					is: fc.constantFrom<ModeCondition['is']>('above', 'below', 'within', 'beyond'),
					limit: fc.constantFrom(-0.3, 0, 0.3, 0.5, 0.7),
					hysteresis: fc.constantFrom(0, 0.1, 0.4),
				}),
				{ minLength: 1, maxLength: 3 },
			),
			debounce_s: fc.constantFrom(0, 2, 5, 9),
			priority: fc.integer({ min: 0, max: 3 }),
		}),
		{ minLength: 1, maxLength: 5 },
	)
	.map((rules) => rules.map((one, i) => ({ ...one, id: `rule ${i}` })));

/** Signals that hold for a while, with values missing and stamps apart. */
const someColumns: fc.Arbitrary<ModeColumns> = fc
	.array(
		fc.record({
			lasts: fc.integer({ min: 1, max: 6 }),
			step: fc.constantFrom(1, 1, 1, 2, 30),
			values: fc.tuple(
				...Array.from({ length: 3 }, () => fc.constantFrom(-1, 0, 0.25, 0.4, 0.6, 1, Number.NaN)),
			),
		}),
		{ minLength: 1, maxLength: 25 },
	)
	.map((parts) => {
		const rows: { t: number; values: number[] }[] = [];
		let t = 0;
		for (const { lasts, step, values } of parts) {
			for (let i = 0; i < lasts; i++) {
				t += i === 0 ? step : 1;
				rows.push({ t, values });
			}
		}
		const column = (k: number) => Float64Array.from(rows, ({ values }) => values[k]!);
		return {
			count: rows.length,
			time_s: Float64Array.from(rows, (row) => row.t),
			signals: { bypassValve_1: column(0), chamberValve_1: column(1), thrust_N: column(2) },
		};
	});

const part = (columns: ModeColumns, from: number, to: number): ModeColumns => ({
	count: to - from,
	time_s: columns.time_s.slice(from, to),
	signals: Object.fromEntries(
		Object.entries(columns.signals).map(([id, values]) => [id, values.slice(from, to)]),
	),
});
const spread = (runs: readonly ModeRun[]): number[] =>
	runs.flatMap(({ count, rule: number }) => Array.from({ length: count }, () => number));

describe('properties', () => {
	test('the streamed rules are those of the plain account, wherever batches are cut', () => {
		fc.assert(
			fc.property(
				someColumns,
				someRules,
				fc.array(fc.integer({ min: 0, max: 150 }), { maxLength: 8 }),
				(columns, rules, cuts) => {
					const plain = plainModes(columns, rules, 10);
					const at = [...new Set([0, ...cuts, columns.count])]
						.filter((cut) => cut <= columns.count)
						.sort((a, b) => a - b);
					const deriver = new ModeDeriver(rules, 10);
					const runs: ModeRun[] = [];
					for (let k = 1; k < at.length; k++)
						runs.push(...deriver.push(part(columns, at[k - 1]!, at[k]!)));
					runs.push(...deriver.end());
					expect(spread(runs)).toEqual(plain);
					let row = 0;
					for (const run of runs) {
						expect(run.from_s).toBe(columns.time_s[row]);
						expect(run.to_s).toBe(columns.time_s[row + run.count - 1]);
						expect(run.mode).toBe(
							run.rule === NO_RULE ? MODE_MISSING : index(rules[run.rule]!.mode),
						);
						row += run.count;
					}
					expect(runs).toEqual(
						(() => {
							const whole = new ModeDeriver(rules, 10);
							return [...whole.push(columns), ...whole.end()];
						})(),
					);
				},
			),
			{ seed: 3101, numRuns: 400 },
		);
	});

	test('rates do not depend on batches either, and a steady rise is told by its slope alone', () => {
		fc.assert(
			fc.property(
				fc.integer({ min: -30, max: 30 }),
				fc.integer({ min: 1, max: 60 }),
				(tenths_mm_s, cut) => {
					const stroke_m = Float64Array.from({ length: 60 }, (_, i) => (i * tenths_mm_s) / 1e4);
					const columns: ModeColumns = { count: 60, time_s: seconds(60), signals: { stroke_m } };
					const rules = [
						rule('cut', 'advance', [{ ...condition('stroke_m', 'rising', 0.00095), over_s: 12 }]),
					];
					const deriver = new ModeDeriver(rules, 10);
					const runs = [
						...deriver.push(part(columns, 0, cut)),
						...deriver.push(part(columns, cut, 60)),
						...deriver.end(),
					];
					const expected = Array.from({ length: 60 }, (_, i) =>
						i >= 12 && tenths_mm_s >= 10 ? 0 : NO_RULE,
					);
					expect(spread(runs)).toEqual(expected);
				},
			),
			{ seed: 3102, numRuns: 200 },
		);
	});

	test('an override wins over every rule, the later over the earlier, and nothing else moves', () => {
		const override = fc
			.record({
				from_s: fc.integer({ min: -5, max: 60 }),
				lasts_s: fc.integer({ min: 1, max: 40 }),
				mode: fc.constantFrom(...MODES),
			})
			.map(({ from_s, lasts_s, mode }) => ({
				from_s,
				to_s: from_s + lasts_s,
				mode,
				why: 'shift log',
			}));
		fc.assert(
			fc.property(
				someColumns,
				someRules,
				fc.array(override, { maxLength: 4 }),
				(columns, rules, overrides) => {
					const derived = deriveModes(columns, rules, 10);
					const record = { ...columns, mode: derived.mode };
					const set = applyModeOverrides(record, overrides);
					expect(record.mode).toEqual(derived.mode);
					for (let i = 0; i < columns.count; i++) {
						const t = columns.time_s[i]!;
						let expected = derived.mode[i]!;
						for (const one of overrides)
							if (one.from_s <= t && t < one.to_s) expected = index(one.mode);
						expect(set.mode[i]).toBe(expected);
						const by = overrideAt(overrides, t);
						expect(by === null ? derived.mode[i] : index(by.mode)).toBe(expected);
					}
					const stretches = modeStretches({ ...columns, rule: derived.rule }, rules, overrides);
					let row = 0;
					for (const [k, stretch] of stretches.entries()) {
						expect(stretch.from_s).toBe(columns.time_s[row]);
						const last = k === stretches.length - 1;
						while (row < columns.count && (last || columns.time_s[row]! < stretch.to_s)) {
							const expected = stretch.mode === null ? MODE_MISSING : index(stretch.mode);
							expect(set.mode[row]).toBe(expected);
							expect(stretch.decidedBy === 'nothing').toBe(expected === MODE_MISSING);
							row++;
						}
					}
					expect(row).toBe(columns.count);
				},
			),
			{ seed: 3103, numRuns: 300 },
		);
	});
});

describe('suggested rules', () => {
	test('any set of signals gives rules without faults, and every mode is told or said to be open', () => {
		fc.assert(
			fc.property(fc.subarray([...MODE_SIGNALS]), (present) => {
				const range = { low: 0, high: 1000 };
				const told = suggestModeRules(present, { thrust_N: range, torque_N_m: range });
				expect(checkModeRules([...told.rules, ...told.optional])).toEqual([]);
				for (const one of told.rules)
					for (const { signal } of one.when) expect(present).toContain(signal);
				const modes = new Set<string>(told.rules.map(({ mode }) => mode));
				for (const { mode, why } of told.cannotTell) {
					expect(modes.has(mode)).toBe(false);
					expect(why).not.toBe('');
					modes.add(mode);
				}
				expect(modes.size).toBe(4);
				for (const { assumes } of told.optional) expect(assumes).toBeTruthy();
				for (const one of told.rules) expect(one.assumes).toBeUndefined();
			}),
			{ seed: 3104, numRuns: 300 },
		);
	});

	test('thrust needs a range, and its limit lies within it', () => {
		expect(suggestModeRules(['thrust_N']).rules).toEqual([]);
		const thrust = Float64Array.from({ length: 100 }, (_, i) => (i % 2 === 0 ? 2e6 : 12e6));
		const [cut] = suggestModeRules(['thrust_N'], { thrust_N: signalRange(thrust)! }).rules;
		expect(modeRuleText(cut!)).toBe(
			'advance when thrust force above 6000 kN (until 4500 kN), for 10 s',
		);
	});

	test('both valves open, or both shut in a stream, is no mode', () => {
		const { rules } = suggestModeRules(['bypassValve_1', 'chamberValve_1', 'feedFlow_m3_s']);
		const of = (value: number) => new Float64Array(20).fill(value);
		const modeFor = (bypass: number, chamber: number, flow: number): number =>
			derive(
				{ bypassValve_1: of(bypass), chamberValve_1: of(chamber), feedFlow_m3_s: of(flow) },
				rules,
			)[19]!;
		expect(modeFor(1, 0, 0.3)).toBe(index('bypass'));
		expect(modeFor(0, 1, 0.3)).toBe(index('advance'));
		expect(modeFor(1, 1, 0.3)).toBe(MODE_MISSING);
		expect(modeFor(0, 0, 0.3)).toBe(MODE_MISSING);
		expect(modeFor(0, 1, 0.002)).toBe(index('stop'));
	});
});

describe('on simulated drives (seeds 11, 12), whose true mode is known', () => {
	for (const seed of [11, 12]) {
		const drive = simulateDrive({ seed, rings: 8 });
		const record = loggerSamples(drive);
		const signals = plantSignals(record, drive.truth);

		test(`seed ${seed}: valves and flows give back the mode`, () => {
			const present: ModeSignal[] = [
				'bypassValve_1',
				'chamberValve_1',
				'flushValve_1',
				'feedFlow_m3_s',
				'returnFlow_m3_s',
			];
			const { rules, cannotTell } = suggestModeRules(present);
			expect(cannotTell).toEqual([]);
			const { mode } = deriveModes({ ...record, signals }, rules, 10);
			const differ = differing(record, mode);
			// Valves travel for 6 s and pumps run up and down for 10 s around each switch.
			expect(differ.wrong).toBeLessThan(8 * switches(record));
			expect(differ.missing).toBeLessThan(8 * switches(record));
			expect(differ.farFromSwitch).toBe(0);
		});

		test(`seed ${seed}: from the stroke alone only cutting is told, and never wrongly`, () => {
			const { rules } = suggestModeRules(['stroke_m']);
			const { mode } = deriveModes({ ...record, signals }, rules, 10);
			let told = 0;
			let through = 0;
			for (let i = 0; i < record.count; i++) {
				if (mode[i] !== MODE_MISSING) told++;
				if (record.mode[i] === index('advance')) through++;
				if (mode[i] !== MODE_MISSING && record.mode[i] !== index('advance'))
					expect(nearSwitch(record, i, 40)).toBe(true);
			}
			// Circulation before and after the cut and pauses in it are not cutting.
			expect(told / through).toBeGreaterThan(0.8);
			expect(told / through).toBeLessThan(1);
		});
	}
});

/** Valve positions with a travel of 6 s, and a stroke to the millimetre, that fit a record's true modes. */
function plantSignals(
	record: Samples,
	rings: readonly RingTruth[],
): Partial<Record<ModeSignal, Float64Array>> {
	const bypassValve_1 = new Float64Array(record.count);
	const chamberValve_1 = new Float64Array(record.count);
	const flushValve_1 = new Float64Array(record.count);
	const stroke_m = new Float64Array(record.count);
	let [bypass, chamber, flush, stroke] = [0, 0, 0, 0.3];
	const towards = (from: number, to: number, dt: number): number =>
		from + Math.max(-dt / 6, Math.min(dt / 6, to - from));
	for (let i = 0; i < record.count; i++) {
		const dt = i === 0 ? 0 : record.time_s[i]! - record.time_s[i - 1]!;
		const mode = MODES[record.mode[i]!]!;
		bypass = towards(bypass, mode === 'bypass' ? 1 : 0, dt);
		chamber = towards(chamber, mode === 'advance' || mode === 'back_flush' ? 1 : 0, dt);
		flush = towards(flush, mode === 'back_flush' ? 1 : 0, dt);
		const t = record.time_s[i]!;
		const cutting = rings.some((ring) => ring.advanceStart_s <= t && t <= ring.advanceEnd_s);
		if (mode === 'advance' && cutting) stroke += 0.00055 * dt;
		if (mode === 'stop') stroke = 0.3;
		bypassValve_1[i] = bypass;
		chamberValve_1[i] = chamber;
		flushValve_1[i] = flush;
		stroke_m[i] = Math.round(stroke * 1000) / 1000;
	}
	return {
		bypassValve_1,
		chamberValve_1,
		flushValve_1,
		stroke_m,
		feedFlow_m3_s: record.feedFlow_m3_s,
		returnFlow_m3_s: record.returnFlow_m3_s,
	};
}

const switches = ({ mode, count }: Samples): number => {
	let found = 0;
	for (let i = 1; i < count; i++) if (mode[i] !== mode[i - 1]) found++;
	return found;
};
function nearSwitch({ mode, count }: Samples, i: number, rows: number): boolean {
	// The record's first row is a switch too: what was before is not known.
	for (let k = Math.max(0, i - rows); k <= Math.min(count - 1, i + rows); k++)
		if (k === 0 || mode[k] !== mode[k - 1]) return true;
	return false;
}
function differing(record: Samples, mode: Uint8Array) {
	let [wrong, missing, farFromSwitch] = [0, 0, 0];
	for (let i = 0; i < record.count; i++) {
		if (mode[i] === record.mode[i]) continue;
		if (mode[i] === MODE_MISSING) missing++;
		else wrong++;
		if (!nearSwitch(record, i, 15)) farFromSwitch++;
	}
	return { wrong, missing, farFromSwitch };
}
