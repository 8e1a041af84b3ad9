import type { BudgetLine } from '../circuit/ringbalance.ts';

/** One input of a budget before it is worked out; `u: null` means the site has not stated it. */
export interface BudgetInput {
	readonly input: string;
	readonly u: number | null;
	readonly inputUnit: string;
	readonly sensitivity: number;
}

export interface Budget {
	/** Combined standard uncertainty; null when nothing at all is stated. */
	readonly u: number | null;
	/** Largest contribution first; inputs of the same size keep their order. */
	readonly lines: readonly BudgetLine[];
	/** Inputs left out because their uncertainty is not stated. */
	readonly notStated: readonly string[];
}

/**
 * Combined standard uncertainty of a figure from independent inputs: u² = Σ (cᵢuᵢ)². An input whose
 * sensitivity is 0 takes no part. Source: JCGM 100:2008, 5.1.2.
 *
 * @example
 * combine([{ input: 'a', u: 3, inputUnit: 'm3', sensitivity: 1 }, { input: 'b', u: 2, inputUnit: 'm3', sensitivity: -2 }, { input: 'c', u: null, inputUnit: 'm3', sensitivity: 1 }]).u // => 5
 */
export function combine(inputs: readonly BudgetInput[]): Budget {
	const lines: BudgetLine[] = [];
	const notStated: string[] = [];
	let square = 0;
	for (const { input, u, inputUnit, sensitivity } of inputs) {
		if (sensitivity === 0) continue;
		if (u === null) {
			notStated.push(input);
			continue;
		}
		const contribution = Math.abs(sensitivity * u);
		square += contribution * contribution;
		lines.push({ input, u, inputUnit, sensitivity, contribution });
	}
	lines.sort((a, b) => b.contribution - a.contribution);
	return { u: lines.length === 0 ? null : Math.sqrt(square), lines, notStated };
}

/**
 * Standard uncertainty of a time integral that comes from the scatter of its samples. Spread is taken
 * from successive differences, so that a slow change of the signal does not count as scatter (mean
 * square successive difference, von Neumann 1941), and each difference weighs by the two steps it
 * stands between, so that a jump within a short step, as where cutting begins, costs what that step
 * can cost: u² = n/(n−1)·Σ ½(dᵢ₊₁−dᵢ)²·Δtᵢ·Δtᵢ₊₁. With equal steps this is s·√Σ Δt².
 * null for fewer than three samples.
 *
 * @example
 * scatterOfIntegral([1, 3, 1, 3], [10, 10, 10, 10]) // => 28.28427125
 * scatterOfIntegral([0, 40, 40, 40], [1, 100, 100, 100]) // => 326.5986324
 */
export function scatterOfIntegral(
	values: ArrayLike<number>,
	weights_s: ArrayLike<number>,
): number | null {
	const n = values.length;
	if (n < 3) return null;
	let squares = 0;
	for (let i = 1; i < n; i++) {
		const jump = values[i]! - values[i - 1]!;
		squares += (jump * jump * weights_s[i - 1]! * weights_s[i]!) / 2;
	}
	return Math.sqrt((squares * n) / (n - 1));
}
