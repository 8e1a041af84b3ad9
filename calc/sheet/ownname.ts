import { findUnit } from '../quantity/unit.ts';
import { findFunction } from './functions.ts';

/** Longest name of a formula column. */
const LONGEST_NAME = 40;
const NAME = /^[a-z][a-z0-9_]*$/;
/** Words of the expression language and names every object carries: no column can be called so. */
const WORDS: ReadonlySet<string> = new Set([
	...['and', 'or', 'not', 'xor', 'mod', 'to', 'in', 'end', 'true', 'false', 'null', 'undefined'],
	...['pi', 'e', 'i', 'nan', 'infinity', 'ans', 'constructor'],
	...Object.getOwnPropertyNames(Object.prototype).map((name) => name.toLowerCase()),
]);

/**
 * What keeps a text from being the name of a formula column, in words, or null. Columns that are
 * there already are the caller's to compare.
 *
 * @example
 * nameTrouble('volume_loss') // => null
 * nameTrouble('mean') // => "mean is a function"
 * nameTrouble('bar') // => "bar is a unit"
 * nameTrouble('Volume loss') // => "a name has small letters, digits and _, and begins with a letter"
 */
export function nameTrouble(name: string): string | null {
	if (!NAME.test(name)) return 'a name has small letters, digits and _, and begins with a letter';
	if (name.length > LONGEST_NAME) return `a name has at most ${LONGEST_NAME} characters`;
	if (WORDS.has(name)) return `${name} has a meaning in formulas`;
	if (findFunction(name) !== undefined) return `${name} is a function`;
	if (findUnit(name) !== null) return `${name} is a unit`;
	return null;
}
