import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FAULT_KINDS, FAULT_SIGNALS } from '../../../calc/circuit/faultrules.ts';
import {
	concerns,
	faultName,
	faultPieces,
	lanesFor,
	MOST_LANES,
	type SignalFaultShown,
} from '../../../renderer/charts/faultstrip.ts';
import { fullSpan } from '../../../renderer/charts/traces.ts';
import { madeTimeline } from './madetimeline.ts';

const fault = (from_s: number, to_s: number): SignalFaultShown => ({
	kind: 'spike',
	signal: 'feedFlow_m3_s',
	from_s,
	to_s,
	count: 1,
	rule: 'r',
});

describe('faults of signals on the timeline', () => {
	it('have a name for every kind and signal there is', () => {
		for (const kind of FAULT_KINDS) {
			expect(faultName({ kind, signal: null })).toMatch(/^[A-Z]/);
			for (const signal of FAULT_SIGNALS)
				expect(faultName({ kind, signal })).toMatch(/^[A-Z][a-z ]+, [a-z ]+$/);
		}
	});

	it('are marked in the panel of their signal, and in every panel if they concern all', () => {
		expect(concerns({ signal: 'returnDensity_kg_m3' }, 'density')).toBe(true);
		expect(concerns({ signal: 'returnDensity_kg_m3' }, 'flow')).toBe(false);
		expect(concerns({ signal: null }, 'level')).toBe(true);
		expect(concerns({ signal: 'feedTotal_m3' }, 'flow')).toBe(false);
	});

	it('can be seen however short they are, and do not cover each other while there are lanes', () => {
		const [moment, beside] = faultPieces(
			[fault(50, 50), fault(50.1, 60)],
			{ from_s: 0, to_s: 100 },
			500,
			7,
		);
		expect(moment?.width).toBeGreaterThanOrEqual(4);
		expect([moment?.lane, beside?.lane]).toEqual([0, 1]);
	});

	it('bear a word only where there is room for it', () => {
		const view = { from_s: 0, to_s: 100 };
		const words = (width: number) =>
			faultPieces([fault(0, 0), fault(30, 30)], view, width, 6).map((piece) => piece.word);
		expect(words(1000)).toEqual(['Spike, feed flow', 'Spike, feed flow']);
		// Beside each other there is no room, so the second goes into the other lane.
		expect(words(200)).toEqual(['Spike, feed flow', 'Spike, feed flow']);
		expect(words(140)).toEqual(['Spike, feed flow', '']);
		expect(words(60)).toEqual(['', '']);
	});

	it('stay on the strip and in its lanes wherever they lie', () => {
		const span = fc.tuple(
			fc.double({ min: -50, max: 150, noNaN: true }),
			fc.double({ min: 0, max: 80, noNaN: true }),
		);
		fc.assert(
			fc.property(
				fc.array(span, { maxLength: 12 }),
				fc.integer({ min: 20, max: 900 }),
				(spans, width) => {
					const faults = spans.map(([from, reach]) => fault(from, from + reach));
					const pieces = faultPieces(faults, { from_s: 0, to_s: 100 }, width, 7);
					for (const piece of pieces) {
						expect(piece.left).toBeGreaterThanOrEqual(0);
						expect(piece.left + piece.width).toBeLessThanOrEqual(width + 1e-9);
					}
					for (const { lane } of pieces) expect(lane).toBeLessThan(MOST_LANES);
					expect(lanesFor(faults)).toBe(Math.min(MOST_LANES, faults.length));
					const seen = faults.filter(({ from_s, to_s }) => to_s >= 0 && from_s <= 100);
					expect(pieces.length).toBe(seen.length);
				},
			),
			{ seed: 7, numRuns: 300 },
		);
	});

	it('of the made-up ring find their places', () => {
		const timeline = madeTimeline({ faulty: true });
		const pieces = faultPieces(timeline.signalFaults ?? [], fullSpan(timeline), 900, 6.6);
		expect(pieces.map(({ fault: { kind }, lane }) => [kind, lane])).toEqual([
			['spike', 0],
			['frozen', 1],
			['dropout', 0],
			['daylight_saving', 0],
		]);
	});
});
