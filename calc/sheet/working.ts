/**
 * "How was this computed": a figure's formula, the same with its numbers put in, where each number
 * came from, and what its uncertainty is made of. Texts here, layout on the page.
 */
export interface Working {
	readonly heading: string;
	/** With unit and standard uncertainty, or "blank". */
	readonly result: string;
	readonly reasons: readonly string[];
	readonly formula: string;
	readonly withNumbers: string;
	readonly lines: readonly WorkingLine[];
	readonly source: string;
	readonly budget: readonly {
		readonly input: string;
		readonly inputU: string;
		readonly contribution: string;
		readonly sharePct: number;
	}[];
	readonly cautions: readonly string[];
}

export interface WorkingLine {
	readonly symbol: string;
	readonly name: string;
	/** Formatted with its unit, or "missing". */
	readonly value: string;
	readonly from: string;
}

/** What every excavation figure carries with it. */
export const FIGURE_CAUTIONS = [
	'Figures depend on the meters and the assumed ground; a normal figure is no proof of a stable face.',
	"Alert levels and actions are the project's, set by the responsible engineer.",
] as const;
