/** What the cutting wheel cuts. */

export interface Cut {
	/** Diameter cut by the gauge cutters, with their present wear. */
	readonly diameter_m: number;
	readonly advance_m: number;
	/** Radial reach of the copy cutter beyond the radius; null for none. */
	readonly overcut_m: number | null;
	/** Angle over which the copy cutter is out; null with an overcut means the full circle. */
	readonly overcutAngle_rad: number | null;
}

/**
 * Area of the full face in m², π·D²/4.
 *
 * @example
 * faceArea_m2(6.6) // => 34.211944
 */
export function faceArea_m2(diameter_m: number): number {
	return (Math.PI / 4) * diameter_m * diameter_m;
}

/**
 * Area in m² that the copy cutter adds to the face: an annular sector, ½·θ·((R + o)² − R²).
 *
 * @example
 * overcutArea_m2({ diameter_m: 6.6, overcut_m: 0.05, overcutAngle_rad: Math.PI / 2 }) // => 0.261145
 * overcutArea_m2({ diameter_m: 6.6, overcut_m: null, overcutAngle_rad: 1 }) // => 0
 */
export function overcutArea_m2({
	diameter_m,
	overcut_m,
	overcutAngle_rad,
}: Omit<Cut, 'advance_m'>): number {
	if (overcut_m === null) return 0;
	const angle = overcutAngle_rad ?? 2 * Math.PI;
	// (R + o)² − R² written as o(2R + o): no difference of nearly equal squares.
	return 0.5 * angle * overcut_m * (diameter_m + overcut_m);
}

/**
 * In-situ volume in m³ that the geometry says is cut over an advance: face and overcut sector times
 * the advance. Source: geometry.
 *
 * @example
 * excavatedVolume_m3({ diameter_m: 6.6, advance_m: 1.4, overcut_m: null, overcutAngle_rad: null }) // => 47.896722
 */
export function excavatedVolume_m3(cut: Cut): number {
	return (faceArea_m2(cut.diameter_m) + overcutArea_m2(cut)) * cut.advance_m;
}
