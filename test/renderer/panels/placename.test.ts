import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { nameFault, nameFromTitle, projectName } from '../../../renderer/panels/placename.ts';

describe('names of files and folders', () => {
	// Reserved marks and device names: "Naming Files, Paths, and Namespaces", Win32 documentation.
	it.each([
		['', 'name'],
		['   ', 'name'],
		['.slurrybook', 'name'],
		['a/b', '/'],
		['a\\b', '\\'],
		['a:b', ':'],
		['what?', '?'],
		['tab\there', 'control'],
		['.hidden', 'dot'],
		['ends with.', 'dot'],
		['CON', 'reserved'],
		['com7.slurrybook', 'reserved'],
		['x'.repeat(181), 'long'],
	])('refuses %j', (name, word) => {
		expect(nameFault(name)).toContain(word);
	});

	it.each(['East drive', 'Ülmen 2', 'console', '第二隧道', 'v1.2 (copy)'])('takes %j', (name) => {
		expect(nameFault(name)).toBeNull();
	});

	it('adds the ending once', () => {
		expect(projectName(' East ')).toBe('East.slurrybook');
		expect(projectName('East.SlurryBook')).toBe('East.SlurryBook');
	});

	it('makes a usable name of any title (random)', () => {
		fc.assert(
			fc.property(fc.string({ unit: 'binary', maxLength: 300 }), (title) => {
				expect(nameFault(nameFromTitle(title))).toBeNull();
			}),
			{ seed: 1415, numRuns: 2000 },
		);
		expect(nameFromTitle('Invented drive: Nowhere / Sill')).toBe('Invented drive Nowhere Sill');
		expect(nameFromTitle('...')).toBe('Drive');
	});
});
