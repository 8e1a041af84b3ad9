/** Processor time of all threads, ms, and highest memory, MB, of this process so far. */
export function usage(): { cpu_ms: number; peak_MB: number };
