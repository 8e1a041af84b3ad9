/**
 * Rounded to so many decimals, as a record keeps it. Half goes towards the larger.
 *
 * @example
 * roundTo(1.08347, 4) // => 1.0835
 */
export function roundTo(value: number, decimals: number): number {
	const times = 10 ** decimals;
	return Math.round(value * times) / times;
}

/** Decimals a record keeps in the trade's units: m³/h, t/m³, m, m³, mm. */
export interface RecordDecimals {
	readonly flow: number;
	readonly density: number;
	readonly level: number;
	readonly total: number;
	readonly stroke: number;
}

/** A site's record, or the finer one of perfect meters. */
export function recordDecimals(perfect: boolean): RecordDecimals {
	return perfect
		? { flow: 3, density: 6, level: 6, total: 3, stroke: 3 }
		: { flow: 1, density: 4, level: 3, total: 1, stroke: 0 };
}
