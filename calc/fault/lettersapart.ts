/**
 * How many letters have to be put in, taken out or replaced to make one word of another: for telling
 * which known name a mistyped one was meant to be. Plain count, no unit.
 * Source: Levenshtein, "Binary codes capable of correcting deletions, insertions, and reversals" (1966).
 *
 * @example
 * lettersApart('feed_flw', 'feed_flow') // => 1
 * lettersApart('kitten', 'sitting') // => 3
 * lettersApart('', 'ring') // => 4
 */
export function lettersApart(a: string, b: string): number {
	let before = Array.from({ length: b.length + 1 }, (_, i) => i);
	for (let i = 1; i <= a.length; i++) {
		const now = [i];
		for (let j = 1; j <= b.length; j++)
			now.push(
				Math.min(
					(before[j] ?? 0) + 1,
					(now[j - 1] ?? 0) + 1,
					(before[j - 1] ?? 0) + (a[i - 1] === b[j - 1] ? 0 : 1),
				),
			);
		before = now;
	}
	return before[b.length] ?? 0;
}
