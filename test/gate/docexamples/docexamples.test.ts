import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { findExamples, findExports } from './find.ts';
import { runExample } from './run.ts';

const HOUSE = fileURLToPath(new URL('../../..', import.meta.url));
const CALC = join(HOUSE, 'calc');

/** Rooms whose exported functions must each show what they give. */
const SHOWN_BY_EXAMPLE = ['quantity', 'suspension', 'ground', 'circuit'];

const files = readdirSync(CALC, { recursive: true, encoding: 'utf8' })
	.filter((name) => name.endsWith('.ts'))
	.sort()
	.map((name) => join(CALC, name));

const load = async (path: string): Promise<Record<string, unknown>> =>
	(await import(/* @vite-ignore */ path)) as Record<string, unknown>;

describe('doc examples of calc give what they say', () => {
	test('there are examples to run', () => {
		const count = files.flatMap((file) => findExamples(readFileSync(file, 'utf8'), file)).length;
		expect(count).toBeGreaterThan(40);
	});
	for (const file of files) {
		const name = relative(HOUSE, file);
		for (const example of findExamples(readFileSync(file, 'utf8'), file))
			test(`${name}:${example.line} ${example.subject}`, async () => {
				const failures = await runExample(example, await load(file), (from) =>
					load(resolve(dirname(file), from)),
				);
				expect(failures).toEqual([]);
			});
	}
});

describe('what calc exports is documented', () => {
	for (const file of files) {
		const name = relative(HOUSE, file);
		const room = relative(CALC, file).split('/')[0] ?? '';
		if (!SHOWN_BY_EXAMPLE.includes(room)) continue;
		test(`every function of ${name} has an example`, () => {
			const bare = findExports(readFileSync(file, 'utf8'), file)
				.filter((one) => one.callable && !one.hasExample)
				.map((one) => one.name);
			expect(bare).toEqual([]);
		});
	}
});
