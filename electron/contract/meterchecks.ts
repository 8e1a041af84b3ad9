import { z } from 'zod';

/**
 * Answer of `meters.checks`: every bypass window, what the check makes of them, and which correction
 * is in force. Units are the trade's: flows m³/h, their difference in % of the feed; densities t/m³,
 * their difference in kg/m³. Differences are return − feed, certificates applied.
 *
 * What a person may change of it stands in sheets as everything else does: rows of
 * `bypass_decisions`, and of the drive `meter_correction`, `correction_accepted`, `density_level`.
 */

/** What a person has decided about one pair of meters in one window. */
const decision = z.object({
	/** Row of the sheet `bypass_decisions`; taking the decision back deletes it. */
	row: z.number(),
	decision: z.enum(['accept', 'reject']),
	why: z.string(),
});

/** One pair of meters in one window. */
const compared = z.object({
	/** Means over the window; all null where the meters could not be compared. */
	feed: z.number().nullable(),
	return: z.number().nullable(),
	/** Flow: % of the feed. Density: kg/m³. */
	difference: z.number().nullable(),
	/** Standard uncertainty of the difference, same unit; null: a lone pair has no scatter. */
	u: z.number().nullable(),
	/** Samples or pairs behind it. */
	count: z.number(),
	/** Difference less the smoothed line; and in standard deviations of such a residual. */
	residual: z.number().nullable(),
	standardised: z.number().nullable(),
	verdict: z.enum(['used', 'outlier', 'pending', 'rejected', 'unusable']),
	/** A person's words or the rule that spoke; null for a window used without question. */
	reason: z.string().nullable(),
	decision: decision.nullable(),
});

const bypassWindow = z.object({
	from_s: z.number(),
	to_s: z.number(),
	/** The ring it stands with: the last whose advance had begun; null before the first. */
	ring: z.number().nullable(),
	source: z.enum(['logger', 'readings']),
	flow: compared,
	density: compared,
});

/** Both meters of one quantity over the whole drive. */
const pairCheck = z.object({
	/** The smoothed difference with its standard uncertainty; `stretch` counts up at each step. */
	line: z.array(
		z.object({ time_s: z.number(), value: z.number(), u: z.number(), stretch: z.number() }),
	),
	/** Changes at once: between two windows, unless a person has told the moment (`at_s`). */
	steps: z.array(
		z.object({
			after_s: z.number(),
			before_s: z.number(),
			at_s: z.number().nullable(),
			called_s: z.number(),
			/** Ring the call came in. */
			ring: z.number().nullable(),
			size: z.number(),
			u: z.number(),
		}),
	),
	/** Mean bypass flow in m³/h or density in t/m³ the line stands for. */
	reference: z.number(),
	/** Zero of the flows in m³/h, or slope of the densities in kg/m³ per kg/m³; null: cannot be told. */
	secondTerm: z.object({ value: z.number(), u: z.number() }).nullable(),
	/** Largest correction the meters' papers allow, unit of the difference; null: not stated. */
	limit: z.number().nullable(),
	/** Largest magnitude of the line. */
	largest: z.number(),
	/** Beyond the limit and not accepted by a person: shown, not applied. */
	heldBack: z.boolean(),
	/** A person lets it be used beyond the limit: `correction_accepted` of the drive. */
	accepted: z.boolean(),
	/** The figures of the drive carry this correction now. */
	inForce: z.boolean(),
});

/** Mud-balance samples of the feed beside the feed densitometer. */
const anchor = z.object({
	/** To be added to both densities, kg/m³; null with too few samples. */
	value: z.number().nullable(),
	u: z.number().nullable(),
	/** Wanted: `density_level` of the drive is `mud_balance`. */
	applied: z.boolean(),
	samples: z.array(
		z.object({
			time_s: z.number(),
			ring: z.number().nullable(),
			/** As read, and as the meter showed at that time, t/m³; their difference, kg/m³. */
			balance: z.number(),
			meter: z.number(),
			difference: z.number(),
		}),
	),
});

/** What a meter's own papers ask for; times in Unix s, seen from the desk's clock. */
const reminder = z.object({
	meter: z.enum(['feed_flow', 'return_flow', 'feed_density', 'return_density']),
	/** Make-up or serial as entered. */
	instrument: z.string().nullable(),
	standardised_s: z.number().nullable(),
	due_s: z.number().nullable(),
	overdue: z.boolean(),
	/** Activity of the source left since it was standardised, 0 to 1, and its half-life; null: not nuclear. */
	activityLeft: z.number().nullable(),
	halfLife_years: z.number().nullable(),
});

export const meterChecks = z.object({
	/** What the figures of the drive are corrected by: `meter_correction` of the drive. */
	correction: z.enum(['none', 'return', 'feed', 'both']),
	/** In order of time. */
	windows: z.array(bypassWindow),
	/** null: no window lets this pair be compared. */
	flow: pairCheck.nullable(),
	density: pairCheck.nullable(),
	/** null: no mud-balance sample beside a reading of the feed density. */
	anchor: anchor.nullable(),
	/** What is to be said about the check as a whole. */
	notes: z.array(z.object({ code: z.string(), message: z.string() })),
	/** One for each meter with a standardisation or a source; in order of the meters. */
	reminders: z.array(reminder),
});

export type MeterChecks = z.infer<typeof meterChecks>;
export type BypassWindowShown = z.infer<typeof bypassWindow>;
export type Compared = z.infer<typeof compared>;
export type PairCheckShown = z.infer<typeof pairCheck>;
