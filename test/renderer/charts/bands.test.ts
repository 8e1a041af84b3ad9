import { describe, expect, it } from 'vitest';
import { bandPieces, decidedWords, modeAt, placeOnStrip } from '../../../renderer/charts/bands.ts';
import { fullSpan } from '../../../renderer/charts/traces.ts';
import { madeTimeline, START_S } from './madetimeline.ts';

describe('the mode band', () => {
	it('covers the whole width without holes or overlaps', () => {
		const timeline = madeTimeline();
		const pieces = bandPieces(timeline.modes, fullSpan(timeline), 900, 7);
		let reached = 0;
		for (const piece of pieces) {
			expect(piece.left).toBeCloseTo(reached, 9);
			reached = piece.left + piece.width;
		}
		expect(reached).toBeCloseTo(900, 9);
	});

	it('writes a word only where it fits', () => {
		const timeline = madeTimeline();
		const words = (width: number) =>
			bandPieces(timeline.modes, fullSpan(timeline), width, 7).map((piece) => piece.word);
		expect(words(1200)).toEqual(['Bypass', 'Advance', 'No data', 'Advance', 'Back-flush', 'Stop']);
		expect(words(900)).toEqual(['Bypass', 'Advance', '', 'Advance', 'Back-flush', 'Stop']);
		expect(words(30)).toEqual(['', '', '', '', '', '']);
	});

	it('joins neighbouring stretches of one mode', () => {
		const modes = [
			{ from_s: 0, to_s: 10, mode: 'advance' as const },
			{ from_s: 10, to_s: 20, mode: 'advance' as const },
			{ from_s: 30, to_s: 40, mode: 'advance' as const },
		];
		const pieces = bandPieces(modes, { from_s: 0, to_s: 40 }, 400, 7);
		expect(pieces.map(({ from_s, to_s }) => [from_s, to_s])).toEqual([
			[0, 20],
			[30, 40],
		]);
	});

	it('keeps apart stretches of one mode that were made by different reasons', () => {
		const byRule = { mode: 'stop' as const, decidedBy: 'rule' as const, why: 'lines still' };
		const modes = [
			{ from_s: 0, to_s: 10, ...byRule },
			{ from_s: 10, to_s: 20, ...byRule },
			{
				...byRule,
				from_s: 20,
				to_s: 30,
				decidedBy: 'override' as const,
				why: 'shift log',
				override: 3,
			},
		];
		const pieces = bandPieces(modes, { from_s: 0, to_s: 30 }, 300, 7);
		expect(pieces.map((piece) => [piece.from_s, piece.to_s, decidedWords(piece)])).toEqual([
			[0, 20, 'told by a rule: lines still'],
			[20, 30, 'set by hand: shift log'],
		]);
		expect(decidedWords({ decidedBy: 'record' })).toBe('');
	});

	it('leaves out what lies outside the view and cuts what crosses its edge', () => {
		const view = { from_s: 100, to_s: 200 };
		expect(placeOnStrip({ from_s: 0, to_s: 90 }, view, 500)).toBeNull();
		expect(placeOnStrip({ from_s: 50, to_s: 150 }, view, 500)).toEqual({
			left: 0,
			width: 250,
			cutLeft: true,
			cutRight: false,
		});
		expect(placeOnStrip({ from_s: 0, to_s: 9 }, { from_s: 5, to_s: 5 }, 500)).toBeNull();
	});

	it('tells no data from outside', () => {
		const { modes } = madeTimeline();
		expect(modeAt(modes, START_S + 1600)).toBeNull();
		expect(modeAt(modes, START_S + 800)).toBe('advance');
		expect(modeAt(modes, START_S - 1)).toBeUndefined();
		expect([1500, 1740, 3000].map((at) => modeAt(modes, START_S + at))).toEqual([
			'advance',
			'advance',
			'back_flush',
		]);
	});
});
