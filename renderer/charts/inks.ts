import { useEffect, useState } from 'react';

/** Colours a canvas needs, read from the page's own tokens so that day and night follow. */
export interface Inks {
	readonly ink: string;
	readonly soft: string;
	readonly line: string;
	readonly strong: string;
	readonly surface: string;
	readonly feed: string;
	readonly return: string;
	readonly level: string;
	readonly wash: string;
	readonly accent: string;
	readonly note: string;
	readonly stop: string;
	readonly font: string;
}

function readInks(): Inks {
	const style = getComputedStyle(document.documentElement);
	const token = (name: string) => style.getPropertyValue(`--${name}`).trim();
	return {
		ink: token('ink'),
		soft: token('ink-soft'),
		line: token('line'),
		strong: token('line-strong'),
		surface: token('surface'),
		feed: token('feed'),
		return: token('return'),
		level: token('level'),
		wash: token('accent-wash'),
		accent: token('accent'),
		note: token('note'),
		stop: token('stop'),
		font: `12px ${token('family')}`,
	};
}

/** The present colours; changes when the page turns to day or night. */
export function useInks(): Inks {
	const [inks, setInks] = useState(readInks);
	useEffect(() => {
		const again = () => setInks(readInks());
		const watch = new MutationObserver(again);
		watch.observe(document.documentElement, { attributes: true, attributeFilter: ['data-theme'] });
		const system = matchMedia('(prefers-color-scheme: dark)');
		system.addEventListener('change', again);
		// A canvas does not redraw by itself when the page's own letters arrive.
		let here = true;
		const { font } = readInks();
		if (!document.fonts.check(font)) {
			void document.fonts.load(font).then(() => {
				if (here) again();
			});
		}
		return () => {
			here = false;
			watch.disconnect();
			system.removeEventListener('change', again);
		};
	}, []);
	return inks;
}
