/** What every screen and report with figures of the balance carries, in one place. */
export const CAUTIONS: readonly string[] = [
	'Figures depend on the meters and on the ground that was assumed.',
	'A normal ring is no proof of a stable face.',
	'Alert levels and what to do at them belong to the project and are set by its responsible engineer.',
	'Nuclear density gauges, work under compressed air and bentonite dust have rules of their own.',
	'Follow local codes and licensed practice.',
];
