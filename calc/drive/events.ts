import type { MeterId } from '../circuit/settings.ts';

/** Things that go wrong on the simulated drive, each in one ring or from one ring to another. */
export type DriveEvent =
	/** More ground enters than the wheel cuts; fraction of the ring's volume. */
	| { readonly kind: 'over_excavation'; readonly ring: number; readonly fraction: number }
	/** Plain groundwater enters the chamber. */
	| { readonly kind: 'water_inflow'; readonly ring: number; readonly flow_m3_h: number }
	/** Suspension leaves the chamber into the ground, as dense as the chamber is. */
	| { readonly kind: 'suspension_loss'; readonly ring: number; readonly flow_m3_h: number }
	/** A densitometer shows too much from one ring on, until it is certified anew at another. */
	| {
			readonly kind: 'densitometer_step';
			readonly meter: Extract<MeterId, 'feed_density' | 'return_density'>;
			readonly ring: number;
			readonly certifiedAgain: number;
			readonly step_t_m3: number;
	  }
	/** Neither logger nor shift records anything for some minutes of the advance. */
	| { readonly kind: 'record_gap'; readonly ring: number; readonly minutes: number };

/** Label of an event in a ring's truth. */
export function eventLabel(event: DriveEvent): string {
	switch (event.kind) {
		case 'over_excavation':
			return `over-excavation of ${Math.round(event.fraction * 1000) / 10} % of the ring`;
		case 'water_inflow':
			return `groundwater inflow up to ${event.flow_m3_h} m³/h`;
		case 'suspension_loss':
			return `suspension loss up to ${event.flow_m3_h} m³/h`;
		case 'densitometer_step':
			return `${event.meter === 'feed_density' ? 'feed' : 'return'} densitometer off by ${event.step_t_m3} t/m³`;
		case 'record_gap':
			return `no record for ${event.minutes} min`;
	}
}

/** Rings for which one set of the usual events is placed. */
const RINGS_PER_SET = 120;

/**
 * The usual events: one of each on a drive of up to 180 rings, another set every 120 rings beyond.
 * Drives of fewer than ten rings have none.
 *
 * @example
 * usualEvents(40).map((e) => `${e.kind} ${e.ring}`) // => ["over_excavation 12", "water_inflow 18", "record_gap 23", "suspension_loss 28", "densitometer_step 32"]
 * usualEvents(9) // => []
 */
export function usualEvents(rings: number): DriveEvent[] {
	if (rings < 10) return [];
	const sets = Math.max(1, Math.round(rings / RINGS_PER_SET));
	const length = rings / sets;
	const events: DriveEvent[] = [];
	for (let set = 0; set < sets; set++) {
		const at = (part: number): number => Math.round((set + part) * length);
		events.push(
			{ kind: 'over_excavation', ring: at(0.3), fraction: 0.09 },
			{ kind: 'water_inflow', ring: at(0.45), flow_m3_h: 22 },
			{ kind: 'record_gap', ring: at(0.58), minutes: 17 },
			{ kind: 'suspension_loss', ring: at(0.7), flow_m3_h: 18 },
			{
				kind: 'densitometer_step',
				meter: 'return_density',
				ring: at(0.8),
				certifiedAgain: at(0.8) + 4,
				step_t_m3: 0.006,
			},
		);
	}
	return events;
}

/** Parts of the stroke over which an event grows, holds and fades. */
const GROWS_FROM = 0.25;
const HOLDS_FROM = 0.3;
const HOLDS_TO = 0.7;
const FADES_TO = 0.75;
/** Mean of `eventStrength` over the stroke. */
export const EVENT_SHARE = (HOLDS_TO - HOLDS_FROM + (FADES_TO - GROWS_FROM)) / 2;

/**
 * Strength of an event, 0 to 1, at a part of the ring's stroke.
 *
 * @example
 * [0.2, 0.275, 0.5, 0.9].map((part) => Number(eventStrength(part).toFixed(6))) // => [0, 0.5, 1, 0]
 */
export function eventStrength(strokePart: number): number {
	if (strokePart <= GROWS_FROM || strokePart >= FADES_TO) return 0;
	if (strokePart < HOLDS_FROM) return (strokePart - GROWS_FROM) / (HOLDS_FROM - GROWS_FROM);
	if (strokePart > HOLDS_TO) return (FADES_TO - strokePart) / (FADES_TO - HOLDS_TO);
	return 1;
}
