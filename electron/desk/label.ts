import { findColumn } from '../../calc/sheet/catalogue.ts';
import type { EnteredSheetId } from '../../calc/sheet/column.ts';
import type { Change } from '../store/change.ts';
import type { DriveModel } from './drivemodel.ts';

/** What a gesture is called beside "Undo" and in the journal. */

const ROW_WORDS: Record<EnteredSheetId, readonly [one: string, many: string]> = {
	drive: ['drive settings', 'drive settings'],
	rings: ['ring', 'rings'],
	ground: ['ground row', 'ground rows'],
	readings: ['reading', 'readings'],
	meters: ['certificate', 'certificates'],
	bypass_decisions: ['decision on a bypass window', 'decisions on bypass windows'],
	mode_overrides: ['set mode', 'set modes'],
	formulas: ['own column', 'own columns'],
	limits: ['limits of a column', 'limits of columns'],
};

export function labelOfEdits(
	model: DriveModel,
	sheet: EnteredSheetId,
	changes: readonly Change[],
): string {
	const [first] = changes;
	if (first === undefined) return 'edit that changes nothing';
	if (changes.length > 1 || first.kind !== 'cell')
		return sheet === 'drive'
			? `edit of ${changes.length} drive settings`
			: `edit of ${changes.length} cells of ${ROW_WORDS[sheet][1]}`;
	const heading = findColumn(sheet, first.column)?.heading ?? first.column;
	const what = `edit of ${lowerFirst(heading)}`;
	return sheet === 'drive'
		? `${what}, drive settings`
		: `${what}, ${rowName(model, sheet, first.row)}`;
}

export function labelOfAdding(sheet: EnteredSheetId, changes: readonly Change[]): string {
	return `adding of ${count(sheet, changes)}`;
}

export function labelOfDeletion(sheet: EnteredSheetId, changes: readonly Change[]): string {
	return `deletion of ${count(sheet, changes)}`;
}

function count(sheet: EnteredSheetId, changes: readonly Change[]): string {
	const [one, many] = ROW_WORDS[sheet];
	const [first] = changes;
	if (changes.length !== 1 || first?.kind !== 'row') return `${changes.length} ${many}`;
	const ring = (first.after ?? first.before)?.ring;
	return sheet === 'rings' ? `ring ${ring}` : `${one} ${first.row}`;
}

/** A ring goes by its number, any other row by the number it got when it came in. */
function rowName(model: DriveModel, sheet: EnteredSheetId, row: number): string {
	const [one] = ROW_WORDS[sheet];
	const ring = sheet === 'rings' ? model.rows.rings.get(row)?.ring : undefined;
	return `${one} ${ring ?? row}`;
}

/** Headings such as "pH" and "d10" stay as they are. */
function lowerFirst(heading: string): string {
	return /^[A-Z][a-z ]/.test(heading) ? heading[0]!.toLowerCase() + heading.slice(1) : heading;
}
