import { type Change, reversed } from '../store/change.ts';

/** One gesture that can be taken back or done again. */
export interface Step {
	readonly label: string;
	readonly changes: readonly Change[];
}

/** Steps kept; the oldest is dropped beyond it. It stays in the journal. */
const MOST_STEPS = 500;

/**
 * What can be undone and redone since the document was opened. One step a gesture; a new edit
 * clears what could be redone.
 */
export class History {
	readonly #done: Step[] = [];
	#undone: Step[] = [];

	get undoLabel(): string | null {
		return this.#done.at(-1)?.label ?? null;
	}

	get redoLabel(): string | null {
		return this.#undone.at(-1)?.label ?? null;
	}

	did(step: Step): void {
		this.#done.push(step);
		if (this.#done.length > MOST_STEPS) this.#done.shift();
		this.#undone = [];
	}

	/** The changes that undo the last step, or null. Nothing moves until {@link undid}. */
	toUndo(): Step | null {
		const step = this.#done.at(-1);
		return step === undefined ? null : { label: step.label, changes: reversed(step.changes) };
	}

	toRedo(): Step | null {
		return this.#undone.at(-1) ?? null;
	}

	undid(): void {
		const step = this.#done.pop();
		if (step !== undefined) this.#undone.push(step);
	}

	redid(): void {
		const step = this.#undone.pop();
		if (step !== undefined) this.#done.push(step);
	}
}
