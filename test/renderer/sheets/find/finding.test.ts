import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { columnsOf } from '../../../../calc/sheet/catalogue.ts';
import { readCell } from '../../../../calc/sheet/cell.ts';
import type { Column, SheetRow } from '../../../../calc/sheet/column.ts';
import type { Marks } from '../../../../renderer/sheets/celltext.ts';
import {
	type Hit,
	nextHit,
	type Sought,
	searching,
} from '../../../../renderer/sheets/find/finding.ts';
import { planReplace, replaceLabel, sentText } from '../../../../renderer/sheets/find/replacing.ts';

const MARKS: Marks = { decimal: '.', utcOffset_min: 0 };
const COLUMNS = columnsOf('readings');
const columnOf = (id: string): Column => {
	const column = COLUMNS.find((one) => one.id === id);
	if (!column) throw new Error(id);
	return column;
};
const plain = (text: string, more: Partial<Sought> = {}): Sought => ({
	text,
	whole: false,
	matchCase: false,
	full: false,
	...more,
});

/** All hits, however often the search pauses. */
function hitsOf(
	rows: readonly SheetRow[],
	columns: readonly Column[],
	sought: Sought,
): readonly Hit[] {
	const search = searching(rows, columns, sought, MARKS);
	for (;;) {
		const step = search.next();
		if (step.done) return step.value;
	}
}
const found = (row: SheetRow, id: string, sought: Sought) =>
	hitsOf([row], [columnOf(id)], sought).length > 0;

describe('finding', () => {
	const row: SheetRow = {
		id: 1,
		cells: { feed_density_t_m3: 1.07149, mode: 'back_flush', note: 'Pump A changed', ring: null },
	};
	it('looks at the text as shown, or at all digits', () => {
		expect(found(row, 'feed_density_t_m3', plain('1.071', { whole: true }))).toBe(true);
		expect(found(row, 'feed_density_t_m3', plain('1.0714'))).toBe(false);
		expect(found(row, 'feed_density_t_m3', plain('1.0714', { full: true }))).toBe(true);
		expect(found(row, 'mode', plain('back flush'))).toBe(true);
		expect(found(row, 'ring', plain(' '))).toBe(false);
	});

	it('minds the case and the whole cell only where it is told to', () => {
		expect(found(row, 'note', plain('pump a'))).toBe(true);
		expect(found(row, 'note', plain('pump a', { matchCase: true }))).toBe(false);
		expect(found(row, 'note', plain('Pump A', { whole: true }))).toBe(false);
		expect(found(row, 'note', plain('pump a changed', { whole: true }))).toBe(true);
		expect(hitsOf([row], COLUMNS, plain(''))).toEqual([]);
	});

	it('goes round: every hit is reached once, forwards and backwards', () => {
		const places = fc.uniqueArray(fc.tuple(fc.nat(30), fc.nat(8)), {
			minLength: 1,
			selector: ([a, b]) => a * 100 + b,
		});
		fc.assert(
			fc.property(places, fc.constantFrom(1 as const, -1 as const), (list, step) => {
				const hits = list
					.sort((a, b) => a[0] - b[0] || a[1] - b[1])
					.map(([rowAt, columnAt]): Hit => ({ row, column: columnOf('note'), rowAt, columnAt }));
				const seen = new Set<number>();
				let place = { rowAt: -1, columnAt: -1 };
				for (const _ of hits) {
					const next = nextHit(hits, place, step);
					seen.add(next);
					place = hits[next] ?? place;
				}
				expect(seen.size).toBe(hits.length);
			}),
			{ seed: 3, numRuns: 200 },
		);
		expect(nextHit([], { rowAt: 0, columnAt: 0 }, 1)).toBe(-1);
	});
});

describe('replacing', () => {
	it('acts on all digits, so that what the desk reads is the number with these digits changed', () => {
		const density = columnOf('feed_density_t_m3');
		fc.assert(
			fc.property(
				fc.integer({ min: 100_000, max: 160_000 }),
				fc.integer({ min: 0, max: 9 }),
				fc.integer({ min: 0, max: 9 }),
				(value, from, to) => {
					const row: SheetRow = { id: 1, cells: { feed_density_t_m3: value / 1e5 } };
					const sought = plain(String(from), { full: true });
					const plan = planReplace(hitsOf([row], [density], sought), sought, String(to), MARKS);
					// The oracle: the same digits replaced in JavaScript's own shortest text of the number.
					const wanted = String(value / 1e5).replaceAll(String(from), String(to));
					const [change] = plan.changes;
					if (change === undefined) {
						expect(wanted).toBe(String(value / 1e5));
						return;
					}
					const read = readCell(density, sentText(change), { decimal: '.', utcOffset_min: 0 });
					if (read.kind === 'value') expect(read.value).toBe(Number(wanted));
					else expect(Number(wanted) < 0.9 || Number(wanted) > 2.5).toBe(true);
				},
			),
			{ seed: 5, numRuns: 300 },
		);
	});

	it('leaves a figure alone whose digits on screen are a rounding, and every computed one', () => {
		const row: SheetRow = { id: 4, cells: { feed_density_t_m3: 1.07149, feed_solids_g_l: 120 } };
		const sought = plain('1.071', { whole: true });
		const columns = [columnOf('feed_density_t_m3'), columnOf('feed_solids_g_l')];
		expect(planReplace(hitsOf([row], columns, sought), sought, '1.08', MARKS)).toEqual({
			changes: [],
			computed: 0,
			rounded: 1,
		});
		const solids = plain('120');
		expect(planReplace(hitsOf([row], columns, solids), solids, '1', MARKS).computed).toBe(1);
	});

	it('takes the new text as it stands, whatever signs are in it', () => {
		const row: SheetRow = { id: 1, cells: { note: 'Pump a, PUMP A' } };
		const sought = plain('pump a');
		const [change] = planReplace(
			hitsOf([row], [columnOf('note')], sought),
			sought,
			'$& (.*)',
			MARKS,
		).changes;
		expect(change?.after).toBe('$& (.*), $& (.*)');
	});

	it('sends a choice by its own name, and what is none as it was typed', () => {
		const row: SheetRow = { id: 1, cells: { mode: 'bypass' } };
		const sought = plain('bypass', { whole: true });
		const sent = (by: string) => {
			const [change] = planReplace(
				hitsOf([row], [columnOf('mode')], sought),
				sought,
				by,
				MARKS,
			).changes;
			return change && sentText(change);
		};
		expect(sent('Back flush')).toBe('back_flush');
		expect(sent('pause')).toBe('pause');
	});

	it('is named by its cells', () => {
		expect(replaceLabel(1)).toBe('replace in 1 cell');
		expect(replaceLabel(24)).toBe('replace in 24 cells');
	});
});
