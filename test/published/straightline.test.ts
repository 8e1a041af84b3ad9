import { describe, expect, test } from 'vitest';
import { straightLine } from '../../calc/trust/straightline.ts';

/** NIST StRD, linear regression, set "Norris" (36 observations, lower difficulty); data and certified values from memory, and they agree with each other to every digit below. */
const NORRIS: readonly (readonly [number, number])[] = [
	[0.1, 0.2],
	[338.8, 337.4],
	[118.1, 118.2],
	[888.0, 884.6],
	[9.2, 10.1],
	[228.1, 226.5],
	[668.5, 666.3],
	[998.5, 996.3],
	[449.1, 448.6],
	[778.9, 777.0],
	[559.2, 558.2],
	[0.3, 0.4],
	[0.1, 0.6],
	[778.1, 775.5],
	[668.8, 666.9],
	[339.3, 338.0],
	[448.9, 447.5],
	[10.8, 11.6],
	[557.7, 556.0],
	[228.3, 228.1],
	[998.0, 995.8],
	[888.8, 887.6],
	[119.6, 120.2],
	[0.3, 0.3],
	[0.6, 0.3],
	[557.6, 556.8],
	[339.3, 339.1],
	[888.0, 887.2],
	[998.5, 999.0],
	[778.9, 779.0],
	[10.2, 11.1],
	[117.6, 118.3],
	[228.9, 229.2],
	[668.4, 669.1],
	[449.2, 448.9],
	[0.2, 0.5],
];

/** JCGM 100:2008, Annex H.3, calibration of a thermometer: reading t and correction b at 11 points (table H.6), values from memory. */
const THERMOMETER: readonly (readonly [number, number])[] = [
	[21.521, -0.171],
	[22.012, -0.169],
	[22.512, -0.166],
	[23.003, -0.159],
	[23.507, -0.164],
	[23.999, -0.165],
	[24.513, -0.156],
	[25.002, -0.157],
	[25.503, -0.159],
	[26.01, -0.161],
	[26.511, -0.16],
];

describe('straight-line fit', () => {
	test('NIST StRD Norris: certified coefficients and their standard deviations', () => {
		const y = NORRIS.map(([a]) => a);
		const x = NORRIS.map(([, b]) => b);
		const line = straightLine(x, y);
		expect(line.intercept).toBeCloseTo(-0.262323073774029, 11);
		expect(line.slope).toBeCloseTo(1.00211681802045, 13);
		expect(line.uIntercept).toBeCloseTo(0.232818234301152, 12);
		expect(line.uSlope).toBeCloseTo(0.429796848199937e-3, 15);
		expect(line.residualSd).toBeCloseTo(0.884796396144373, 12);
	});

	test('GUM H.3: y₁ = −0.1712(29) °C, y₂ = 0.00218(67), r = −0.930, s = 0.0035 °C about 20 °C', () => {
		const line = straightLine(
			THERMOMETER.map(([t]) => t - 20),
			THERMOMETER.map(([, b]) => b),
		);
		expect(line.intercept).toBeCloseTo(-0.1712, 4);
		expect(line.uIntercept).toBeCloseTo(0.0029, 4);
		expect(line.slope).toBeCloseTo(0.00218, 5);
		expect(line.uSlope).toBeCloseTo(0.00067, 5);
		expect(line.covariance / (line.uIntercept * line.uSlope)).toBeCloseTo(-0.93, 3);
		expect(line.residualSd).toBeCloseTo(0.0035, 4);
	});
});
