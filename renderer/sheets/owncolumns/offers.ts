import { findUnit } from '../../../calc/quantity/unit.ts';

/**
 * Whether offers are worth showing unasked: something has been begun, it is not already what would be
 * taken, and it is not a unit behind a number or another unit, which Tab must not turn into a column.
 */
export function offersMore(
	text: string,
	{
		from,
		to,
		offers,
	}: {
		readonly from: number;
		readonly to: number;
		readonly offers: readonly { readonly insert: string }[];
	},
): boolean {
	const begun = text.slice(from, to);
	if (begun === '' || (offers.length === 1 && offers[0]?.insert === begun)) return false;
	const behindNumber = /[0-9/*]\s*$/.test(text.slice(0, from));
	return !(behindNumber && findUnit(begun) !== null);
}
