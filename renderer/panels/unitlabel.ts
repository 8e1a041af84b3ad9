import { isUnitId, unit } from '../../calc/quantity/unit.ts';

/** Unit as written on screen; null for texts, counts and plain ratios. */
export function unitLabel(id: string | null): string | null {
	if (id === null || id === '1') return null;
	return isUnitId(id) ? unit(id).label : id;
}
