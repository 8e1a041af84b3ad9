import type { RangeFigures } from './rangefigures.ts';

/** Tells whoever shows it what is said of several chosen cells; null while one cell or none is chosen. */
export class RangeStore {
	#figures: RangeFigures | null = null;
	readonly #hearers = new Set<() => void>();

	readonly subscribe = (hear: () => void): (() => void) => {
		this.#hearers.add(hear);
		return () => this.#hearers.delete(hear);
	};
	readonly figures = (): RangeFigures | null => this.#figures;

	tell(figures: RangeFigures | null): void {
		if (figures === this.#figures) return;
		this.#figures = figures;
		for (const hear of this.#hearers) hear();
	}
}
