import { posix } from 'node:path';
import { parseSync } from 'oxc-parser';

/** One file of the house: its path from the top, with slashes, and its text. */
export interface SourceFile {
	readonly path: string;
	readonly text: string;
}

/** One import, whichever way it is written. */
export interface Import {
	/** As written: `./unit.ts`, `node:fs`, `react`. */
	readonly wanted: string;
	/** Path from the top for a file of the house, null for a package or a module of Node. */
	readonly file: string | null;
	/** Line the import stands in. */
	readonly line: number;
	/** The import leaves nothing behind at run time. */
	readonly typeOnly: boolean;
}

/** Syntax tree node of the parser, of which only the parts named here are used. */
export interface SyntaxNode {
	readonly type: string;
	readonly start: number;
	readonly [part: string]: unknown;
}

export interface ParsedFile extends SourceFile {
	readonly imports: readonly Import[];
	readonly program: SyntaxNode;
	/** Why the file could not be parsed; the other parts are empty then. */
	readonly broken: string | null;
	lineOf(offset: number): number;
}

/** Parses one file and finds everything it imports. */
export function parseFile({ path, text }: SourceFile): ParsedFile {
	const result = parseSync(path, text);
	const lineOf = (offset: number) => text.slice(0, offset).split('\n').length;
	const imports: Import[] = [];
	const add = (wanted: string, offset: number, typeOnly: boolean) => {
		const file = wanted.startsWith('.')
			? posix.normalize(posix.join(posix.dirname(path), wanted))
			: null;
		imports.push({ wanted, file, line: lineOf(offset), typeOnly });
	};
	for (const { moduleRequest, entries, start } of result.module.staticImports) {
		const typeOnly = entries.length > 0 && entries.every((entry) => entry.isType);
		add(moduleRequest.value, start, typeOnly);
	}
	for (const { entries, start } of result.module.staticExports) {
		const from = entries.find((entry) => entry.moduleRequest !== null)?.moduleRequest;
		if (from)
			add(
				from.value,
				start,
				entries.every((entry) => entry.isType),
			);
	}
	const program = result.program as unknown as SyntaxNode;
	for (const node of nodesOf(program)) {
		// import('x'), require('x') and the type import('x').T
		const source =
			node.type === 'ImportExpression' || node.type === 'TSImportType'
				? (node.source ?? node.argument)
				: isCallOf(node, 'require')
					? (node.arguments as SyntaxNode[])[0]
					: null;
		if (source === null) continue;
		const literal = literalOf(source as SyntaxNode | undefined);
		add(literal ?? '(computed)', node.start, node.type === 'TSImportType');
	}
	const broken = result.errors[0]?.message ?? null;
	return { path, text, imports, program, broken, lineOf };
}

/** Every node below one, itself included. */
export function* nodesOf(root: SyntaxNode): Generator<SyntaxNode> {
	const open: unknown[] = [root];
	while (open.length > 0) {
		const next = open.pop();
		if (Array.isArray(next)) open.push(...next);
		else if (typeof next === 'object' && next !== null) {
			if (typeof (next as SyntaxNode).type === 'string') yield next as SyntaxNode;
			open.push(...Object.values(next));
		}
	}
}

/** Whether a node calls the plain name given. */
export function isCallOf(node: SyntaxNode, name: string): boolean {
	const callee = node.callee as SyntaxNode | undefined;
	return node.type === 'CallExpression' && callee?.type === 'Identifier' && callee.name === name;
}

function literalOf(node: SyntaxNode | undefined): string | null {
	const inner = node?.type === 'TSLiteralType' ? (node.literal as SyntaxNode) : node;
	return typeof inner?.value === 'string' ? inner.value : null;
}
