import { type DriveEvent, eventLabel } from './events.ts';
import type { DrivePlan } from './plan.ts';
import type { RingGround } from './ringground.ts';
import type { RingTruth } from './truth.ts';

/** Sums over one advance window: volumes in m³, excess masses in kg, lengths in m. */
export const noSums = () => ({
	feed: 0,
	back: 0,
	side: 0,
	cut: 0,
	ground: 0,
	inflow: 0,
	loss: 0,
	lossExcess: 0,
	feedExcess: 0,
	feedBentonite: 0,
	backExcess: 0,
	advance: 0,
	growth: 0,
});

/** State of the chamber at one end of the window, and the grid point it stands for. */
export interface WindowEnd {
	readonly chamber_m3: number;
	readonly chamberExcess_kg: number;
	readonly point: number;
}

/** What one advance window came to. */
export interface AdvanceWindow {
	readonly sums: Readonly<ReturnType<typeof noSums>>;
	readonly start: WindowEnd;
	readonly end: WindowEnd;
	/** Unix time of grid point 0. */
	readonly cycleStart_s: number;
}

/** A ring's truth from the sums of its window; its lag is not known yet. */
export function ringTruth(
	plan: DrivePlan,
	ring: number,
	ground: RingGround,
	window: AdvanceWindow,
): RingTruth {
	const { sums, start, end, cycleStart_s } = window;
	const { section, denser } = ground;
	const byStratum = section.shares.map(({ stratum, faceFraction }) => ({
		stratum: stratum.stratum,
		drySolids_kg: sums.ground * faceFraction * stratum.dryDensity_t_m3 * 1000 * denser,
	}));
	const expected = plan.cutArea_m2 * sums.advance;
	const sheetDry = section.shares.reduce(
		(sum, { stratum, faceFraction }) => sum + faceFraction * stratum.dryDensity_t_m3 * 1000,
		0,
	);
	const bentoniteGrain = plan.bentoniteGrainDensity_kg_m3;
	const water = plan.waterDensity_kg_m3;
	return {
		ring,
		advanceStart_s: cycleStart_s + start.point,
		advanceEnd_s: cycleStart_s + end.point,
		advance_m: sums.advance,
		volumeExpected_m3: expected,
		volumeExcavated_m3: sums.ground,
		overExcavation_m3: sums.ground - sums.cut,
		inflow_m3: sums.inflow,
		loss_m3: sums.loss,
		volumeApparent_m3: sums.ground + sums.inflow - sums.loss,
		drySolids_kg: byStratum.reduce((sum, part) => sum + part.drySolids_kg, 0),
		drySolidsByStratum: byStratum,
		drySolidsExpected_kg: expected * sheetDry,
		lossExcess_kg: sums.lossExcess,
		feedVolume_m3: sums.feed,
		returnVolume_m3: sums.back,
		sideVolume_m3: sums.side,
		chamberVolumeChange_m3: end.chamber_m3 - start.chamber_m3,
		lineVolumeChange_m3: (plan.feedLineArea_m2 + plan.returnLineArea_m2) * sums.growth,
		chamberExcessStart_kg: start.chamberExcess_kg,
		chamberExcessEnd_kg: end.chamberExcess_kg,
		meanFeedDensity_kg_m3: water + sums.feedExcess / sums.feed,
		meanReturnDensity_kg_m3: water + sums.backExcess / sums.back,
		meanFeedBentonite_kg_m3:
			((sums.feedBentonite / sums.feed) * bentoniteGrain) / (bentoniteGrain - water),
		lag_s: null,
		events: plan.events.filter((event) => touches(event, ring)).map(eventLabel),
	};
}

function touches(event: DriveEvent, ring: number): boolean {
	return event.kind === 'densitometer_step'
		? event.ring <= ring && ring < event.certifiedAgain
		: event.ring === ring;
}
