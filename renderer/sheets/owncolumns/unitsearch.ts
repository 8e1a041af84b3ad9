import { findUnit, UNITS, type Unit, unit } from '../../../calc/quantity/unit.ts';

const PLAIN = unit('1');

/** A plain number has no label of its own. */
export const PLAIN_WORDS = 'plain number';

export const unitWords = (one: Unit): string => (one.id === '1' ? PLAIN_WORDS : one.label);

/**
 * Units a typed text may mean, the likeliest first: the very one, those beginning so, those of a kind
 * named so ("flow"), those that hold it. All of them, in the order of choosers, for an empty text.
 */
export function unitsFor(text: string): readonly Unit[] {
	const typed = text.trim().toLowerCase();
	if (typed === '') return UNITS;
	const exact = unitMeant(text);
	const rank = (one: Unit): number => {
		if (one === exact) return 0;
		const names = [one.id, unitWords(one), ...one.aliases].map((name) => name.toLowerCase());
		if (names.some((name) => name.startsWith(typed))) return 1;
		if (one.dimension.startsWith(typed)) return 2;
		if (names.some((name) => name.includes(typed)) || one.dimension.includes(typed)) return 3;
		return 4;
	};
	return UNITS.map((one) => ({ one, at: rank(one) }))
		.filter(({ at }) => at < 4)
		.sort((a, b) => a.at - b.at)
		.map(({ one }) => one);
}

/** The unit a text names, a plain number for none at all; undefined where there is no such unit. */
export function unitMeant(text: string): Unit | undefined {
	const typed = text.trim();
	if (typed === '' || typed === '1' || typed.toLowerCase() === PLAIN_WORDS) return PLAIN;
	return findUnit(typed) ?? undefined;
}
