import { timeToPass_s } from '../circuit/integrate.ts';
import { MODES, type Mode, passesChamber } from '../circuit/samples.ts';
import { type Crossing, type DriveAudit, Tally } from './audit.ts';
import { Chance, Wander } from './chance.ts';
import { EVENT_SHARE, eventStrength } from './events.ts';
import { FeedTank } from './feedtank.ts';
import { noFlows } from './flows.ts';
import { CycleGrid } from './grid.ts';
import { type Phase, PUMP_RAMP_S, stopSeconds } from './phases.ts';
import type { DrivePlan } from './plan.ts';
import { PlugLine } from './plugline.ts';
import { type RingGround, ringGround } from './ringground.ts';
import { noSums, ringTruth, type WindowEnd } from './ringtruth.ts';
import type { RingTruth } from './truth.ts';

/** A phase as it came out, from grid point `from` until grid point `to`, where the next one begins. */
export interface PhaseSpan {
	readonly phase: Phase;
	readonly from: number;
	readonly to: number;
}

/** How fast the working chamber is brought back to its set level, s, and how fast its level can move, m/s. */
const LEVEL_RESPONSE_S = 150;
const LEVEL_RATE_M_S = 0.0008;
const LEVEL_WANDER_M = 0.18;
const FLOW_WANDER = 0.02;
const SPEED_WANDER = 0.08;
/** Ring advances differ from nominal by this standard deviation, m. */
const ADVANCE_SCATTER_M = 0.003;
/** No fresh suspension in the first minutes of a cut, s. */
const MIX_AFTER_S = 300;

const modeIndex = (mode: Mode): number => MODES.indexOf(mode);

/**
 * The circuit, second by second. Suspension is incompressible; both lines are in plug flow; the
 * chambers are perfectly mixed and ground is suspended the moment it enters. Water that comes in is
 * plain; what is lost leaves as dense as the chamber is. In bypass the chamber is shut and the return
 * line is fed from the end of the feed line; in back-flush the stream passes the chamber uncut.
 * Mass and volume are conserved to rounding: each step moves whole amounts from one place to another,
 * and the chamber's concentration at the end of a step is the one at which
 * V₁c₁ = V₀c₀ + m_in − V_out·(c₀ + c₁)/2 (implicit midpoint rule, second order in the step).
 */
export class Circuit {
	readonly #plan: DrivePlan;
	readonly #tank: FeedTank;
	readonly #flowSlow: Wander;
	readonly #flowFast: Wander;
	readonly #speedWander: Wander;
	readonly #levelWander: Wander;
	readonly #feedLine = new PlugLine();
	readonly #returnLine = new PlugLine();
	readonly grid = new CycleGrid();

	readonly #tallies = {
		feed: new Tally(),
		ground: new Tally(),
		inflow: new Tally(),
		side: new Tally(),
		pipes: new Tally(),
		back: new Tally(),
		loss: new Tally(),
	};
	readonly #heldAtStart: Crossing;

	#chamber_m3: number;
	#chamberExcess: number;
	#chamberBentonite: number;
	#level: number;
	#levelMoves = false;
	#lineLength: number;
	#before = noFlows();
	#now = noFlows();
	#begun = false;
	#modeBefore = modeIndex('stop');
	time_s: number;

	/** Sums over the ring's advance window, and the state at its ends. */
	sums = noSums();
	windowStart: WindowEnd = { chamber_m3: 0, chamberExcess_kg: 0, point: 0 };
	windowEnd: WindowEnd = { chamber_m3: 0, chamberExcess_kg: 0, point: 0 };
	#inWindow = false;
	#openAtNext = false;
	#closeAtNext = false;
	#returned_m3 = 0;
	/** Rings whose last suspension is still in the return line. */
	readonly #underWay: { truth: RingTruth; passesAt_m3: number }[] = [];
	#finished: RingTruth[] = [];

	/* of the ring being cut */
	#ring = 0;
	#ground!: RingGround;
	#speed_m_s = 0;
	#target_m = 0;
	#stroke_m = 0;
	#growthPerAdvance = 0;
	#overShare = 0;
	#inflow_m3_s = 0;
	#loss_m3_s = 0;

	constructor(plan: DrivePlan) {
		const chance = new Chance(plan.seed, 'circuit');
		this.#plan = plan;
		this.time_s = plan.start_s;
		this.#tank = new FeedTank(plan, chance);
		this.#flowSlow = new Wander(chance, 420);
		this.#flowFast = new Wander(chance, 60);
		this.#speedWander = new Wander(chance, 300);
		this.#levelWander = new Wander(chance, 900);
		this.#level = plan.levelShare * plan.diameter_m;
		this.#lineLength = plan.returnMeterDistance_m;
		const excess = this.#tank.excess_kg_m3;
		const bentonite = this.#tank.bentoniteExcess_kg_m3;
		this.#chamber_m3 = plan.chamberMixedVolume_m3;
		this.#chamberExcess = excess;
		this.#chamberBentonite = bentonite;
		const { feedLineArea_m2, returnLineArea_m2 } = plan;
		this.#feedLine.push(feedLineArea_m2 * this.#lineLength, excess, excess, bentonite, bentonite);
		this.#returnLine.push(
			returnLineArea_m2 * this.#lineLength,
			excess,
			excess,
			bentonite,
			bentonite,
		);
		this.#heldAtStart = this.#held();
	}

	/** Takes up a new ring: its ground, speed and events. */
	beginRing(ring: number, chance: Chance): void {
		const plan = this.#plan;
		this.#ring = ring;
		const ground = ringGround(plan, ring, chance);
		this.#ground = ground;
		const ofRing = plan.steady ? 0 : chance.between(-0.1, 0.1);
		const setSpeed = plan.steady ? 1 : ground.speed * (1 + ofRing);
		this.#speed_m_s = (plan.advanceSpeed_mm_min / 60_000) * setSpeed;
		const scatterAdvance = plan.steady ? 0 : ADVANCE_SCATTER_M * chance.normal();
		this.#target_m = plan.advance_m + scatterAdvance;
		this.#stroke_m = 0;
		const lengthAfter = plan.returnMeterDistance_m + plan.lineGrowth_m_per_ring * ring;
		this.#growthPerAdvance =
			plan.lineGrowth === 'during_thrust' ? (lengthAfter - this.#lineLength) / this.#target_m : 0;
		this.#overShare = 0;
		this.#inflow_m3_s = 0;
		this.#loss_m3_s = 0;
		for (const event of plan.events) {
			if (event.ring !== ring) continue;
			if (event.kind === 'over_excavation') this.#overShare += event.fraction / EVENT_SHARE;
			if (event.kind === 'water_inflow') this.#inflow_m3_s += event.flow_m3_h / 3600;
			if (event.kind === 'suspension_loss') this.#loss_m3_s += event.flow_m3_h / 3600;
		}
		this.grid.count = 0;
		this.#finished = [];
	}

	/** Runs one phase; grid points from its start until just before the next phase's first. */
	run(phase: Phase): PhaseSpan {
		const from = this.grid.count;
		switch (phase.kind) {
			case 'cut':
				this.#cut(phase.untilPart);
				break;
			case 'circulate': {
				const mode = modeIndex(phase.mode);
				for (let i = 0; i < phase.seconds; i++) {
					let gate = phase.opens ? Math.min(1, i / PUMP_RAMP_S) : 1;
					if (phase.shuts) gate = Math.min(gate, (phase.seconds - i) / PUMP_RAMP_S);
					this.#point(mode, 1, gate, 0, false);
				}
				break;
			}
			case 'bypass': {
				const mode = modeIndex('bypass');
				for (let i = 0; i < phase.seconds; i++) {
					let share = phase.fromRest ? Math.min(1, i / PUMP_RAMP_S) : 1;
					if (phase.toRest) share = Math.min(share, (phase.seconds - i) / PUMP_RAMP_S);
					this.#point(mode, share, 0, 0, false);
				}
				break;
			}
			case 'stop': {
				const { utcOffset_min, weekendStop } = this.#plan;
				const seconds =
					phase.weekend && weekendStop
						? stopSeconds(phase.seconds, this.time_s, utcOffset_min)
						: phase.seconds;
				this.#stand(seconds);
				if (phase.extends) this.#putPipesIn();
				break;
			}
		}
		return { phase, from, to: this.grid.count };
	}

	/** The window of the ring opens at the next grid point. */
	openWindow(): void {
		this.sums = noSums();
		this.#openAtNext = true;
	}

	/** The window of the ring closes at the next grid point. */
	closeWindow(): void {
		this.#closeAtNext = true;
	}

	/** Puts the ring's truth together and keeps it until its last suspension has passed the meters. */
	#endRing(): void {
		const plan = this.#plan;
		const truth = ringTruth(plan, this.#ring, this.#ground, {
			sums: this.sums,
			start: this.windowStart,
			end: this.windowEnd,
			cycleStart_s: this.grid.start_s,
		});
		const line_m3 = plan.returnLineArea_m2 * this.#lineLength;
		this.#underWay.push({ truth, passesAt_m3: this.#returned_m3 + line_m3 });
	}

	/** Rings finished since the last call of `beginRing`; at the end of the record also those whose lag stays unknown. */
	finished(atEnd: boolean): RingTruth[] {
		if (!atEnd) return this.#finished;
		return [...this.#finished, ...this.#underWay.map(({ truth }) => truth)];
	}

	audit(): DriveAudit {
		const { feed, ground, inflow, side, pipes, back, loss } = this.#tallies;
		return {
			feed: feed.total,
			ground: ground.total,
			inflow: inflow.total,
			side: side.total,
			pipes: pipes.total,
			back: back.total,
			loss: loss.total,
			heldAtStart: this.#heldAtStart,
			heldAtEnd: this.#held(),
		};
	}

	#held(): Crossing {
		const feed = this.#feedLine.held();
		const back = this.#returnLine.held();
		return {
			volume_m3: feed.volume_m3 + back.volume_m3 + this.#chamber_m3,
			excess_kg: feed.excess_kg + back.excess_kg + this.#chamber_m3 * this.#chamberExcess,
			bentonite_kg:
				feed.bentonite_kg + back.bentonite_kg + this.#chamber_m3 * this.#chamberBentonite,
		};
	}

	#cut(untilPart: number): void {
		const mode = modeIndex('advance');
		const ramp = this.#plan.cutRamp_s;
		const target = this.#target_m * untilPart;
		let level = 0;
		let falling = false;
		for (let i = 0; ; i++) {
			if (i > 0) level += falling ? -1 : level < ramp ? 1 : 0;
			if (falling && level === 0) return;
			const share = level / ramp;
			this.#point(mode, 1, 1, share, i >= MIX_AFTER_S);
			// Advance still made if the wheel is taken back from here on.
			const runOut = (this.#before.speed * share * level) / 2;
			if (!falling && this.#stroke_m + runOut >= target) falling = true;
		}
	}

	/** Pumps off: the first grid point ends the flow, after it nothing moves. */
	#stand(seconds: number): void {
		const mode = modeIndex('stop');
		this.#point(mode, 0, 0, 0, false);
		const { grid } = this;
		const first = grid.count - 1;
		const end = first + seconds;
		grid.reserve(end);
		grid.mode.fill(mode, first, end);
		grid.feedFlow_m3_s.fill(0, first, end);
		grid.returnFlow_m3_s.fill(0, first, end);
		grid.sideFlow_m3_s.fill(0, first, end);
		grid.feedExcess_kg_m3.fill(grid.feedExcess_kg_m3[first]!, first, end);
		grid.returnExcess_kg_m3.fill(grid.returnExcess_kg_m3[first]!, first, end);
		grid.level_m.fill(grid.level_m[first]!, first, end);
		grid.count = end;
		this.time_s += seconds - 1;
	}

	#putPipesIn(): void {
		const plan = this.#plan;
		if (plan.lineGrowth !== 'after_thrust') return;
		const excess = this.#tank.excess_kg_m3;
		const bentonite = this.#tank.bentoniteExcess_kg_m3;
		const feed = plan.feedLineArea_m2 * plan.lineGrowth_m_per_ring;
		const back = plan.returnLineArea_m2 * plan.lineGrowth_m_per_ring;
		this.#feedLine.insertAtOutlet(feed, excess, bentonite);
		this.#returnLine.push(back, excess, excess, bentonite, bentonite);
		this.#lineLength += plan.lineGrowth_m_per_ring;
		const both = feed + back;
		this.#tallies.pipes.add(both, both * excess, both * bentonite);
	}

	/**
	 * One grid point. `flow` is the pumps' share of their flow, `gate` that of what passes only with
	 * the chamber open (level moves, flushing water), `cutting` the wheel's share of its speed.
	 */
	#point(mode: number, flow: number, gate: number, cutting: number, mayMix: boolean): void {
		const plan = this.#plan;
		const now = this.#now;
		const tank = this.#tank;
		const wander = plan.steady ? 0 : 1;
		const strength = cutting > 0 ? eventStrength(this.#stroke_m / this.#target_m) : 0;
		const slow = this.#flowSlow.next();
		const fast = this.#flowFast.next();
		const speedWander = this.#speedWander.next();
		const levelWander = this.#levelWander.next();

		now.speed = this.#speed_m_s * (1 + wander * SPEED_WANDER * speedWander);
		const advance = cutting * now.speed;
		tank.next(advance, this.#ground.finesShare, mayMix);
		now.feedExcess = tank.excess_kg_m3;
		now.feedBentonite = tank.bentoniteExcess_kg_m3;
		now.feed =
			flow * (plan.feedFlow_m3_h / 3600) * (1 + wander * (FLOW_WANDER * slow + 0.005 * fast));
		now.cut = advance * plan.cutArea_m2;
		now.ground = now.cut * (1 + this.#overShare * strength);
		now.inflow = cutting * strength * this.#inflow_m3_s;
		now.loss = cutting * strength * this.#loss_m3_s;
		now.side = (gate * plan.sideFlow_m3_h) / 3600;
		now.growth = advance * this.#growthPerAdvance;
		const setLevel = plan.levelShare * plan.diameter_m + LEVEL_WANDER_M * levelWander;
		const pull = (setLevel - this.#level) / LEVEL_RESPONSE_S;
		now.rate =
			this.#levelMoves && !plan.steady
				? gate * Math.max(-LEVEL_RATE_M_S, Math.min(LEVEL_RATE_M_S, pull))
				: 0;
		now.back =
			now.feed +
			now.ground +
			now.inflow +
			now.side -
			now.loss -
			plan.workingChamberArea_m2 * now.rate -
			(plan.feedLineArea_m2 + plan.returnLineArea_m2) * now.growth;

		if (this.#begun) {
			this.time_s++;
			this.#step();
		}
		this.#begun = true;
		now.backExcess = this.#returnLine.outletExcess_kg_m3;
		if (this.#inWindow) this.#addMeans();

		const { grid } = this;
		const at = grid.count;
		if (at === 0) grid.start_s = this.time_s;
		grid.reserve(at + 1);
		grid.mode[at] = mode;
		grid.feedFlow_m3_s[at] = now.feed;
		grid.returnFlow_m3_s[at] = now.back;
		grid.sideFlow_m3_s[at] = now.side;
		grid.feedExcess_kg_m3[at] = now.feedExcess;
		grid.returnExcess_kg_m3[at] = now.backExcess;
		grid.level_m[at] = this.#level;
		grid.count = at + 1;

		if (this.#openAtNext) {
			this.#openAtNext = false;
			this.#inWindow = true;
			// The mixed volume is stated at the level of the first ring's start.
			this.#levelMoves = true;
			this.windowStart = this.#markPoint(at);
		}
		if (this.#closeAtNext) {
			this.#closeAtNext = false;
			this.#inWindow = false;
			this.windowEnd = this.#markPoint(at);
			this.#endRing();
		}
		this.#modeBefore = mode;
		this.#now = this.#before;
		this.#before = now;
	}

	#markPoint(point: number): WindowEnd {
		return {
			chamber_m3: this.#chamber_m3,
			chamberExcess_kg: this.#chamber_m3 * this.#chamberExcess,
			point,
		};
	}

	/** Moves everything through the second between the grid point before and this one. */
	#step(): void {
		const a = this.#before;
		const b = this.#now;
		const plan = this.#plan;
		const feed = (a.feed + b.feed) / 2;
		const back = (a.back + b.back) / 2;
		if (!(feed > 0)) return;
		const { feedExcess: f0, feedBentonite: b0 } = a;
		const { feedExcess: f1, feedBentonite: b1 } = b;
		this.#feedLine.push(feed, f0, f1, b0, b1);
		this.#tallies.feed.add(feed, (feed * (f0 + f1)) / 2, (feed * (b0 + b1)) / 2);

		if (!passesChamber(this.#modeBefore)) {
			this.#feedLine.popInto(this.#returnLine, back);
		} else {
			const side = (a.side + b.side) / 2;
			const cut = (a.cut + b.cut) / 2;
			const ground = (a.ground + b.ground) / 2;
			const inflow = (a.inflow + b.inflow) / 2;
			const loss = (a.loss + b.loss) / 2;
			const growth = (a.growth + b.growth) / 2;
			const reaches = feed - plan.feedLineArea_m2 * growth;
			const leaves = back + plan.returnLineArea_m2 * growth;
			this.#feedLine.pop(reaches);
			const out = leaves + loss;
			const volume = this.#chamber_m3;
			const volumeAfter = volume + reaches + ground + inflow + side - out;
			const groundExcess = ground * this.#ground.excess_kg_m3;
			const c0 = this.#chamberExcess;
			const d0 = this.#chamberBentonite;
			const c1 =
				(volume * c0 + this.#feedLine.poppedExcess_kg + groundExcess - (out * c0) / 2) /
				(volumeAfter + out / 2);
			const d1 =
				(volume * d0 + this.#feedLine.poppedBentonite_kg - (out * d0) / 2) /
				(volumeAfter + out / 2);
			this.#returnLine.push(leaves, c0, c1, d0, d1);
			this.#chamber_m3 = volumeAfter;
			this.#chamberExcess = c1;
			this.#chamberBentonite = d1;
			this.#level += (a.rate + b.rate) / 2;
			this.#lineLength += growth;
			const lossExcess = (loss * (c0 + c1)) / 2;
			if (ground > 0) this.#tallies.ground.add(ground, groundExcess, 0);
			if (inflow > 0) this.#tallies.inflow.add(inflow, 0, 0);
			if (side > 0) this.#tallies.side.add(side, 0, 0);
			if (loss > 0) this.#tallies.loss.add(loss, lossExcess, (loss * (d0 + d1)) / 2);
			const advance = cut / plan.cutArea_m2;
			this.#stroke_m += advance;
			if (this.#inWindow) {
				const { sums } = this;
				sums.feed += feed;
				sums.back += back;
				sums.side += side;
				sums.cut += cut;
				sums.ground += ground;
				sums.inflow += inflow;
				sums.loss += loss;
				sums.lossExcess += lossExcess;
				sums.advance += advance;
				sums.growth += growth;
			}
		}
		this.#returnLine.pop(back);
		this.#tallies.back.add(
			back,
			this.#returnLine.poppedExcess_kg,
			this.#returnLine.poppedBentonite_kg,
		);
		this.#pass(back, a.back, b.back);
	}

	#addMeans(): void {
		if (!passesChamber(this.#modeBefore)) return;
		const a = this.#before;
		const b = this.#now;
		const { sums } = this;
		sums.feedExcess += (a.feed * a.feedExcess + b.feed * b.feedExcess) / 2;
		sums.feedBentonite += (a.feed * a.feedBentonite + b.feed * b.feedBentonite) / 2;
		sums.backExcess += (a.back * a.backExcess + b.back * b.backExcess) / 2;
	}

	/** Counts what passes the return meter and finishes the rings whose last suspension is in it. */
	#pass(back: number, q0: number, q1: number): void {
		const after = this.#returned_m3 + back;
		let next = this.#underWay[0];
		while (next && next.passesAt_m3 <= after) {
			const into = timeToPass_s(1, q0, q1, next.passesAt_m3 - this.#returned_m3);
			const passes_s = this.time_s - 1 + into;
			this.#finished.push({ ...next.truth, lag_s: passes_s - next.truth.advanceEnd_s });
			this.#underWay.shift();
			next = this.#underWay[0];
		}
		this.#returned_m3 = after;
	}
}
