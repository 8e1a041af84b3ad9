/** A text with the part that something is to be said about. */
export interface MarkedText {
	readonly before: string;
	readonly marked: string;
	readonly after: string;
	/** What is wrong stands behind the last character: something is missing there. */
	readonly atEnd: boolean;
}

/**
 * The characters from `from` up to, not including, `to`, set apart. At least one character is marked;
 * where the text ends before it, a space behind its end.
 */
export function markedText(text: string, from: number, to: number): MarkedText {
	const begin = Math.max(0, Math.min(from, text.length));
	if (begin >= text.trimEnd().length) {
		return { before: text.slice(0, begin), marked: ' ', after: text.slice(begin + 1), atEnd: true };
	}
	const end = Math.max(begin + 1, Math.min(to, text.length));
	return {
		before: text.slice(0, begin),
		marked: text.slice(begin, end),
		after: text.slice(end),
		atEnd: false,
	};
}

/** Where it is, for those who do not see the mark. */
export function placeWords({ before, marked, atEnd }: MarkedText): string {
	if (atEnd) return 'At the end';
	return `At “${marked.trim() === '' ? 'a space' : marked}”, character ${before.length + 1}`;
}

/** Formulas are one line: what comes from elsewhere with line ends or tabs in it is laid flat. */
export function oneLine(text: string): string {
	return text.replace(/[\t\r\n]+/g, ' ');
}
