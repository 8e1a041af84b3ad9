import type { Measure } from './dimension.ts';

/** A formula whose names and units are known: what is reckoned, in the units of `reckoningFactor`. */

export type Compare = '<' | '<=' | '>' | '>=' | '==' | '!=';

export type Figure =
	| { readonly op: 'constant'; readonly value: number }
	/** `factor`: from the unit the column is kept in. */
	| { readonly op: 'column'; readonly id: string; readonly factor: number }
	| { readonly op: 'face'; readonly stratum: string }
	| { readonly op: 'is'; readonly id: string; readonly text: string; readonly not: boolean }
	| { readonly op: 'negate' | 'not' | 'abs' | 'sqrt' | 'exp' | 'known'; readonly a: Figure }
	| {
			readonly op: 'add' | 'subtract' | 'multiply' | 'divide' | 'power' | 'and' | 'or';
			readonly a: Figure;
			readonly b: Figure;
	  }
	| { readonly op: 'compare'; readonly how: Compare; readonly a: Figure; readonly b: Figure }
	| { readonly op: 'choose'; readonly when: Figure; readonly a: Figure; readonly b: Figure }
	| { readonly op: 'min' | 'max'; readonly of: readonly Figure[] }
	| { readonly op: 'log' | 'round'; readonly a: Figure; readonly b: Figure | null }
	| { readonly op: 'mean' | 'std' | 'sum'; readonly a: Figure; readonly rows: number }
	| { readonly op: 'total' | 'previous' | 'change'; readonly a: Figure }
	| { readonly op: 'at_ring'; readonly a: Figure; readonly ring: Figure };

/** What a figure is: a number that measures something, or a yes or no. */
export interface Meaning {
	readonly figure: Figure;
	readonly type: 'number' | 'truth';
	readonly measure: Measure;
	/** Unit label and heading where it is one column as it stands, for messages. */
	readonly told: string | null;
	/** A number written without a unit. */
	readonly bare: number | null;
	/** Label of a column's unit that is a share of one, such as %. */
	readonly share: string | null;
}
