import { convertible } from '../../calc/quantity/convert.ts';
import { findUnit, UNITS, type UnitId, unit } from '../../calc/quantity/unit.ts';
import { columnsOf, findColumn } from '../../calc/sheet/catalogue.ts';
import type { Column } from '../../calc/sheet/column.ts';
import type { ImportedSheetId } from '../contract/sheetexchange.ts';
import { headingKey, otherUnit } from '../folder/headings.ts';
import { matchesOf } from '../logger/layout/headingguess.ts';
import { ALIASES } from './aliases.ts';

/** What a field of a file is taken for. */
export interface FieldMatch {
	readonly heading: string;
	/** null: left out. */
	readonly column: Column | null;
	/** Unit of the figures in the file; null where the column has none. */
	readonly unit: UnitId | null;
	/** Offset the heading says, minutes east of UTC. */
	readonly utcOffset_min: number | null;
	readonly by: 'id' | 'heading' | 'alias' | 'hand' | null;
	readonly remark: string | null;
}

/** A likeness below which the words of a heading are no match. */
const LIKE_ENOUGH = 0.8;

/** Capitals, marks and blanks make no difference. */
const wordsOf = (text: string): string =>
	text
		.toLowerCase()
		.replace(/[^\p{L}\p{N}%²³]+/gu, ' ')
		.trim();

interface Understood {
	readonly column: Column;
	readonly by: 'id' | 'heading' | 'alias';
	/** As the heading names it; null: it names none. */
	readonly unit: UnitId | null;
	/** The heading names a unit that is not in our table. */
	readonly unknownUnit: string | null;
}

/** Columns of a sheet that a field can fill, with the sieves its headings name. */
export function fillable(sheet: ImportedSheetId, headings: readonly string[]): Column[] {
	const columns = columnsOf(sheet).filter((column) => column.kind === 'entered');
	const sieves = headings.flatMap((heading) => sieveOf(sheet, heading) ?? []);
	return [...columns, ...new Map(sieves.map((column) => [column.id, column])).values()];
}

/** Units that the figures of a column can be in, its own first; none for a column without a unit. */
export function unitsOf(column: Column): { id: UnitId; label: string }[] {
	const own = column.unit;
	if (own === null) return [];
	return [unit(own), ...UNITS.filter(({ id }) => id !== own && convertible(id, own))].map(
		({ id, label }) => ({ id, label: label === '' ? 'ratio' : label }),
	);
}

/**
 * Matches the headings of a file against the columns of a sheet: by id, by the heading on screen, by
 * another name; with the unit in brackets or at the end of an id. A column is filled once, by the
 * field that names it best; worked-out columns, also the project's own, are left out.
 */
export function matchFields(
	sheet: ImportedSheetId,
	headings: readonly string[],
	own: readonly Column[] = [],
): FieldMatch[] {
	const understood = headings.map((heading) => understand(sheet, heading, own));
	const RANK = { id: 0, heading: 1, alias: 2 };
	const best = new Map<string, number>();
	understood.forEach((one, at) => {
		if (one === null) return;
		const other = best.get(one.column.id);
		const rank = RANK[one.by];
		if (other === undefined || rank < RANK[understood[other]?.by ?? 'alias'])
			best.set(one.column.id, at);
	});
	return headings.map((heading, at): FieldMatch => {
		const left = (remark: string): FieldMatch => ({
			heading,
			column: null,
			unit: null,
			utcOffset_min: null,
			by: null,
			remark,
		});
		const one = understood[at] ?? null;
		if (one === null) return left(heading.trim() === '' ? 'It has no heading.' : 'Not known.');
		const { column, by } = one;
		if (column.kind === 'computed') return left('Worked out here; never imported.');
		if (best.get(column.id) !== at) return left(`Another field fills ${column.heading}.`);
		if (one.unit !== null && column.unit !== null && !convertible(one.unit, column.unit))
			return left(
				`${unit(one.unit).label} is no unit of ${column.heading}, which is in ${unit(column.unit).label}.`,
			);
		if (one.unknownUnit !== null && column.unit !== null)
			return left(`"${one.unknownUnit}" is not a known unit of ${column.heading}.`);
		return {
			heading,
			column,
			unit: column.unit === null ? null : (one.unit ?? column.unit),
			utcOffset_min: column.type === 'time' ? offsetIn(heading) : null,
			by,
			remark:
				by !== 'id' && column.unit !== null && column.unit !== '1' && one.unit === null
					? `No unit in the heading; ${unit(column.unit).label} is taken.`
					: null,
		};
	});
}

function understand(
	sheet: ImportedSheetId,
	heading: string,
	own: readonly Column[],
): Understood | null {
	const { name, inBrackets } = bracketParts(heading);
	const named = inBrackets === null ? null : findUnit(inBrackets);
	const withUnit = (column: Column, by: Understood['by']): Understood => ({
		column,
		by,
		unit: named?.id ?? null,
		unknownUnit: inBrackets !== null && named === null && column.unit !== null ? inBrackets : null,
	});
	const byId = findColumn(sheet, headingKey(heading)) ?? null;
	if (byId !== null) return { column: byId, by: 'id', unit: byId.unit, unknownUnit: null };
	const whole = wordsOf(heading);
	const words = wordsOf(name);
	const columns = [...columnsOf(sheet), ...own];
	// A heading on screen may have brackets of its own.
	const full = columns.find((column) => wordsOf(column.heading) === whole);
	if (full !== undefined) return { column: full, by: 'heading', unit: null, unknownUnit: null };
	const shown = columns.find((column) => wordsOf(column.heading) === words);
	if (shown !== undefined) return withUnit(shown, 'heading');
	const sieve = sieveOf(sheet, name);
	if (sieve !== null) return withUnit(sieve, 'heading');
	const bareId = findColumn(sheet, headingKey(name)) ?? null;
	if (bareId !== null) return withUnit(bareId, 'alias');
	for (const [id, names] of Object.entries(ALIASES[sheet]))
		if (names.includes(words)) {
			const column = findColumn(sheet, id);
			if (column !== undefined) return withUnit(column, 'alias');
		}
	const stem = otherUnit(sheet, headingKey(name));
	if (stem !== null) {
		if (stem.written === null) return withUnit(stem.column, 'alias');
		return { column: stem.column, by: 'alias', unit: stem.written.id, unknownUnit: null };
	}
	return sheet === 'readings' ? byWords(heading) : null;
}

/** As the headings of loggers are understood: by the words in them, in any order. */
function byWords(heading: string): Understood | null {
	const match = matchesOf(heading).find(
		({ target, likeness }) => target.column !== null && likeness >= LIKE_ENOUGH,
	);
	if (match === undefined || match.target.column === null) return null;
	const named = match.unit === null ? null : findUnit(match.unit);
	return { column: match.target.column, by: 'alias', unit: named?.id ?? null, unknownUnit: null };
}

function bracketParts(heading: string): { name: string; inBrackets: string | null } {
	const found = /^(.*?)\s*[[(]\s*([^[\]()]+(?:\([^()]*\))?)\s*[\])]\s*$/u.exec(heading.trim());
	return found === null
		? { name: heading.trim(), inBrackets: null }
		: { name: found[1] ?? '', inBrackets: found[2] ?? null };
}

/** `Passing 0.063 mm`, `passing_0.063_mm`. */
function sieveOf(sheet: ImportedSheetId, heading: string): Column | null {
	if (sheet !== 'ground') return null;
	const { name } = bracketParts(heading);
	const size = /^passing[ _]+(\d+(?:[.,]\d+)?)[ _]*mm(?:[ _]*(?:%|pct))?$/iu.exec(name.trim())?.[1];
	if (size === undefined) return null;
	return findColumn('ground', `passing_${Number(size.replace(',', '.'))}_mm`) ?? null;
}

/** `Time [UTC+01:00]`: minutes east of UTC, or null. */
function offsetIn(heading: string): number | null {
	const found = /\b(?:UTC|GMT)\s*(?:([+\-\u2212])(\d{1,2})(?::?(\d{2}))?)?\s*[\])]?\s*$/iu.exec(
		heading,
	);
	if (found === null) return null;
	const minutes = Number(found[2] ?? 0) * 60 + Number(found[3] ?? 0);
	return found[1] === undefined || found[1] === '+' ? minutes : -minutes;
}
