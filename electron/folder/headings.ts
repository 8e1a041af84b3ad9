import { type Fault, noteFault, stopFault } from '../../calc/fault/fault.ts';
import { lettersApart } from '../../calc/fault/lettersapart.ts';
import { findUnit, type Unit, type UnitId, unit } from '../../calc/quantity/unit.ts';
import { columnsOf, findColumn } from '../../calc/sheet/catalogue.ts';
import type { Column, EnteredSheetId } from '../../calc/sheet/column.ts';

export interface Headings {
	/** Column of each field in file order; null for one that is not taken. */
	readonly columns: readonly (Column | null)[];
	readonly faults: readonly Fault[];
	/** A required column is missing or cannot be told: no row can be read. */
	readonly unusable: boolean;
}

const entered = (sheet: EnteredSheetId): readonly Column[] =>
	columnsOf(sheet).filter((column) => column.kind === 'entered');

/**
 * Matches the header row of a file against the columns of its sheet. Headings are the column ids;
 * other capitals, blanks and hyphens are taken with a note. Unknown headings are noted with the
 * nearest known one; a known name under another unit, a heading twice and a missing required column
 * stop the file.
 */
export function readHeadings(
	sheet: EnteredSheetId,
	file: string,
	fields: readonly string[],
): Headings {
	const faults: Fault[] = [];
	const columns: (Column | null)[] = [];
	const seen = new Set<string>();
	let unusable = false;
	fields.forEach((field, at) => {
		const where = {
			file,
			row: 1,
			column: field.trim() === '' ? `field ${at + 1}` : field.trim(),
			value: field,
		};
		const exact = enteredColumn(sheet, field);
		const column = exact ?? enteredColumn(sheet, headingKey(field));
		if (column === null) {
			columns.push(null);
			faults.push(unknownHeading(sheet, field, where));
			return;
		}
		if (exact === null)
			faults.push(
				noteFault('heading_spelling', `Read as ${column.id}.`, { ...where, expected: column.id }),
			);
		if (seen.has(column.id)) {
			columns.push(null);
			unusable = true;
			faults.push(
				stopFault('heading_twice', `The heading ${column.id} stands twice.`, {
					...where,
					expected: 'each heading once',
				}),
			);
			return;
		}
		seen.add(column.id);
		columns.push(column);
	});
	for (const column of entered(sheet)) {
		if (!column.required || seen.has(column.id)) continue;
		unusable = true;
		faults.push(
			stopFault('heading_missing', `The column ${column.id} is missing.`, {
				file,
				row: 1,
				column: column.id,
				expected: `a column ${column.id} (${column.heading}${unitWords(column.unit)})`,
			}),
		);
	}
	return { columns, faults, unusable };
}

const unitWords = (id: UnitId | null): string => {
	const label = id === null ? '' : unit(id).label;
	return label === '' ? '' : ` in ${label}`;
};

function enteredColumn(sheet: EnteredSheetId, id: string): Column | null {
	const column = findColumn(sheet, id);
	return column?.kind === 'entered' ? column : null;
}

/** Capitals, blanks and hyphens make no difference between headings. */
export const headingKey = (text: string): string =>
	text
		.trim()
		.toLowerCase()
		.replace(/[\s-]+/gu, '_');

function unknownHeading(sheet: EnteredSheetId, field: string, where: Fault['where']): Fault {
	const key = headingKey(field);
	if (key === '')
		return noteFault('heading_empty', 'This column has no heading; it is not taken.', {
			...where,
			expected: 'a heading',
		});
	const mixed = otherUnit(sheet, key);
	if (mixed !== null) {
		const said = mixed.written === null ? 'without a unit' : `in ${mixed.written.label}`;
		return stopFault(
			'heading_unit',
			`${mixed.column.heading} is given ${said}; it is kept${unitWords(mixed.column.unit)}. Convert the figures and the heading.`,
			{ ...where, expected: mixed.column.id },
		);
	}
	const near = nearest(sheet, key);
	return noteFault(
		'heading_unknown',
		`The column ${field.trim()} is not known; it is not taken.${near === null ? '' : ` The nearest known one is ${near}.`}`,
		near === null ? where : { ...where, expected: near },
	);
}

/** A known column's name under a heading with another unit or none. `key`: of {@link headingKey}. */
export function otherUnit(
	sheet: EnteredSheetId,
	key: string,
): { column: Column; written: Unit | null } | null {
	for (const column of entered(sheet)) {
		const stem = nameWithoutUnit(column);
		if (stem === null) continue;
		if (key === stem) return { column, written: null };
		if (!key.startsWith(`${stem}_`)) continue;
		const written = unitOfHeading(key.slice(stem.length + 1));
		if (written !== null && written.id !== column.unit) return { column, written };
	}
	return null;
}

/** `feed_density` of `feed_density_t_m3`; null where the heading carries no unit. */
function nameWithoutUnit(column: Column): string | null {
	if (column.unit === null) return null;
	const parts = column.id.split('_');
	for (let at = 1; at < parts.length; at++)
		if (unitOfHeading(parts.slice(at).join('_'))?.id === column.unit)
			return parts.slice(0, at).join('_');
	return null;
}

/** `t_m3`, `m3_h`, `s_per_quart`, `pct`: units as headings write them. */
function unitOfHeading(text: string): Unit | null {
	return findUnit(text.replace('_per_', '/').replace('_', '/'));
}

/** The known heading with the fewest letters changed, if it is near enough to be meant. */
function nearest(sheet: EnteredSheetId, key: string): string | null {
	let best: string | null = null;
	let least = Math.max(2, Math.floor(key.length / 3)) + 1;
	for (const { id } of entered(sheet)) {
		const changes = lettersApart(key, id);
		if (changes < least) {
			least = changes;
			best = id;
		}
	}
	return best;
}
