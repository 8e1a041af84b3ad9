import { CompensatedSum } from '../quantity/sum.ts';

/** Everything that crossed the bounds of the loop over a whole drive, to prove that it closes. */
export interface DriveAudit {
	readonly feed: Crossing;
	readonly ground: Crossing;
	readonly inflow: Crossing;
	readonly side: Crossing;
	/** Suspension brought in with pipes that were put in already filled. */
	readonly pipes: Crossing;
	readonly back: Crossing;
	readonly loss: Crossing;
	readonly heldAtStart: Crossing;
	readonly heldAtEnd: Crossing;
}

/** Volume, excess mass over water of all solids, and of the bentonite among them. */
export interface Crossing {
	readonly volume_m3: number;
	readonly excess_kg: number;
	readonly bentonite_kg: number;
}

/** A compensated running total of one crossing. */
export class Tally {
	readonly #volume = new CompensatedSum();
	readonly #excess = new CompensatedSum();
	readonly #bentonite = new CompensatedSum();

	add(volume_m3: number, excess_kg: number, bentonite_kg: number): void {
		this.#volume.add(volume_m3);
		this.#excess.add(excess_kg);
		this.#bentonite.add(bentonite_kg);
	}

	get total(): Crossing {
		return {
			volume_m3: this.#volume.value,
			excess_kg: this.#excess.value,
			bentonite_kg: this.#bentonite.value,
		};
	}
}
