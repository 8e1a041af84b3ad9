import { describe, expect, it } from 'vitest';
import { houseFaults } from './houserules.ts';
import type { SourceFile } from './imports.ts';

const rulesOf = (files: Record<string, string>, top: string[] = []) =>
	houseFaults(
		Object.entries(files).map(([path, text]): SourceFile => ({ path, text })),
		top,
	).map(({ path, line, rule }) => `${path}:${line} ${rule}`);

/** One file of calc/ with this text breaks a rule whose words contain the ones given. */
const calcBreaks = (text: string, words: string) => {
	const [rule, ...more] = rulesOf({ 'calc/ground/face.ts': text });
	expect(more).toEqual([]);
	expect(rule).toContain(words);
};

describe('calc/ is pure', () => {
	it.each([
		["import { readFileSync } from 'node:fs';", 'imports node:fs'],
		["import fs from 'fs';", 'imports fs'],
		["import React from 'react';", 'imports react'],
		["import type { ReactNode } from 'react';", 'imports react'],
		["export { readFile } from 'node:fs/promises';", 'imports node:fs/promises'],
		["export * from 'zod';", 'imports zod'],
		["import { create } from 'mathjs/number';", 'imports mathjs/number'],
		["import { create } from 'mathjs';", 'imports mathjs'],
		["export const x = () => import('zod');", 'imports zod'],
		["export type X = import('zod').ZodType;", 'imports zod'],
		['export const x = (name: string) => import(name);', 'imports (computed)'],
		["import { app } from 'electron';", 'only the hosts know Electron'],
		["import { VERBS } from '../../electron/contract/verbs.ts';", 'calc/ imports only calc/'],
		["import '../../renderer/main.tsx';", 'calc/ imports only calc/'],
		["import { ring } from '../../test/ring.ts';", 'does not use its tests'],
		["import { x } from '../../../other/x.ts';", 'outside of the project'],
		['export const t = Date.now();', 'uses Date.now'],
		["export const t = Date['now']();", 'uses Date.now'],
		['export const t = new Date();', 'uses the clock'],
		['export const t = Date();', 'uses the clock'],
		['export const t = Math.random();', 'uses Math.random'],
		['export const t = performance.now();', 'uses performance'],
		["console.log('x');", 'uses console'],
		['export const e = process.env;', 'uses process'],
		["export const e = fetch('/x');", 'uses fetch'],
		["export const e = new Intl.NumberFormat('de');", 'uses Intl'],
		["export const e = document.title + 'x';", 'uses document'],
		['export const e = { window };', 'uses window'],
		['export const e = globalThis;', 'uses globalThis'],
		["export const e = (1.5).toLocaleString('de');", 'uses toLocaleString'],
		["export const e = 'a'.localeCompare('b');", 'uses localeCompare'],
		["export const e = eval('1');", 'uses eval'],
		['export const e = import.meta.url;', 'uses import.meta'],
		['setTimeout(() => {}, 1);', 'uses setTimeout'],
	])('refuses %s', calcBreaks);

	it('lets pass the parser of formulas where formulas are read, and what only looks like a breach', () => {
		expect(
			rulesOf({
				'calc/formula/parse.ts': "import { create } from 'mathjs/number';",
				'calc/ground/face.ts': [
					"import { unit } from '../quantity/unit.ts';",
					"import { face } from './share.ts';",
					'export const day = (time_s: number) => new Date(time_s * 1000).toISOString();',
					'export const window = (process: { window: number }) => process.window;',
					'export interface Sheet { readonly document: string; readonly location: string }',
					'export const sheet = (ring: Sheet) => ring.document + ring.location + unit + face;',
					"export const keys = { console: 1, fetch: 2, 'performance': 3 };",
					"// Date.now(), Math.random() and import 'node:fs' in a comment",
					"export const text = 'Math.random() new Date()';",
					'export const largest = Math.max(1, 2);',
				].join('\n'),
			}),
		).toEqual([]);
	});
});

describe('the arrows point one way', () => {
	it.each([
		['electron/desk/a.ts', "import '../../renderer/main.tsx';", 'does not know the page'],
		['electron/desk/a.ts', "import { app } from 'electron';", 'only the hosts know Electron'],
		['renderer/desk/a.ts', "import { app } from 'electron';", 'only the hosts know Electron'],
		[
			'renderer/desk/a.ts',
			"import { openDesk } from '../../electron/desk/desk.ts';",
			'only the contract',
		],
		[
			'renderer/desk/a.ts',
			"import type { D } from '../../electron/desk/door.ts';",
			'only the contract',
		],
		['renderer/desk/a.ts', "import { join } from 'node:path';", 'a page has no Node'],
		['renderer/desk/a.ts', "import { x } from '../../test/x.ts';", 'does not use its tests'],
		['electron/contract/a.ts', "import { x } from '../desk/door.ts';", 'stands by itself'],
		[
			'electron/hosts/window.ts',
			"import { ipcMain } from 'electron';",
			'only electron/hosts/gateway.ts',
		],
		[
			'electron/hosts/gateway.ts',
			"import { ipcRenderer } from 'electron';",
			'only electron/hosts/preload',
		],
		[
			'electron/hosts/main.ts',
			'export const x = require("electron").ipcMain;',
			'only electron/hosts/gateway',
		],
	])('%s may not: %s', (path, text, words) => {
		const rules = rulesOf({ [path]: text });
		expect(rules).toHaveLength(1);
		expect(rules[0]).toContain(words);
	});

	it('allows each floor what it stands on', () => {
		expect(
			rulesOf({
				'electron/desk/a.ts': "import 'node:fs'; import 'zod'; import '../../calc/fault/fault.ts';",
				'electron/hosts/gateway.ts':
					"import { ipcMain } from 'electron'; ipcMain.handle('x', null);",
				'renderer/main.tsx':
					"import 'react'; import '../calc/fault/fault.ts'; import '../electron/contract/verbs.ts';",
				'renderer/vite.config.ts': "import 'node:url';",
				'test/electron/a.test.ts': "import 'electron'; import '../../electron/desk/a.ts';",
			}),
		).toEqual([]);
	});

	it('names the rooms of a circle once', () => {
		const circle = {
			'calc/circuit/a.ts': "import { b } from '../ground/b.ts';",
			'calc/ground/b.ts': "import { c } from '../sheet/c.ts';",
			'calc/sheet/c.ts': "import { a } from '../circuit/a.ts';",
			'calc/drive/d.ts': "import { a } from '../circuit/a.ts';",
		};
		expect(rulesOf(circle)).toEqual([
			'calc/sheet/c.ts:1 imports ../circuit/a.ts and closes a circle: calc/circuit → calc/ground → calc/sheet → calc/circuit',
		]);
		expect(
			rulesOf({ ...circle, 'calc/sheet/c.ts': "import type { a } from '../circuit/a.ts';" }),
		).toEqual([]);
	});
});

describe('names', () => {
	it.each([
		'calc/utils/sum.ts',
		'calc/ground/helpers.ts',
		'renderer/common.tsx',
		'electron/desk/misc.ts',
		'calc/ground/index.ts',
		'renderer/parts/index.tsx',
	])('refuses %s', (path) => {
		expect(rulesOf({ [path]: 'export {};' })).toHaveLength(1);
	});

	it('refuses an entry of the top folder that nobody decided on', () => {
		expect(rulesOf({}, ['calc', 'notes', 'README.md'])).toEqual([
			'notes:0 is not an entry the top folder is to have',
		]);
	});

	it('says so when a file cannot be parsed', () => {
		expect(rulesOf({ 'calc/ground/face.ts': 'export const = 1;' })[0]).toContain(
			'cannot be parsed',
		);
	});
});
