/**
 * A text that starts like a formula is run by spreadsheet programs when it comes to them in a file
 * or over the clipboard. On its way out such a text gets an apostrophe in front; on its way in one
 * is taken off again. A text that has the apostrophe already gets a second one, so every text comes
 * back as it was.
 */
// The wide forms are taken for the plain ones where East Asian text is typed (OWASP, CSV injection).
const STARTS_LIKE_FORMULA = /^'*[=+\-@\t\r\n＝＋－＠]/u;
const GUARDED = /^'+[=+\-@\t\r\n＝＋－＠]/u;

/**
 * The text as it goes out.
 *
 * @example
 * guardText('=1+1') // => "'=1+1"
 * guardText('gravel, 3 boulders') // => "gravel, 3 boulders"
 */
export function guardText(text: string): string {
	return STARTS_LIKE_FORMULA.test(text) ? `'${text}` : text;
}

/**
 * The text as it was before it went out.
 *
 * @example
 * unguardText("'=1+1") // => "=1+1"
 * unguardText(guardText("'-")) // => "'-"
 */
export function unguardText(text: string): string {
	return GUARDED.test(text) ? text.slice(1) : text;
}
