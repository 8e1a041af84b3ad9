import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** Top folder of the project, absolute. */
export const ROOT = fileURLToPath(new URL('../../', import.meta.url));

/** The Node this project brings along (package `node`), whichever one started the command. */
export const OWN_NODE = join(
	ROOT,
	'node_modules',
	'node',
	'bin',
	process.platform === 'win32' ? 'node.exe' : 'node',
);

/** Oldest major of Node that runs the sources and the tests. */
export const NEEDED_MAJOR = 24;

/** @param {...string} parts path below the project's top folder */
export const inRoot = (...parts) => join(ROOT, ...parts);
