import type { Timeline } from '../../electron/contract/verbs.ts';
import type { Span } from './traces.ts';

export type BandMode = Timeline['modes'][number]['mode'];

/** What the band says for each mode; the pattern carries it too, so that colour is never alone. */
export const MODE_WORDS: Readonly<Record<NonNullable<BandMode> | 'none', string>> = {
	advance: 'Advance',
	bypass: 'Bypass',
	back_flush: 'Back-flush',
	stop: 'Stop',
	none: 'No data',
};

export type ModeStretch = Timeline['modes'][number];

export interface BandPiece extends Readonly<ModeStretch> {
	/** Left edge and width on the drawn width, px. */
	readonly left: number;
	readonly width: number;
	/** Word that fits into the piece, or empty. */
	readonly word: string;
}

/** Pixels of a span on a strip `width` wide that shows `view`; null when it lies outside. */
export function placeOnStrip(
	span: Span,
	view: Span,
	width: number,
): { left: number; width: number; cutLeft: boolean; cutRight: boolean } | null {
	const reach = view.to_s - view.from_s;
	if (!(reach > 0) || span.to_s < view.from_s || span.from_s > view.to_s) return null;
	const at = (time_s: number) => ((time_s - view.from_s) / reach) * width;
	const from = Math.max(0, at(span.from_s));
	const to = Math.min(width, at(span.to_s));
	return {
		left: from,
		width: Math.max(0, to - from),
		cutLeft: span.from_s < view.from_s,
		cutRight: span.to_s > view.to_s,
	};
}

/** What made the mode of a stretch, as a sentence's end; empty where the record itself says it. */
export function decidedWords({ decidedBy, why }: Pick<ModeStretch, 'decidedBy' | 'why'>): string {
	if (decidedBy === 'override') return `set by hand: ${why ?? ''}`;
	return decidedBy === 'rule' ? `told by a rule: ${why ?? ''}` : '';
}

/** Neighbouring stretches with one mode for one reason, as one. */
export function joinedModes(modes: Timeline['modes']): ModeStretch[] {
	const joined: ModeStretch[] = [];
	for (const stretch of modes) {
		const last = joined.at(-1);
		if (
			last &&
			last.mode === stretch.mode &&
			last.decidedBy === stretch.decidedBy &&
			last.why === stretch.why &&
			last.override === stretch.override &&
			stretch.from_s <= last.to_s
		) {
			last.to_s = Math.max(last.to_s, stretch.to_s);
		} else {
			joined.push({ ...stretch });
		}
	}
	return joined;
}

/** Neighbouring stretches of one mode are one piece; a word is given where it fits at `pxPerLetter`. */
export function bandPieces(
	modes: Timeline['modes'],
	view: Span,
	width: number,
	pxPerLetter: number,
): BandPiece[] {
	const pieces: BandPiece[] = [];
	for (const stretch of joinedModes(modes)) {
		const strip = placeOnStrip(stretch, view, width);
		if (!strip) continue;
		const word = MODE_WORDS[stretch.mode ?? 'none'];
		pieces.push({
			...stretch,
			left: strip.left,
			width: strip.width,
			word: word.length * pxPerLetter + 12 <= strip.width ? word : '',
		});
	}
	return pieces;
}

/**
 * Stretch that held at a moment, or undefined outside the shown span. Where a stretch without data
 * touches another, the sample at that moment still belongs to the other.
 */
export function stretchAt(modes: Timeline['modes'], at_s: number): ModeStretch | undefined {
	let found: ModeStretch | undefined;
	for (const stretch of modes) {
		if (at_s < stretch.from_s || at_s > stretch.to_s) continue;
		if (stretch.mode !== null || found === undefined) found = stretch;
	}
	return found;
}

/** Mode that held at a moment: null = no data, undefined = outside the shown span. */
export function modeAt(modes: Timeline['modes'], at_s: number): BandMode | undefined {
	return stretchAt(modes, at_s)?.mode;
}
