import type { Mode } from '../../../calc/circuit/samples.ts';

/** Stamps, the first and the last included, whose mode one rule told. */
export interface RuleStretch {
	readonly from_s: number;
	readonly to_s: number;
	readonly mode: Mode;
	/** The rule in words. */
	readonly why: string;
}
