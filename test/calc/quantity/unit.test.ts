import { expect, test } from 'vitest';
import { findUnit, isUnitId, UNITS, unit } from '../../../calc/quantity/unit.ts';
import { CATALOGUE } from '../../../calc/sheet/catalogue.ts';

test('every unit of the column catalogue is in the table', () => {
	for (const column of CATALOGUE)
		if (column.unit !== null) expect(isUnitId(column.unit), column.id).toBe(true);
});

test('ids are unique and every unit says where its factor is laid down', () => {
	expect(new Set(UNITS.map((each) => each.id)).size).toBe(UNITS.length);
	for (const each of UNITS) {
		expect(each.source.length, each.id).toBeGreaterThan(10);
		expect(each.factor, each.id).toBeGreaterThan(0);
		expect(unit(each.id)).toBe(each);
	}
});

test('id, label and every alias name their unit', () => {
	for (const each of UNITS) {
		if (each.id === '1') continue;
		for (const text of [each.id, each.label, ...each.aliases])
			expect(findUnit(text)?.id, text).toBe(each.id);
	}
});

test('no two units share a spelling, whatever the capitals, unless capitals matter', () => {
	const taken = new Map<string, string>();
	for (const each of UNITS)
		for (const text of new Set(
			[each.id, each.label, ...each.aliases].map((t) => t.toLowerCase()),
		)) {
			if (text === '' || each.caseMatters) continue;
			expect(taken.get(text) ?? each.id, text).toBe(each.id);
			taken.set(text, each.id);
		}
});

test.each([
	['m³/h', 'm3/h'],
	['m^3/h', 'm3/h'],
	['M3/H', 'm3/h'],
	['m³ / h', 'm3/h'],
	['m³∕h', 'm3/h'],
	['T/m³', 't/m3'],
	['℃', 'degC'],
	['°C', 'degC'],
	['µm', 'um'],
	['μm', 'um'],
	['l/min', 'L/min'],
	['g/l', 'g/L'],
	['％', '%'],
])('%s is understood', (text, id) => {
	expect(findUnit(text)?.id).toBe(id);
});

test.each([
	'',
	'1',
	'M',
	'ML',
	'G',
	'k',
	'mpa',
	'foo',
	'm3/',
	'/h',
	'constructor',
	'toString',
	'__proto__',
	'm3/h/h',
])('%j is no unit', (text) => {
	expect(findUnit(text)).toBeNull();
});

test('an unknown id is a programmer’s mistake', () => {
	// @ts-expect-error: not an id of the table
	expect(() => unit('furlong')).toThrow(RangeError);
});
