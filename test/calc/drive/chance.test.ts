import { describe, expect, it } from 'vitest';
import { Chance, Wander } from '../../../calc/drive/chance.ts';

/**
 * The published generator sfc32 (C. Doty-Humphrey, PractRand), written a second time with whole
 * numbers of any length instead of 32-bit ones. The start state is the one Chance documents.
 */
function* sfc32(a: bigint, b: bigint, c: bigint): Generator<number> {
	const mask = 0xffff_ffffn;
	let counter = 1n;
	for (;;) {
		const out = (a + b + counter) & mask;
		counter = (counter + 1n) & mask;
		a = b ^ (b >> 9n);
		b = (c + (c << 3n)) & mask;
		c = (((c << 21n) | (c >> 11n)) + out) & mask;
		yield Number(out);
	}
}

/** FNV-1a as published (Fowler, Noll, Vo). */
const fnv1a = (text: string): bigint =>
	[...text].reduce(
		(h, letter) => ((h ^ BigInt(letter.charCodeAt(0))) * 0x0100_0193n) & 0xffff_ffffn,
		0x811c_9dc5n,
	);

describe('Chance', () => {
	it('is sfc32, started from the seed and the name of the stream', () => {
		// FNV-1a of "a" and "foobar": test vectors published with the hash.
		expect(fnv1a('a')).toBe(0xe40c292cn);
		expect(fnv1a('foobar')).toBe(0xbf9cf968n);
		const seed = 2 ** 40 + 12345;
		const reference = sfc32(BigInt(seed % 2 ** 32), BigInt(2 ** 8), fnv1a('circuit'));
		for (let i = 0; i < 16; i++) reference.next();
		const chance = new Chance(seed, 'circuit');
		for (let i = 0; i < 2000; i++) expect(chance.bits()).toBe(reference.next().value);
	});

	it('has mean 0, variance 1 and the kurtosis 2.9 of a sum of twelve evenly spread numbers', () => {
		const chance = new Chance(1, 'normal');
		const n = 400_000;
		let sum = 0;
		let squares = 0;
		let fourths = 0;
		for (let i = 0; i < n; i++) {
			const x = chance.normal();
			sum += x;
			squares += x * x;
			fourths += x ** 4;
		}
		// Five standard errors: 1/√n for the mean, √(1.9/n) for the variance.
		expect(Math.abs(sum / n)).toBeLessThan(5 / Math.sqrt(n));
		expect(Math.abs(squares / n - 1)).toBeLessThan(5 * Math.sqrt(1.9 / n));
		// Kurtosis of the sum of k uniforms is 3 − 6/(5k) (Irwin–Hall distribution).
		expect(fourths / n / (squares / n) ** 2).toBeCloseTo(2.9, 1);
	});

	it('spreads whole numbers evenly, ends included', () => {
		const chance = new Chance(2, 'whole');
		const counts = new Array<number>(6).fill(0);
		for (let i = 0; i < 60_000; i++) counts[chance.whole(1, 6) - 1]!++;
		const chiSquare = counts.reduce((sum, count) => sum + (count - 10_000) ** 2 / 10_000, 0);
		// 0.1 % point of χ² with 5 degrees of freedom (any table): 20.52.
		expect(chiSquare).toBeLessThan(20.52);
	});

	it('gives other numbers for another seed', () => {
		const few = (seed: number) => {
			const chance = new Chance(seed, 'x');
			return [chance.bits(), chance.bits()];
		};
		expect(few(1)).not.toEqual(few(2));
		expect(few(1)).not.toEqual(few(1 + 2 ** 32));
	});
});

describe('Wander', () => {
	it('stays between −1 and 1 and never jumps', () => {
		const wander = new Wander(new Chance(3, 'w'), 100);
		const values = Array.from({ length: 20_000 }, () => wander.next());
		expect(Math.max(...values)).toBeLessThanOrEqual(1);
		expect(Math.min(...values)).toBeGreaterThanOrEqual(-1);
		// Steepest slope of s²(3 − 2s) is 3/2, over a rise of at most 2 in 100 s.
		const steps = values.slice(1).map((value, i) => Math.abs(value - values[i]!));
		expect(Math.max(...steps)).toBeLessThanOrEqual(0.03 + 1e-12);
		expect(Math.max(...values) - Math.min(...values)).toBeGreaterThan(1);
	});
});
