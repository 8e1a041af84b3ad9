import { appendFileSync, existsSync, mkdirSync, renameSync, statSync } from 'node:fs';
import { join } from 'node:path';

const LIMIT_BYTES = 512 * 1024;

/**
 * A log of refusals and failures in the person's settings folder, kept on this machine only. It
 * holds no figures and no names from the document; at its size limit one older part is kept.
 */
export function openRunLog(folder: string, now_s: () => number): (line: string) => void {
	const file = join(folder, 'run.log');
	return (line) => {
		try {
			mkdirSync(folder, { recursive: true });
			if (existsSync(file) && statSync(file).size > LIMIT_BYTES) renameSync(file, `${file}.1`);
			appendFileSync(file, `${new Date(now_s() * 1000).toISOString()} ${line}\n`);
		} catch {
			// A full or read-only disk must not take the desk down with its log.
		}
	};
}
