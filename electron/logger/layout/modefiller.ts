import { LOGGER_GAP_FLOOR_S } from '../../../calc/circuit/gap.ts';
import { type ModeRule, type ModeSignal, modeRuleText } from '../../../calc/circuit/moderules.ts';
import { ModeDeriver, type ModeRun } from '../../../calc/circuit/modesignals.ts';
import type { LaidOutBatch } from './rowreader.ts';
import type { RuleStretch } from './rulestretch.ts';
import { FLOW_SIGNALS } from './target.ts';

/**
 * Fills the modes of batches from signals, by rules, and hands a batch on when every stamp of it is
 * decided; a rule that waits for its debounce time holds back what comes after it.
 */
export class ModeFiller {
	readonly #deriver: ModeDeriver;
	readonly #take: (batch: LaidOutBatch) => void;
	readonly #waiting: LaidOutBatch[] = [];
	/** Stamps of the first waiting batch that are decided. */
	#filled = 0;

	readonly #rules: readonly ModeRule[];
	readonly #told: RuleStretch[] = [];
	/** Rule of the last stretch told, if the next run may go on with it. */
	#goesOn = -1;

	constructor(rules: readonly ModeRule[], take: (batch: LaidOutBatch) => void) {
		this.#rules = rules;
		this.#deriver = new ModeDeriver(rules, LOGGER_GAP_FLOOR_S);
		this.#take = take;
	}

	/** Which rule told the mode of which stamps so far, in order of time. */
	get told(): readonly RuleStretch[] {
		return this.#told;
	}

	push(batch: LaidOutBatch): void {
		this.#waiting.push(batch);
		this.#fill(this.#deriver.push(signalsOf(batch)));
	}

	end(): void {
		this.#fill(this.#deriver.end());
	}

	#tell({ from_s, to_s, rule }: ModeRun): void {
		const by = this.#rules[rule];
		const last = this.#told.at(-1);
		if (by === undefined) this.#goesOn = -1;
		else if (last !== undefined && this.#goesOn === rule)
			this.#told[this.#told.length - 1] = { ...last, to_s };
		else {
			this.#goesOn = rule;
			this.#told.push({ from_s, to_s, mode: by.mode, why: modeRuleText(by) });
		}
	}

	#fill(runs: readonly ModeRun[]): void {
		for (const run of runs) {
			this.#tell(run);
			let left = run.count;
			for (
				let batch = this.#waiting[0];
				batch !== undefined && left > 0;
				batch = this.#waiting[0]
			) {
				const n = Math.min(left, batch.count - this.#filled);
				batch.mode.fill(run.mode, this.#filled, this.#filled + n);
				this.#filled += n;
				left -= n;
				if (this.#filled < batch.count) break;
				this.#filled = 0;
				this.#waiting.shift();
				this.#take(batch);
			}
		}
	}
}

function signalsOf(batch: LaidOutBatch) {
	const signals: Partial<Record<ModeSignal, Float64Array>> = Object.fromEntries(batch.signals);
	for (const { id, values } of batch.numbers) {
		const signal = FLOW_SIGNALS[id as keyof typeof FLOW_SIGNALS];
		if (signal !== undefined) signals[signal] = values.map((value) => value / 3600);
	}
	return { count: batch.count, time_s: batch.time_s, signals };
}
