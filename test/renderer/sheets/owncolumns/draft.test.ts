import { describe, expect, it } from 'vitest';
import { UNITS } from '../../../../calc/quantity/unit.ts';
import { columnsOf } from '../../../../calc/sheet/catalogue.ts';
import {
	draftOf,
	editsOf,
	fieldOf,
	NEW_DRAFT,
	nameFrom,
	rowOf,
	unitText,
} from '../../../../renderer/sheets/owncolumns/draft.ts';
import {
	markedText,
	oneLine,
	placeWords,
} from '../../../../renderer/sheets/owncolumns/markedtext.ts';
import { offersMore } from '../../../../renderer/sheets/owncolumns/offers.ts';
import type { OwnColumn } from '../../../../renderer/sheets/owncolumns/owncolumn.ts';
import { unitMeant, unitsFor } from '../../../../renderer/sheets/owncolumns/unitsearch.ts';

const OWN: OwnColumn = {
	row: 4,
	sheet: 'ledger',
	id: 'loss',
	heading: 'Loss',
	unit: 'm3',
	decimals: 1,
	expression: 'volume_expected_m3 - volume_apparent_m3',
	note: '',
};

describe('a draft of an own column', () => {
	it('changes nothing as it comes, and only what was changed afterwards', () => {
		expect(editsOf(OWN, draftOf(OWN))).toEqual([]);
		expect(editsOf(OWN, { ...draftOf(OWN), unit: 'litre', note: 'why' })).toEqual([
			{ row: 4, column: 'unit', text: 'L' },
			{ row: 4, column: 'note', text: 'why' },
		]);
		expect(editsOf(OWN, { ...draftOf(OWN), unit: '' })).toEqual([
			{ row: 4, column: 'unit', text: '' },
		]);
	});

	it('fills columns the sheet of formulas has', () => {
		const row = rowOf('readings', {
			...NEW_DRAFT,
			id: 'lift',
			heading: 'Lift',
			unit: '%',
			expression: '1 + 1',
			note: 'n',
		});
		const known = columnsOf('formulas').map((column) => column.id);
		expect(Object.keys(row).sort()).toEqual([...known].sort());
		expect(row).toMatchObject({ sheet: 'readings', column_id: 'lift', unit: '%', decimals: '2' });
		for (const id of known) if (id !== 'sheet') expect(fieldOf(id), id).not.toBeNull();
	});

	it('hands a unit that is none on as typed, so that it is refused and not lost', () => {
		expect(unitText({ ...NEW_DRAFT, unit: 'furlong' })).toBe('furlong');
		expect(unitText({ ...NEW_DRAFT, unit: 'plain number' })).toBe('');
	});

	it('makes a name from a heading', () => {
		expect(nameFrom('Volume loss, %')).toBe('volume_loss');
		expect(nameFrom('3 rings’ mean')).toBe('rings_mean');
		expect(nameFrom('Überschnitt')).toBe('uberschnitt');
		expect(nameFrom('—')).toBe('');
		expect(nameFrom('x'.repeat(90))).toHaveLength(40);
	});
});

describe('the search for a unit', () => {
	it('puts the very one first, and finds by what is measured', () => {
		expect(unitsFor('m')[0]?.id).toBe('m');
		expect(unitsFor('t/m³')[0]?.id).toBe('t/m3');
		expect(unitsFor('dens').every((one) => one.dimension === 'density')).toBe(true);
		expect(unitsFor('')).toHaveLength(UNITS.length);
		expect(unitsFor('furlong')).toEqual([]);
	});

	it('takes back every label and id it offers', () => {
		for (const one of UNITS) {
			expect(unitMeant(one.label)?.id, one.id).toBe(one.id);
			expect(unitMeant(one.id)?.id, one.id).toBe(one.id);
		}
		expect(unitMeant('furlong')).toBeUndefined();
	});
});

describe('offers while typing', () => {
	const offered = (text: string, from: number, ...inserts: string[]) =>
		offersMore(text, { from, to: text.length, offers: inserts.map((insert) => ({ insert })) });

	it('appear for what is begun and not for what is finished', () => {
		expect(offered('vol', 0, 'volume_expected_m3')).toBe(true);
		expect(offered('a + ', 4, 'volume_expected_m3')).toBe(false);
		expect(offered('mean(', 5, 'volume_expected_m3')).toBe(false);
		expect(offered('loss', 0, 'loss')).toBe(false);
		expect(offered('loss', 0, 'loss', 'loss_share')).toBe(true);
	});

	it('leave a unit alone that stands behind a number or a unit', () => {
		expect(offered('0 m^3/h', 6, 'feed_flow_m3_h')).toBe(false);
		expect(offered('5 m', 2, 'mean(')).toBe(false);
		expect(offered('m', 0, 'mean(')).toBe(true);
	});
});

describe('the mark beneath a formula', () => {
	it('lies on the characters meant, one at least', () => {
		expect(markedText('a + b', 4, 5)).toEqual({
			before: 'a + ',
			marked: 'b',
			after: '',
			atEnd: false,
		});
		expect(markedText('a + b', 2, 2).marked).toBe('+');
		expect(placeWords(markedText('a + b', 4, 5))).toBe('At “b”, character 5');
	});

	it('lies behind the end where something is missing', () => {
		const mark = markedText('a +', 3, 3);
		expect(mark).toEqual({ before: 'a +', marked: ' ', after: '', atEnd: true });
		expect(placeWords(mark)).toBe('At the end');
		expect(markedText('', 5, 9).atEnd).toBe(true);
		expect(markedText('a + ', 3, 4)).toEqual({
			before: 'a +',
			marked: ' ',
			after: '',
			atEnd: true,
		});
	});

	it('lays what was pasted flat', () => {
		expect(oneLine('a\r\n+\tb')).toBe('a + b');
	});
});
