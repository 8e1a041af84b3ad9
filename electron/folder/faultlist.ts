import type { Fault } from '../../calc/fault/fault.ts';

/** Faults listed in full of one file or folder; the rest are counted by code. */
export const FAULTS_LISTED = 1000;

/** What a list holds at one moment, as plain data. */
export interface FaultsSoFar {
	readonly listed: readonly Fault[];
	readonly beyond: readonly { code: string; count: number; weight: Fault['weight'] }[];
	readonly stops: number;
}

/**
 * Faults as they are found, the first of them kept and the rest counted, so that a file in which
 * every row is wrong is still told in a moment and in little memory.
 */
export class FaultList {
	readonly #limit: number;
	readonly #listed: Fault[] = [];
	readonly #beyond = new Map<string, { count: number; weight: Fault['weight'] }>();
	#stops = 0;

	constructor(limit: number = FAULTS_LISTED) {
		this.#limit = limit;
	}

	add(...faults: readonly Fault[]): void {
		for (const fault of faults) this.count(fault.code, fault.weight, () => fault);
	}

	/** Counts a fault and words it only if there is room to list it. */
	count(code: string, weight: Fault['weight'], word: () => Fault): void {
		if (weight === 'stop') this.#stops++;
		if (this.#listed.length < this.#limit) {
			this.#listed.push(word());
			return;
		}
		const known = this.#beyond.get(code);
		if (known) known.count++;
		else this.#beyond.set(code, { count: 1, weight });
	}

	/** What has been found so far, of the listed ones only those from the `from`th on. */
	soFar(from = 0): FaultsSoFar {
		return {
			listed: this.#listed.slice(from),
			beyond: [...this.#beyond].map(([code, { count, weight }]) => ({ code, count, weight })),
			stops: this.#stops,
		};
	}

	/** Forgets what it holds and holds that. */
	goOnFrom({ listed, beyond, stops }: FaultsSoFar): void {
		this.#listed.splice(0, this.#listed.length, ...listed);
		this.#beyond.clear();
		for (const { code, count, weight } of beyond) this.#beyond.set(code, { count, weight });
		this.#stops = stops;
	}

	get listed(): readonly Fault[] {
		return this.#listed;
	}
	/** Found but not listed. */
	get more(): number {
		let sum = 0;
		for (const { count } of this.#beyond.values()) sum += count;
		return sum;
	}
	/** How many of each code are not listed. */
	get moreByCode(): Readonly<Record<string, number>> {
		return Object.fromEntries([...this.#beyond].map(([code, { count }]) => [code, count]));
	}
	get stops(): number {
		return this.#stops;
	}
}
