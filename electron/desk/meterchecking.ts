import { createHash } from 'node:crypto';
import { type BypassWindow, certifiedWindow } from '../../calc/circuit/bypass.ts';
import type { SignalFault } from '../../calc/circuit/faultrules.ts';
import { besideMudBalance } from '../../calc/circuit/mudbalance.ts';
import {
	checkChoices,
	correctionLimits,
	type DecisionInForce,
	decisionsOn,
	meterPapers,
	meterSteps,
} from '../../calc/sheet/checkinputs.ts';
import {
	type CorrectedSide,
	checkMeters,
	METER_CHECK_RULES,
	type MeterCheckAsk,
	type MeterCorrection,
} from '../../calc/trust/metercheck.ts';
import type { KeptChecks } from '../store/projectfile.ts';
import { BypassByHand } from './bypassbyhand.ts';
import { BypassLogger } from './bypasslogger.ts';
import type { DriveModel, Touched } from './drivemodel.ts';
import type { LoggerSeries, Progress } from './loggerseries.ts';

/** A bypass window, certificates applied, and where its samples came from. */
export interface SourcedWindow {
	readonly window: BypassWindow;
	readonly source: 'logger' | 'readings';
}

/** Everything a check was made from and what it found. */
export interface MadeCheck {
	readonly side: CorrectedSide | null;
	/** In order of time, as those of `ask` and of the correction. */
	readonly windows: readonly SourcedWindow[];
	readonly decisions: readonly DecisionInForce[];
	readonly ask: MeterCheckAsk;
	readonly correction: MeterCorrection;
}

/**
 * The meters of an open document checked against each other: windows from the logger where it
 * reaches and from shift readings elsewhere, a person's decisions, and the correction that follows.
 */
export class MeterChecking {
	readonly #series: LoggerSeries | null;
	readonly #logger: BypassLogger;
	readonly #byHand = new BypassByHand();
	/** What the last check was made from: windows and certificates as objects, the rest as text. */
	#from: Inputs | null = null;
	#made: MadeCheck | null = null;
	#correction: MeterCorrection | null = null;
	#digest = '';

	constructor(series: LoggerSeries | null, kept: KeptChecks | null) {
		this.#series = series;
		this.#logger = new BypassLogger(series, kept);
	}

	/** Faults of the logger's signals, in order of time. */
	get faults(): readonly SignalFault[] {
		return this.#logger.faults;
	}
	/** Why the series could not be looked through, if it could not. */
	get damage(): string | null {
		return this.#logger.damage;
	}
	/** In use for the figures; null: the certificates alone. */
	get correction(): MeterCorrection | null {
		return this.#correction;
	}
	/** Tells one correction in use from another; empty where none is. */
	get digest(): string {
		return this.#digest;
	}

	/**
	 * Brings the correction in use up to the model, of which `touched` changed since (null: anything).
	 * `changed`: it is another one than before. `keep`: what the document should keep from now on, null
	 * if that is what it has.
	 */
	async follow(
		model: DriveModel,
		touched: Touched | null,
		progress: Progress,
	): Promise<{ changed: boolean; keep: KeptChecks | null }> {
		this.#byHand.follow(touched);
		let fresh = await this.#logger.scan(progress);
		const before = this.#digest;
		if (checkChoices(model.drive).side === null) {
			this.#correction = null;
			this.#digest = '';
		} else {
			const { made, keep } = await this.check(model, progress);
			fresh ||= keep !== null;
			if (this.#correction !== made.correction) this.#digest = digestOf(made.correction);
			this.#correction = made.correction;
		}
		return { changed: this.#digest !== before, keep: fresh ? this.#logger.kept() : null };
	}

	/** The check of the present model, whether its correction is in use or not. */
	async check(
		model: DriveModel,
		progress: Progress,
	): Promise<{ made: MadeCheck; keep: KeptChecks | null }> {
		const scanned = await this.#logger.scan(progress);
		const compared = await this.#logger.compare(model, progress);
		const keep = scanned || compared ? this.#logger.kept() : null;
		const side = checkChoices(model.drive).side;
		const shown = this.#windows(model);
		const decisions = decisionsOn(
			shown.map((one) => one.window),
			model.decisions,
		);
		const besides = besidesWindows(model, decisions);
		const from = {
			windows: shown.map((one) => one.window),
			certificates: model.meters,
			besides: JSON.stringify(besides),
		};
		if (this.#made === null || this.#from === null || !sameInputs(from, this.#from)) {
			const windows = shown.map(({ window, source }) => ({
				window: certifiedWindow(window, model.meters),
				source,
			}));
			const ask = { ...besides, windows: windows.map((one) => one.window) };
			this.#from = from;
			this.#made = { side, windows, decisions, ask, correction: checkMeters(ask) };
		} else this.#made = { ...this.#made, side, decisions };
		return { made: this.#made, keep };
	}

	/** Windows of both sources in order of time; readings as shown. */
	#windows(model: DriveModel): SourcedWindow[] {
		const found = this.#logger.windows.map(
			(window): SourcedWindow => ({ window, source: 'logger' }),
		);
		for (const window of this.#byHand.windows(model))
			if (!this.#inLogger(window)) found.push({ window, source: 'readings' });
		return found.sort((a, b) => a.window.from_s - b.window.from_s);
	}

	/** True if the logger recorded that time: its windows then stand for it. */
	#inLogger({ from_s, to_s }: { from_s: number; to_s: number }): boolean {
		if (this.#series === null)
			return this.#logger.windows.some((one) => one.from_s <= to_s && one.to_s >= from_s);
		const { gapLimit_s, days } = this.#series;
		return days.some((day) => day.from_s - gapLimit_s <= to_s && day.to_s + gapLimit_s >= from_s);
	}
}

type Inputs = { windows: readonly BypassWindow[]; certificates: unknown; besides: string };

const sameInputs = (a: Inputs, b: Inputs): boolean =>
	a.certificates === b.certificates &&
	a.besides === b.besides &&
	a.windows.length === b.windows.length &&
	a.windows.every((window, at) => window === b.windows[at]);

function besidesWindows(
	model: DriveModel,
	decisions: readonly DecisionInForce[],
): Omit<MeterCheckAsk, 'windows'> {
	const choices = checkChoices(model.drive);
	const papers = meterPapers(model.meterRows);
	const side = choices.side ?? 'return';
	return {
		decisions: decisions.map(({ row: _row, ...decision }) => decision),
		steps: meterSteps(papers),
		mudBalance: besideMudBalance(
			model.readingSamples(),
			model.weighed('mud_balance_feed_t_m3'),
			model.meters,
			0,
		),
		anchored: choices.anchored,
		side,
		limits: correctionLimits(papers, side),
		beyondLimitAccepted: choices.beyondLimitAccepted,
		rules: METER_CHECK_RULES,
	};
}

/** What the balance takes of a correction, as one hash. */
function digestOf({ side, flow, density, anchor }: MeterCorrection): string {
	return createHash('sha256')
		.update(JSON.stringify([side, flow, density, anchor]))
		.digest('hex');
}
