import type { Mode } from '../../../calc/circuit/samples.ts';
import { MODES } from '../../../calc/circuit/samples.ts';
import { type Fault, stopFault } from '../../../calc/fault/fault.ts';
import { readCell } from '../../../calc/sheet/cell.ts';
import type { LoggerLayout } from '../../contract/loggerimport.ts';
import { reading, type Target } from './target.ts';

const PLAIN = /^[+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d+)?$/u;
const GROUPED = {
	'.': /^[+-]?\d{1,3}(?:[, '\u00a0\u202f]\d{3})+\.\d+$/u,
	',': /^[+-]?\d{1,3}(?:[. '\u00a0\u202f]\d{3})+,\d+$/u,
};
const GROUP_MARKS = { '.': /[, '\u00a0\u202f]/gu, ',': /[. '\u00a0\u202f]/gu };
/** More decimals than this are kept as they are, not counted. */
const MOST_DECIMALS = 9;

/** A number of a file, or why it is none. `decimals`: places written; null if not written plainly. */
export type FieldNumber =
	| { readonly value: number; readonly decimals: number | null }
	| { readonly fault: Fault };

/** Reads the fields of one column of numbers, to the double nearest to what is written. */
export class NumberField {
	readonly target: Target;
	readonly #decimal: LoggerLayout['decimal'];
	readonly #toKept: (value: number) => number;
	readonly #sameUnit: boolean;

	/** Throws RangeError for a unit that is none of the target's. */
	constructor(target: Target, unit: string | null, decimal: LoggerLayout['decimal']) {
		const toKept = reading(target, unit);
		if (toKept === null) throw new RangeError(`${target.id} is not read from ${unit}`);
		this.target = target;
		this.#decimal = decimal;
		this.#toKept = toKept;
		this.#sameUnit = target.signal === null && (unit === null || unit === target.keptIn);
	}

	read(text: string): FieldNumber {
		let plain = text;
		if (this.#decimal === ',') {
			if (text.includes('.') && !GROUPED[','].test(text)) return { fault: notANumber(text, ',') };
			plain = text.replace(GROUP_MARKS[','], '').replace(',', '.');
		} else if (GROUPED['.'].test(text)) plain = text.replace(GROUP_MARKS['.'], '');
		plain = plain.replace('\u2212', '-');
		if (!PLAIN.test(plain)) return { fault: notANumber(text, this.#decimal) };
		return this.kept(Number(plain), text, this.#sameUnit ? decimalsOf(plain) : null);
	}

	/** A figure of the file in its own unit, as it is kept. */
	kept(figure: number, written: string, decimals: number | null): FieldNumber {
		const value = this.#toKept(figure);
		const { min, max, column } = this.target;
		if (value >= min && value <= max) return { value: value === 0 ? 0 : value, decimals };
		if (column !== null) {
			const told = readCell(column, String(value), { decimal: '.', utcOffset_min: null });
			if (told.kind === 'fault') return { fault: withValue(told.fault, written) };
		}
		return {
			fault: stopFault('number_out_of_bounds', 'The figure is outside what the column takes.', {
				value: written.slice(0, 80),
				expected: `${min} to ${max}`,
			}),
		};
	}
}

function decimalsOf(plain: string): number | null {
	const parts = /^[+-]?\d+(?:\.(\d+))?$/u.exec(plain);
	if (parts === null || plain.startsWith('+')) return null;
	const decimals = parts[1]?.length ?? 0;
	return decimals > MOST_DECIMALS ? null : decimals;
}

const withValue = (fault: Fault, value: string): Fault => ({
	...fault,
	where: { ...fault.where, value: value.slice(0, 80) },
});

function notANumber(text: string, decimal: string): Fault {
	return stopFault('number_text', 'This is not a plain number.', {
		value: text.slice(0, 80),
		expected: `digits with ${decimal === ',' ? 'a comma' : 'a dot'} as decimal mark, without a unit`,
	});
}

/** Words of a mode column that other records use for ours; common practice, no source. */
const MODE_SYNONYMS: readonly [RegExp, Mode][] = [
	[/^(advanc\w*|excavat\w*|boring|mining|drilling|cutting)$/u, 'advance'],
	[/^(by-?pass\w*|circulat\w*)$/u, 'bypass'],
	[/^(back[- _]?flush\w*|flush\w*|revers\w*)$/u, 'back_flush'],
	[/^(stop\w*|standstill|idle|off|standby|stand-by)$/u, 'stop'],
];

/** The mode a word is taken for before anyone has said so; null if it is none we know. */
export function modeOfWord(word: string): Mode | null {
	const key = word.trim().toLowerCase();
	if ((MODES as readonly string[]).includes(key)) return key as Mode;
	return MODE_SYNONYMS.find(([pattern]) => pattern.test(key))?.[1] ?? null;
}
