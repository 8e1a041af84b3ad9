/** Something that the engine's JSON reader passes over in silence, at the key it concerns. */
export interface JsonDoubt {
	readonly what: 'key_twice' | 'number_range';
	/** Path of the key with dots between; array places by number. */
	readonly key: string;
	/** Line of the second key, or of the number. */
	readonly row: number;
	/** As written: both values of a key given twice, or the number. */
	readonly value: string;
}

interface Level {
	readonly path: string;
	/** Keys so far and their values as written; null in an array. */
	readonly keys: Map<string, string> | null;
	/** null until a key has been read. */
	key: string | null;
	at: number;
	count: number;
}

const TOKEN = /"(?:[^"\\]|\\.)*"|[{}[\]:,]|[^\s{}[\]:,"]+/gsu;
/** Digits other than zero: such a number is not zero, whatever it is rounded to. */
const HAS_FIGURES = /^-?[0.]*[1-9]/u;
const SHOWN_LENGTH = 40;

/**
 * What a text that is valid JSON says and its reader does not tell: a key that stands twice in one
 * object (of the two the reader would take the second), and a number beyond what a double holds (it
 * would be read as infinite, or as zero). In order of the text.
 */
export function jsonDoubts(text: string): JsonDoubt[] {
	const found: JsonDoubt[] = [];
	const levels: Level[] = [];
	let row = 1;
	let counted = 0;
	const rowAt = (at: number): number => {
		for (; counted < at; counted++) if (text[counted] === '\n') row++;
		return row;
	};
	const pathOf = (level: Level | undefined): string => {
		if (level === undefined) return '';
		const own = level.keys === null ? String(level.count) : (level.key ?? '');
		return level.path === '' ? own : `${level.path}.${own}`;
	};
	const close = (level: Level | undefined, end: number): void => {
		if (level?.keys == null || level.key === null) return;
		const written = text.slice(level.at, end).trim().replace(/^:\s*/u, '');
		const before = level.keys.get(level.key);
		if (before !== undefined)
			found.push({
				what: 'key_twice',
				key: pathOf(level),
				row: rowAt(level.at),
				value: `${short(before)} and ${short(written)}`,
			});
		level.keys.set(level.key, before ?? written);
		level.key = null;
	};
	for (const token of text.matchAll(TOKEN)) {
		const [word] = token;
		const at = token.index;
		const level = levels.at(-1);
		if (word === '{' || word === '[')
			levels.push({
				path: pathOf(level),
				keys: word === '{' ? new Map() : null,
				key: null,
				at,
				count: 0,
			});
		else if (word === '}' || word === ']') close(levels.pop(), at);
		else if (word === ',') {
			close(level, at);
			if (level !== undefined) level.count++;
		} else if (level?.keys != null && level.key === null && word.startsWith('"')) {
			level.key = JSON.parse(word) as string;
			level.at = at + word.length;
		} else if (/^-?\d/u.test(word)) {
			const value = Number(word);
			if (!Number.isFinite(value) || (value === 0 && HAS_FIGURES.test(word)))
				found.push({
					what: 'number_range',
					key: pathOf(level),
					row: rowAt(at),
					value: short(word),
				});
		}
	}
	return found;
}

const short = (text: string): string =>
	text.length > SHOWN_LENGTH ? `${text.slice(0, SHOWN_LENGTH)}…` : text;
