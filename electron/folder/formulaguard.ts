/**
 * A text that starts like a formula is run by spreadsheet programs when they open a CSV. On export
 * such a text gets an apostrophe in front; on import one is taken off again. A text that has the
 * apostrophe already gets a second one, so every text comes back as it was.
 */
const STARTS_LIKE_FORMULA = /^'*[=+\-@\t\r]/u;
const GUARDED = /^'+[=+\-@\t\r]/u;

/** The text as it is written to a file. */
export function guardText(text: string): string {
	return STARTS_LIKE_FORMULA.test(text) ? `'${text}` : text;
}

/** The text as it was before it was written. */
export function unguardText(text: string): string {
	return GUARDED.test(text) ? text.slice(1) : text;
}
