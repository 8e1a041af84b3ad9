import { isBuiltin } from 'node:module';
import { posix } from 'node:path';
import {
	type Import,
	nodesOf,
	type ParsedFile,
	parseFile,
	type SourceFile,
	type SyntaxNode,
} from './imports.ts';

/** A rule of the house that a file breaks. */
export interface HouseFault {
	readonly path: string;
	readonly line: number;
	readonly rule: string;
}

const FLOORS = ['calc', 'electron', 'renderer'] as const;
const floorOf = (path: string) => path.split('/')[0] ?? '';
const roomOf = (path: string) => path.split('/').slice(0, 2).join('/');
const under = (path: string, place: string) => path === place || path.startsWith(`${place}/`);

/** What the top folder holds. A new entry is a decision about the house, made here. */
export const TOP_ENTRIES: ReadonlySet<string> = new Set([
	'.biome.json',
	'.ci',
	'.editorconfig',
	'.gitattributes',
	'.gitignore',
	'.npmrc',
	'DEVELOPERS.md',
	'LICENSE',
	'README.md',
	'bench',
	'calc',
	'docs',
	'electron',
	'electron-builder.yml',
	'examples',
	'package-lock.json',
	'package.json',
	'renderer',
	'test',
	'tsconfig.json',
]);

/** Names of the machine's clock, chance, screen, network and locale: none of them in calc/. */
const IMPURE = new Set([
	'Intl',
	'document',
	'window',
	'globalThis',
	'self',
	'navigator',
	'location',
	'localStorage',
	'process',
	'Buffer',
	'console',
	'fetch',
	'performance',
	'crypto',
	'setTimeout',
	'setInterval',
	'setImmediate',
	'queueMicrotask',
	'requestAnimationFrame',
	'require',
	'eval',
	'Function',
	'WebSocket',
	'Worker',
	'XMLHttpRequest',
]);
const IMPURE_MEMBERS = new Set(['Date.now', 'Math.random']);
const LOCALE_METHODS = new Set([
	'toLocaleString',
	'toLocaleDateString',
	'toLocaleTimeString',
	'toLocaleUpperCase',
	'toLocaleLowerCase',
	'localeCompare',
]);

/** Files that may hold Electron's two ends of the line between page and main process. */
const LINE_ENDS = new Map([
	['ipcMain', 'electron/hosts/gateway.ts'],
	['ipcRenderer', 'electron/hosts/preload.ts'],
]);

/**
 * Everything in the given files that breaks a rule of the house, by path and line. `files` are all
 * sources of the house; `top` the names in the top folder that are under version control.
 */
export function houseFaults(files: readonly SourceFile[], top: readonly string[]): HouseFault[] {
	const parsed = files.map(parseFile);
	const faults = [
		...top
			.filter((name) => !TOP_ENTRIES.has(name))
			.map((name) => ({ path: name, line: 0, rule: 'is not an entry the top folder is to have' })),
		...parsed.flatMap((file) => [
			...nameFaults(file),
			...(file.broken === null ? [] : [at(file, 0, `cannot be parsed: ${file.broken}`)]),
			...arrowFaults(file),
			...(floorOf(file.path) === 'calc' ? purityFaults(file) : []),
			...lineEndFaults(file),
		]),
		...cycleFaults(parsed),
	];
	// One place can be met twice in the tree, as the imported and as the local name.
	const once = new Map(faults.map((fault) => [`${fault.path}:${fault.line} ${fault.rule}`, fault]));
	return [...once.values()].sort((a, b) =>
		a.path === b.path ? a.line - b.line : a.path < b.path ? -1 : 1,
	);
}

const at = (file: SourceFile, line: number, rule: string): HouseFault => ({
	path: file.path,
	line,
	rule,
});

function nameFaults(file: SourceFile): HouseFault[] {
	const parts = file.path.split('/').map((part) => part.replace(/\.[^.]*$/, ''));
	const empty = parts.find((part) =>
		/^(utils?|helpers?|common|misc|shared|lib|stuff)$/i.test(part),
	);
	const faults: HouseFault[] = [];
	if (empty !== undefined) faults.push(at(file, 0, `"${empty}" does not say what is in it`));
	if (/(^|\/)index\.(ts|tsx|mjs|js)$/.test(file.path)) {
		faults.push(at(file, 0, 'is a barrel: import from the file that has the thing'));
	}
	return faults;
}

/** The one library calc/ reads with: the parser of what people write in formulas. Only it, only there. */
const EXPRESSIONS = 'mathjs/number';

/** Which floor may use which, import by import. */
function arrowFaults(file: ParsedFile): HouseFault[] {
	const floor = floorOf(file.path);
	return file.imports.flatMap((used) => {
		const rule = arrowRule(file.path, floor, used);
		return rule === null ? [] : [at(file, used.line, rule)];
	});
}

function arrowRule(path: string, floor: string, { wanted, file }: Import): string | null {
	const named = `imports ${wanted}`;
	const built = FLOORS.includes(floor as (typeof FLOORS)[number]);
	if (file === null) {
		if (wanted === 'electron' && !under(path, 'electron/hosts') && floor !== 'test') {
			return `${named}: only the hosts know Electron`;
		}
		if (floor === 'calc' && !(wanted === EXPRESSIONS && under(path, 'calc/formula'))) {
			return `${named}: calc/ imports nothing from outside`;
		}
		if (floor === 'renderer' && isBuiltin(wanted) && !path.endsWith('/vite.config.ts')) {
			return `${named}: a page has no Node`;
		}
		return null;
	}
	if (file.startsWith('..')) return `${named}: outside of the project`;
	const target = floorOf(file);
	if (!built) return null;
	if (target === 'test' || target === 'bench')
		return `${named}: the product does not use its tests`;
	if (floor === 'calc' && target !== 'calc') return `${named}: calc/ imports only calc/`;
	if (floor === 'electron' && target === 'renderer')
		return `${named}: the desk does not know the page`;
	if (floor === 'renderer' && target === 'electron' && !under(file, 'electron/contract')) {
		return `${named}: the page knows only the contract of the desk`;
	}
	if (
		under(path, 'electron/contract') &&
		target === 'electron' &&
		!under(file, 'electron/contract')
	) {
		return `${named}: the contract stands by itself`;
	}
	return null;
}

/** Uses of the clock, chance, screen, network or locale. */
function purityFaults(file: ParsedFile): HouseFault[] {
	const own = declaredNames(file.program);
	const faults: HouseFault[] = [];
	const add = (node: SyntaxNode, what: string) =>
		faults.push(at(file, file.lineOf(node.start), `uses ${what}: calc/ is pure`));
	const notUses = new Set<unknown>();
	for (const node of nodesOf(file.program)) {
		// The name after a dot and a plain key are no use of a global of that name.
		if (node.type === 'MemberExpression' && node.computed !== true) notUses.add(node.property);
		if (
			/^(Property|MethodDefinition|PropertyDefinition|TS\w*Signature|TSEnumMember)$/.test(node.type)
		) {
			if (node.computed !== true && node.shorthand !== true) notUses.add(node.key);
		}
		if (node.type === 'TSQualifiedName') notUses.add(node.right);
		if (node.type === 'LabeledStatement') notUses.add(node.label);
	}
	for (const node of nodesOf(file.program)) {
		if (node.type === 'Identifier' && !notUses.has(node)) {
			const name = node.name as string;
			if (IMPURE.has(name) && !own.has(name)) add(node, name);
		}
		if (node.type === 'MetaProperty') add(node, 'import.meta');
		if (node.type === 'MemberExpression') {
			const [object, property] = [node.object as SyntaxNode, node.property as SyntaxNode];
			const name = String(property.name ?? property.value);
			if (object.type === 'Identifier' && IMPURE_MEMBERS.has(`${object.name}.${name}`)) {
				add(node, `${object.name}.${name}`);
			}
			if (LOCALE_METHODS.has(name)) add(node, name);
		}
		const callee = node.callee as SyntaxNode | undefined;
		const makes = node.type === 'NewExpression' || node.type === 'CallExpression';
		if (makes && callee?.type === 'Identifier' && callee.name === 'Date') {
			// new Date(given) only turns a number into a calendar day; without one it reads the clock.
			const given = (node.arguments as unknown[]).length > 0 && node.type === 'NewExpression';
			if (!given) add(node, 'the clock');
		}
	}
	return faults;
}

/** Names a file declares itself, so that a parameter called `window` is not taken for the screen. */
function declaredNames(program: SyntaxNode): Set<string> {
	const names = new Set<string>();
	const take = (pattern: unknown) => {
		for (const node of nodesOf(pattern as SyntaxNode)) {
			if (node.type === 'Identifier') names.add(node.name as string);
		}
	};
	for (const node of nodesOf(program)) {
		if (node.type === 'VariableDeclarator') take(patternOf(node.id));
		if (/Function|TSDeclareFunction|ArrowFunction/.test(node.type)) {
			for (const parameter of (node.params as unknown[] | undefined) ?? []) {
				take(patternOf(parameter));
			}
		}
		if (/^(Import\w*Specifier)$/.test(node.type)) take(node.local);
	}
	return names;
}

/** A binding without its type and its default, whose names are uses and not declarations. */
function patternOf(node: unknown): unknown {
	const pattern = node as SyntaxNode | null;
	if (pattern === null || typeof pattern !== 'object') return { type: 'none', start: 0 };
	if (pattern.type === 'AssignmentPattern') return patternOf(pattern.left);
	if (pattern.type === 'Identifier') return { type: 'Identifier', start: 0, name: pattern.name };
	if (pattern.type === 'ObjectPattern') {
		const parts = (pattern.properties as SyntaxNode[]).map((part) =>
			patternOf(part.type === 'Property' ? part.value : part.argument),
		);
		return { type: 'parts', start: 0, parts };
	}
	if (pattern.type === 'ArrayPattern') {
		return { type: 'parts', start: 0, parts: (pattern.elements as unknown[]).map(patternOf) };
	}
	if (pattern.type === 'RestElement') return patternOf(pattern.argument);
	return { type: 'none', start: 0 };
}

function lineEndFaults(file: ParsedFile): HouseFault[] {
	if (floorOf(file.path) === 'test') return [];
	const faults: HouseFault[] = [];
	for (const node of nodesOf(file.program)) {
		const name = node.type === 'Identifier' ? (node.name as string) : '';
		const home = LINE_ENDS.get(name);
		if (home !== undefined && home !== file.path) {
			faults.push(at(file, file.lineOf(node.start), `uses ${name}, which only ${home} may`));
		}
	}
	return faults;
}

/** Rooms that use each other in a circle, at run time; each circle is told once. */
function cycleFaults(files: readonly ParsedFile[]): HouseFault[] {
	const uses = new Map<string, Map<string, HouseFault>>();
	for (const file of files) {
		if (!FLOORS.includes(floorOf(file.path) as (typeof FLOORS)[number])) continue;
		const from = roomOf(posix.dirname(file.path));
		for (const used of file.imports) {
			if (used.file === null || used.typeOnly) continue;
			const to = roomOf(posix.dirname(used.file));
			if (to === from) continue;
			const edges = uses.get(from) ?? new Map<string, HouseFault>();
			if (!edges.has(to)) edges.set(to, at(file, used.line, `imports ${used.wanted}`));
			uses.set(from, edges);
		}
	}
	const faults: HouseFault[] = [];
	const told = new Set<string>();
	const done = new Set<string>();
	const walk = (room: string, trail: readonly string[]) => {
		const seen = trail.indexOf(room);
		if (seen >= 0) {
			const circle = trail.slice(seen);
			const name = [...circle].sort().join(' ');
			if (told.has(name)) return;
			told.add(name);
			const last = uses.get(circle.at(-1) as string)?.get(room) as HouseFault;
			faults.push({
				...last,
				rule: `${last.rule} and closes a circle: ${[...circle, room].join(' → ')}`,
			});
			return;
		}
		if (done.has(room)) return;
		for (const next of uses.get(room)?.keys() ?? []) walk(next, [...trail, room]);
		done.add(room);
	};
	for (const room of uses.keys()) walk(room, []);
	return faults;
}
