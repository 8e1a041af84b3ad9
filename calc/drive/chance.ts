/**
 * Chance with a seed: the same seed gives the same drive, bit for bit, on every machine. For that
 * only integer arithmetic, + − × ÷ and the square root are used: all of them are exact to the last
 * bit everywhere, which logarithms and sines are not.
 */

/** FNV-1a, 32 bit: turns the name of a stream into a number (Fowler, Noll, Vo). */
function hash(name: string): number {
	let h = 0x811c9dc5;
	for (let i = 0; i < name.length; i++) h = Math.imul(h ^ name.charCodeAt(i), 0x01000193);
	return h >>> 0;
}

/**
 * A stream of random numbers from a seed. Streams of one seed with different names are independent,
 * so that asking for a logger does not change the drive it records.
 * Generator: sfc32, the small fast counting generator with 128 bits of state (C. Doty-Humphrey,
 * PractRand).
 *
 * @example
 * const a = new Chance(7, 'ground');
 * const b = new Chance(7, 'ground');
 * a.bits() === b.bits() // => true
 * new Chance(7, 'ground').bits() === new Chance(7, 'meters').bits() // => false
 */
export class Chance {
	#a: number;
	#b: number;
	#c: number;
	#counter = 1;

	constructor(seed: number, stream: string) {
		this.#a = seed >>> 0;
		this.#b = Math.floor(seed / 2 ** 32) >>> 0;
		this.#c = hash(stream);
		for (let i = 0; i < 16; i++) this.bits();
	}

	/** 32 random bits as a whole number. */
	bits(): number {
		const out = (((this.#a + this.#b) | 0) + this.#counter) | 0;
		this.#counter = (this.#counter + 1) | 0;
		this.#a = this.#b ^ (this.#b >>> 9);
		this.#b = (this.#c + (this.#c << 3)) | 0;
		this.#c = (this.#c << 21) | (this.#c >>> 11);
		this.#c = (this.#c + out) | 0;
		return out >>> 0;
	}

	/** Evenly spread in [low, high). */
	between(low: number, high: number): number {
		return low + (high - low) * (this.bits() / 2 ** 32);
	}

	/** Whole number from low to high, both included. */
	whole(low: number, high: number): number {
		return low + Math.floor(this.between(0, high - low + 1));
	}

	/** True with the given probability. */
	happens(probability: number): boolean {
		return this.between(0, 1) < probability;
	}

	/**
	 * Mean 0, standard deviation 1, near enough to normal: the sum of twelve evenly spread numbers
	 * less six (central limit theorem). It never goes beyond ±6, as no meter's noise does.
	 */
	normal(): number {
		let sum = 6;
		for (let i = 0; i < 6; i++) {
			const bits = this.bits();
			sum += (bits & 0xffff) + (bits >>> 16);
		}
		return sum / 65536 - 6;
	}
}

/**
 * A smooth signal that wanders between −1 and 1: random knots a fixed time apart, joined without a
 * corner (s²(3 − 2s)). Read once a second.
 */
export class Wander {
	readonly #chance: Chance;
	readonly #spacing_s: number;
	#from: number;
	#to: number;
	#at = 0;

	constructor(chance: Chance, spacing_s: number) {
		this.#chance = chance;
		this.#spacing_s = spacing_s;
		this.#from = chance.between(-1, 1);
		this.#to = chance.between(-1, 1);
	}

	/** The value one second on. */
	next(): number {
		if (this.#at === this.#spacing_s) {
			this.#at = 0;
			this.#from = this.#to;
			this.#to = this.#chance.between(-1, 1);
		}
		const s = this.#at / this.#spacing_s;
		this.#at++;
		return this.#from + (this.#to - this.#from) * s * s * (3 - 2 * s);
	}
}
