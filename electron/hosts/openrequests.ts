import { isAbsolute, resolve } from 'node:path';

/** The project file among a program's arguments, absolute, or null. Options are not files. */
export function projectAmong(args: readonly string[], folder: string): string | null {
	const file = args.findLast((arg) => !arg.startsWith('-') && /\.slurrybook$/i.test(arg));
	if (file === undefined || file.includes('\0')) return null;
	return isAbsolute(file) ? file : resolve(folder, file);
}
