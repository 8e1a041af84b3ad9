import type { DeskEvent, Reply } from '../../../electron/contract/verbs.ts';
import type { DeskHandle } from '../../../electron/desk/door.ts';

/** A desk that only notes what it was asked, for tests of what a host lets through. */
export interface FakeDesk extends DeskHandle {
	readonly asked: { verb: unknown; ask: unknown }[];
	readonly openedFiles: string[];
	closed: number;
	tell(event: DeskEvent): void;
	/** Answers by verb; a verb that is not listed is answered as unknown. */
	answers: Record<string, Reply<unknown>>;
}

export function fakeDesk(answers: Record<string, Reply<unknown>> = {}): FakeDesk {
	const hearers = new Set<(event: DeskEvent) => void>();
	return {
		asked: [],
		openedFiles: [],
		closed: 0,
		answers,
		async handle(verb, ask) {
			this.asked.push({ verb, ask });
			const known = typeof verb === 'string' && Object.hasOwn(this.answers, verb);
			return known
				? (this.answers[verb] as Reply<unknown>)
				: { ok: false, code: 'unknown_verb', message: 'No such verb.' };
		},
		async openFile(path) {
			this.openedFiles.push(path);
			return { ok: true, value: null };
		},
		listen(hear) {
			hearers.add(hear);
			return () => hearers.delete(hear);
		},
		close() {
			this.closed++;
		},
		tell(event) {
			for (const hear of hearers) hear(event);
		},
	};
}
