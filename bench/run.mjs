import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

// `npm run bench` lists the benches, `npm run bench -- NAME …` runs one under the project's own Node.
const here = fileURLToPath(new URL('.', import.meta.url));
const names = readdirSync(here)
	.filter((file) => file.endsWith('.bench.ts'))
	.map((file) => file.slice(0, -'.bench.ts'.length))
	.sort();
const [name, ...rest] = process.argv.slice(2);
if (name === undefined || !names.includes(name)) {
	if (name !== undefined) process.stderr.write(`There is no bench ${name}.\n`);
	process.stdout.write(`Benches: ${names.join(', ')}. Run one with npm run bench -- NAME.\n`);
	process.exitCode = name === undefined ? 0 : 2;
} else {
	const own = fileURLToPath(new URL('../node_modules/.bin/node', import.meta.url));
	const node = existsSync(own) ? own : process.execPath;
	const ran = spawnSync(node, [`${here}${name}.bench.ts`, ...rest], { stdio: 'inherit' });
	process.exitCode = ran.status ?? 1;
}
