import { difference, readExpected } from './expected.ts';
import type { Example } from './find.ts';

type Exports = Readonly<Record<string, unknown>>;
type Body = (...args: unknown[]) => Promise<void>;
const AsyncFunction = (async () => undefined).constructor as new (...source: string[]) => Body;

/**
 * Runs one example against the exports of its module and returns what does not hold, one line each.
 * Statements before a check are shared by the checks after them.
 */
export async function runExample(
	example: Example,
	exports: Exports,
	importBeside: (from: string) => Promise<Exports>,
): Promise<string[]> {
	if (example.broken !== null) return [example.broken];
	const failures: string[] = [];
	const names = Object.keys(exports).filter((name) => name !== 'default');
	const imports = example.imports.map(
		({ names, from }) => `const ${names} = await $import(${JSON.stringify(from)});`,
	);
	const checks = example.checks.map(
		({ before, expression }, i) => `${before}\n$check(${i}, (${expression}\n));`,
	);
	// A block of its own, so that an example may name a value as an export is named.
	const source = `{\n${[...imports, ...checks].join('\n')}\n}`;
	const seen: number[] = [];
	const check = (i: number, actual: unknown): void => {
		seen.push(i);
		const said = example.checks[i];
		if (said === undefined) throw new RangeError(`no check ${i}`);
		const why = difference(actual, readExpected(said.expected));
		if (why !== null) failures.push(`line ${said.line}: ${said.expression}: ${why}`);
	};
	try {
		const body = new AsyncFunction(...names, '$import', '$check', source);
		await body(...names.map((name) => exports[name]), importBeside, check);
	} catch (thrown) {
		failures.push(`after ${seen.length} checks it throws: ${String(thrown)}`);
	}
	return failures;
}
