import { type Dimension, UNITS, type Unit, type UnitId, unit } from '../quantity/unit.ts';

/**
 * What a figure measures, as exponents of length, mass, time, temperature, rings and the two funnel
 * times. Sums need equal ones, products add them. Angles are plain numbers, as the SI has them.
 */
export type Measure = readonly [
	length: number,
	mass: number,
	time: number,
	temperature: number,
	ring: number,
	funnelQuart: number,
	funnelLitre: number,
];

export const PLAIN: Measure = [0, 0, 0, 0, 0, 0, 0];

const MEASURES: Readonly<Record<Dimension, Measure>> = {
	ratio: PLAIN,
	angle: PLAIN,
	length: [1, 0, 0, 0, 0, 0, 0],
	area: [2, 0, 0, 0, 0, 0, 0],
	volume: [3, 0, 0, 0, 0, 0, 0],
	mass: [0, 1, 0, 0, 0, 0, 0],
	time: [0, 0, 1, 0, 0, 0, 0],
	speed: [1, 0, -1, 0, 0, 0, 0],
	flow: [3, 0, -1, 0, 0, 0, 0],
	'mass flow': [0, 1, -1, 0, 0, 0, 0],
	density: [-3, 1, 0, 0, 0, 0, 0],
	pressure: [-1, 1, -2, 0, 0, 0, 0],
	temperature: [0, 0, 0, 1, 0, 0, 0],
	'length per ring': [1, 0, 0, 0, -1, 0, 0],
	'volume per ring': [3, 0, 0, 0, -1, 0, 0],
	'mass per ring': [0, 1, 0, 0, -1, 0, 0],
	'funnel time per quart': [0, 0, 0, 0, 0, 1, 0],
	'funnel time per litre': [0, 0, 0, 0, 0, 0, 1],
};

/** The unit a site would write first for each measure, in the order they are offered. */
const NATURAL: readonly UnitId[] = [
	...(['1', 'm3', 't', 'm3/h', 't/m3', 't/h', 'h', 'm', 'm2', 'mm/min', 'bar', 'degC'] as const),
	...(['m/ring', 'm3/ring', 't/ring', 's/quart', 's/L'] as const),
];

/** Symbols of the exponents in a unit nobody has named. */
const BASES = ['m', 'kg', 's', '°C', 'ring', 's/quart', 's/L'] as const;

/**
 * What a unit measures.
 *
 * @example
 * measureOf('m3/h') // => [3,0,-1,0,0,0,0]
 * measureOf('%') // => [0,0,0,0,0,0,0]
 */
export function measureOf(id: UnitId): Measure {
	return MEASURES[unit(id).dimension];
}

/**
 * Whether two figures can be added and compared.
 *
 * @example
 * sameMeasure(measureOf('t'), measureOf('lb')) // => true
 * sameMeasure(measureOf('t'), measureOf('m3')) // => false
 */
export function sameMeasure(a: Measure, b: Measure): boolean {
	return a.every((exponent, at) => Math.abs(exponent - (b[at] ?? 0)) < 1e-9);
}

export function isPlain(measure: Measure): boolean {
	return sameMeasure(measure, PLAIN);
}

/**
 * Exponents of a product, of a quotient (`times` −1) or of a power.
 *
 * @example
 * combined(measureOf('m3/h'), measureOf('h'), 1) // => [3,0,0,0,0,0,0]
 * powered(measureOf('m2'), 0.5) // => [1,0,0,0,0,0,0]
 */
export function combined(a: Measure, b: Measure, times: 1 | -1): Measure {
	// Adding 0 keeps a negative zero out.
	return a.map((exponent, at) => exponent + times * (b[at] ?? 0) + 0) as unknown as Measure;
}

export function powered(a: Measure, exponent: number): Measure {
	return a.map((one) => one * exponent + 0) as unknown as Measure;
}

/**
 * Factor from a unit to what formulas reckon in: the SI, but degrees Celsius for temperatures, so
 * that a difference of two is one too. Null for the other scales of temperature, whose zeros differ.
 *
 * @example
 * reckoningFactor('t') // => 1000
 * reckoningFactor('degC') // => 1
 * reckoningFactor('degF') // => null
 */
export function reckoningFactor(id: UnitId): number | null {
	const { dimension, factor } = unit(id);
	if (dimension !== 'temperature') return factor;
	return id === 'degC' ? 1 : null;
}

/**
 * Units a figure can be shown in, the natural one of the trade first.
 *
 * @example
 * unitsOf(measureOf('kg')).map((one) => one.id) // => ["t","kg","g","lb"]
 */
export function unitsOf(measure: Measure): Unit[] {
	const fitting = UNITS.filter(
		(one) =>
			one.dimension !== 'angle' &&
			reckoningFactor(one.id) !== null &&
			sameMeasure(MEASURES[one.dimension], measure),
	);
	const natural = NATURAL.find((id) => fitting.some((one) => one.id === id));
	return natural === undefined
		? fitting
		: [unit(natural), ...fitting.filter((one) => one.id !== natural)];
}

/**
 * A measure in words with a unit, for messages.
 *
 * @example
 * measureWords(measureOf('t')) // => "a mass (t)"
 * measureWords(PLAIN) // => "a plain number"
 * measureWords(combined(measureOf('m3'), measureOf('t'), 1)) // => "a quantity in m^3·kg"
 */
export function measureWords(measure: Measure): string {
	if (isPlain(measure)) return 'a plain number';
	const [first] = unitsOf(measure);
	if (first === undefined) return `a quantity in ${unitText(measure)}`;
	const article = /^[aeiou]/u.test(first.dimension) ? 'an' : 'a';
	return `${article} ${first.dimension} (${first.label})`;
}

/**
 * Label of the natural unit of a measure, or its base units where nobody has named one.
 *
 * @example
 * unitText(measureOf('kg/s')) // => "t/h"
 * unitText(powered(measureOf('s'), -2)) // => "s^-2"
 */
export function unitText(measure: Measure): string {
	const [first] = unitsOf(measure);
	if (first !== undefined) return first.label;
	return BASES.flatMap((base, at) => {
		const exponent = measure[at] ?? 0;
		if (exponent === 0) return [];
		return exponent === 1 ? base : `${base}^${Number(exponent.toFixed(4))}`;
	}).join('·');
}
