import { describe, expect, it } from 'vitest';
import { noteFault, stopFault } from '../../../calc/fault/fault.ts';
import { CATALOGUE, columnsOf } from '../../../calc/sheet/catalogue.ts';
import { driveGroups } from '../../../renderer/panels/drivegroups.ts';
import { groupFacts } from '../../../renderer/panels/facts.ts';
import { countByFile } from '../../../renderer/panels/faultfiles.ts';
import { choicesOf } from '../../../renderer/panels/importchoice.ts';
import { LEFT_OUT } from '../../../renderer/panels/leftout.ts';
import { neighbours, rowOfRing } from '../../../renderer/panels/rings.ts';
import { shareText } from '../../../renderer/panels/shares.ts';
import { unitLabel } from '../../../renderer/panels/unitlabel.ts';

describe('the drive form', () => {
	it('shows every setting of the catalogue exactly once', () => {
		const groups = driveGroups(columnsOf('drive'));
		const shown = groups.flatMap((group) => group.columns.map((column) => column.id));
		expect([...shown].sort()).toEqual(
			columnsOf('drive')
				.map((column) => column.id)
				.sort(),
		);
		expect(groups.map((group) => group.title)).toEqual([
			'Geometry',
			'Circuit',
			'Water and grains',
			'Meters',
			'Stated uncertainties',
		]);
		for (const group of groups) expect(group.columns.length).toBeGreaterThan(0);
	});

	it('says of every optional setting what its absence leaves out, and of no other', () => {
		const optional = columnsOf('drive')
			.filter((column) => !column.required)
			.map((column) => column.id);
		expect(Object.keys(LEFT_OUT).sort()).toEqual([...optional].sort());
	});

	it('has a written unit for every column that has a unit', () => {
		for (const column of CATALOGUE) {
			const label = unitLabel(column.unit);
			if (column.unit === null || column.unit === '1') expect(label).toBeNull();
			else expect(label, column.id).toMatch(/\S/);
		}
		expect(unitLabel('m3/h')).toBe('m³/h');
	});
});

describe('choices of an import', () => {
	const stop = stopFault('a', 'A.', { file: 'rings.csv' });
	const note = noteFault('b', 'B.', { file: 'ground.csv' });

	it('takes all only where no fault stops', () => {
		expect(choicesOf({ faults: [note], faultyRows: 0, impossible: false })).toEqual({
			all: true,
			goodRows: null,
		});
		expect(choicesOf({ faults: [stop, note], faultyRows: 1, impossible: false })).toEqual({
			all: false,
			goodRows: 1,
		});
	});

	it('does not trust a cut list that shows only notes', () => {
		expect(choicesOf({ faults: [note], faultyRows: 9, impossible: false }).all).toBe(false);
	});

	it('offers nothing where no choice of rows can help', () => {
		expect(choicesOf({ faults: [stop], faultyRows: 3, impossible: true })).toEqual({
			all: false,
			goodRows: null,
		});
	});

	it('counts faults by file, most first', () => {
		const faults = [note, stop, stop, stopFault('c', 'C.')];
		expect(countByFile(faults)).toEqual([
			{ file: 'rings.csv', count: 2 },
			{ file: 'ground.csv', count: 1 },
			{ file: 'the whole', count: 1 },
		]);
	});
});

describe('the ring detail', () => {
	it('keeps groups and facts in the order they come', () => {
		const fact = (group: string, heading: string) => ({
			group,
			heading,
			value: '1 m',
			column: null,
			reasons: [],
		});
		const groups = groupFacts([fact('B', '1'), fact('A', '2'), fact('B', '3')]);
		expect(groups.map(({ group, facts }) => [group, facts.map((f) => f.heading)])).toEqual([
			['B', ['1', '3']],
			['A', ['2']],
		]);
	});

	it('finds the rings before and after by number, whatever the order of rows', () => {
		const ledger = [7, 3, 12, 5].map((ring, i) => ({ id: i + 1, cells: { ring } }));
		expect(neighbours(ledger, 5)).toEqual({ before: 3, after: 7 });
		expect(neighbours(ledger, 3)).toEqual({ before: null, after: 5 });
		expect(neighbours(ledger, 12)).toEqual({ before: 7, after: null });
		expect(rowOfRing(ledger, 12)).toBe(3);
		expect(rowOfRing(ledger, 4)).toBeNull();
	});

	it('never shows a share that is there as nothing', () => {
		expect([43.1, 9.96, 1.05, 0.1, 0.01, 0].map((share) => shareText(share, '.'))).toEqual([
			'43 %',
			'10.0 %',
			'1.1 %',
			'0.1 %',
			'< 0.1 %',
			'0.0 %',
		]);
	});
});
