import type { Timeline } from '../../../electron/contract/verbs.ts';

/** Start of the made-up ring: 2031-04-07T06:00:00Z. */
export const START_S = 1_933_308_000;

interface Making {
	readonly seconds?: number;
	/** Seconds from the start in which nothing was recorded, ends exclusive. */
	readonly silence?: { from: number; to: number } | null;
	readonly level?: boolean;
	readonly step?: number;
	/** Modes told by rules, one of them set by hand, and faults of signals. */
	readonly faulty?: boolean;
}

/** One invented ring: bypass, advance, a silence in it, bypass again. Deterministic. */
export function madeTimeline(making: Making = {}): Timeline {
	const seconds = making.seconds ?? 3600;
	const step = making.step ?? 5;
	const silence = making.silence === undefined ? { from: 1500, to: 1740 } : making.silence;
	const cutFrom = Math.round(seconds / 6);
	const cutTo = seconds - cutFrom;
	const time_s: number[] = [];
	const feedFlow: (number | null)[] = [];
	const returnFlow: (number | null)[] = [];
	const feedDensity: (number | null)[] = [];
	const returnDensity: (number | null)[] = [];
	const level: (number | null)[] = [];
	for (let t = 0; t <= seconds; t += step) {
		if (silence && t > silence.from && t < silence.to) continue;
		const cutting = t >= cutFrom && t < cutTo;
		time_s.push(START_S + t);
		const ripple = Math.sin(t / 17) * 6 + Math.sin(t / 5.3) * 3;
		feedFlow.push(980 + ripple);
		returnFlow.push((cutting ? 1052 : 981) + ripple * 0.8 + Math.cos(t / 7) * 4);
		feedDensity.push(1.082 + Math.sin(t / 300) * 0.002);
		const rise = cutting ? 1 - Math.exp(-(t - cutFrom) / 180) : Math.exp(-(t - cutTo) / 180);
		returnDensity.push(1.084 + 0.082 * Math.max(0, Math.min(1, t < cutFrom ? 0 : rise)));
		level.push(making.level === false ? null : 4.1 + Math.sin(t / 400) * 0.12);
	}
	const at = (t: number) => START_S + t;
	const recorded: Timeline['modes'] = [
		{ from_s: at(0), to_s: at(cutFrom), mode: 'bypass' },
		...(silence
			? ([
					{ from_s: at(cutFrom), to_s: at(silence.from), mode: 'advance' },
					{ from_s: at(silence.from), to_s: at(silence.to), mode: null },
					{ from_s: at(silence.to), to_s: at(cutTo), mode: 'advance' },
				] as const)
			: ([{ from_s: at(cutFrom), to_s: at(cutTo), mode: 'advance' }] as const)),
		{ from_s: at(cutTo), to_s: at(seconds - 180), mode: 'back_flush' },
		{ from_s: at(seconds - 180), to_s: at(seconds), mode: 'stop' },
	];
	const byRule = 'advance when chamber valve above 50 %';
	const modes = making.faulty
		? recorded.map((stretch, index): Timeline['modes'][number] => {
				if (stretch.mode === null) return stretch;
				return index === 0
					? { ...stretch, decidedBy: 'override', why: 'valve signal was unplugged', override: 7 }
					: { ...stretch, decidedBy: 'rule', why: byRule };
			})
		: recorded;
	return {
		ring: 42,
		source: 'logger',
		time_s,
		feed_flow_m3_h: feedFlow,
		return_flow_m3_h: returnFlow,
		feed_density_t_m3: feedDensity,
		return_density_t_m3: returnDensity,
		chamber_level_m: level,
		modes,
		...(making.faulty ? { signalFaults: madeFaults(at) } : {}),
		advanceWindow: { from_s: at(cutFrom), to_s: at(cutTo) },
		feedWindow: { from_s: at(cutFrom - 210), to_s: at(cutTo - 210) },
		returnWindow: { from_s: at(cutFrom + 240), to_s: at(cutTo + 240) },
		lag_s: 240,
		thinned: false,
	};
}

function madeFaults(at: (t: number) => number): NonNullable<Timeline['signalFaults']> {
	return [
		{
			kind: 'spike',
			signal: 'returnFlow_m3_s',
			from_s: at(820),
			to_s: at(830),
			count: 2,
			rule: 'jumped by 180 m³/h and returned within 2 rows',
		},
		{
			kind: 'frozen',
			signal: 'returnDensity_kg_m3',
			from_s: at(900),
			to_s: at(1290),
			count: 78,
			rule: 'the same value for 6 min 30 s while the circuit moved',
		},
		{
			kind: 'dropout',
			signal: null,
			from_s: at(1500),
			to_s: at(1740),
			count: 47,
			rule: 'no rows for 4 min; gap limit 10 s',
		},
		{
			kind: 'daylight_saving',
			signal: null,
			from_s: at(2400),
			to_s: at(2400),
			count: 1,
			rule: 'stamps step back by 1 h',
		},
	];
}
