import { FIGURE_CAUTIONS } from '../../calc/sheet/working.ts';

/** What every screen with figures of the balance carries: the cautions of each figure, and those of the work itself. */
export const CAUTIONS: readonly string[] = [
	...FIGURE_CAUTIONS,
	'Nuclear density gauges, work under compressed air and bentonite dust have rules of their own.',
	'Follow local codes and licensed practice.',
];
