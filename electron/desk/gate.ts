import { type Ask, type Reply, VERBS, type VerbName } from '../contract/verbs.ts';

/**
 * The desk's gate: what comes in is of unknown shape and is either made into a verb with its
 * argument or refused. Nothing is thrown.
 */
export type Admitted = {
	[V in VerbName]: { readonly verb: V; readonly ask: Ask<V> };
}[VerbName];

/** Larger messages than a page ever sends are not looked at further. */
const MOST_PARTS = 600_000;
const MOST_CHARACTERS = 16_000_000;
const DEEPEST = 8;

export function admit(verb: unknown, ask: unknown): Reply<Admitted> {
	if (typeof verb !== 'string' || verb.length > 80 || !Object.hasOwn(VERBS, verb))
		return refused('unknown_verb', 'The desk does not know this command.');
	const name = verb as VerbName;
	try {
		const tooLarge = measure(ask);
		if (tooLarge !== null) return refused('too_large', tooLarge);
		const parsed = VERBS[name].ask.safeParse(ask ?? {});
		if (!parsed.success) {
			const [issue] = parsed.error.issues;
			const place = issue?.path.map(String).join('.') ?? '';
			return refused(
				'bad_ask',
				`"${name}" was asked wrongly${place === '' ? '' : ` at ${place.slice(0, 200)}`}: ${issue?.message ?? 'unknown shape'}.`,
			);
		}
		return { ok: true, value: { verb: name, ask: parsed.data } as Admitted };
	} catch {
		// Getters or proxies of a hostile message may throw while they are looked at.
		return refused('bad_ask', `"${name}" was asked in a form that cannot be read.`);
	}
}

/** Counts parts without recursion, so that a deep message cannot exhaust the stack of the parser. */
function measure(ask: unknown): string | null {
	let parts = 0;
	let characters = 0;
	const open: { value: unknown; depth: number }[] = [{ value: ask, depth: 0 }];
	for (let next = open.pop(); next !== undefined; next = open.pop()) {
		const { value, depth } = next;
		parts++;
		if (parts > MOST_PARTS) return 'The message has too many parts.';
		if (typeof value === 'string') characters += value.length;
		else if (typeof value === 'object' && value !== null) {
			if (depth >= DEEPEST) return 'The message is nested too deeply.';
			for (const key of Object.keys(value)) {
				characters += key.length;
				open.push({ value: (value as Record<string, unknown>)[key], depth: depth + 1 });
			}
		}
		if (characters > MOST_CHARACTERS) return 'The message is too long.';
	}
	return null;
}

function refused(code: string, message: string): { ok: false; code: string; message: string } {
	return { ok: false, code, message };
}
