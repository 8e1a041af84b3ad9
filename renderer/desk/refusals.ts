import type { EditAnswer, EditRefusal, Reply } from '../../electron/contract/verbs.ts';

/** What was asked for; where the desk does not say what it refuses, all of it is. */
const ALL = { row: null, column: '' } as const;

/** What the desk refused of an edit; empty: all of it was done. A call that failed is a refusal of what was asked. */
export function refusalsOf(
	reply: Reply<EditAnswer>,
	asked: Pick<EditRefusal, 'row' | 'column'> = ALL,
): EditRefusal[] {
	if (reply.ok) return reply.value.refused;
	const { code, message } = reply;
	return [{ ...asked, fault: { code, message, where: {}, weight: 'stop' }, readAs: [] }];
}
