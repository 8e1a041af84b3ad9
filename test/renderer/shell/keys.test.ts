import { describe, expect, it } from 'vitest';
import { type KeyPress, pageKey } from '../../../renderer/shell/keys.ts';
import { SHEET_LIST } from '../../../renderer/shell/sheetlist.ts';
import { shownTheme } from '../../../renderer/shell/theme.ts';

const press = (key: string, held: Partial<KeyPress> = {}): KeyPress => ({
	key,
	code: /^\d$/.test(key) ? `Digit${key}` : '',
	ctrlKey: false,
	metaKey: false,
	shiftKey: false,
	altKey: false,
	...held,
});

describe('keys of the page', () => {
	it('undoes and redoes the desk’s step, but leaves a text field its own', () => {
		expect(pageKey(press('z', { ctrlKey: true }), false)).toEqual({ kind: 'undo' });
		expect(pageKey(press('Z', { ctrlKey: true, shiftKey: true }), false)).toEqual({ kind: 'redo' });
		expect(pageKey(press('y', { ctrlKey: true }), false)).toEqual({ kind: 'redo' });
		expect(pageKey(press('z', { metaKey: true }), false)).toEqual({ kind: 'undo' });
		expect(pageKey(press('z', { ctrlKey: true }), true)).toBeNull();
		expect(pageKey(press('z'), false)).toBeNull();
	});

	it('reaches every sheet by Alt and its place', () => {
		for (const index of SHEET_LIST.keys()) {
			expect(pageKey(press(String(index + 1), { altKey: true }), true)).toEqual({
				kind: 'sheet',
				index,
			});
		}
		expect(pageKey(press('8', { altKey: true }), false)).toBeNull();
		// AltGr comes as Ctrl+Alt and writes characters.
		expect(pageKey(press('2', { altKey: true, ctrlKey: true }), false)).toBeNull();
	});

	it('shows the keys by F1 anywhere', () => {
		expect(pageKey(press('F1'), true)).toEqual({ kind: 'keys' });
	});
});

describe('day and night', () => {
	it('follows the system unless one was chosen', () => {
		expect(shownTheme('system', true)).toBe('night');
		expect(shownTheme('system', false)).toBe('day');
		expect(shownTheme('day', true)).toBe('day');
		expect(shownTheme('night', false)).toBe('night');
	});
});
