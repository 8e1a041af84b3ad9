import { z } from 'zod';

/**
 * Columns people add with a formula. They stand as rows of the sheet `formulas`; their figures come
 * with the rows of the ledger and the readings, under the column's name, with a reason at each blank.
 * A page learns of them from the rows of `formulas`.
 */

/** Sheets that take formula columns. */
export const FORMULA_SHEETS = ['ledger', 'readings'] as const;
const formulaSheet = z.enum(FORMULA_SHEETS);
const expression = z.string().max(4_000);

/** What is wrong with a formula and where: characters from (counted from 0) up to, not including, to. */
const fault = z.object({
	code: z.string(),
	message: z.string(),
	from: z.number(),
	to: z.number(),
	expected: z.string().nullable(),
});
export type FormulaFaultMessage = z.infer<typeof fault>;

const usedColumn = z.object({
	/** As it is written in formulas. */
	id: z.string(),
	heading: z.string(),
	/** Unit label; empty for a plain number or a text. */
	unit: z.string(),
	/** True: a formula column itself. */
	formula: z.boolean(),
});
export type FormulaUse = z.infer<typeof usedColumn>;

const check = {
	ask: z.object({
		sheet: formulaSheet,
		expression,
		/** As typed; empty: a plain number. */
		unit: z.string().max(40),
		decimals: z.number().int().min(0).max(9).optional(),
		/** Name of the column as it is to be; left out, it is not judged. */
		id: z.string().max(80).optional(),
		/** Row of `formulas` that is being changed; left out for a new one. */
		row: z.number().int().positive().optional(),
		/** Rows to show figures of, from the last one back. */
		rows: z.number().int().min(0).max(50).optional(),
	}),
	answer: z.object({
		ok: z.boolean(),
		/** First thing wrong with the expression, or with expression and unit together. */
		fault: fault.nullable(),
		/** What is wrong with the name, in words. */
		idFault: z.string().nullable(),
		/** What is wrong with the unit by itself, in words. */
		unitFault: z.string().nullable(),
		/** What the formula gives, before it is converted: unit label, and what it measures ("volume"). */
		result: z.object({ unit: z.string(), what: z.string() }).nullable(),
		/** Units the result can be shown in, by id and label. */
		units: z.array(z.object({ id: z.string(), label: z.string() })),
		uses: z.array(usedColumn),
		/** Formula columns that use this one, directly. */
		usedBy: z.array(usedColumn),
		/** The last rows, in the order of the sheet; empty when there is a fault. */
		preview: z.array(
			z.object({
				/** "Ring 12", or the time of a reading. */
				name: z.string(),
				value: z.number().nullable(),
				/** As it will be shown, without the unit; empty for a blank. */
				text: z.string(),
				reasons: z.array(z.string()),
			}),
		),
		/** How many of all rows come out blank, of how many. */
		blank: z.object({ rows: z.number(), of: z.number() }).nullable(),
	}),
};

const suggest = {
	ask: z.object({
		sheet: formulaSheet,
		expression,
		/** Characters before the caret. */
		caret: z.number().int().min(0).max(4_000),
		row: z.number().int().positive().optional(),
	}),
	answer: z.object({
		/** What an offer takes the place of. */
		from: z.number(),
		to: z.number(),
		offers: z.array(
			z.object({
				kind: z.enum(['column', 'formula', 'function', 'unit', 'stratum', 'choice']),
				/** Text to put in. */
				insert: z.string(),
				/** Where the caret goes, counted from the beginning of `insert`. */
				caret: z.number(),
				label: z.string(),
				/** Unit, form of a function, heading. */
				detail: z.string(),
				help: z.string(),
			}),
		),
		/** The function the caret is inside of, and which of its figures, from 0. */
		inside: z.object({ form: z.string(), help: z.string(), argument: z.number() }).nullable(),
	}),
};

export const FORMULA_SHAPES = { check, suggest } as const;
export type FormulaCheckAsk = z.infer<typeof check.ask>;
export type FormulaCheckAnswer = z.infer<typeof check.answer>;
export type FormulaSuggestAsk = z.infer<typeof suggest.ask>;
export type FormulaSuggestAnswer = z.infer<typeof suggest.answer>;
