/**
 * The units a site writes, once. A figure inside calc is in SI; this table is for what stands in
 * files, cells and headings.
 */

export type Dimension =
	| 'ratio'
	| 'length'
	| 'area'
	| 'volume'
	| 'mass'
	| 'time'
	| 'angle'
	| 'speed'
	| 'flow'
	| 'mass flow'
	| 'density'
	| 'pressure'
	| 'temperature'
	| 'length per ring'
	| 'volume per ring'
	| 'mass per ring'
	| 'funnel time per quart'
	| 'funnel time per litre';

/** `exact`: follows from a definition without rounding. `conventional`: rests on an agreed value such as standard gravity. No unit here rests on a measured constant. */
export type Standing = 'exact' | 'conventional';

interface Row<I extends string> {
	readonly id: I;
	/** As written on screen; empty for a plain ratio. */
	readonly label: string;
	readonly dimension: Dimension;
	/** value in SI = (value + zero) · times / over. Two whole numbers where possible, so that a conversion rounds once. */
	readonly times: number;
	readonly over: number;
	/** Distance of the scale's zero from the SI zero, in this unit; 0 for all but temperatures. */
	readonly zero: number;
	/** times / over. */
	readonly factor: number;
	readonly standing: Standing;
	/** Where the factor is laid down. */
	readonly source: string;
	/** Other spellings people type; the id and the label are always understood. */
	readonly aliases: readonly string[];
	/** Capitals carry meaning (mL is not ML), so no other capitalisation is taken. */
	readonly caseMatters: boolean;
}

interface Extra {
	readonly aliases?: readonly string[];
	readonly zero?: number;
	readonly standing?: Standing;
	readonly caseMatters?: boolean;
}

const SI = 'SI Brochure, 9th ed. (2019)';
const BESIDE_SI = 'SI Brochure, 9th ed. (2019), table 8: units accepted beside the SI';
const POUND = 'NIST SP 811 (2008), app. B: pound 0.453 592 37 kg, inch 25.4 mm, US gallon 231 in³';
const GRAVITY = `${POUND}; standard gravity 9.806 65 m/s²`;
const FUNNEL = 'ISO 10414-1: time for one volume out of 1500 mL';
const PLAIN = 'a count of rings';

const row = <const I extends string>(
	id: I,
	label: string,
	dimension: Dimension,
	[times, over]: readonly [number, number],
	source: string,
	extra: Extra = {},
): Row<I> => ({
	id,
	label,
	dimension,
	times,
	over,
	zero: extra.zero ?? 0,
	factor: times / over,
	standing: extra.standing ?? 'exact',
	source,
	aliases: extra.aliases ?? [],
	caseMatters: extra.caseMatters ?? false,
});

const POUND_KG = 0.45359237;
const GALLON_M3 = 0.003785411784;
const FOOT_M3 = 0.028316846592;
const POUND_FORCE_N = POUND_KG * 9.80665;

const ROWS = [
	row('1', '', 'ratio', [1, 1], SI),
	row('%', '%', 'ratio', [1, 100], SI, { aliases: ['percent', 'pct'] }),
	row('g/kg', 'g/kg', 'ratio', [1, 1000], SI),

	row('m', 'm', 'length', [1, 1], SI, { caseMatters: true }),
	row('mm', 'mm', 'length', [1, 1000], SI),
	row('cm', 'cm', 'length', [1, 100], SI),
	row('km', 'km', 'length', [1000, 1], SI),
	row('um', 'µm', 'length', [1, 1_000_000], SI),
	row('in', 'in', 'length', [254, 10_000], POUND, { aliases: ['inch'] }),
	row('ft', 'ft', 'length', [3048, 10_000], POUND, { aliases: ['foot', 'feet'] }),

	row('m2', 'm²', 'area', [1, 1], SI, { aliases: ['sqm'] }),
	row('cm2', 'cm²', 'area', [1, 10_000], SI),

	row('m3', 'm³', 'volume', [1, 1], SI, { aliases: ['cbm', 'cum'] }),
	row('L', 'L', 'volume', [1, 1000], BESIDE_SI, {
		aliases: ['litre', 'litres', 'liter', 'liters'],
	}),
	row('mL', 'mL', 'volume', [1, 1_000_000], BESIDE_SI, { aliases: ['ml'], caseMatters: true }),
	row('gal', 'gal (US)', 'volume', [GALLON_M3, 1], POUND, { aliases: ['US gal'] }),
	row('quart', 'quart (US)', 'volume', [GALLON_M3, 4], POUND, { aliases: ['qt'] }),
	row('bbl', 'bbl', 'volume', [GALLON_M3 * 42, 1], POUND, { aliases: ['barrel'] }),

	row('kg', 'kg', 'mass', [1, 1], SI),
	row('g', 'g', 'mass', [1, 1000], SI, { caseMatters: true }),
	row('t', 't', 'mass', [1000, 1], BESIDE_SI, { aliases: ['tonne', 'tonnes'] }),
	row('lb', 'lb', 'mass', [POUND_KG, 1], POUND, { aliases: ['lbs'] }),

	row('s', 's', 'time', [1, 1], SI, { aliases: ['sec'] }),
	row('min', 'min', 'time', [60, 1], BESIDE_SI),
	row('h', 'h', 'time', [3600, 1], BESIDE_SI, { aliases: ['hr', 'hour', 'hours'] }),
	row('d', 'd', 'time', [86_400, 1], BESIDE_SI, { aliases: ['day', 'days'] }),

	row('rad', 'rad', 'angle', [1, 1], SI),
	row('deg', '°', 'angle', [Math.PI, 180], BESIDE_SI, { aliases: ['degree', 'degrees'] }),

	row('m/s', 'm/s', 'speed', [1, 1], SI),
	row('mm/s', 'mm/s', 'speed', [1, 1000], SI),
	row('mm/min', 'mm/min', 'speed', [1, 60_000], BESIDE_SI),
	row('cm/min', 'cm/min', 'speed', [1, 6000], BESIDE_SI),
	row('m/h', 'm/h', 'speed', [1, 3600], BESIDE_SI),
	row('m/d', 'm/d', 'speed', [1, 86_400], BESIDE_SI, { aliases: ['m/day'] }),

	row('m3/s', 'm³/s', 'flow', [1, 1], SI),
	row('m3/min', 'm³/min', 'flow', [1, 60], BESIDE_SI),
	row('m3/h', 'm³/h', 'flow', [1, 3600], BESIDE_SI, { aliases: ['m3/hr', 'cbm/h'] }),
	row('L/s', 'L/s', 'flow', [1, 1000], BESIDE_SI),
	row('L/min', 'L/min', 'flow', [1, 60_000], BESIDE_SI),
	row('gal/min', 'gal/min', 'flow', [GALLON_M3, 60], POUND, { aliases: ['gpm'] }),

	row('kg/s', 'kg/s', 'mass flow', [1, 1], SI),
	row('kg/h', 'kg/h', 'mass flow', [1, 3600], BESIDE_SI),
	row('t/h', 't/h', 'mass flow', [1000, 3600], BESIDE_SI, { aliases: ['t/hr'] }),

	row('kg/m3', 'kg/m³', 'density', [1, 1], SI),
	row('t/m3', 't/m³', 'density', [1000, 1], BESIDE_SI, { aliases: ['t/cbm'] }),
	row('g/cm3', 'g/cm³', 'density', [1000, 1], SI, { aliases: ['g/cc', 'g/ccm'] }),
	row('kg/L', 'kg/L', 'density', [1000, 1], BESIDE_SI),
	row('g/mL', 'g/mL', 'density', [1000, 1], BESIDE_SI, { aliases: ['g/ml'], caseMatters: true }),
	row('g/L', 'g/L', 'density', [1, 1], BESIDE_SI),
	row('lb/gal', 'lb/gal', 'density', [POUND_KG, GALLON_M3], POUND, { aliases: ['ppg'] }),
	row('lb/ft3', 'lb/ft³', 'density', [POUND_KG, FOOT_M3], POUND, { aliases: ['pcf'] }),
	row('lb/bbl', 'lb/bbl', 'density', [POUND_KG, GALLON_M3 * 42], POUND, { aliases: ['ppb'] }),

	row('Pa', 'Pa', 'pressure', [1, 1], SI, { aliases: ['N/m2'] }),
	row('kPa', 'kPa', 'pressure', [1000, 1], SI, { aliases: ['kN/m2'] }),
	row('MPa', 'MPa', 'pressure', [1_000_000, 1], SI, { caseMatters: true }),
	row('bar', 'bar', 'pressure', [100_000, 1], 'ISO 80000-4: bar = 100 kPa'),
	row('mbar', 'mbar', 'pressure', [100, 1], 'ISO 80000-4: bar = 100 kPa'),
	row('psi', 'psi', 'pressure', [POUND_FORCE_N, 0.0254 ** 2], GRAVITY, {
		aliases: ['lbf/in2'],
		standing: 'conventional',
	}),
	row('lbf/100ft2', 'lbf/100 ft²', 'pressure', [POUND_FORCE_N, 100 * 0.3048 ** 2], GRAVITY, {
		aliases: ['lb/100ft2', 'lbf/100 ft2', 'lb/100 ft2'],
		standing: 'conventional',
	}),

	row('K', 'K', 'temperature', [1, 1], SI, { caseMatters: true }),
	row('degC', '°C', 'temperature', [1, 1], SI, { zero: 273.15, aliases: ['C'] }),
	row('degF', '°F', 'temperature', [5, 9], 'NIST SP 811 (2008), app. B', {
		zero: 459.67,
		aliases: ['F'],
	}),

	row('m/ring', 'm/ring', 'length per ring', [1, 1], PLAIN),
	row('m3/ring', 'm³/ring', 'volume per ring', [1, 1], PLAIN),
	row('t/ring', 't/ring', 'mass per ring', [1000, 1], PLAIN),

	// Two dimensions, because one does not follow from the other by the ratio of the volumes: the
	// head in the funnel falls, so the last 54 mL of a litre run slower than the quart before them.
	row('s/quart', 's/quart', 'funnel time per quart', [1, 1], FUNNEL, {
		aliases: ['s/qt', 'sec/qt', 'sec/quart'],
	}),
	row('s/L', 's/L', 'funnel time per litre', [1, 1], FUNNEL, { aliases: ['sec/L', 's/1000mL'] }),
] as const;

export type UnitId = (typeof ROWS)[number]['id'];
export type Unit = Row<UnitId>;

/** All units, in the order help and choosers list them. */
export const UNITS: readonly Unit[] = ROWS;

const BY_ID: ReadonlyMap<string, Unit> = new Map(UNITS.map((each) => [each.id, each]));

/**
 * The unit of an id. An id that is not in the table is a programmer's mistake and throws.
 *
 * @example
 * unit('m3/h').label // => "m³/h"
 * unit('psi').standing // => "conventional"
 */
export function unit(id: UnitId): Unit {
	const found = BY_ID.get(id);
	if (!found) throw new RangeError(`there is no unit ${JSON.stringify(id)}`);
	return found;
}

/**
 * Whether a text is a unit id of the table, exactly as the column catalogue writes it.
 *
 * @example
 * isUnitId('t/m3') // => true
 * isUnitId('t/m³') // => false
 */
export function isUnitId(text: string): text is UnitId {
	return BY_ID.has(text);
}

/** One spelling for many: superscripts, micro and degree signs, slashes and inner spaces. */
function spelling(text: string): string {
	return text
		.normalize('NFKC')
		.replace(/[\u2044\u2215]/gu, '/')
		.replace(/\^/gu, '')
		.replace(/\s*\/\s*/gu, '/')
		.replace(/\s+/gu, ' ')
		.trim();
}

const BY_SPELLING = new Map<string, Unit>();
const BY_ANY_CASE = new Map<string, Unit>();
for (const each of UNITS) {
	for (const text of [each.id, each.label, ...each.aliases]) {
		const spelt = spelling(text);
		if (spelt === '') continue;
		const taken = BY_SPELLING.get(spelt);
		if (taken && taken !== each)
			throw new RangeError(`${text} names both ${taken.id} and ${each.id}`);
		BY_SPELLING.set(spelt, each);
		if (!each.caseMatters) BY_ANY_CASE.set(spelt.toLowerCase(), each);
	}
}

/**
 * The unit a person means by a text, or null if the table has none. Understands ids, labels and
 * aliases, superscripts or plain digits, and other capitalisation where nothing else could be meant.
 *
 * @example
 * findUnit('m^3/h')?.id // => "m3/h"
 * findUnit('KG/M3')?.id // => "kg/m3"
 * findUnit('ML') // => null
 */
export function findUnit(text: string): Unit | null {
	const spelt = spelling(text);
	if (spelt === '1') return null;
	return BY_SPELLING.get(spelt) ?? BY_ANY_CASE.get(spelt.toLowerCase()) ?? null;
}
