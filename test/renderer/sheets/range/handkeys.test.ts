import { describe, expect, it } from 'vitest';
import { type HandKey, handKey } from '../../../../renderer/sheets/range/handkeys.ts';
import { pageKey } from '../../../../renderer/shell/keys.ts';

const press = (keys: string) => {
	const parts = keys.split('+');
	const key = parts.pop() ?? '';
	return {
		key: key === 'Space' ? ' ' : key,
		code: key === 'Space' ? 'Space' : '',
		ctrlKey: parts.includes('Ctrl'),
		metaKey: parts.includes('Meta'),
		shiftKey: parts.includes('Shift'),
		altKey: parts.includes('Alt'),
	};
};

const ASKS: readonly (readonly [string, HandKey['kind'] | null])[] = [
	['Shift+ArrowDown', 'extend'],
	['Ctrl+Shift+ArrowRight', 'extend'],
	['Shift+PageUp', 'extend'],
	['Ctrl+Shift+End', 'extend'],
	['Ctrl+ArrowUp', 'jump'],
	['Home', 'go'],
	['Ctrl+End', 'go'],
	['Shift+Space', 'rows'],
	['Ctrl+Space', 'columns'],
	['Ctrl+a', 'all'],
	['Meta+a', 'all'],
	['Ctrl+d', 'fillDown'],
	['Ctrl+Shift+D', 'seriesDown'],
	['Ctrl+r', 'fillRight'],
	['Ctrl+Shift+C', 'copyWithHeadings'],
	['Ctrl+Shift+Enter', 'duplicate'],
	['Insert', 'insert'],
	['Space', 'tick'],
	['Delete', 'clear'],
	['Tab', 'next'],
	['Shift+Enter', 'next'],
	['Escape', 'letGo'],
	// Left to the grid, the page or the browser.
	['ArrowDown', null],
	['Ctrl+Enter', null],
	['Ctrl+c', null],
	['Ctrl+z', null],
	['Ctrl+y', null],
	['F2', null],
	['a', null],
	['Alt+ArrowDown', null],
];

describe('keys of the hands', () => {
	it.each(ASKS)('%s', (keys, kind) => {
		expect(handKey(press(keys))?.kind ?? null).toBe(kind);
	});

	it('are none of the page', () => {
		for (const [keys, kind] of ASKS)
			if (kind !== null) expect(pageKey(press(keys), false), keys).toBeNull();
	});
});
