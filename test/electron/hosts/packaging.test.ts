import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { describe, expect, it } from 'vitest';

// The packager's own reader and schema judge the file; the fuses wanted are those of Electron's
// documentation "Electron Fuses" (read for the main line of 2026).
const require = createRequire(import.meta.url);
const packager = createRequire(require.resolve('electron-builder/package.json'));
const yaml = packager('js-yaml') as { load(text: string): unknown };
const { validateConfiguration } = packager('app-builder-lib/out/util/config/config.js') as {
	validateConfiguration(config: unknown, log: unknown): Promise<void>;
};

const inProject = (name: string) =>
	readFileSync(new URL(`../../../${name}`, import.meta.url), 'utf8');
const config = yaml.load(inProject('electron-builder.yml')) as Record<string, unknown>;
const log = { isEnabled: false, add: () => {} };

describe('electron-builder.yml', () => {
	it('is accepted by the packager, which refuses a word it does not know', async () => {
		await expect(validateConfiguration(config, log)).resolves.toBeUndefined();
		await expect(validateConfiguration({ ...config, fuse: {} }, log)).rejects.toThrow();
	});

	it('sets the fuses: no Node for outsiders, only the checked archive, cookies sealed', () => {
		expect(config.electronFuses).toEqual({
			runAsNode: false,
			enableCookieEncryption: true,
			enableNodeOptionsEnvironmentVariable: false,
			enableNodeCliInspectArguments: false,
			enableEmbeddedAsarIntegrityValidation: true,
			onlyLoadAppFromAsar: true,
			grantFileProtocolExtraPrivileges: false,
		});
		expect(config.asar).toBe(true);
	});

	it('ships bundles and the demo folder, and no sources or packages', () => {
		expect(config.files).toEqual([
			'package.json',
			'dist/page/**',
			'dist/desk/**',
			'!dist/**/*.map',
			'!node_modules/**',
		]);
		expect(config.extraResources).toEqual([{ from: 'dist/demo', to: 'demo' }]);
		const manifest = JSON.parse(inProject('package.json')) as { main: string; bin: object };
		expect(manifest.main).toBe('dist/desk/main.mjs');
		expect(Object.values(manifest.bin)).toEqual(['dist/desk/desk.mjs']);
	});

	it('claims the project file on the three systems', () => {
		expect(config.fileAssociations).toMatchObject([{ ext: 'slurrybook', role: 'Editor' }]);
		expect(['win', 'mac', 'linux'].filter((system) => !(system in config))).toEqual([]);
	});
});
