import type { RingBalance } from '../../calc/circuit/ringbalance.ts';

/** A balance as text for keeping in the document; every number of a balance is finite. */
export function encodeBalance(balance: RingBalance): string {
	return JSON.stringify(balance);
}

/** The balance that was kept, or null if the text is not one (the file was changed by other hands). */
export function decodeBalance(text: string): RingBalance | null {
	try {
		const value: unknown = JSON.parse(text);
		return looksLikeBalance(value) ? value : null;
	} catch {
		return null;
	}
}

const FIGURES = [
	'advance_m',
	'volumeExpected_m3',
	'feedVolume_m3',
	'returnVolume_m3',
	'sideVolume_m3',
	'chamberVolumeChange_m3',
	'lineVolumeChange_m3',
	'volumeApparent_m3',
	'feedExcess_kg',
	'returnExcess_kg',
	'chamberExcessChange_kg',
	'drySolids_kg',
	'drySolidsExpected_kg',
	'volumeFromSolids_m3',
	'ratioVolume',
	'ratioSolids',
	'feedTotaliser_m3',
	'returnTotaliser_m3',
] as const satisfies readonly (keyof RingBalance)[];

function looksLikeBalance(value: unknown): value is RingBalance {
	if (typeof value !== 'object' || value === null) return false;
	const parts = value as Record<string, unknown>;
	return (
		typeof parts.ring === 'number' &&
		typeof parts.looksFrom_s === 'number' &&
		typeof parts.looksTo_s === 'number' &&
		Array.isArray(parts.notes) &&
		Array.isArray(parts.volumeBudget) &&
		Array.isArray(parts.solidsBudget) &&
		typeof parts.lag === 'object' &&
		parts.lag !== null &&
		typeof parts.modeSeconds === 'object' &&
		parts.modeSeconds !== null &&
		isUncorrected(parts.uncorrected) &&
		FIGURES.every((name) => isFigure(parts[name]))
	);
}

function isFigure(value: unknown): boolean {
	if (typeof value !== 'object' || value === null) return false;
	const { value: number, notes } = value as Record<string, unknown>;
	return (number === null || typeof number === 'number') && Array.isArray(notes);
}

function isUncorrected(value: unknown): boolean {
	if (value === undefined || value === null) return true;
	if (typeof value !== 'object') return false;
	const { volumeApparent_m3, drySolids_kg } = value as Record<string, unknown>;
	return isFigure(volumeApparent_m3) && isFigure(drySolids_kg);
}
