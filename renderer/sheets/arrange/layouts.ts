import type { SheetId } from '../../../calc/sheet/column.ts';
import { readShiftStarts, shiftStartsText, THREE_SHIFTS } from '../../../calc/sheet/shift.ts';
import { keep, kept } from '../../look/kept.ts';
import { type Arrangement, readArrangement } from './arrangement.ts';

/**
 * Arrangements are the person's and stay in this browser: the one in use belongs to a document, those
 * saved by name serve every drive.
 */
export interface Layout {
	readonly name: string;
	readonly arrangement: Arrangement;
}

/** Longest name a layout can have, and how many a sheet can have. */
export const LONGEST_NAME = 60;
export const MOST_LAYOUTS = 50;

function parsed(key: string): unknown {
	const text = kept(key);
	if (text === null) return null;
	try {
		return JSON.parse(text);
	} catch {
		return null;
	}
}

const inUse = (document: string, sheet: SheetId) => `arranged.${sheet}.${document}`;

/**
 * What hides rows lasts as long as the page: a drive that is opened again shows all its rows, whatever
 * was looked for the last time. A layout saved by name has its filters.
 */
const hiding = new Map<string, Pick<Arrangement, 'filters' | 'marked'>>();

/** How a sheet of a document was last arranged; null: as it is of itself. */
export function keptArrangement(document: string, sheet: SheetId): Arrangement | null {
	const key = inUse(document, sheet);
	const arrangement = readArrangement(parsed(key));
	return arrangement && { ...arrangement, ...hiding.get(key) };
}

export function keepArrangement(document: string, sheet: SheetId, arrangement: Arrangement): void {
	const key = inUse(document, sheet);
	const { filters, marked } = arrangement;
	hiding.set(key, { filters, marked });
	keep(key, JSON.stringify({ ...arrangement, filters: {}, marked: false }));
}

/** Layouts saved for a sheet, by name. */
export function keptLayouts(sheet: SheetId): readonly Layout[] {
	const list = parsed(`layouts.${sheet}`);
	if (!Array.isArray(list)) return [];
	return list.flatMap((one: unknown) => {
		if (typeof one !== 'object' || one === null || !('name' in one)) return [];
		const arrangement = 'arrangement' in one ? readArrangement(one.arrangement) : null;
		return typeof one.name === 'string' && arrangement ? [{ name: one.name, arrangement }] : [];
	});
}

const byName = (a: Layout, b: Layout) => a.name.localeCompare(b.name);

/** Saves a layout in the place of one of the same name; the list as it is then. */
export function saveLayout(sheet: SheetId, layout: Layout): readonly Layout[] {
	const others = keptLayouts(sheet).filter(({ name }) => name !== layout.name);
	const list = [...others, layout].sort(byName).slice(0, MOST_LAYOUTS);
	keep(`layouts.${sheet}`, JSON.stringify(list));
	return list;
}

/** Forgets a layout; the list as it is then. */
export function forgetLayout(sheet: SheetId, name: string): readonly Layout[] {
	const list = keptLayouts(sheet).filter((layout) => layout.name !== name);
	keep(`layouts.${sheet}`, JSON.stringify(list));
	return list;
}

/** When the shifts of a document begin, minutes after midnight. */
export function keptShifts(document: string): readonly number[] {
	return readShiftStarts(kept(`shifts.${document}`) ?? '') ?? THREE_SHIFTS;
}

export function keepShifts(document: string, starts_min: readonly number[]): void {
	keep(`shifts.${document}`, shiftStartsText(starts_min));
}
