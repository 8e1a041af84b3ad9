import { METERS, type MeterId } from '../circuit/settings.ts';
import { Chance } from './chance.ts';
import type { DrivePlan } from './plan.ts';
import { roundTo } from './rounding.ts';

/**
 * The meters of the simulated drive: offset + slope·shown = true + drift + step + noise, in the trade's
 * units (m³/h, t/m³). Certificates state offset and slope, and after a recalibration the step too.
 * Sizes are of the order makers state for such meters (common practice, no source).
 */

/** A certificate as the meters sheet keeps it; offset in m³/h or t/m³. */
export interface Certificate {
	readonly meter: MeterId;
	readonly validFrom_s: number;
	readonly slope: number;
	readonly offset: number;
	readonly certificate: string;
}

/** One meter's errors. */
export interface MeterErrors {
	readonly slope: number;
	readonly offset: number;
	/** Part of the noise that changes from second to second, and part that lasts, as standard deviations. */
	readonly quickNoise: number;
	readonly lastingNoise: number;
	/** Correlation time of the lasting part, s. */
	readonly lasts_s: number;
	/** Drift at knots a fixed time apart, from the start of the record. */
	readonly drift: readonly number[];
	/** Steps: error from one time until another. */
	readonly steps: { readonly from_s: number; readonly error: number }[];
}

/** Time between two knots of the drift, s. */
export const DRIFT_KNOT_S = 43_200;
/** A flow meter shows nothing below this, m³/h. */
export const LOW_FLOW_CUTOFF_M3_H = 8;

const isFlow = (meter: MeterId): boolean => meter === 'feed_flow' || meter === 'return_flow';

/** The meters of a drive; drift knots are made for `length_s` seconds and held beyond. */
export class DriveMeters {
	readonly perfect: boolean;
	readonly errors: Readonly<Record<MeterId, MeterErrors>>;
	readonly levelNoise_m: number;
	readonly #plan: DrivePlan;
	readonly #certificates: Certificate[] = [];

	constructor(plan: DrivePlan) {
		this.#plan = plan;
		this.perfect = plan.meters === 'perfect';
		this.levelNoise_m = this.perfect ? 0 : 0.004;
		const chance = new Chance(plan.seed, 'meters');
		const errors: Partial<Record<MeterId, MeterErrors>> = {};
		for (const meter of METERS) {
			errors[meter] = this.perfect
				? NO_ERRORS
				: { ...someErrors(plan, meter, chance), ...plan.meterErrors?.[meter] };
			if (plan.meters !== 'certified') continue;
			this.#certificates.push({
				meter,
				validFrom_s: plan.start_s - 86_400,
				slope: errors[meter].slope,
				offset: errors[meter].offset,
				certificate: `works test ${1 + METERS.indexOf(meter)}`,
			});
		}
		this.errors = errors as Record<MeterId, MeterErrors>;
	}

	/** Certificates in order of time; none for perfect and for uncorrected meters. */
	get certificates(): readonly Certificate[] {
		return this.#certificates;
	}

	/** To be told before the record of a ring is taken: densitometers that go wrong or are put right. */
	beginRing(ring: number, time_s: number): void {
		if (this.perfect) return;
		for (const event of this.#plan.events) {
			if (event.kind !== 'densitometer_step') continue;
			const errors = this.errors[event.meter];
			if (event.ring === ring) errors.steps.push({ from_s: time_s, error: event.step_t_m3 });
			if (event.certifiedAgain !== ring || this.#plan.meters !== 'certified') continue;
			const error = stepAt(errors, time_s);
			this.#certificates.push({
				meter: event.meter,
				validFrom_s: time_s,
				slope: errors.slope,
				offset: roundTo(errors.offset - error, 4),
				certificate: `comparison with the mud balance, ring ${ring}`,
			});
		}
	}

	/** How much too much the meter shows in true units, noise and the first certificate's errors apart. */
	driftAt(meter: MeterId, time_s: number): number {
		const errors = this.errors[meter];
		const at = Math.max(0, (time_s - this.#plan.start_s) / DRIFT_KNOT_S);
		const knot = Math.floor(at);
		const last = errors.drift.length - 1;
		const a = errors.drift[Math.min(knot, last)]!;
		const b = errors.drift[Math.min(knot + 1, last)]!;
		return a + (b - a) * (at - knot) + stepAt(errors, time_s);
	}
}

/** Steps that hold at a time, together. */
function stepAt(errors: MeterErrors, time_s: number): number {
	let error = 0;
	for (const step of errors.steps) if (step.from_s <= time_s) error += step.error;
	return error;
}

const NO_ERRORS: MeterErrors = {
	slope: 1,
	offset: 0,
	quickNoise: 0,
	lastingNoise: 0,
	lasts_s: 1,
	drift: [0],
	steps: [],
};

/** Knots enough for two years; a longer drive keeps the last. */
const KNOTS = 1500;

function someErrors(plan: DrivePlan, meter: MeterId, chance: Chance): MeterErrors {
	const flow = isFlow(meter);
	const drift: number[] = [];
	const size = flow ? 0.0008 * plan.feedFlow_m3_h : 0.0004;
	let at = 0;
	for (let i = 0; i < KNOTS; i++) {
		at = 0.7 * at + 0.7 * chance.between(-size, size);
		drift.push(at);
	}
	return {
		slope: roundTo(1 + chance.between(-0.008, 0.008), 4),
		offset: flow
			? roundTo(chance.between(-1.5, 1.5), 1)
			: roundTo(chance.between(-0.012, 0.012), 4),
		quickNoise: flow ? 0.0015 * plan.feedFlow_m3_h : meter === 'feed_density' ? 0.0004 : 0.0008,
		lastingNoise: flow ? 0.001 * plan.feedFlow_m3_h : meter === 'feed_density' ? 0.0003 : 0.0008,
		lasts_s: flow ? 15 : 30,
		drift,
		steps: [],
	};
}
