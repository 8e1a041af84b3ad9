import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

/**
 * Relative luminance and contrast ratio as defined by WCAG 2.2 (W3C Recommendation), glossary
 * entries "relative luminance" and "contrast ratio"; AA asks 4.5 : 1 for text (1.4.3) and 3 : 1
 * for the parts of controls (1.4.11).
 */
function luminance(hex: string): number {
	const [r = 0, g = 0, b = 0] = [1, 3, 5].map((at) => {
		const c = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
		return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
	});
	return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}
function contrast(a: string, b: string): number {
	const [dark = 0, light = 0] = [luminance(a), luminance(b)].sort((x, y) => x - y);
	return (light + 0.05) / (dark + 0.05);
}

const css = readFileSync(new URL('../../../renderer/look/tokens.css', import.meta.url), 'utf8');
function tokens(theme: 'day' | 'night'): Record<string, string> {
	const block = css.slice(css.indexOf(`[data-theme="${theme}"] {`));
	const found = block.slice(0, block.indexOf('\n\t}')).matchAll(/--([\w-]+): (#[0-9a-f]{6});/g);
	return Object.fromEntries([...found].map(([, name, value]) => [name, value]));
}

const GROUNDS = ['paper', 'surface', 'raised', 'sunken', 'computed'];
const TEXT: readonly (readonly [string, readonly string[]])[] = [
	['ink', [...GROUNDS, 'accent-wash', 'info-wash', 'note-wash', 'stop-wash', 'good-wash', 'flash']],
	['ink-soft', [...GROUNDS, 'accent-wash']],
	['ink-faint', GROUNDS],
	['accent', [...GROUNDS, 'accent-wash', 'info-wash']],
	['feed', ['surface', 'raised']],
	['return', ['surface', 'raised']],
	['level', ['surface', 'raised']],
	['side', ['surface']],
	['good', ['paper', 'surface', 'good-wash']],
	['info', ['surface', 'info-wash']],
	['note', ['paper', 'surface', 'sunken', 'computed', 'note-wash']],
	['stop', ['surface', 'raised', 'sunken', 'computed', 'stop-wash']],
	['on-accent', ['accent']],
	['frame-ink', ['frame', 'frame-raised']],
	['frame-soft', ['frame']],
];
const PARTS = ['line-strong', 'focus'];

describe.each(['day', 'night'] as const)('colours by %s', (theme) => {
	const all = tokens(theme);
	const value = (name: string): string => {
		const found = all[name];
		if (!found) throw new Error(`no token ${name} by ${theme}`);
		return found;
	};

	it('knows the anchors of the scale', () => {
		expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 10);
		expect(contrast('#777777', '#ffffff')).toBeCloseTo(4.48, 2);
	});

	it.each(TEXT.flatMap(([ink, grounds]) => grounds.map((ground) => [ink, ground] as const)))(
		'%s on %s can be read',
		(ink, ground) => {
			expect(contrast(value(ink), value(ground))).toBeGreaterThanOrEqual(4.5);
		},
	);

	it.each(PARTS.flatMap((part) => ['surface', 'raised'].map((ground) => [part, ground] as const)))(
		'%s stands out from %s',
		(part, ground) => {
			expect(contrast(value(part), value(ground))).toBeGreaterThanOrEqual(3);
		},
	);
});
