import type { GroundShare } from '../circuit/settings.ts';
import { type Fault, stopFault } from '../fault/fault.ts';
import { sumOf } from '../quantity/sum.ts';

/** How far the shares of one face may be from 1 together: three decimals are entered, so a thousandth. */
export const FACE_SUM_TOLERANCE = 0.001;

export interface FaceMix {
	readonly kind: 'mix';
	/** In the order entered; fractions of the face area, together exactly 1 up to rounding. */
	readonly strata: readonly { readonly stratum: string; readonly faceFraction: number }[];
	/** Grain density that stands for the whole face in the dry-solids method. */
	readonly grainDensity_kg_m3: number;
	/** Dry mass of the face over its in-situ volume. */
	readonly dryDensity_kg_m3: number;
}

/**
 * The ground in the face of one ring: dry density ρd = Σ fᵢρd,ᵢ and the grain density weighted by
 * dry mass so that the excess mass over water is met,
 * Σ Mᵢ(1 − ρw/ρs,ᵢ) = M(1 − ρw/ρs). ρw drops out of it: 1/ρs = Σ (Mᵢ/M)/ρs,ᵢ, which also keeps the
 * grain volume. Shares that are within a thousandth of 1 together are scaled to 1.
 * A fault if the ring has no shares, they do not add up, or a dry density is not below its grain
 * density. Source: mass conservation.
 *
 * @example
 * const sand = { fromRing: 1, toRing: 9, stratum: 'sand', faceFraction: 0.5, grainDensity_kg_m3: 2650, dryDensity_kg_m3: 1600 };
 * const clay = { ...sand, stratum: 'clay', grainDensity_kg_m3: 2750, dryDensity_kg_m3: 1650 };
 * faceMix([sand, clay], 4).dryDensity_kg_m3 // => 1625
 * faceMix([sand, clay], 4).grainDensity_kg_m3 // => 2699.84
 * faceMix([sand], 4).fault.code // => "face_fraction_sum"
 */
export function faceMix(
	shares: readonly GroundShare[],
	ring: number,
): FaceMix | { readonly kind: 'fault'; readonly fault: Fault } {
	const inFace = shares.filter((share) => share.fromRing <= ring && ring <= share.toRing);
	const fault = (code: string, message: string, expected: string) => ({
		kind: 'fault' as const,
		fault: stopFault(code, message, { ring, expected }),
	});
	if (inFace.length === 0)
		return fault(
			'ground_missing',
			'The ground sheet has no stratum for this ring.',
			'shares of the face that add to 1',
		);
	const together = sumOf(inFace.map((share) => share.faceFraction));
	if (!(Math.abs(together - 1) <= FACE_SUM_TOLERANCE))
		return fault(
			'face_fraction_sum',
			`The face fractions of this ring add to ${Number(together.toFixed(4))}.`,
			'a sum of 1',
		);
	const odd = inFace.find(
		(share) => !(share.dryDensity_kg_m3 > 0 && share.dryDensity_kg_m3 < share.grainDensity_kg_m3),
	);
	if (odd)
		return fault(
			'dry_density_not_below_grain',
			`The dry density of ${odd.stratum} is not below its grain density.`,
			'a dry density below the grain density',
		);
	const dryMass = sumOf(inFace.map((share) => share.faceFraction * share.dryDensity_kg_m3));
	const grainVolume = sumOf(
		inFace.map((share) => (share.faceFraction * share.dryDensity_kg_m3) / share.grainDensity_kg_m3),
	);
	return {
		kind: 'mix',
		strata: inFace.map(({ stratum, faceFraction }) => ({
			stratum,
			faceFraction: faceFraction / together,
		})),
		grainDensity_kg_m3: dryMass / grainVolume,
		dryDensity_kg_m3: dryMass / together,
	};
}
