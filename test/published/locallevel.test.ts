import { describe, expect, test } from 'vitest';
import { type DriftRules, fitDrift } from '../../calc/trust/drift.ts';

/**
 * Annual flow of the Nile at Aswan, 1871–1970, 10⁸ m³ (Cobb 1978), the worked example of the local-level
 * model in Durbin & Koopman, "Time Series Analysis by State Space Methods" (2nd ed. 2012, ch. 2). Data and
 * published estimates from memory: σ²ε = 15099, σ²η = 1469.1; the data's mean 919.35 and variance
 * 28637.95 (as general statistics software has them) are checked so that a slip of memory would show.
 */
const NILE = [
	1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180,
	799, 958, 1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701,
	916, 692, 1020, 1050, 969, 831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862,
	698, 845, 744, 796, 1040, 759, 781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812,
	742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918, 986, 797, 923, 975, 815, 1020, 906,
	901, 1170, 912, 746, 919, 718, 714, 740,
];

/** One value a day stands for one a year; nothing is expected of the walk beforehand. */
const OPEN: DriftRules = {
	gate: 6,
	leastStep: 1e6,
	walkPerDay: 60,
	walkDecades: 1e3,
	uSingle: 1,
	uFloor: 1e-9,
};

describe('local level, the published example', () => {
	test('the data are the published ones', () => {
		const mean = NILE.reduce((a, b) => a + b, 0) / NILE.length;
		const variance = NILE.reduce((a, b) => a + (b - mean) ** 2, 0) / (NILE.length - 1);
		expect(NILE).toHaveLength(100);
		expect(mean).toBeCloseTo(919.35, 8);
		expect(variance).toBeCloseTo(28637.95, 2);
	});

	test('both variances, within a tenth of a decade of the walk and a twentieth of the scatter', () => {
		// The scatter is stated as the published one: its factor must come out as 1.
		const fit = fitDrift(
			NILE.map((value, i) => ({
				time_s: 86_400 * i,
				value,
				u: Math.sqrt(15099),
				count: 1,
				accepted: false,
			})),
			[],
			OPEN,
		)!;
		expect(fit.points.every((point) => point.verdict === 'used')).toBe(true);
		// The weighted mean leans to the larger walk of a skewed likelihood: 1808 and 15406 here.
		const walk = Math.sqrt(fit.walk_per_s * 86_400);
		expect(Math.abs(Math.log10(walk / Math.sqrt(1469.1)))).toBeLessThanOrEqual(0.1);
		expect(Math.abs(Math.log10(fit.scatterFactor))).toBeLessThanOrEqual(0.05);
	});
});
