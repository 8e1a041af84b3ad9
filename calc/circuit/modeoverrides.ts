import { type Fault, stopFault } from '../fault/fault.ts';
import { type ModeRule, modeRuleText } from './moderules.ts';
import { MODES, type Mode, type Samples } from './samples.ts';

/** A mode a person has set for the stamps in [from_s, to_s), and why. Of overlapping ones the later in the list holds. */
export interface ModeOverride {
	readonly from_s: number;
	readonly to_s: number;
	readonly mode: Mode;
	readonly why: string;
}

/**
 * What is wrong with overrides; the row is the place in the list, from 1.
 *
 * @example
 * checkModeOverrides([{ from_s: 0, to_s: 60, mode: 'bypass', why: 'valve signal was unplugged' }]) // => []
 * checkModeOverrides([{ from_s: 60, to_s: 60, mode: 'bypass', why: ' ' }]).map((f) => f.code) // => ["override_time", "override_without_reason"]
 */
export function checkModeOverrides(overrides: readonly ModeOverride[]): Fault[] {
	const faults: Fault[] = [];
	overrides.forEach(({ from_s, to_s, mode, why }, i) => {
		const where = { row: i + 1 };
		if (!(Number.isFinite(from_s) && Number.isFinite(to_s) && to_s > from_s))
			faults.push(stopFault('override_time', 'The end does not lie after the beginning.', where));
		if (!MODES.includes(mode))
			faults.push(
				stopFault('mode_unknown', 'The mode is not one of the four.', {
					...where,
					value: String(mode),
					expected: MODES.join(', '),
				}),
			);
		if (why.trim() === '')
			faults.push(stopFault('override_without_reason', 'A set mode needs a reason.', where));
	});
	return faults;
}

/**
 * The override that holds at a time, or null.
 *
 * @example
 * overrideAt([{ from_s: 0, to_s: 60, mode: 'bypass', why: 'seen on site' }], 60) // => null
 */
export function overrideAt<T extends ModeOverride>(
	overrides: readonly T[],
	time_s: number,
): T | null {
	return overrides.findLast(({ from_s, to_s }) => from_s <= time_s && time_s < to_s) ?? null;
}

/**
 * The samples with the modes that a person has set; everything else, and the samples given, stay as
 * they are. A mode holds from its stamp until the next, so an override begins at its first stamp.
 * Throws RangeError for overrides that `checkModeOverrides` finds fault with.
 *
 * @example
 * const record = { count: 4, time_s: Float64Array.of(0, 10, 20, 30), mode: Uint8Array.of(0, 0, 255, 0) };
 * applyModeOverrides(record, [{ from_s: 10, to_s: 30, mode: 'stop', why: 'pump tripped, shift log' }]).mode // => [0, 3, 3, 0]
 */
export function applyModeOverrides<T extends Pick<Samples, 'count' | 'time_s' | 'mode'>>(
	samples: T,
	overrides: readonly ModeOverride[],
): T {
	const [fault] = checkModeOverrides(overrides);
	if (fault) throw new RangeError(`applyModeOverrides: ${fault.message}`);
	if (overrides.length === 0) return samples;
	const mode = samples.mode.slice();
	for (const { from_s, to_s, mode: set } of overrides) {
		const index = MODES.indexOf(set);
		for (let i = 0; i < samples.count; i++) {
			const t = samples.time_s[i]!;
			if (t >= from_s && t < to_s) mode[i] = index;
		}
	}
	return { ...samples, mode };
}

/** A stretch of the timeline with one mode for one reason. */
export interface ModeStretch {
	/** First stamp of the stretch. */
	readonly from_s: number;
	/** First stamp after it; the last stamp of the record for the last stretch. */
	readonly to_s: number;
	/** null: the mode is missing. */
	readonly mode: Mode | null;
	readonly decidedBy: 'rule' | 'override' | 'nothing';
	readonly why: string;
}

/**
 * The timeline's stretches with why each has its mode: the rule in words, or the person's reason.
 *
 * @example
 * const rule = { id: 'open', mode: 'bypass', when: [{ signal: 'bypassValve_1', is: 'above', limit: 0.5, hysteresis: 0 }], debounce_s: 0, priority: 1 };
 * modeStretches({ count: 4, time_s: Float64Array.of(0, 1, 2, 3), rule: Uint8Array.of(0, 0, 255, 255) }, [rule], [{ from_s: 3, to_s: 9, mode: 'stop', why: 'shift log' }]).map((s) => [s.from_s, s.to_s, s.mode, s.why])
 * // => [[0, 2, "bypass", "bypass when bypass valve above 50 %"], [2, 3, null, "no rule is met"], [3, 3, "stop", "set by hand: shift log"]]
 */
export function modeStretches(
	derived: {
		readonly count: number;
		readonly time_s: Float64Array;
		readonly rule: Uint8Array;
	},
	rules: readonly ModeRule[],
	overrides: readonly ModeOverride[] = [],
): ModeStretch[] {
	const { count, time_s, rule } = derived;
	const texts = rules.map(modeRuleText);
	const stretches: ModeStretch[] = [];
	let from = 0;
	let held: ModeOverride | number | null = null;
	for (let i = 0; i <= count; i++) {
		const now = i < count ? (overrideAt(overrides, time_s[i]!) ?? rule[i]!) : null;
		if (i > 0 && now !== held && held !== null) {
			const span = { from_s: time_s[from]!, to_s: time_s[Math.min(i, count - 1)]! };
			stretches.push({ ...span, ...reasonOf(held, rules, texts) });
		}
		if (now !== held) from = i;
		held = now;
	}
	return stretches;
}

function reasonOf(
	held: ModeOverride | number,
	rules: readonly ModeRule[],
	texts: readonly string[],
): Omit<ModeStretch, 'from_s' | 'to_s'> {
	if (typeof held !== 'number')
		return { mode: held.mode, decidedBy: 'override', why: `set by hand: ${held.why}` };
	const mode = rules[held]?.mode;
	if (mode === undefined) return { mode: null, decidedBy: 'nothing', why: 'no rule is met' };
	return { mode, decidedBy: 'rule', why: texts[held]! };
}
