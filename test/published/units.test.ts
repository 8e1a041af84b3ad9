import { unit as mathUnit } from 'mathjs';
import { expect, test } from 'vitest';
import { convert } from '../../calc/quantity/convert.ts';
import { UNITS, type UnitId, unit } from '../../calc/quantity/unit.ts';

/** The table against the units of the general-purpose library mathjs, which keeps its own factors. */
const IN_MATHJS: Readonly<Partial<Record<UnitId, string>>> = {
	m: 'm',
	mm: 'mm',
	cm: 'cm',
	km: 'km',
	um: 'um',
	in: 'inch',
	ft: 'ft',
	m2: 'm^2',
	cm2: 'cm^2',
	m3: 'm^3',
	L: 'L',
	mL: 'mL',
	gal: 'gallon',
	quart: 'quart',
	// Its "bbl" is a barrel of 31 gallons; the one of mud recipes has 42.
	bbl: 'oilbarrel',
	kg: 'kg',
	g: 'g',
	t: 'tonne',
	lb: 'lbm',
	s: 's',
	min: 'minute',
	h: 'hour',
	d: 'day',
	rad: 'rad',
	deg: 'deg',
	'm/s': 'm/s',
	'mm/s': 'mm/s',
	'mm/min': 'mm/minute',
	'cm/min': 'cm/minute',
	'm/h': 'm/hour',
	'm/d': 'm/day',
	'm3/s': 'm^3/s',
	'm3/min': 'm^3/minute',
	'm3/h': 'm^3/hour',
	'L/s': 'L/s',
	'L/min': 'L/minute',
	'gal/min': 'gallon/minute',
	'kg/s': 'kg/s',
	'kg/h': 'kg/hour',
	't/h': 'tonne/hour',
	'g/kg': 'g/kg',
	'kg/m3': 'kg/m^3',
	't/m3': 'tonne/m^3',
	'g/cm3': 'g/cm^3',
	'kg/L': 'kg/L',
	'g/mL': 'g/mL',
	'g/L': 'g/L',
	'lb/gal': 'lbm/gallon',
	'lb/ft3': 'lbm/ft^3',
	'lb/bbl': 'lbm/oilbarrel',
	Pa: 'Pa',
	kPa: 'kPa',
	MPa: 'MPa',
	bar: 'bar',
	mbar: 'mbar',
	psi: 'psi',
	'lbf/100ft2': 'lbf/ft^2',
	K: 'K',
	degC: 'degC',
	degF: 'degF',
};
/** mathjs measures 1 lbf/ft², a hundred of ours. */
const TIMES: Readonly<Partial<Record<UnitId, number>>> = { 'lbf/100ft2': 0.01 };
/** Counts of rings, a plain ratio and funnel times: nothing a library of units knows. */
const NOT_IN_MATHJS = ['1', '%', 'm/ring', 'm3/ring', 't/ring', 's/quart', 's/L'];

test('every unit is either held against mathjs or named as unknown to it', () => {
	const missing = UNITS.map((each) => each.id).filter((id) => !(id in IN_MATHJS));
	expect(missing).toEqual(NOT_IN_MATHJS);
});

const pairs = UNITS.flatMap((from) =>
	UNITS.filter(
		(to) => from.dimension === to.dimension && from.id in IN_MATHJS && to.id in IN_MATHJS,
	).map((to) => [from.id, to.id] as const),
);

test.each(pairs.filter(([from, to]) => from !== to && unit(from).dimension !== 'ratio'))(
	'%s in %s',
	(from, to) => {
		for (const value of [1, 37.25, -12]) {
			const theirs =
				mathUnit(value * (TIMES[from] ?? 1), IN_MATHJS[from] ?? '').toNumber(IN_MATHJS[to] ?? '') /
				(TIMES[to] ?? 1);
			const ours = convert(value, from, to);
			// Its psi is rounded to ten digits.
			expect(Math.abs(ours - theirs)).toBeLessThanOrEqual(1e-9 * Math.max(1e-12, Math.abs(theirs)));
		}
	},
);

test('g/kg as a plain number', () => {
	expect(mathUnit(35, 'g/kg').toNumber('kg/kg')).toBeCloseTo(convert(35, 'g/kg', '1'), 15);
});
