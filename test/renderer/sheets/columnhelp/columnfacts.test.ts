import { describe, expect, it } from 'vitest';
import { CATALOGUE, findColumn } from '../../../../calc/sheet/catalogue.ts';
import { columnFacts } from '../../../../renderer/sheets/columnhelp/columnfacts.ts';

const MARKS = { decimal: '.', utcOffset_min: 60 } as const;

function said(sheet: 'ledger' | 'readings' | 'rings', id: string): Record<string, string> {
	const column = findColumn(sheet, id);
	if (!column) throw new Error(`no column ${id}`);
	return Object.fromEntries(
		columnFacts(column, MARKS).map(({ name, says }) => [name, says.join(' ')]),
	);
}

describe('what a heading stands for', () => {
	it('says formula, source and unit of a computed column', () => {
		const facts = said('ledger', 'volume_apparent_m3');
		expect(facts.Unit).toBe('m³ (volume), 2 decimals shown');
		expect(facts.Formula).toContain('∫(Qr − Qf − Qj) dt');
		expect(facts.Source).toBe('mass conservation');
		expect(facts.Limits).toBe('None; it is shown as it comes out.');
		expect(facts['Name in formulas and files']).toBe('volume_apparent_m3');
	});

	it('says which figures an entered column refuses and which it marks', () => {
		const column = findColumn('readings', 'feed_density_t_m3');
		const facts = said('readings', 'feed_density_t_m3');
		expect(facts.Limits).toContain('Refused');
		for (const bound of [column?.min, column?.max, column?.plausibleMin, column?.plausibleMax]) {
			if (bound !== undefined) expect(facts.Limits).toContain(`${bound}\u00a0t/m³`);
		}
		expect(facts.Formula).toBeUndefined();
	});

	it('names the words a choice takes', () => {
		expect(said('readings', 'mode').Limits).toContain('advance, bypass, back flush, stop');
	});

	it('says unit, limits and name of every column there is', () => {
		for (const column of CATALOGUE) {
			const facts = columnFacts(column, MARKS);
			const names = facts.map((fact) => fact.name);
			expect(names).toEqual(
				expect.arrayContaining(['Holds', 'Unit', 'Limits', 'Name in formulas and files']),
			);
			for (const { says } of facts) {
				expect(says.length).toBeGreaterThan(0);
				expect(says.join(' ')).not.toMatch(/undefined|null|NaN/);
			}
			expect(names.includes('Formula'), column.id).toBe(
				column.kind === 'computed' && column.formula !== undefined,
			);
		}
	});
});
