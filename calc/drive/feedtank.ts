import { type Chance, Wander } from './chance.ts';
import type { DrivePlan } from './plan.ts';

/** Time over which a charge of fresh suspension reaches the feed, s. */
const FRESH_MIX_S = 180;

/**
 * The suspension the plant sends down, as excess density over water at the feed meter. Fines that the
 * plant does not take out build up while ground is cut; when the feed has become too dense, fresh
 * suspension is added within some minutes. The rates are invented.
 */
export class FeedTank {
	readonly #steady: boolean;
	readonly #chance: Chance;
	readonly #wander: Wander;
	readonly #bentoniteAtStart: number;
	readonly #finesAtStart: number;
	#bentonite: number;
	#fines: number;
	#limit: number;
	#mixing_s = 0;
	#finesStep = 0;
	#bentoniteStep = 0;

	/** Excess density now, kg/m³: all solids, and the bentonite among them. */
	excess_kg_m3 = 0;
	bentoniteExcess_kg_m3 = 0;

	constructor(plan: DrivePlan, chance: Chance) {
		const excess = plan.feedDensity_t_m3 * 1000 - plan.waterDensity_kg_m3;
		this.#steady = plan.steady;
		this.#chance = chance;
		this.#wander = new Wander(chance, 900);
		this.#bentoniteAtStart = excess * plan.feedBentoniteShare;
		this.#finesAtStart = excess - this.#bentoniteAtStart;
		this.#bentonite = this.#bentoniteAtStart;
		this.#fines = this.#finesAtStart;
		this.#limit = this.#nextLimit();
		this.#settle(0);
	}

	/**
	 * One second on. `cut_m` is the advance in that second, `finesShare` the part of the ground finer
	 * than 0.063 mm, `mayMix` whether a charge of fresh suspension may begin.
	 */
	next(cut_m: number, finesShare: number, mayMix: boolean): void {
		if (this.#steady) return;
		this.#fines += cut_m * (0.5 + 2.5 * finesShare);
		if (this.#mixing_s > 0) {
			this.#mixing_s--;
			this.#fines += this.#finesStep;
			this.#bentonite += this.#bentoniteStep;
		} else if (mayMix && this.#fines + this.#bentonite > this.#limit) {
			this.#mixing_s = FRESH_MIX_S;
			const finesAfter = this.#finesAtStart * this.#chance.between(0.75, 1);
			this.#finesStep = (finesAfter - this.#fines) / FRESH_MIX_S;
			this.#bentoniteStep = (this.#bentoniteAtStart - this.#bentonite) / FRESH_MIX_S;
			this.#limit = this.#nextLimit();
		}
		this.#settle(0.8 * this.#wander.next());
	}

	#settle(wander: number): void {
		this.bentoniteExcess_kg_m3 = this.#bentonite;
		this.excess_kg_m3 = Math.max(this.#bentonite, this.#fines + this.#bentonite + wander);
	}

	#nextLimit(): number {
		return this.#finesAtStart + this.#bentoniteAtStart + this.#chance.between(9, 18);
	}
}
