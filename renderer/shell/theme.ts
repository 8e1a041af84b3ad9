import { useSyncExternalStore } from 'react';
import { keep, kept } from '../look/kept.ts';

export const THEMES = ['system', 'day', 'night'] as const;
export type Theme = (typeof THEMES)[number];

const isTheme = (text: string | null): text is Theme => THEMES.some((theme) => theme === text);
const hearers = new Set<() => void>();
let chosen: Theme = 'system';

/** Day or night as the page shows it. */
export function shownTheme(theme: Theme, systemIsDark: boolean): 'day' | 'night' {
	if (theme === 'system') return systemIsDark ? 'night' : 'day';
	return theme;
}

const dark = () => window.matchMedia('(prefers-color-scheme: dark)');

function show(): void {
	document.documentElement.dataset.theme = shownTheme(chosen, dark().matches);
}

/** Takes up the kept choice and follows the system from now on. Called once, before the first render. */
export function followTheme(): void {
	const before = kept('theme');
	if (isTheme(before)) chosen = before;
	show();
	dark().addEventListener('change', show);
}

export function chooseTheme(theme: Theme): void {
	chosen = theme;
	keep('theme', theme);
	show();
	for (const hear of hearers) hear();
}

export function useTheme(): Theme {
	return useSyncExternalStore(
		(hear) => {
			hearers.add(hear);
			return () => hearers.delete(hear);
		},
		() => chosen,
	);
}
