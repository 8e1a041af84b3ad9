import type { LoggerLayout } from '../../contract/loggerimport.ts';
import { readStamp } from './stamp.ts';

type Format = LoggerLayout['time']['format'];

/** Share of a field's stamps that must be readable. */
const LEAST_SHARE = 0.8;
const MOST_LOOKED_AT = 600;
const TIME_OF_DAY = /^\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?(\s*[AaPp]\.?[Mm]\.?)?$/u;
const TIME_WORD = /time|date|stamp|clock|epoch/iu;
/** Unix seconds of 1990 to 2100: other numbers are not taken for stamps. */
const EPOCH_FROM_S = 631_152_000;
const EPOCH_TO_S = 4_102_444_800;

export interface TimeGuess {
	readonly fields: readonly number[];
	readonly format: Format;
	/** Every stamp carries its offset, or counts from 1970. */
	readonly hasZone: boolean;
	/** Day and month could be the other way round. */
	readonly orderOpen: boolean;
}

interface Tried {
	readonly share: number;
	/** Share of steps that go forward. */
	readonly ascending: number;
	readonly withOffset: number;
	readonly midnight: number;
	/** Largest step forward, s. */
	readonly largest_s: number;
}

function attempt(texts: readonly string[], format: Format): Tried {
	let read = 0;
	let forward = 0;
	let steps = 0;
	let withOffset = 0;
	let midnight = 0;
	let largest_s = 0;
	let last = Number.NaN;
	for (const text of texts) {
		const stamp = readStamp(text, format);
		if (stamp === null) continue;
		if (format.startsWith('epoch') && !(stamp.local_s > EPOCH_FROM_S && stamp.local_s < EPOCH_TO_S))
			continue;
		read++;
		if (stamp.offset_s !== null) withOffset++;
		if (stamp.local_s % 86_400 === 0) midnight++;
		if (!Number.isNaN(last)) {
			steps++;
			if (stamp.local_s >= last) forward++;
			largest_s = Math.max(largest_s, stamp.local_s - last);
		}
		last = stamp.local_s;
	}
	const filled = Math.max(1, texts.length);
	return {
		share: read / filled,
		ascending: steps === 0 ? 0 : forward / steps,
		withOffset: read === 0 ? 0 : withOffset / read,
		midnight: read === 0 ? 0 : midnight / read,
		largest_s,
	};
}

/**
 * The field or pair of fields that holds the stamps, and how they are written; null if there is none.
 * `columns`: the texts of each field in order of the rows.
 */
export function guessTime(
	headings: readonly string[],
	columns: readonly (readonly string[])[],
): TimeGuess | null {
	let best: { score: number; guess: TimeGuess } | null = null;
	for (const [field, all] of columns.entries()) {
		const filled = all.filter((text) => text !== '');
		const stride = Math.max(1, Math.floor(filled.length / MOST_LOOKED_AT));
		const texts = filled.filter((_, i) => i % stride === 0);
		if (texts.length === 0) continue;
		const named = TIME_WORD.test(headings[field] ?? '') ? 0.4 : 0;
		for (const { format, weight, open } of formatsOf(texts)) {
			const tried = attempt(texts, format);
			if (tried.share < LEAST_SHARE) continue;
			const clock = tried.midnight > 0.9 ? clockBeside(columns, field) : null;
			// Any number can be a count of days: only a heading or a fraction that ascends speaks for it.
			const score = tried.share + tried.ascending * 0.5 + named + weight;
			if (best !== null && score <= best.score) continue;
			best = {
				score,
				guess: {
					fields: clock === null ? [field] : [field, clock],
					format,
					hasZone: format.startsWith('epoch') || tried.withOffset > 0.99,
					orderOpen: open,
				},
			};
		}
	}
	return best?.guess ?? null;
}

/** Ways to try for a field; of day-first and month-first the one that ascends. */
function formatsOf(texts: readonly string[]): { format: Format; weight: number; open: boolean }[] {
	const first = texts[0] ?? '';
	if (/^\d{4}[-/.]\d{1,2}[-/.]/u.test(first)) return [{ format: 'iso', weight: 0.5, open: false }];
	if (/^\d{1,2}[-/.]\d{1,2}[-/.]\d{2}/u.test(first)) {
		const dmy = attempt(texts, 'dmy');
		const mdy = attempt(texts, 'mdy');
		const merit = (tried: Tried): number => tried.share + tried.ascending;
		const lead = merit(dmy) - merit(mdy);
		if (Math.abs(lead) >= 0.005)
			return [{ format: lead > 0 ? 'dmy' : 'mdy', weight: 0.5, open: false }];
		// A record that leaps over weeks when it is read one way was written the other way.
		const leaps = dmy.largest_s > 3 * mdy.largest_s || mdy.largest_s > 3 * dmy.largest_s;
		if (leaps)
			return [{ format: dmy.largest_s < mdy.largest_s ? 'dmy' : 'mdy', weight: 0.5, open: false }];
		return [{ format: /[AaPp]\.?[Mm]/u.test(first) ? 'mdy' : 'dmy', weight: 0.5, open: true }];
	}
	return [
		{ format: 'epoch_s', weight: 0, open: false },
		{ format: 'epoch_ms', weight: 0, open: false },
		{ format: 'excel', weight: -0.4, open: false },
	];
}

/** A field with times of day next to one with dates. */
function clockBeside(columns: readonly (readonly string[])[], date: number): number | null {
	for (const field of [date + 1, date - 1]) {
		const texts = (columns[field] ?? []).filter((text) => text !== '');
		if (texts.length === 0) continue;
		if (texts.filter((text) => TIME_OF_DAY.test(text)).length / texts.length >= LEAST_SHARE)
			return field;
	}
	return null;
}
