import { spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';

// What is packaged is dist/ alone, so it is tried where neither sources nor packages are near.
let folder: string;
beforeAll(() => {
	folder = mkdtempSync(join(tmpdir(), 'bundles-'));
	cpSync('dist', join(folder, 'dist'), { recursive: true });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function desk(program: string, ...args: string[]) {
	const run = spawnSync(process.execPath, [program, ...args], {
		cwd: folder,
		encoding: 'utf8',
		maxBuffer: 1 << 26,
	});
	return { status: run.status, out: run.stdout, err: run.stderr };
}

it('runs the headless command, with the threads of a logger import, to the same rings as the sources', () => {
	const bundled = join(folder, 'dist', 'desk', 'desk.mjs');
	const source = join(process.cwd(), 'electron', 'command', 'desk.ts');
	const drive = join(folder, 'drive');
	expect(desk(bundled, 'simulate', drive, '--seed', '3', '--rings', '3').status).toBe(0);
	const rings = [bundled, source].map((program, i) => {
		const project = join(folder, `${i}.slurrybook`);
		expect(desk(program, 'new', project, '--from', drive).status).toBe(0);
		expect(existsSync(join(folder, `${i}.series`))).toBe(true);
		return desk(program, 'rings', project, '--json').out;
	});
	expect(JSON.parse(rings[0] as string)).toHaveLength(3);
	expect(rings[0]).toBe(rings[1]);
});

it('has a preload of one file that asks for nothing but Electron', () => {
	const preload = readFileSync(join('dist', 'desk', 'preload.cjs'), 'utf8');
	const asked = [...preload.matchAll(/\b(?:require|import)\s*\(?\s*["']([^"']+)["']/g)];
	expect(asked.map(([, name]) => name)).toEqual(['electron']);
});

it('has the page and the demo drive beside the bundles', () => {
	expect(existsSync(join(folder, 'dist', 'page', 'index.html'))).toBe(true);
	const drive = JSON.parse(readFileSync(join(folder, 'dist', 'demo', 'drive.json'), 'utf8'));
	expect(drive.invented).toBe(true);
});
