import type { OwnColumn, OwnColumnSheet } from './owncolumn.ts';
import { unitMeant, unitWords } from './unitsearch.ts';

/** An own column as it stands in the form, all of it text. */
export interface Draft {
	readonly id: string;
	readonly heading: string;
	readonly unit: string;
	readonly decimals: string;
	readonly expression: string;
	readonly note: string;
	/** The name was typed; until then it follows the heading. */
	readonly named: boolean;
}

export const NEW_DRAFT: Draft = {
	id: '',
	heading: '',
	unit: '',
	decimals: '2',
	expression: '',
	note: '',
	named: false,
};

/** Fields of a draft with the columns of the sheet `formulas` they go to. */
const CELL_OF = {
	id: 'column_id',
	heading: 'heading',
	unit: 'unit',
	decimals: 'decimals',
	expression: 'expression',
	note: 'note',
} as const;
export type DraftField = keyof typeof CELL_OF;
const FIELDS = Object.keys(CELL_OF) as DraftField[];

export function draftOf(own: OwnColumn): Draft {
	const unit = own.unit === null ? undefined : unitMeant(own.unit);
	return {
		id: own.id,
		heading: own.heading,
		unit: unit ? unitWords(unit) : (own.unit ?? ''),
		decimals: String(own.decimals),
		expression: own.expression,
		note: own.note,
		named: true,
	};
}

export const sameDraft = (a: Draft, b: Draft): boolean =>
	FIELDS.every((field) => a[field] === b[field]);

/** The unit as the document keeps it: its id; what is no unit as typed, for the desk to refuse. */
export function unitText(draft: Draft): string {
	const meant = unitMeant(draft.unit);
	if (!meant) return draft.unit;
	return meant.id === '1' ? '' : meant.id;
}

const cellText = (draft: Draft, field: DraftField): string =>
	field === 'unit' ? unitText(draft) : draft[field].trim();

/** A new row of the sheet `formulas`. */
export function rowOf(sheet: OwnColumnSheet, draft: Draft): Record<string, string> {
	const row: Record<string, string> = { sheet };
	for (const field of FIELDS) {
		const text = cellText(draft, field);
		if (text !== '') row[CELL_OF[field]] = text;
	}
	return row;
}

/** What a changed draft changes of its row. */
export function editsOf(
	own: OwnColumn,
	draft: Draft,
): { readonly row: number; readonly column: string; readonly text: string }[] {
	const before = draftOf(own);
	return FIELDS.filter((field) => cellText(before, field) !== cellText(draft, field)).map(
		(field) => ({ row: own.row, column: CELL_OF[field], text: cellText(draft, field) }),
	);
}

/** The field a refusal of the desk is about; null where it is about none. */
export function fieldOf(column: string): DraftField | null {
	return FIELDS.find((field) => CELL_OF[field] === column) ?? null;
}

/** A name made from a heading: small letters, digits and _, beginning with a letter. */
export function nameFrom(heading: string): string {
	return heading
		.normalize('NFKD')
		.toLowerCase()
		.replace(/\p{M}+/gu, '')
		.replace(/[^a-z0-9]+/g, '_')
		.replace(/^[_0-9]+|_+$/g, '')
		.slice(0, 40)
		.replace(/_+$/, '');
}
