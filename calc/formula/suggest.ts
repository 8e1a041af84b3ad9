import { UNITS, unit } from '../quantity/unit.ts';
import { FORMULA_FUNCTIONS, type FormulaFunction, findFunction } from '../sheet/functions.ts';
import { reckoningFactor } from './dimension.ts';
import type { KnownColumn, KnownNames } from './meaning.ts';

/** Something that could stand where the caret is. */
export interface Offer {
	readonly kind: 'column' | 'formula' | 'function' | 'unit' | 'stratum' | 'choice';
	readonly insert: string;
	/** Where the caret goes, counted from the beginning of `insert`. */
	readonly caret: number;
	readonly label: string;
	readonly detail: string;
	readonly help: string;
}

export interface Suggestion {
	/** What an offer takes the place of. */
	readonly from: number;
	readonly to: number;
	/** The likeliest first. */
	readonly offers: readonly Offer[];
	/** The function the caret is inside of, and which of its figures, from 0. */
	readonly inside: {
		readonly form: string;
		readonly help: string;
		readonly argument: number;
	} | null;
}

export interface SuggestAsk {
	readonly text: string;
	/** Characters before the caret. */
	readonly caret: number;
	readonly names: KnownNames;
	/** Help of a column, for the line beside it. */
	readonly helpOf: (column: KnownColumn) => string;
	readonly strata: readonly string[];
}

/** Longer lists are not read. */
const MOST_OFFERS = 40;
/** Units that can be written in a formula as they are: `m3/h` is written with its own sign of division. */
const WRITTEN_UNITS = UNITS.filter(
	(one) => /^[A-Za-z0-9/]+$/.test(one.id) && one.id !== '1' && reckoningFactor(one.id) !== null,
);

/**
 * What could stand at the caret: columns, functions and units that begin with, or contain, the word
 * begun there; inside quotes the names of strata or the choices of the column compared. After a
 * number units come first.
 *
 * @example
 * const column = (id, heading, unit) => [id, { id, heading, unit, type: 'number', formula: false }];
 * const names = { sheet: 'ledger', columns: new Map([column('volume_apparent_m3', 'Apparent volume', 'm3'), column('dry_solids_t', 'Dry solids', 't')]) };
 * const ask = (text) => suggest({ text, caret: text.length, names, helpOf: () => '', strata: ['Marl'] });
 * ask('2 * vol').offers[0] // => {"kind":"column","insert":"volume_apparent_m3","caret":18,"label":"volume_apparent_m3","detail":"Apparent volume, m³","help":""}
 * ask('mean(dry_solids_t, ').inside // => {"form":"mean(x, n)","help":"Mean of the last n rows, this one included.","argument":1}
 * ask('face_share("').offers.map((offer) => offer.insert) // => ["Marl\""]
 * ask('5 t').offers[0].kind // => "unit"
 */
export function suggest({ text, caret, names, helpOf, strata }: SuggestAsk): Suggestion {
	const at = Math.min(caret, text.length);
	const before = text.slice(0, at);
	const inside = callAround(before);
	const quoted = /"([^"]*)$/.exec(before);
	if (quoted !== null && (before.split('"').length - 1) % 2 === 1) {
		const from = at - (quoted[1]?.length ?? 0);
		const to = at + (/^[^"]*"?/.exec(text.slice(at))?.[0].length ?? 0);
		const begun = quoted[1] ?? '';
		return { from, to, offers: texts(before.slice(0, from - 1), begun, names, strata), inside };
	}
	const word = /[A-Za-z_][A-Za-z0-9_]*$/.exec(before)?.[0] ?? '';
	const from = at - word.length;
	const to = at + (word === '' ? 0 : (/^[A-Za-z0-9_]*/.exec(text.slice(at))?.[0].length ?? 0));
	const afterNumber = /(?:^|[^A-Za-z0-9_])\d+(?:\.\d+)?\s*$/.test(before.slice(0, from));
	if (word === '' && /[\w)"]\s*$/.test(before) && !afterNumber)
		return { from, to, offers: [], inside };
	const columns = [...names.columns.values()]
		.filter((column) => column.type !== 'text' || column.id === word)
		.map((column) => columnOffer(column, helpOf(column)));
	const functions = FORMULA_FUNCTIONS.filter(
		(one) => one.ledgerOnly !== true || names.sheet === 'ledger',
	).map(functionOffer);
	const units = WRITTEN_UNITS.map(
		({ id, label, dimension }): Offer => ({
			kind: 'unit',
			insert: id,
			caret: id.length,
			label: id,
			detail: label === id ? dimension : `${label}, ${dimension}`,
			help: '',
		}),
	);
	const all = afterNumber ? [...units, ...columns] : [...columns, ...functions];
	return { from, to, offers: ranked(all, word), inside };
}

function columnOffer(column: KnownColumn, help: string): Offer {
	const label = column.unit === null ? '' : unit(column.unit).label;
	return {
		kind: column.formula ? 'formula' : 'column',
		insert: column.id,
		caret: column.id.length,
		label: column.id,
		detail: label === '' ? column.heading : `${column.heading}, ${label}`,
		help,
	};
}

function functionOffer({ name, form, help }: FormulaFunction): Offer {
	const insert = name === 'face_share' ? `${name}("")` : `${name}()`;
	return {
		kind: 'function',
		insert,
		caret: insert.length - (name === 'face_share' ? 2 : 1),
		label: name,
		detail: form,
		help,
	};
}

/** Strata inside face_share, choices beside a column of texts. */
function texts(
	before: string,
	begun: string,
	names: KnownNames,
	strata: readonly string[],
): Offer[] {
	const made = (kind: 'stratum' | 'choice', text: string): Offer => ({
		kind,
		insert: `${text}"`,
		caret: text.length + 1,
		label: text,
		detail: '',
		help: '',
	});
	if (/face_share\s*\(\s*$/.test(before))
		return ranked(
			strata.map((one) => made('stratum', one)),
			begun,
		);
	const compared = /([A-Za-z_][A-Za-z0-9_]*)\s*[=!]=\s*$/.exec(before)?.[1];
	const column = compared === undefined ? undefined : names.columns.get(compared);
	return ranked(
		(column?.choices ?? []).map((one) => made('choice', one)),
		begun,
	);
}

/** Those that begin with the word, then those with a part that does, then those that contain it. */
function ranked(offers: readonly Offer[], word: string): Offer[] {
	const key = word.toLowerCase();
	const rank = ({ label, detail }: Offer): number => {
		const name = label.toLowerCase();
		if (name.startsWith(key)) return 0;
		if (name.split('_').some((part) => part.startsWith(key))) return 1;
		if (
			detail
				.toLowerCase()
				.split(' ')
				.some((part) => part.startsWith(key))
		)
			return 2;
		return name.includes(key) ? 3 : 4;
	};
	return offers
		.map((offer, place) => ({ offer, place, rank: rank(offer) }))
		.filter((one) => one.rank < 4)
		.sort((a, b) => a.rank - b.rank || a.place - b.place)
		.slice(0, MOST_OFFERS)
		.map((one) => one.offer);
}

/** The innermost call that is open before the caret. */
function callAround(before: string): Suggestion['inside'] {
	let depth = 0;
	let argument = 0;
	for (let at = before.length - 1; at >= 0; at--) {
		const sign = before[at];
		if (sign === ')') depth++;
		else if (sign === ',' && depth === 0) argument++;
		else if (sign === '(') {
			if (depth > 0) {
				depth--;
				continue;
			}
			const name = /([A-Za-z_][A-Za-z0-9_]*)\s*$/.exec(before.slice(0, at))?.[1];
			const known = name === undefined ? undefined : findFunction(name);
			if (known !== undefined) return { form: known.form, help: known.help, argument };
			argument = 0;
		}
	}
	return null;
}
