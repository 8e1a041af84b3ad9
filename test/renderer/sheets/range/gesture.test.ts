import { describe, expect, it } from 'vitest';
import type { EditRefusal } from '../../../../electron/contract/verbs.ts';
import {
	cellCount,
	type Gesture,
	gestureLabel,
	refusedPlace,
	withoutRefused,
	withTexts,
} from '../../../../renderer/sheets/range/gesture.ts';

const gesture: Gesture = {
	name: 'paste',
	done: 'pasted',
	edits: [
		{ row: 7, column: 'feed_flow_m3_h', text: '1100' },
		{ row: 7, column: 'note', text: 'x' },
		{ row: 8, column: 'feed_flow_m3_h', text: 'abc' },
	],
	added: [{ time: '2030-01-01 06:00', note: 'y' }],
	decimal: '.',
	leftOut: [],
};
const refused = (row: number | null, column: string, place?: number): EditRefusal => ({
	row,
	column,
	fault: {
		code: 'made_up',
		message: 'Not so.',
		where: place === undefined ? {} : { row: place },
		weight: 'stop',
	},
	readAs: [],
});

describe('a gesture', () => {
	it('is named by what it did to how many cells', () => {
		expect(cellCount(gesture)).toBe(5);
		expect(gestureLabel(gesture)).toBe('paste of 5 cells with 1 new row');
		expect(gestureLabel({ ...gesture, added: [] })).toBe('paste of 3 cells');
		expect(
			gestureLabel({ ...gesture, edits: gesture.edits.slice(0, 1), added: [] }),
		).toBeUndefined();
	});

	it('knows which of its texts was refused', () => {
		expect(refusedPlace(gesture, refused(8, 'feed_flow_m3_h'))).toMatchObject({
			row: 8,
			addedAt: null,
			text: 'abc',
		});
		expect(refusedPlace(gesture, refused(null, 'time', 1))).toMatchObject({
			addedAt: 0,
			text: '2030-01-01 06:00',
		});
		expect(refusedPlace(gesture, refused(null, 'mode', 1)).text).toBeNull();
	});

	it('goes without the refused cells, and without a row that is refused as such', () => {
		const kept = withoutRefused(gesture, [refused(8, 'feed_flow_m3_h'), refused(null, 'mode', 1)]);
		expect(kept?.edits).toEqual(gesture.edits.slice(0, 2));
		expect(kept?.added).toEqual([]);
		// The fault lies in a cell of the row that was not pasted: no cell of the row can be taken.
		expect(withoutRefused(gesture, [refused(7, 'return_flow_m3_h')])?.edits).toEqual(
			gesture.edits.slice(2),
		);
		expect(withoutRefused(gesture, [refused(7, ''), refused(8, '')])).toBeNull();
		// A fault of the sheet as a whole cannot be left out.
		expect(withoutRefused(gesture, [refused(null, 'time')])).toBeNull();
	});

	it('takes corrections where they were made', () => {
		const { key } = refusedPlace(gesture, refused(8, 'feed_flow_m3_h'));
		const added = refusedPlace(gesture, refused(null, 'time', 1)).key;
		const mended = withTexts(
			gesture,
			new Map([
				[key, '1101'],
				[added, '2030-01-01 07:00'],
			]),
		);
		expect(mended.edits.map((edit) => edit.text)).toEqual(['1100', 'x', '1101']);
		expect(mended.added).toEqual([{ time: '2030-01-01 07:00', note: 'y' }]);
	});
});
