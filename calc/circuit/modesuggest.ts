import type { ModeCondition, ModeRule, ModeSignal } from './moderules.ts';
import type { Mode } from './samples.ts';

/** Where a signal usually lies low and high; see {@link signalRange}. */
export interface SignalRange {
	readonly low: number;
	readonly high: number;
}

/** Rules that fit the signals a logger has, and the modes they leave open. */
export interface ModeSuggestion {
	readonly rules: readonly ModeRule[];
	/** Rules that take something for granted: a person may add them, nothing adds them by itself. */
	readonly optional: readonly ModeRule[];
	readonly cannotTell: readonly { readonly mode: Mode; readonly why: string }[];
}

/** A valve counts as open or shut from half its travel on, common practice, no source. */
const VALVE_LIMIT = 0.5;
const VALVE_HYSTERESIS = 0.2;
/** Flow below which a line stands still, m³/s (36 m³/h), common practice, no source. */
const STILL_M3_S = 0.01;
const STILL_HYSTERESIS_M3_S = 0.005;
/** Slowest thrust taken for one, m/s (3 mm/min), and the time it is taken over, s. */
const THRUST_RATE_M_S = 0.00005;
const THRUST_RATE_OVER_S = 30;
/** Where the limit of a force or torque lies between its low and high, and how wide its hysteresis is. */
const LIMIT_SHARE = 0.4;
const HYSTERESIS_SHARE = 0.15;
const VALVE_DEBOUNCE_S = 3;
const FORCE_DEBOUNCE_S = 10;

/**
 * Suggests rules from the signals that are there. Valves tell most: a stream through the chamber is
 * `advance` whether or not the wheel cuts. Without valves only cutting can be told, from stroke, thrust
 * or torque; thrust and torque need `ranges`, since their limits are the machine's own. Both valves
 * open, or both shut with a flow, is no mode: how the stream divides is not known.
 *
 * @example
 * const told = suggestModeRules(['bypassValve_1', 'chamberValve_1', 'feedFlow_m3_s']);
 * told.rules.map((rule) => `${rule.mode}: ${rule.id}`) // => ["stop: lines_still", "bypass: bypass_open", "advance: chamber_open"]
 * told.cannotTell.map((one) => one.mode) // => ["back_flush"]
 * suggestModeRules(['stroke_m']).cannotTell.map((one) => one.mode) // => ["bypass", "back_flush", "stop"]
 */
export function suggestModeRules(
	present: readonly ModeSignal[],
	ranges: Readonly<Partial<Record<ModeSignal, SignalRange>>> = {},
): ModeSuggestion {
	const has = (signal: ModeSignal): boolean => present.includes(signal);
	const flows = (['feedFlow_m3_s', 'returnFlow_m3_s'] as const).filter(has);
	const moving: ModeCondition[] = flows.slice(0, 1).map((signal) => ({
		signal,
		is: 'beyond',
		limit: STILL_M3_S + STILL_HYSTERESIS_M3_S,
		hysteresis: STILL_HYSTERESIS_M3_S,
	}));
	const rules: ModeRule[] = [];
	const optional: ModeRule[] = [];
	const add = (
		id: string,
		mode: Mode,
		when: readonly ModeCondition[],
		debounce_s: number,
		priority: number,
	): void => {
		rules.push({ id, mode, when, debounce_s, priority });
	};
	if (flows.length > 0) {
		const still = flows.map(
			(signal): ModeCondition => ({
				signal,
				is: 'within',
				limit: STILL_M3_S,
				hysteresis: STILL_HYSTERESIS_M3_S,
			}),
		);
		add('lines_still', 'stop', still, VALVE_DEBOUNCE_S, 40);
	}
	if (has('flushValve_1'))
		add('flush_open', 'back_flush', [opened('flushValve_1')], VALVE_DEBOUNCE_S, 30);
	if (has('flowDirection_1')) {
		const turned: ModeCondition = {
			signal: 'flowDirection_1',
			is: 'below',
			limit: -0.5,
			hysteresis: 0.2,
		};
		add('flow_turned', 'back_flush', [turned], VALVE_DEBOUNCE_S, 30);
	}
	const bypass = has('bypassValve_1');
	const chamber = has('chamberValve_1');
	if (bypass && chamber) {
		const open = [opened('bypassValve_1'), shut('chamberValve_1')];
		add('bypass_open', 'bypass', open, VALVE_DEBOUNCE_S, 20);
		add(
			'chamber_open',
			'advance',
			[opened('chamberValve_1'), shut('bypassValve_1')],
			VALVE_DEBOUNCE_S,
			10,
		);
	} else if (bypass) {
		add('bypass_open', 'bypass', [opened('bypassValve_1')], VALVE_DEBOUNCE_S, 20);
		// A shut bypass alone does not say that anything flows.
		if (moving.length > 0)
			add('bypass_shut', 'advance', [shut('bypassValve_1'), ...moving], VALVE_DEBOUNCE_S, 10);
	} else if (chamber) {
		add('chamber_open', 'advance', [opened('chamberValve_1'), ...moving], VALVE_DEBOUNCE_S, 10);
		if (moving.length > 0)
			add('chamber_shut', 'bypass', [shut('chamberValve_1'), ...moving], VALVE_DEBOUNCE_S, 20);
	}
	if (!rules.some(({ mode }) => mode === 'advance')) {
		const cutting = cuttingConditions(has, ranges);
		for (const [id, condition] of cutting) add(id, 'advance', [condition], FORCE_DEBOUNCE_S, 10);
		if (!bypass && cutting.length > 0 && moving.length > 0) {
			optional.push({
				id: 'flow_without_cutting',
				mode: 'bypass',
				when: moving,
				debounce_s: 60,
				priority: 5,
				assumes: 'takes for granted that the chamber is shut off whenever nothing is cut',
			});
		}
	}
	return { rules, optional, cannotTell: leftOpen(rules, has) };
}

const opened = (signal: ModeSignal): ModeCondition => ({
	signal,
	is: 'above',
	limit: VALVE_LIMIT,
	hysteresis: VALVE_HYSTERESIS,
});
const shut = (signal: ModeSignal): ModeCondition => ({
	signal,
	is: 'below',
	limit: VALVE_LIMIT,
	hysteresis: VALVE_HYSTERESIS,
});

/** Signs of cutting, each a rule of its own. */
function cuttingConditions(
	has: (signal: ModeSignal) => boolean,
	ranges: Readonly<Partial<Record<ModeSignal, SignalRange>>>,
): [string, ModeCondition][] {
	const found: [string, ModeCondition][] = [];
	if (has('stroke_m')) {
		const rising: ModeCondition = {
			signal: 'stroke_m',
			is: 'rising',
			limit: THRUST_RATE_M_S,
			hysteresis: THRUST_RATE_M_S / 2,
			over_s: THRUST_RATE_OVER_S,
		};
		return [['stroke_rising', rising]];
	}
	for (const [id, signal] of [
		['thrust_on', 'thrust_N'],
		['torque_on', 'torque_N_m'],
	] as const) {
		const range = ranges[signal];
		if (!has(signal) || range === undefined || !(range.high > range.low)) continue;
		const width = range.high - range.low;
		found.push([
			id,
			{
				signal,
				is: 'above',
				limit: range.low + LIMIT_SHARE * width,
				hysteresis: HYSTERESIS_SHARE * width,
			},
		]);
	}
	return found;
}

function leftOpen(
	rules: readonly ModeRule[],
	has: (signal: ModeSignal) => boolean,
): { mode: Mode; why: string }[] {
	const why: Record<Mode, string> = {
		advance:
			has('thrust_N') || has('torque_N_m')
				? 'Thrust and torque need a limit of this machine; valves or stroke would tell it too.'
				: 'Neither valves with a flow nor stroke, thrust or torque are recorded.',
		bypass:
			'No valve tells whether the stream goes through the chamber: a bypass or chamber valve is needed, and a flow beside a chamber valve.',
		back_flush: 'Neither a back-flush valve nor a direction of flow is recorded.',
		stop: 'No flow is recorded.',
	};
	return (['advance', 'bypass', 'back_flush', 'stop'] as const)
		.filter((mode) => !rules.some((rule) => rule.mode === mode))
		.map((mode) => ({ mode, why: why[mode] }));
}

/** Values looked at to find a range: every so-manyth of a longer column. */
const RANGE_VALUES = 20_000;

/**
 * Where a signal usually lies low and high: its 5 % and 95 % quantiles. null with fewer than 20 values.
 *
 * @example
 * signalRange(Float64Array.from({ length: 101 }, (_, i) => i)) // => { "low": 5, "high": 95 }
 * signalRange(Float64Array.of(1, NaN)) // => null
 */
export function signalRange(values: ArrayLike<number>): SignalRange | null {
	const every = Math.max(1, Math.floor(values.length / RANGE_VALUES));
	const kept: number[] = [];
	for (let i = 0; i < values.length; i += every)
		if (Number.isFinite(values[i])) kept.push(values[i]!);
	if (kept.length < 20) return null;
	kept.sort((a, b) => a - b);
	const at = (part: number): number => kept[Math.round(part * (kept.length - 1))]!;
	return { low: at(0.05), high: at(0.95) };
}

/**
 * Whether a valve's column looks like 0 to 1 or like per cent, for a person to confirm; null where it
 * is empty or never above 0.
 *
 * @example
 * valveUnit([0, 100, 40]) // => "%"
 * valveUnit([0, 1, 1, 0.4]) // => "1"
 * valveUnit([0, 0]) // => null
 */
export function valveUnit(values: ArrayLike<number>): '1' | '%' | null {
	let high = Number.NEGATIVE_INFINITY;
	for (let i = 0; i < values.length; i++) high = Math.max(high, values[i]! || 0);
	if (!(high > 0)) return null;
	return high > 1.5 ? '%' : '1';
}
