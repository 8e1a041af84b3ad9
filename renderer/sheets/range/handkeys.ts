/** What a key press asks of the cells in hand; null when it is the grid's own business. */
export type HandKey =
	/** Let the block reach farther (or nearer) from the cell in hand. */
	| { readonly kind: 'extend'; readonly to: Reach; readonly down: number; readonly right: number }
	/** Go to the edge of the data. */
	| { readonly kind: 'jump'; readonly down: number; readonly right: number }
	/** Go to the end of the row, or to the corner of the sheet. */
	| { readonly kind: 'go'; readonly to: 'end' | 'corner'; readonly way: 1 | -1 }
	| { readonly kind: 'rows' | 'columns' | 'all' | 'letGo' }
	| { readonly kind: 'fillDown' | 'fillRight' | 'seriesDown' }
	| { readonly kind: 'clear' | 'copyWithHeadings' | 'tick' | 'duplicate' | 'insert' }
	/** On to the next cell: within the block, or back to where the row of entries began. */
	| { readonly kind: 'next'; readonly along: 'down' | 'right'; readonly back: boolean };

/** How far a block is let reach at once. */
export type Reach = 'next' | 'edge' | 'page' | 'end' | 'corner';

export interface HandPress {
	readonly key: string;
	readonly code: string;
	readonly ctrlKey: boolean;
	readonly metaKey: boolean;
	readonly shiftKey: boolean;
	readonly altKey: boolean;
}

const WAYS: Readonly<Record<string, readonly [down: number, right: number]>> = {
	ArrowDown: [1, 0],
	ArrowUp: [-1, 0],
	ArrowRight: [0, 1],
	ArrowLeft: [0, -1],
};

/** Reads a key press on a cell that is not being edited. */
export function handKey(press: HandPress): HandKey | null {
	if (press.altKey) return null;
	const command = press.ctrlKey || press.metaKey;
	const { key, shiftKey: shift } = press;
	const way = WAYS[key];
	if (way) {
		const [down, right] = way;
		if (shift) return { kind: 'extend', to: command ? 'edge' : 'next', down, right };
		return command ? { kind: 'jump', down, right } : null;
	}
	if (press.code === 'Space') {
		if (shift && command) return { kind: 'all' };
		if (shift) return { kind: 'rows' };
		return { kind: command ? 'columns' : 'tick' };
	}
	switch (key) {
		case 'PageDown':
		case 'PageUp':
			if (!shift || command) return null;
			return { kind: 'extend', to: 'page', down: key === 'PageDown' ? 1 : -1, right: 0 };
		case 'Home':
		case 'End': {
			const way = key === 'End' ? 1 : -1;
			if (!shift) return { kind: 'go', to: command ? 'corner' : 'end', way };
			return command
				? { kind: 'extend', to: 'corner', down: way, right: way }
				: { kind: 'extend', to: 'end', down: 0, right: way };
		}
		case 'Enter':
			if (command) return shift ? { kind: 'duplicate' } : null;
			return { kind: 'next', along: 'down', back: shift };
		case 'Tab':
			return command ? null : { kind: 'next', along: 'right', back: shift };
		case 'Escape':
			return { kind: 'letGo' };
		case 'Delete':
			return command || shift ? null : { kind: 'clear' };
		case 'Insert':
			return command || shift ? null : { kind: 'insert' };
	}
	if (!command) return null;
	switch (key.toLowerCase()) {
		case 'a':
			return shift ? null : { kind: 'all' };
		case 'c':
			return shift ? { kind: 'copyWithHeadings' } : null;
		case 'd':
			return { kind: shift ? 'seriesDown' : 'fillDown' };
		case 'r':
			return shift ? null : { kind: 'fillRight' };
	}
	return null;
}
