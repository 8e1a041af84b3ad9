import type { DriveAudit } from './audit.ts';
import { Chance } from './chance.ts';
import { Circuit, type PhaseSpan } from './circuit.ts';
import type { CycleGrid } from './grid.ts';
import { ringPhases } from './phases.ts';
import type { DrivePlan } from './plan.ts';
import type { RingTruth } from './truth.ts';

/** One ring's cycle of work as it really was. */
export interface Cycle {
	readonly ring: number;
	/** Filled anew for each cycle: read it before asking for the next. */
	readonly grid: CycleGrid;
	readonly spans: readonly PhaseSpan[];
	/** Grid points at which cutting of the ring began and ended. */
	readonly advanceStart: number;
	readonly advanceEnd: number;
	readonly strokeStart_m: number;
	readonly strokeEnd_m: number;
	/** Growth of each line within the advance window; null when lines are extended afterwards. */
	readonly lineExtension_m: number | null;
	/** Truth of the rings whose last suspension has passed the return meters by now, in order. */
	readonly finished: readonly RingTruth[];
}

/**
 * Runs the drive ring by ring and returns, at the end, what crossed the bounds of the loop. Holds no
 * more than one cycle at a time.
 */
export function* driveCycles(plan: DrivePlan): Generator<Cycle, DriveAudit> {
	const circuit = new Circuit(plan);
	const chance = new Chance(plan.seed, 'rings');
	for (let ring = 1; ring <= plan.rings; ring++) {
		const strokeStart_m = 0.35 + (plan.steady ? 0 : chance.between(-0.03, 0.03));
		circuit.beginRing(ring, chance);
		const phases = ringPhases(plan, ring, chance);
		const firstCut = phases.findIndex((phase) => phase.kind === 'cut');
		const lastCut = phases.findLastIndex((phase) => phase.kind === 'cut');
		const spans: PhaseSpan[] = [];
		phases.forEach((phase, i) => {
			if (i === firstCut) circuit.openWindow();
			if (i === lastCut + 1) circuit.closeWindow();
			spans.push(circuit.run(phase));
		});
		const { sums, windowStart, windowEnd, grid } = circuit;
		yield {
			ring,
			grid,
			spans,
			advanceStart: windowStart.point,
			advanceEnd: windowEnd.point,
			strokeStart_m,
			strokeEnd_m: strokeStart_m + sums.advance,
			lineExtension_m: plan.lineGrowth === 'during_thrust' ? sums.growth : null,
			finished: circuit.finished(ring === plan.rings),
		};
	}
	return circuit.audit();
}
