import type { Reply } from '../contract/verbs.ts';
import type { DeskHandle } from '../desk/door.ts';

/**
 * What is on the desk when a host opens: the file named, else on a first start (nothing was ever
 * opened by this person on this machine) the demo drive, else nothing, and the page shows its
 * start screen. Answers what went wrong, or null.
 */
export async function firstDocument(desk: DeskHandle, file: string | null): Promise<string | null> {
	const problem = (reply: Reply<unknown>) => (reply.ok ? null : reply.message);
	if (file !== null) return problem(await desk.openFile(file));
	const recent = await desk.handle('recent.list', {});
	const never = recent.ok && Array.isArray(recent.value) && recent.value.length === 0;
	return never ? problem(await desk.handle('project.openDemo', {})) : null;
}
