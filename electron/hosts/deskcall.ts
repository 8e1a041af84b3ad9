import { CONTRACT_VERSION, type Reply } from '../contract/verbs.ts';
import type { DeskHandle } from '../desk/door.ts';

/** Passes a call of either host on to the desk, once page and desk speak the same contract. */
export async function callDesk(
	desk: DeskHandle,
	contract: unknown,
	verb: unknown,
	ask: unknown,
): Promise<Reply<unknown>> {
	if (contract !== CONTRACT_VERSION) {
		return {
			ok: false,
			code: 'contract_mismatch',
			message: 'This page is from another version of Slurry Ledger. Reload it.',
		};
	}
	try {
		return await desk.handle(verb, ask);
	} catch {
		// The desk answers faults as values; what is thrown is a defect, and its text may hold data.
		return {
			ok: false,
			code: 'desk_failed',
			message: 'The desk could not answer. What was confirmed before is kept.',
		};
	}
}
