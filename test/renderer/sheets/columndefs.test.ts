import type { ColDef, EditableCallbackParams } from 'ag-grid-community';
import { describe, expect, it } from 'vitest';
import { columnsOf } from '../../../calc/sheet/catalogue.ts';
import type { CellValue, SheetRow } from '../../../calc/sheet/column.ts';
import type { GroupLine } from '../../../renderer/sheets/arrange/groupline.ts';
import {
	columnDef,
	compareCells,
	headingHelp,
	shownColumns,
} from '../../../renderer/sheets/columndefs.ts';

const OPTIONS = {
	marks: { decimal: '.', utcOffset_min: 0 },
	editable: true,
	pinned: ['time'],
	sortedBy: 'time',
} as const;

const ROW: SheetRow = { id: 1, cells: {} };
const LINE: GroupLine = {
	id: -1,
	cells: {},
	groupLine: { key: '1', title: 'Ring 1', count: 3, open: true, figures: {} },
};

/** What the grid asks of a column before it opens a cell. */
function editableIn(def: ColDef<SheetRow, CellValue>, data: SheetRow): boolean {
	const { editable } = def;
	if (typeof editable !== 'function') return editable ?? false;
	return editable({ data } as EditableCallbackParams<SheetRow, CellValue>);
}

describe('grid columns from the catalogue', () => {
	it('lets only entered cells be edited, and none of a read-only document', () => {
		for (const column of columnsOf('readings')) {
			expect(editableIn(columnDef(column, OPTIONS), ROW), column.id).toBe(
				column.kind === 'entered',
			);
			expect(editableIn(columnDef(column, OPTIONS), LINE), column.id).toBe(false);
			expect(columnDef(column, { ...OPTIONS, editable: false }).editable, column.id).toBe(false);
		}
		for (const column of columnsOf('ledger')) {
			expect(columnDef(column, OPTIONS).editable, column.id).toBe(false);
		}
	});

	it('holds no expression as a string, which the page’s policy forbids', () => {
		const strings = ['valueGetter', 'valueFormatter', 'valueSetter', 'valueParser', 'cellStyle'];
		for (const sheet of ['ledger', 'readings', 'rings', 'ground', 'meters'] as const) {
			for (const column of columnsOf(sheet)) {
				const def = columnDef(column, OPTIONS) as Record<string, unknown>;
				for (const key of strings)
					expect(typeof def[key], `${column.id} ${key}`).not.toBe('string');
				for (const rule of Object.values(def.cellClassRules as object))
					expect(typeof rule).toBe('function');
			}
		}
	});

	it('explains a computed heading by formula and source', () => {
		const column = columnsOf('ledger').find((c) => c.id === 'volume_apparent_m3');
		const help = column ? headingHelp(column) : '';
		expect(help).toContain('∫(Qr − Qf − Qj) dt');
		expect(help).toContain('Source: mass conservation');
	});

	it('adds the sieve columns the ground rows bear, finest first', () => {
		const row: SheetRow = {
			id: 1,
			cells: { passing_2_mm: 99, 'passing_0.063_mm': 8, stratum: 'Sand' },
		};
		const ids = shownColumns('ground', [row], false).map((column) => column.id);
		expect(ids.slice(0, -2)).toEqual(columnsOf('ground').map((column) => column.id));
		expect(ids.slice(-2)).toEqual(['passing_0.063_mm', 'passing_2_mm']);
	});

	it('shows the ledger without correction beside the corrected figure, where meters are corrected', () => {
		const plain = shownColumns('ledger', [], false).map((column) => column.id);
		const corrected = shownColumns('ledger', [], true).map((column) => column.id);
		expect(plain.filter((id) => id.includes('uncorrected'))).toEqual([]);
		expect(corrected).toEqual(columnsOf('ledger').map((column) => column.id));
		const at = (id: string) => corrected.indexOf(id);
		expect(at('volume_uncorrected_m3') - at('volume_apparent_u_m3')).toBe(1);
		expect(at('dry_solids_uncorrected_t') - at('dry_solids_u_t')).toBe(1);
	});
});

describe('order of cells', () => {
	// The grid turns the order round for descending columns, so a blank has to be turned with it.
	const sorted = (values: (number | null)[], descending: boolean) =>
		[...values].sort((a, b) => compareCells(a, b, descending) * (descending ? -1 : 1));

	it('keeps blanks last in either direction', () => {
		expect(sorted([null, 3, 1, null, 2], false)).toEqual([1, 2, 3, null, null]);
		expect(sorted([null, 3, 1, null, 2], true)).toEqual([3, 2, 1, null, null]);
	});
});
