import type { Chance } from './chance.ts';

/** The invented ground. Figures lie where soils of these names usually do (common practice, no source). */

/** Sieve sizes of the ground sheet, mm: class bounds of ISO 14688-1. */
export const SIEVES_MM = [0.002, 0.0063, 0.02, 0.063, 0.2, 0.63, 2, 6.3, 20, 63] as const;

export interface Stratum {
	readonly stratum: string;
	readonly grainDensity_t_m3: number;
	readonly dryDensity_t_m3: number;
	readonly d10_mm: number;
	/** Passing in % at each of SIEVES_MM. */
	readonly passing_pct: readonly number[];
	/** Advance speed in it, relative to the drive's own. */
	readonly speed: number;
}

export const STRATA: readonly Stratum[] = [
	{
		stratum: 'fine sand',
		grainDensity_t_m3: 2.65,
		dryDensity_t_m3: 1.62,
		d10_mm: 0.0655,
		passing_pct: [0, 1, 3, 8, 68, 97, 100, 100, 100, 100],
		speed: 1.05,
	},
	{
		stratum: 'gravelly sand',
		grainDensity_t_m3: 2.66,
		dryDensity_t_m3: 1.78,
		d10_mm: 0.1236,
		passing_pct: [0, 0, 1, 3, 15, 42, 66, 84, 97, 100],
		speed: 1,
	},
	{
		stratum: 'silty sand',
		grainDensity_t_m3: 2.67,
		dryDensity_t_m3: 1.66,
		d10_mm: 0.0118,
		passing_pct: [3, 7, 13, 29, 78, 98, 100, 100, 100, 100],
		speed: 1,
	},
	{
		stratum: 'stiff clay',
		grainDensity_t_m3: 2.73,
		dryDensity_t_m3: 1.55,
		d10_mm: 0.0004,
		passing_pct: [38, 55, 72, 90, 97, 99, 100, 100, 100, 100],
		speed: 0.85,
	},
];

/** Ground met over a range of rings: shares of the face by stratum, adding to 1. */
export interface FaceSection {
	readonly fromRing: number;
	readonly toRing: number;
	readonly shares: readonly { readonly stratum: Stratum; readonly faceFraction: number }[];
}

/** Faces met in turn, as shares of STRATA, with the part of a short drive each takes. */
const FACES: readonly { readonly part: number; readonly shares: readonly number[] }[] = [
	{ part: 0.25, shares: [1, 0, 0, 0] },
	{ part: 0.15, shares: [0.6, 0.4, 0, 0] },
	{ part: 0.25, shares: [0, 1, 0, 0] },
	{ part: 0.15, shares: [0, 0.45, 0, 0.55] },
	{ part: 0.2, shares: [0, 0, 0.35, 0.65] },
];
/** A drive of no more rings meets every face once. */
const SHORT_DRIVE_RINGS = 60;

/** The ground along a drive of that many rings, ring 1 first; short drives meet each face once. */
export function faceSections(rings: number, chance: Chance): FaceSection[] {
	const sections: FaceSection[] = [];
	let from = 1;
	let passed = 0;
	for (let i = 0; from <= rings; i++) {
		const face = FACES[i % FACES.length]!;
		passed += face.part;
		// The parts add to 1 but for rounding.
		const last =
			rings <= SHORT_DRIVE_RINGS
				? Math.min(rings, Math.floor(passed * rings + 1e-9))
				: Math.min(rings, from + chance.whole(6, 40));
		if (last < from) continue;
		sections.push({
			fromRing: from,
			toRing: last,
			shares: face.shares.flatMap((faceFraction, k) =>
				faceFraction === 0 ? [] : [{ stratum: STRATA[k]!, faceFraction }],
			),
		});
		from = last + 1;
	}
	return sections;
}
