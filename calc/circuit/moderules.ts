import { type Fault, stopFault } from '../fault/fault.ts';
import { MODES, type Mode } from './samples.ts';

/**
 * Rules by which the mode of the circuit is told from signals a logger keeps instead of it. A rule is
 * data: a person can read it, change it and see which one decided. Limits are common practice, no source.
 */

/** Signals a mode can be told from, SI. A valve's opening is 0 (shut) to 1 (open). */
export const MODE_SIGNALS = [
	'bypassValve_1',
	'chamberValve_1',
	'flushValve_1',
	'flowDirection_1',
	'stroke_m',
	'thrust_N',
	'torque_N_m',
	'feedFlow_m3_s',
	'returnFlow_m3_s',
] as const;
export type ModeSignal = (typeof MODE_SIGNALS)[number];

/** How a signal is named and shown: the figure on screen is the SI figure × `times`. */
export const MODE_SIGNAL_LABELS: Readonly<
	Record<ModeSignal, { readonly name: string; readonly unit: string; readonly times: number }>
> = {
	bypassValve_1: { name: 'bypass valve', unit: '%', times: 100 },
	chamberValve_1: { name: 'chamber valve', unit: '%', times: 100 },
	flushValve_1: { name: 'back-flush valve', unit: '%', times: 100 },
	flowDirection_1: { name: 'flow direction', unit: '', times: 1 },
	stroke_m: { name: 'stroke', unit: 'mm', times: 1000 },
	thrust_N: { name: 'thrust force', unit: 'kN', times: 0.001 },
	torque_N_m: { name: 'cutterhead torque', unit: 'kNm', times: 0.001 },
	feedFlow_m3_s: { name: 'feed flow', unit: 'm³/h', times: 3600 },
	returnFlow_m3_s: { name: 'return flow', unit: 'm³/h', times: 3600 },
};

/**
 * `above`, `below`: the value against the limit. `within`, `beyond`: its size, whatever its sign.
 * `rising`, `falling`: its rate in signal units per second over the last `over_s` seconds.
 */
export const MODE_COMPARISONS = [
	'above',
	'below',
	'within',
	'beyond',
	'rising',
	'falling',
] as const;
export type ModeComparison = (typeof MODE_COMPARISONS)[number];

export interface ModeCondition {
	readonly signal: ModeSignal;
	readonly is: ModeComparison;
	/** In the signal's unit; per second for `rising` and `falling`. */
	readonly limit: number;
	/** Once met, the condition stays met until the limit is missed by this much. 0: no memory. */
	readonly hysteresis: number;
	/** Time the rate is taken over, s; only for `rising` and `falling`. */
	readonly over_s?: number;
}

/** A mode and what must be seen for it: all conditions at once. Two rules of one mode are an "or". */
export interface ModeRule {
	/** Stable name, unique in its set. */
	readonly id: string;
	readonly mode: Mode;
	readonly when: readonly ModeCondition[];
	/** The rule decides once it has been the first in rank for this long, and then from the beginning of that time, s. */
	readonly debounce_s: number;
	/** Of the rules that are met the one with the highest priority decides; of equals the earlier. */
	readonly priority: number;
	/** What is taken for granted where the signals alone do not tell it. */
	readonly assumes?: string;
}

/** Most rules in a set: a stamp keeps the number of its rule in one byte. */
export const MOST_MODE_RULES = 200;

const hasRate = (condition: ModeCondition): boolean =>
	condition.is === 'rising' || condition.is === 'falling';

/**
 * What is wrong with a set of rules, each fault naming the rule as its value.
 *
 * @example
 * const rule = { id: 'open', mode: 'bypass', when: [{ signal: 'bypassValve_1', is: 'above', limit: 0.5, hysteresis: 0 }], debounce_s: 3, priority: 1 };
 * checkModeRules([rule]) // => []
 * checkModeRules([rule, { ...rule, when: [] }]).map((f) => f.code) // => ["mode_rule_twice", "mode_rule_empty"]
 * checkModeRules([{ ...rule, debounce_s: -1 }]).map((f) => f.code) // => ["mode_rule_time"]
 */
export function checkModeRules(rules: readonly ModeRule[]): Fault[] {
	const faults: Fault[] = [];
	const fault = (code: string, message: string, value: string, expected?: string): void => {
		faults.push(stopFault(code, message, expected === undefined ? { value } : { value, expected }));
	};
	if (rules.length > MOST_MODE_RULES) {
		fault(
			'mode_rules_many',
			'There are too many mode rules.',
			String(rules.length),
			`at most ${MOST_MODE_RULES}`,
		);
	}
	const seen = new Set<string>();
	for (const { id, mode, when, debounce_s, priority } of rules) {
		if (id.trim() === '') fault('mode_rule_unnamed', 'A mode rule has no name.', id);
		if (seen.has(id)) fault('mode_rule_twice', 'Two mode rules have the same name.', id);
		seen.add(id);
		if (!MODES.includes(mode))
			fault('mode_unknown', 'The rule gives an unknown mode.', id, MODES.join(', '));
		if (!(debounce_s >= 0 && debounce_s < Number.POSITIVE_INFINITY))
			fault('mode_rule_time', 'The time a rule must be met is not a time.', id, '0 s or more');
		if (!Number.isFinite(priority))
			fault('mode_rule_priority', 'The priority of a rule is not a number.', id);
		if (when.length === 0) fault('mode_rule_empty', 'A mode rule has no condition.', id);
		for (const condition of when) {
			if (!MODE_SIGNALS.includes(condition.signal))
				fault('mode_signal_unknown', 'A rule looks at an unknown signal.', id);
			if (!MODE_COMPARISONS.includes(condition.is))
				fault('mode_comparison_unknown', 'A rule compares in an unknown way.', id);
			if (!Number.isFinite(condition.limit))
				fault('mode_rule_limit', 'The limit of a condition is not a number.', id);
			if (!(condition.hysteresis >= 0 && condition.hysteresis < Number.POSITIVE_INFINITY))
				fault('mode_rule_hysteresis', 'The hysteresis of a condition is not 0 or more.', id);
			const over_s = condition.over_s ?? 0;
			if (hasRate(condition) !== (over_s > 0 && over_s <= 3600))
				fault(
					'mode_rule_rate',
					'Rising and falling need a time the rate is taken over, other comparisons have none.',
					id,
					'above 0 s, at most 3600 s',
				);
		}
	}
	return faults;
}

/**
 * A rule in words, in the units of the screen.
 *
 * @example
 * modeRuleText({ id: 'open', mode: 'bypass', when: [{ signal: 'bypassValve_1', is: 'above', limit: 0.5, hysteresis: 0.2 }, { signal: 'feedFlow_m3_s', is: 'beyond', limit: 0.01, hysteresis: 0 }], debounce_s: 3, priority: 1 })
 * // => "bypass when bypass valve above 50 % (until 30 %) and feed flow beyond ±36 m³/h, for 3 s"
 * modeRuleText({ id: 'cut', mode: 'advance', when: [{ signal: 'stroke_m', is: 'rising', limit: 0.0001, hysteresis: 0, over_s: 20 }], debounce_s: 0, priority: 1 })
 * // => "advance when stroke rising faster than 6 mm/min over 20 s"
 */
export function modeRuleText(rule: ModeRule): string {
	const conditions = rule.when.map(conditionText).join(' and ');
	const lasting = rule.debounce_s > 0 ? `, for ${rule.debounce_s} s` : '';
	const assumed = rule.assumes === undefined ? '' : ` (${rule.assumes})`;
	return `${rule.mode.replace('_', '-')} when ${conditions}${lasting}${assumed}`;
}

function conditionText(condition: ModeCondition): string {
	const { name, unit, times } = MODE_SIGNAL_LABELS[condition.signal];
	const rate = hasRate(condition);
	const shown = (value: number): string => {
		const digits = Number((value * times * (rate ? 60 : 1)).toPrecision(6));
		const text = String(digits).replace('-', '\u2212');
		if (rate) return `${text} ${unit || '1'}/min`;
		return unit === '' ? text : `${text} ${unit}`;
	};
	const { limit, hysteresis, is } = condition;
	const sign = is === 'within' || is === 'beyond' ? '±' : '';
	const upwards = is === 'below' || is === 'within';
	const until =
		hysteresis > 0 ? ` (until ${sign}${shown(limit + (upwards ? hysteresis : -hysteresis))})` : '';
	const how = rate ? `${is} faster than` : is;
	const over = rate ? ` over ${condition.over_s} s` : '';
	return `${name} ${how} ${sign}${shown(limit)}${over}${until}`;
}
