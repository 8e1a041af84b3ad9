/** Distance from 1 that fills half a cell. */
const FULL_AT = 0.25;

/** Ledger columns that are read against 1. */
const RATIOS: ReadonlySet<string> = new Set(['ratio_volume', 'ratio_solids']);

export const isRatio = (columnId: string): boolean => RATIOS.has(columnId);

export const RATIO_HELP = 'The bar shows the distance from 1; it fills the cell at ±0.25.';

/**
 * From where to where a ratio's bar runs, in % of the cell: from the middle, which stands for 1,
 * towards the right for more. null for a blank.
 */
export function ratioSpan(ratio: number | null): readonly [from: number, to: number] | null {
	if (ratio === null || !Number.isFinite(ratio)) return null;
	const off = Math.max(-1, Math.min(1, (ratio - 1) / FULL_AT));
	const end = 50 + 50 * off;
	return off < 0 ? [end, 50] : [50, end];
}

/** A thin neutral bar along the foot of the cell. It passes no verdict: limits belong to the project. */
export function ratioStyle(ratio: number | null): Record<string, string> | null {
	const span = ratioSpan(ratio);
	if (!span) return { backgroundImage: 'none' };
	const [from, to] = span.map((at) => `${at.toFixed(1)}%`);
	const bar = `transparent ${from}, var(--ink-faint) ${from}, var(--ink-faint) ${to}, transparent ${to}`;
	return {
		backgroundImage: `linear-gradient(90deg, ${bar})`,
		backgroundSize: '100% 3px',
		backgroundPosition: 'bottom',
		backgroundRepeat: 'no-repeat',
	};
}
