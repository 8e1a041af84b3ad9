import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PlugLine } from '../../../calc/drive/plugline.ts';

const amount = fc.double({ min: 1e-6, max: 3, noNaN: true });
const excess = fc.double({ min: 0, max: 300, noNaN: true });

describe('PlugLine', () => {
	it('gives back exactly what went in, in the same order', () => {
		const line = new PlugLine();
		line.push(2, 10, 30, 1, 3);
		line.push(1, 50, 50, 5, 5);
		// The first cubic metre runs from 10 to 20, the second from 20 to 30.
		line.pop(1);
		expect(line.poppedExcess_kg).toBe(15);
		expect(line.poppedBentonite_kg).toBe(1.5);
		expect(line.outletExcess_kg_m3).toBe(20);
		line.pop(1.5);
		expect(line.poppedExcess_kg).toBe(25 + 25);
		expect(line.held()).toEqual({ volume_m3: 0.5, excess_kg: 25, bentonite_kg: 2.5 });
	});

	it('puts a new piece of pipe before everything else at the outlet', () => {
		const line = new PlugLine();
		line.push(5, 40, 40, 4, 4);
		line.insertAtOutlet(2, 70, 7);
		expect(line.outletExcess_kg_m3).toBe(70);
		line.pop(3);
		expect(line.poppedExcess_kg).toBe(2 * 70 + 40);
	});

	it('refuses to give what it does not hold', () => {
		const line = new PlugLine();
		line.push(1, 10, 10, 0, 0);
		expect(() => line.pop(1.5)).toThrow(RangeError);
		expect(new PlugLine().outletExcess_kg_m3).toBeNaN();
	});

	it('conserves volume and mass through any history of pushing, popping and passing on', () => {
		fc.assert(
			fc.property(
				fc.array(fc.tuple(amount, excess, excess, fc.double({ min: 0, max: 1, noNaN: true })), {
					minLength: 1,
					maxLength: 1500,
				}),
				(steps) => {
					const first = new PlugLine();
					const second = new PlugLine();
					let volumeIn = 0;
					let massIn = 0;
					let bentoniteIn = 0;
					let moved = 0;
					let mass = 0;
					let bentonite = 0;
					for (const [v, a, b, part] of steps) {
						first.push(v, a, b, a / 2, b / 3);
						volumeIn += v;
						massIn += (v * (a + b)) / 2;
						bentoniteIn += (v * (a / 2 + b / 3)) / 2;
						const out = first.held().volume_m3 * part * 0.9;
						first.popInto(second, out);
						moved += out;
						const on = second.held().volume_m3 * (1 - part) * 0.9;
						second.pop(on);
						mass += on > 0 ? second.poppedExcess_kg : 0;
						bentonite += on > 0 ? second.poppedBentonite_kg : 0;
						moved -= on;
					}
					const held = [first.held(), second.held()] as const;
					const heldVolume = held[0].volume_m3 + held[1].volume_m3;
					const heldMass = held[0].excess_kg + held[1].excess_kg;
					const heldBentonite = held[0].bentonite_kg + held[1].bentonite_kg;
					expect(held[1].volume_m3).toBeCloseTo(moved, 9);
					expect(heldVolume).toBeLessThanOrEqual(volumeIn * (1 + 1e-12));
					expect(Math.abs(heldMass + mass - massIn)).toBeLessThanOrEqual(1e-11 * massIn + 1e-12);
					expect(Math.abs(heldBentonite + bentonite - bentoniteIn)).toBeLessThanOrEqual(
						1e-11 * bentoniteIn + 1e-12,
					);
				},
			),
			{ seed: 20260302, numRuns: 25 },
		);
	});
});
