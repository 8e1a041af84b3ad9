import { parseSync } from 'oxc-parser';

/** One line that says what an expression gives, with the statements before it. */
export interface Check {
	readonly expression: string;
	readonly expected: string;
	/** Statements to run before it, in the scope all checks of the example share. */
	readonly before: string;
	/** Line in the source file. */
	readonly line: number;
}

export interface Example {
	/** Name of what the comment stands before, or "" at the head of the file. */
	readonly subject: string;
	readonly line: number;
	readonly checks: readonly Check[];
	/** `import { a } from './b.ts'` lines, taken out of the statements. */
	readonly imports: readonly { readonly names: string; readonly from: string }[];
	/** Why the example cannot be run; null when it can. */
	readonly broken: string | null;
}

export interface Exported {
	readonly name: string;
	readonly callable: boolean;
	readonly documented: boolean;
	readonly hasExample: boolean;
}

interface Node {
	readonly type: string;
	readonly start: number;
	readonly end: number;
	readonly [key: string]: unknown;
}

const lineOf = (source: string, offset: number): number =>
	source.slice(0, offset).split('\n').length;

interface Comment {
	readonly text: string;
	readonly start: number;
	readonly end: number;
}

function docComments(source: string, file: string): { body: readonly Node[]; docs: Comment[] } {
	const parsed = parseSync(file, source);
	if (parsed.errors.length > 0)
		throw new Error(`${file}: ${parsed.errors[0]?.message ?? 'cannot be parsed'}`);
	const docs = parsed.comments
		.filter((comment) => comment.type === 'Block' && comment.value.startsWith('*'))
		.map(({ value, start, end }) => ({ text: value, start, end }));
	return { body: parsed.program.body as unknown as Node[], docs };
}

/** Every `@example` of a source file. */
export function findExamples(source: string, file: string): Example[] {
	const { body, docs } = docComments(source, file);
	return docs.flatMap((doc) => {
		const subject = subjectAfter(source, body, doc.end);
		return blocksOf(doc, source).map((block) => readExample(block, subject, file));
	});
}

/** Every exported value of a source file, and whether its doc comment holds an example. */
export function findExports(source: string, file: string): Exported[] {
	const { body, docs } = docComments(source, file);
	return body
		.filter((node) => node.type === 'ExportNamedDeclaration')
		.flatMap((node) => {
			const doc = docs.findLast(
				(comment) =>
					comment.end <= node.start && /^\s*$/u.test(source.slice(comment.end, node.start)),
			);
			return declaredBy(node.declaration as Node | null).map(({ name, callable }) => ({
				name,
				callable,
				documented: doc !== undefined,
				hasExample: doc?.text.includes('@example') ?? false,
			}));
		});
}

function declaredBy(declaration: Node | null): { name: string; callable: boolean }[] {
	if (declaration === null) return [];
	const named = (node: Node): string => String((node.id as { name?: unknown } | null)?.name ?? '');
	switch (declaration.type) {
		case 'FunctionDeclaration':
		case 'ClassDeclaration':
			return [{ name: named(declaration), callable: true }];
		case 'VariableDeclaration':
			return (declaration.declarations as Node[]).map((one) => ({
				name: named(one),
				callable: ['ArrowFunctionExpression', 'FunctionExpression'].includes(
					(one.init as Node | null)?.type ?? '',
				),
			}));
		default:
			return [];
	}
}

function subjectAfter(source: string, body: readonly Node[], end: number): string {
	const next = body.find((node) => node.start >= end);
	if (next === undefined || !/^\s*$/u.test(source.slice(end, next.start))) return '';
	const declaration = (next.declaration as Node | null | undefined) ?? next;
	return (
		declaredBy(declaration)[0]?.name ?? String((declaration.id as { name?: string })?.name ?? '')
	);
}

interface Line {
	readonly text: string;
	readonly line: number;
}

/** The lines under each `@example`, up to the next tag, without the stars. */
function blocksOf(doc: Comment, source: string): { line: number; lines: Line[] }[] {
	const first = lineOf(source, doc.start);
	const blocks: { line: number; lines: Line[] }[] = [];
	let open: Line[] | null = null;
	doc.text.split('\n').forEach((raw, at) => {
		const text = raw.replace(/^\s*\*? ?/u, '');
		const tag = /^\s*@(\w+)\s*(.*)$/u.exec(text);
		if (tag) {
			open = null;
			if (tag[1] === 'example') {
				open = tag[2] ? [{ text: tag[2], line: first + at }] : [];
				blocks.push({ line: first + at, lines: open });
			}
		} else if (open !== null && !/^\s*```/u.test(text)) open.push({ text, line: first + at });
	});
	return blocks;
}

const ARROW = '// =>';

function readExample(
	block: { readonly line: number; readonly lines: readonly Line[] },
	subject: string,
	file: string,
): Example {
	const checks: Check[] = [];
	const imports: { names: string; from: string }[] = [];
	let pending: Line[] = [];
	const broken = (why: string): Example => ({
		subject,
		line: block.line,
		checks,
		imports,
		broken: why,
	});
	for (const line of block.lines) {
		const imported = /^\s*import\s+(\{[^}]*\})\s+from\s+'([^']+)';?\s*$/u.exec(line.text);
		if (imported?.[1] !== undefined && imported[2] !== undefined) {
			imports.push({ names: imported[1].replace(/\bas\b/gu, ':'), from: imported[2] });
			continue;
		}
		if (!line.text.includes(ARROW)) {
			if (line.text.trim() !== '') pending.push(line);
			continue;
		}
		const before = pending.map((one) => `${one.text}\n`).join('');
		pending = [];
		const found = splitAtArrow(line.text, before, file);
		if (found === null) return broken(`line ${line.line}: no expression before "${ARROW}"`);
		const { expected, ...split } = found;
		if (expected === '') return broken(`line ${line.line}: nothing after "${ARROW}"`);
		checks.push({ ...split, expected, line: line.line });
	}
	if (checks.length === 0) return broken(`nothing is checked: no line has "${ARROW}"`);
	const left = pending[0];
	if (left !== undefined) return broken(`line ${left.line}: a statement that no check follows`);
	return { subject, line: block.line, checks, imports, broken: null };
}

/** At the first arrow that has an expression before it: others may stand in texts. */
function splitAtArrow(
	text: string,
	before: string,
	file: string,
): { before: string; expression: string; expected: string } | null {
	for (let at = text.indexOf(ARROW); at >= 0; at = text.indexOf(ARROW, at + 1)) {
		const split = splitLast(before + text.slice(0, at), file);
		if (split !== null) return { ...split, expected: text.slice(at + ARROW.length).trim() };
	}
	return null;
}

/** The last statement, which must be an expression, and what stands before it. */
function splitLast(code: string, file: string): { before: string; expression: string } | null {
	const parsed = parseSync(file.replace(/\.tsx?$/u, '.example.ts'), code);
	const last = (parsed.program.body as unknown as Node[]).at(-1);
	if (parsed.errors.length > 0 || last?.type !== 'ExpressionStatement') return null;
	const expression = code.slice(last.start, last.end).replace(/;\s*$/u, '');
	return { before: code.slice(0, last.start), expression };
}
