/**
 * Small choices of this window that outlive it: sizes, theme. They are conveniences, so a browser
 * that keeps nothing (or forbids it) is no trouble.
 */
export function kept(key: string): string | null {
	try {
		return window.localStorage.getItem(`slurry-ledger.${key}`);
	} catch {
		return null;
	}
}

export function keep(key: string, value: string): void {
	try {
		window.localStorage.setItem(`slurry-ledger.${key}`, value);
	} catch {
		// Nothing is lost but the convenience.
	}
}
