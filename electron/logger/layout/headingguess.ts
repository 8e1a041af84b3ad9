import { findTarget, TARGETS, type Target, unitIn } from './target.ts';

/**
 * Which field a heading is likely to be, by the words in it; common practice, no source. Each target
 * needs one word of every group. Words are compared by their beginning, so that `temp` is temperature.
 */
const WORDS: Readonly<Record<string, readonly (readonly string[])[]>> = {
	mode: [['mode', 'state', 'status', 'operation']],
	feed_flow_m3_h: [
		['feed', 'supply', 'inlet', 'in'],
		['flow', 'rate', 'q'],
	],
	feed_density_t_m3: [
		['feed', 'supply', 'inlet', 'in'],
		['density', 'dens', 'rho', 'sg', 'gravity'],
	],
	return_flow_m3_h: [
		['return', 'discharge', 'outlet', 'out'],
		['flow', 'rate', 'q'],
	],
	return_density_t_m3: [
		['return', 'discharge', 'outlet', 'out'],
		['density', 'dens', 'rho', 'sg', 'gravity'],
	],
	ring: [['ring']],
	chamber_level_m: [['level']],
	side_flow_m3_h: [
		['side', 'gland', 'seal', 'flushing', 'dosing'],
		['flow', 'rate', 'q'],
	],
	face_pressure_bar: [
		['face', 'support', 'chamber', 'air'],
		['pressure', 'press', 'p'],
	],
	feed_total_m3: [
		['feed', 'supply', 'inlet', 'in'],
		['total', 'totaliser', 'totalizer', 'sum', 'counter'],
	],
	return_total_m3: [
		['return', 'discharge', 'outlet', 'out'],
		['total', 'totaliser', 'totalizer', 'sum', 'counter'],
	],
	marsh_s_per_quart: [['marsh', 'funnel']],
	sand_pct: [['sand']],
	filtrate_ml: [['filtrate']],
	ph: [['ph']],
	yield_point_pa: [['yield']],
	temperature_c: [['temperature', 'temp']],
	'signal:bypassValve_1': [['bypass'], ['valve', 'gate', 'open', 'position', 'pos']],
	'signal:chamberValve_1': [
		['chamber', 'excavation', 'face'],
		['valve', 'gate'],
	],
	'signal:flushValve_1': [
		['flush', 'backflush', 'reverse'],
		['valve', 'gate'],
	],
	'signal:flowDirection_1': [['direction']],
	'signal:stroke_m': [['stroke', 'ram', 'extension']],
	'signal:thrust_N': [['thrust']],
	'signal:torque_N_m': [['torque']],
};

export interface HeadingParts {
	/** Words of the heading, small letters, without its unit. */
	readonly words: readonly string[];
	/** Unit as written, in brackets or behind the name. */
	readonly unit: string | null;
}

/** Cuts a heading into words and a unit; `below`: what stands in the row of units, if there is one. */
export function headingParts(heading: string, below = ''): HeadingParts {
	const bracket = /[[(<{]\s*([^\])>}]+?)\s*[\])>}]\s*$/u.exec(heading);
	const name = bracket === null ? heading : heading.slice(0, bracket.index);
	const unit = bracket?.[1] ?? (below === '' ? null : below.replace(/^[[(]|[\])]$/gu, '').trim());
	const words = name
		.replace(/(\p{Ll})(\p{Lu})/gu, '$1 $2')
		.toLowerCase()
		.split(/[^\p{L}\p{N}/%°³]+/u)
		.filter((word) => word !== '');
	return { words, unit };
}

/** Words a reading's own id is made of, for headings as our own files have them. */
const ownKey = (text: string): string =>
	text
		.trim()
		.toLowerCase()
		.replace(/[\s-]+/gu, '_');

export interface HeadingMatch {
	readonly target: Target;
	/** 0 to 1; our own heading is 1. */
	readonly likeness: number;
	/** Unit of the target's list that the heading names; null: it names none. */
	readonly unit: string | null;
}

/** Targets a heading can mean, the likeliest first. */
export function matchesOf(heading: string, below = ''): HeadingMatch[] {
	const own = findTarget(ownKey(heading));
	if (own !== null) return [{ target: own, likeness: 1, unit: own.keptIn }];
	const { words, unit } = headingParts(heading, below);
	const found: HeadingMatch[] = [];
	for (const target of TARGETS) {
		const groups = WORDS[target.id];
		if (groups === undefined) continue;
		const used = new Set<string>();
		const every = groups.every((group) => {
			const word = words.find((each) =>
				group.some((known) => each === known || (known.length >= 4 && each.startsWith(known))),
			);
			if (word !== undefined) used.add(word);
			return word !== undefined;
		});
		if (!every) continue;
		const named = unitOf(target, words, unit);
		// A unit that cannot be this target's says that something else is meant.
		if (named === 'other') continue;
		const left = words.filter((word) => !used.has(word)).length;
		const likeness = (0.6 + 0.15 * used.size) / (1 + 0.12 * left) + (named === null ? 0 : 0.05);
		found.push({ target, likeness: Math.min(0.99, likeness), unit: named });
	}
	return found.sort((a, b) => b.likeness - a.likeness);
}

function unitOf(
	target: Target,
	words: readonly string[],
	unit: string | null,
): string | null | 'other' {
	if (unit !== null) return unitIn(target, unit) ?? (target.units.length === 0 ? null : 'other');
	// `feed_flow_m3_h`, `flow l/s`: the unit is what the last words make together.
	for (const count of [2, 1]) {
		if (words.length <= count) continue;
		const named = unitIn(target, words.slice(-count).join('/'));
		if (named !== null) return named;
	}
	return null;
}
