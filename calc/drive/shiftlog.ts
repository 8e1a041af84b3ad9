import { MODES } from '../circuit/samples.ts';
import type { MeterId } from '../circuit/settings.ts';
import type { CellValue } from '../sheet/column.ts';
import { Chance } from './chance.ts';
import type { Cycle } from './cycle.ts';
import { type DriveMeters, LOW_FLOW_CUTOFF_M3_H } from './meters.ts';
import { PUMP_RAMP_S } from './phases.ts';
import type { DrivePlan } from './plan.ts';
import { recordGaps } from './recordgap.ts';
import { recordDecimals, roundTo } from './rounding.ts';
import { Totaliser } from './totalisers.ts';

type RowCells = Record<string, CellValue>;

/** Longest time between two readings while the circuit is stopped: less than the gap limit of shift readings. */
const STOPPED_EVERY_S = 840;
/** In a stop longer than this only its beginning and every hour are noted, s. */
const LONG_STOP_S = 7200;
/** A routine reading this near to one at a change of mode is not taken, s. */
const CLOSE_S = 25;
/** Share of routine readings nobody got round to. */
const MISSED = 0.03;
/** A shift reads the mean of about so many seconds off the display. */
const READ_OVER_S = 10;

const NOTES = [
	'screen panel changed',
	'marsh funnel repeated',
	'gland water filter cleaned',
	'cyclone apex cleared',
	'densitometer window wiped',
] as const;

/**
 * The shift readings by hand: at fixed times of the clock, whenever the circuit is switched or cutting
 * begins or ends, closer together while the front of a ring passes the return meters, and with the
 * laboratory's figures twice a shift.
 */
export class ShiftLog {
	readonly #plan: DrivePlan;
	readonly #meters: DriveMeters;
	readonly #chance: Chance;
	readonly #feedTotal: Totaliser;
	readonly #returnTotal: Totaliser;
	#labShift = Number.NaN;

	constructor(plan: DrivePlan, meters: DriveMeters) {
		this.#plan = plan;
		this.#meters = meters;
		this.#chance = new Chance(plan.seed, 'shift log');
		this.#feedTotal = new Totaliser(meters, 'feed_flow', plan.totaliserCapacity_m3);
		this.#returnTotal = new Totaliser(meters, 'return_flow', plan.totaliserCapacity_m3);
	}

	/** Readings of one cycle in order of time, cells by column id in file units. */
	readingsOf(cycle: Cycle): RowCells[] {
		const gaps = recordGaps(this.#plan, cycle);
		const points = this.#points(cycle).filter(
			(at) => !gaps.some(({ from, to }) => at >= from && at < to),
		);
		const feedTotals = this.#feedTotal.through(cycle.grid, points);
		const returnTotals = this.#returnTotal.through(cycle.grid, points);
		const notes = this.#notes(cycle, points, gaps);
		return points.map((at, i) =>
			this.#reading(cycle, at, feedTotals[i]!, returnTotals[i]!, notes.get(i)),
		);
	}

	/** Grid points at which someone reads the instruments, ascending. */
	#points(cycle: Cycle): number[] {
		const { cutRamp_s, readingInterval_s: every } = this.#plan;
		const { grid, spans } = cycle;
		const marked = new Set<number>();
		const routine: number[] = [];
		for (const { phase, from, to } of spans) {
			const step =
				phase.kind !== 'stop'
					? every
					: to - from > LONG_STOP_S
						? 3600
						: Math.max(every, STOPPED_EVERY_S);
			const first = Math.ceil((grid.start_s + from) / step) * step - grid.start_s;
			for (let at = first; at < to; at += step) routine.push(at);
			if (phase.kind !== 'circulate' || phase.opens) marked.add(from);
			if (phase.kind === 'circulate' && phase.mode === 'back_flush') marked.add(from).add(to);
			if (phase.kind === 'bypass' && phase.fromRest) marked.add(from + PUMP_RAMP_S);
			if (phase.kind === 'bypass' && phase.toRest) marked.add(to - PUMP_RAMP_S);
			if (phase.kind === 'cut')
				marked
					.add(from + cutRamp_s)
					.add(to - cutRamp_s)
					.add(to);
		}
		for (const front of [cycle.advanceStart, cycle.advanceEnd]) {
			const passes = front + this.#lag(cycle.ring);
			for (let k = 0; k < 6; k++) marked.add(passes + Math.round((k * every) / 3));
		}
		const points = [...marked].filter((at) => at >= 0 && at < grid.count).sort((a, b) => a - b);
		const taken = new Set(points);
		for (const at of routine) {
			const missed = !this.#meters.perfect && this.#chance.happens(MISSED);
			const close = points.some((other) => Math.abs(other - at) <= CLOSE_S);
			if (!missed && !close) taken.add(at);
		}
		return [...taken].sort((a, b) => a - b);
	}

	/** Roughly how long the return line takes, s. */
	#lag(ring: number): number {
		const plan = this.#plan;
		const length_m = plan.returnMeterDistance_m + plan.lineGrowth_m_per_ring * ring;
		return Math.round((length_m * plan.returnLineArea_m2 * 3600) / plan.feedFlow_m3_h);
	}

	#reading(
		cycle: Cycle,
		at: number,
		feedTotal: number,
		returnTotal: number,
		note: string | undefined,
	): RowCells {
		const { grid, ring } = cycle;
		const plan = this.#plan;
		const decimals = recordDecimals(this.#meters.perfect);
		const time = grid.start_s + at;
		const mode = MODES[grid.mode[at]!]!;
		const cells: RowCells = {
			time,
			mode,
			feed_flow_m3_h: this.#flow('feed_flow', grid.feedFlow_m3_s[at]!, time, decimals.flow),
			feed_density_t_m3: this.#density(
				'feed_density',
				grid.feedExcess_kg_m3[at]!,
				time,
				decimals.density,
			),
			return_flow_m3_h: this.#flow('return_flow', grid.returnFlow_m3_s[at]!, time, decimals.flow),
			return_density_t_m3: this.#density(
				'return_density',
				grid.returnExcess_kg_m3[at]!,
				time,
				decimals.density,
			),
			ring,
			chamber_level_m: this.level(grid.level_m[at]!),
		};
		if (plan.sideFlow_m3_h > 0)
			cells.side_flow_m3_h = roundTo(grid.sideFlow_m3_s[at]! * 3600, decimals.flow);
		const higher_m = grid.level_m[at]! - plan.levelShare * plan.diameter_m;
		cells.face_pressure_bar = roundTo(2.1 + 0.1 * higher_m + 0.005 * this.#chance.normal(), 2);
		cells.feed_total_m3 = roundTo(feedTotal, decimals.total);
		cells.return_total_m3 = roundTo(returnTotal, decimals.total);
		const local = time + plan.utcOffset_min * 60;
		const hour = Math.floor(local / 3600) % 24;
		const quarter = Math.floor((local - 3600) / 21_600);
		if (quarter !== this.#labShift && mode !== 'stop') {
			this.#labShift = quarter;
			this.#laboratory(cells, grid.feedExcess_kg_m3[at]!);
		}
		cells.entered_by = hour >= 6 && hour < 18 ? 'day shift' : 'night shift';
		if (note !== undefined) cells.note = note;
		return cells;
	}

	/** A level as the level meter shows it, m. */
	level(level_m: number): number {
		const { levelNoise_m, perfect } = this.#meters;
		return roundTo(level_m + levelNoise_m * this.#chance.normal(), recordDecimals(perfect).level);
	}

	#flow(meter: MeterId, flow_m3_s: number, time_s: number, decimals: number): number {
		const true_m3_h = flow_m3_s * 3600;
		if (this.#meters.perfect) return roundTo(true_m3_h, decimals);
		const noise = this.#noise(meter);
		if (true_m3_h < LOW_FLOW_CUTOFF_M3_H) return 0;
		const { slope, offset } = this.#meters.errors[meter];
		const shown = (true_m3_h - offset + this.#meters.driftAt(meter, time_s) + noise) / slope;
		return Math.max(0, roundTo(shown, decimals));
	}

	#density(meter: MeterId, excess_kg_m3: number, time_s: number, decimals: number): number {
		const true_t_m3 = (this.#plan.waterDensity_kg_m3 + excess_kg_m3) / 1000;
		if (this.#meters.perfect) return roundTo(true_t_m3, decimals);
		const { slope, offset } = this.#meters.errors[meter];
		const shown =
			(true_t_m3 - offset + this.#meters.driftAt(meter, time_s) + this.#noise(meter)) / slope;
		return roundTo(shown, decimals);
	}

	#noise(meter: MeterId): number {
		const { quickNoise, lastingNoise, lasts_s } = this.#meters.errors[meter];
		const quick = (quickNoise * this.#chance.normal()) / Math.sqrt(READ_OVER_S);
		// Readings are minutes apart: what lasts some seconds has gone by the next.
		const lasting = lastingNoise * Math.sqrt(lasts_s / (lasts_s + READ_OVER_S));
		return quick + lasting * this.#chance.normal();
	}

	/** Laboratory figures that go with the feed's density; the relations are invented. */
	#laboratory(cells: RowCells, feedExcess_kg_m3: number): void {
		const chance = this.#chance;
		cells.marsh_s_per_quart = roundTo(2 * (30 + 0.11 * feedExcess_kg_m3 + chance.normal()), 0) / 2;
		cells.sand_pct = roundTo(4 * (0.4 + 0.02 * feedExcess_kg_m3 + 0.2 * chance.normal()), 0) / 4;
		cells.filtrate_ml = roundTo(2 * (22 - 0.05 * feedExcess_kg_m3 + chance.normal()), 0) / 2;
		cells.ph = roundTo(9 + 0.2 * chance.normal(), 1);
		cells.yield_point_pa = roundTo(3 + 0.05 * feedExcess_kg_m3 + 0.4 * chance.normal(), 1);
		cells.temperature_c = roundTo(this.#plan.waterTemperature_c + 0.3 * chance.normal(), 1);
	}

	/** Notes by place in the list of readings. */
	#notes(
		cycle: Cycle,
		points: readonly number[],
		gaps: readonly { from: number; to: number }[],
	): Map<number, string> {
		const notes = new Map<number, string>();
		const middle = (cycle.advanceStart + cycle.advanceEnd) / 2;
		const noteAfter = (point: number, note: string): void => {
			const i = points.findIndex((at) => at >= point);
			if (i >= 0) notes.set(i, note);
		};
		if (!this.#meters.perfect && this.#chance.happens(0.08)) {
			notes.set(
				this.#chance.whole(0, points.length - 1),
				NOTES[this.#chance.whole(0, NOTES.length - 1)]!,
			);
		}
		for (const event of this.#plan.events) {
			if (event.kind === 'densitometer_step') {
				if (event.certifiedAgain === cycle.ring && this.#plan.meters === 'certified')
					noteAfter(0, 'densitometer compared with the mud balance and certified anew');
				continue;
			}
			if (event.ring !== cycle.ring) continue;
			if (event.kind === 'over_excavation')
				noteAfter(middle, 'screens heavily loaded for this advance speed');
			if (event.kind === 'water_inflow') noteAfter(middle, 'return thinner than the advance gives');
			if (event.kind === 'suspension_loss') noteAfter(middle, 'feed tank falls, topped up');
		}
		for (const { to } of gaps)
			noteAfter(to, 'no readings: recorder and display were without power');
		return notes;
	}
}
