import { z } from 'zod';

/** A fault as it crosses to a page. */
export const faultShape = z.object({
	code: z.string(),
	message: z.string(),
	where: z.object({
		file: z.string().optional(),
		row: z.number().optional(),
		ring: z.number().optional(),
		column: z.string().optional(),
		value: z.string().optional(),
		expected: z.string().optional(),
	}),
	weight: z.enum(['stop', 'note']),
});
