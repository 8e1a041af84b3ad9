import { describe, expect, it } from 'vitest';
import type { SheetRow } from '../../../../calc/sheet/column.ts';
import { shownColumns } from '../../../../renderer/sheets/columndefs.ts';
import {
	asColumn,
	columnHere,
	ownColumnsOf,
} from '../../../../renderer/sheets/owncolumns/owncolumn.ts';

const row = (id: number, cells: SheetRow['cells']): SheetRow => ({ id, cells });
const ROWS = [
	row(7, {
		sheet: 'ledger',
		column_id: 'loss',
		heading: 'Loss',
		unit: 'm3',
		decimals: 3,
		expression: 'volume_expected_m3 - volume_apparent_m3',
		note: 'What went into the ground.',
	}),
	row(3, { sheet: 'ledger', column_id: 'share', heading: 'Share', expression: 'loss / 2 m^3' }),
	row(5, { sheet: 'readings', column_id: 'lift', heading: 'Lift', unit: '%', expression: '1' }),
];

describe('own columns', () => {
	it('are told by sheet, in the order they were made', () => {
		expect(ownColumnsOf('ledger', ROWS).map((one) => one.id)).toEqual(['share', 'loss']);
		expect(ownColumnsOf('readings', ROWS).map((one) => one.id)).toEqual(['lift']);
		expect(ownColumnsOf('rings', ROWS)).toEqual([]);
	});

	it('are plain numbers with two decimals where nothing else is said', () => {
		const [share] = ownColumnsOf('ledger', ROWS);
		expect(share).toMatchObject({ unit: null, decimals: 2, note: '' });
		expect(share && asColumn(share)).toMatchObject({
			kind: 'computed',
			type: 'number',
			unit: null,
		});
	});

	it('stand before the remarks of their sheet and after its figures', () => {
		for (const sheet of ['ledger', 'readings'] as const) {
			const own = ownColumnsOf(sheet, ROWS).map(asColumn);
			const ids = shownColumns(sheet, [], true, own).map((column) => column.id);
			const remark = ids.findIndex((id) => ['flags', 'entered_by', 'note'].includes(id));
			expect(ids.slice(remark - own.length, remark)).toEqual(own.map((column) => column.id));
			expect(new Set(ids).size).toBe(ids.length);
		}
	});

	it('are found beside those of the catalogue', () => {
		const own = ownColumnsOf('ledger', ROWS);
		expect(columnHere('ledger', 'loss', own)).toMatchObject({
			heading: 'Loss',
			help: 'What went into the ground.',
			formula: 'volume_expected_m3 - volume_apparent_m3',
		});
		expect(columnHere('ledger', 'ring', own)?.heading).toBe('Ring');
		expect(columnHere('ledger', 'constructor', own)).toBeUndefined();
	});
});
