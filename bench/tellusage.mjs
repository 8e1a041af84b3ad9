import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { isMainThread } from 'node:worker_threads';

// Loaded before a program that is measured from outside: at its end it writes what the whole process
// used into the file named by BENCH_USAGE.
const file = process.env.BENCH_USAGE;
if (isMainThread && file !== undefined)
	process.on('exit', () => writeFileSync(file, JSON.stringify(usage())));

/** Processor time of all threads, ms, and highest memory, MB, of this process so far. */
export function usage() {
	const { user, system } = process.cpuUsage();
	const own = '/proc/self/status';
	const peak_kB = existsSync(own)
		? Number(/VmHWM:\s+(\d+)/u.exec(readFileSync(own, 'utf8'))?.[1] ?? 0)
		: process.resourceUsage().maxRSS;
	return { cpu_ms: (user + system) / 1000, peak_MB: peak_kB / 1024 };
}
