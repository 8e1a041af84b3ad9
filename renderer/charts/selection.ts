import type { Timeline } from '../../electron/contract/verbs.ts';
import { joinedModes } from './bands.ts';
import { nearest, type Span } from './traces.ts';

/** A stretch of the timeline in hand, to set its mode. */

/** How near a stretch's edge draws a pointer to it, px. */
const PULL = 6;

/**
 * Moment an edge of the selection gets: a change of mode where one is within a few pixels, else the
 * nearest stamp, since a mode begins and ends with a sample.
 */
export function snapped(
	timeline: Pick<Timeline, 'time_s' | 'modes'>,
	at_s: number,
	pxPerSecond: number,
): number {
	let best: number | null = null;
	for (const { from_s, to_s } of timeline.modes) {
		for (const edge of [from_s, to_s]) {
			const away = Math.abs(edge - at_s);
			if (away * pxPerSecond > PULL) continue;
			if (best === null || away < Math.abs(best - at_s)) best = edge;
		}
	}
	if (best !== null) return best;
	return timeline.time_s[nearest(timeline.time_s, at_s)] ?? at_s;
}

/** The stretch between two moments, whichever came first; null when they are one. */
export function between(a_s: number, b_s: number): Span | null {
	return a_s === b_s ? null : { from_s: Math.min(a_s, b_s), to_s: Math.max(a_s, b_s) };
}

/** The whole piece of the band that holds a moment, of two the later; null outside, and where nothing was recorded. */
export function pieceAround(modes: Timeline['modes'], at_s: number): Span | null {
	let found: Span | null = null;
	for (const { from_s, to_s, mode } of joinedModes(modes)) {
		if (mode !== null && at_s >= from_s && at_s <= to_s) found = { from_s, to_s };
	}
	return found;
}
