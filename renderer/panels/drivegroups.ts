import type { Column } from '../../calc/sheet/column.ts';

export interface DriveGroup {
	readonly title: string;
	readonly says: string;
	readonly columns: readonly Column[];
}

const METER_COLUMNS: ReadonlySet<string> = new Set([
	'meter_correction',
	'correction_accepted',
	'density_level',
]);

const GROUPS: readonly { title: string; says: string; takes: (id: string) => boolean }[] = [
	{
		title: 'Stated uncertainties',
		says: 'Standard uncertainties (k = 1) of what is measured or assumed. What is not stated is not counted.',
		takes: (id) => id.startsWith('uncertainty.'),
	},
	{
		title: 'Meters',
		says: 'What follows from the bypass checks. The Meters sheet shows them and says what each choice does.',
		takes: (id) => METER_COLUMNS.has(id),
	},
	{
		title: 'Water and grains',
		says: 'What the suspension is made of, before any ground comes into it.',
		takes: (id) => id.startsWith('water_') || id.startsWith('bentonite_'),
	},
	{
		title: 'Circuit',
		says: 'What the suspension fills between the feed and the return meters.',
		takes: (id) => /chamber|line|meter_distance/.test(id),
	},
];
const GEOMETRY = {
	title: 'Geometry',
	says: 'What the shield cuts.',
};

/** Settings of the drive in groups, in catalogue order; a column no rule knows stands with the geometry, so none is lost. */
export function driveGroups(columns: readonly Column[]): readonly DriveGroup[] {
	const of = (column: Column) => GROUPS.find((group) => group.takes(column.id));
	const made = [...GROUPS].reverse().map((group) => ({
		title: group.title,
		says: group.says,
		columns: columns.filter((column) => of(column) === group),
	}));
	return [{ ...GEOMETRY, columns: columns.filter((column) => !of(column)) }, ...made];
}
