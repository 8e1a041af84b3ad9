import type { Cycle } from './cycle.ts';
import type { DrivePlan } from './plan.ts';

/** Stretches of grid points of a cycle that neither logger nor shift recorded: from included, to not. */
export function recordGaps(plan: DrivePlan, cycle: Cycle): { from: number; to: number }[] {
	return plan.events.flatMap((event) => {
		if (event.kind !== 'record_gap' || event.ring !== cycle.ring) return [];
		const length = cycle.advanceEnd - cycle.advanceStart;
		const from = cycle.advanceStart + Math.round(0.3 * length);
		return [{ from, to: from + event.minutes * 60 }];
	});
}
