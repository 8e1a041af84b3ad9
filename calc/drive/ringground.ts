import type { Chance } from './chance.ts';
import type { DrivePlan } from './plan.ts';
import { type FaceSection, SIEVES_MM } from './strata.ts';

/** Place of the 0.063 mm sieve. */
const FINES_SIEVE = SIEVES_MM.indexOf(0.063);

/** Ground of the ring being cut. */
export interface RingGround {
	readonly section: FaceSection;
	/** True over sheet dry density. */
	readonly denser: number;
	/** Excess mass over water that a cubic metre of it brings, kg/m³. */
	readonly excess_kg_m3: number;
	/** Part finer than 0.063 mm. */
	readonly finesShare: number;
	/** Advance speed in it, relative to the drive's own. */
	readonly speed: number;
}

/** The true ground of a ring: the section's, with a dry density that scatters about the sheet's. */
export function ringGround(plan: DrivePlan, ring: number, chance: Chance): RingGround {
	const section = plan.ground.find((face) => face.fromRing <= ring && ring <= face.toRing);
	if (!section) throw new RangeError(`the plan has no ground for ring ${ring}`);
	const scatter = Math.max(-2.5, Math.min(2.5, chance.normal())) * plan.dryDensityScatter_rel;
	const denser = 1 + scatter;
	let excess = 0;
	let fines = 0;
	let speed = 0;
	for (const { stratum, faceFraction } of section.shares) {
		const grain = stratum.grainDensity_t_m3 * 1000;
		const dry = stratum.dryDensity_t_m3 * 1000 * denser;
		excess += faceFraction * dry * (1 - plan.waterDensity_kg_m3 / grain);
		fines += (faceFraction * (stratum.passing_pct[FINES_SIEVE] ?? 0)) / 100;
		speed += faceFraction * stratum.speed;
	}
	return { section, denser, excess_kg_m3: excess, finesShare: fines, speed };
}
