import { createHash } from 'node:crypto';
import { balanceRing } from '../../calc/circuit/balance.ts';
import { READINGS_GAP_LIMIT_S } from '../../calc/circuit/gap.ts';
import { lineVolumes } from '../../calc/circuit/line.ts';
import type { RingBalance } from '../../calc/circuit/ringbalance.ts';
import type { Samples } from '../../calc/circuit/samples.ts';
import { ringSpan } from '../../calc/circuit/span.ts';
import { type Fault, noteFault } from '../../calc/fault/fault.ts';
import { SeriesDamaged } from '../logger/parquet/decode.ts';
import type { StoredBalance } from '../store/projectfile.ts';
import { decodeBalance, encodeBalance } from './balancetext.ts';
import type { DriveModel, RingRow, Touched } from './drivemodel.ts';

/** The logger's series as the ledger needs it. */
export interface LoggerSeries {
	/** Two stamps farther apart are a gap. */
	readonly gapLimit_s: number;
	/** True if the series has samples over the whole window. */
	covers(from_s: number, to_s: number): boolean;
	span(from_s: number, to_s: number): Promise<Samples>;
	close(): void;
}

export type Progress = (what: string, done: number, of: number | null) => void;

/** Raised whenever a balance of the same inputs may come out differently: kept ones are then made anew. */
const CALC_VERSION = 1;
/** First look around a ring in the logger's series, and the farthest. */
const FIRST_REACH_S = 3_600;
const FARTHEST_REACH_S = 4 * 86_400;

/**
 * Everything a ring's balance from the logger depends on besides the series, as one hash: a kept
 * balance is good as long as it is the same.
 */
export function balanceInputHash(model: DriveModel, ring: RingRow): string {
	const { title: _title, ...settings } = model.settings;
	const number = ring.input.ring;
	return createHash('sha256')
		.update(
			JSON.stringify([
				CALC_VERSION,
				ring.input,
				settings,
				model.ground.filter((share) => share.fromRing <= number && number <= share.toRing),
				model.meters,
				model.referenceLevel_m,
			]),
		)
		.digest('hex');
}

/** The balances of all rings of an open document, each made again only when something it looks at changed. */
export class RingLedger {
	readonly #balances = new Map<number, RingBalance>();
	readonly #kept: Map<number, StoredBalance>;
	readonly #series: LoggerSeries | null;

	/** `kept`: balances from the logger as the document keeps them. `series`: null when there is none, or it is not beside the document. */
	constructor(kept: readonly StoredBalance[], series: LoggerSeries | null) {
		this.#kept = new Map(kept.map((one) => [one.ring, one]));
		this.#series = series;
	}

	/** The same series with other kept balances, and nothing balanced yet. */
	withKept(kept: readonly StoredBalance[]): RingLedger {
		return new RingLedger(kept, this.#series);
	}

	/** By the row the ring is entered in. */
	balance(ringRow: number): RingBalance | undefined {
		return this.#balances.get(ringRow);
	}

	/**
	 * Makes the balances again that depend on what was touched (all of them for null), and says which
	 * rows that were and what the document should keep of the logger's.
	 */
	async recalculate(
		model: DriveModel,
		touched: Touched | null,
		progress: Progress,
	): Promise<{ rows: number[]; keep: StoredBalance[]; goneRings: number[] }> {
		const concerned = model.rings.filter((ring) => this.#concerns(ring, touched));
		const keep: StoredBalance[] = [];
		const samples = model.record.samples();
		let done = 0;
		for (const ring of concerned) {
			const fromLogger = this.#fromLogger(ring);
			if (!fromLogger) this.#balances.set(ring.row, fromReadings(model, ring, samples));
			else {
				const hash = balanceInputHash(model, ring);
				const kept = this.#keptBalance(ring, hash);
				if (kept !== null) this.#balances.set(ring.row, kept);
				else {
					const made = await this.#fromSeries(model, ring);
					this.#balances.set(ring.row, made);
					progress('balancing rings from the logger', done, concerned.length);
					if (made.source === 'logger') {
						const stored = { ring: made.ring, inputHash: hash, balance: encodeBalance(made) };
						this.#kept.set(made.ring, stored);
						keep.push(stored);
					}
				}
			}
			done++;
		}
		const present = new Set(model.rings.map((ring) => ring.row));
		for (const row of this.#balances.keys()) if (!present.has(row)) this.#balances.delete(row);
		const numbers = new Set(model.rings.map((ring) => ring.input.ring));
		const goneRings = [...this.#kept.keys()].filter((ring) => !numbers.has(ring));
		for (const ring of goneRings) this.#kept.delete(ring);
		return { rows: concerned.map((ring) => ring.row), keep, goneRings };
	}

	/** Samples around a ring to draw, from where its balance had them. */
	async samplesOf(
		model: DriveModel,
		balance: RingBalance,
		span: { from_s: number; to_s: number },
	): Promise<{ samples: Samples; gapLimit_s: number }> {
		if (balance.source === 'logger' && this.#series !== null)
			return {
				samples: await this.#series.span(span.from_s, span.to_s),
				gapLimit_s: this.#series.gapLimit_s,
			};
		return { samples: model.record.samples(), gapLimit_s: READINGS_GAP_LIMIT_S };
	}

	close(): void {
		this.#series?.close();
	}

	#concerns(ring: RingRow, touched: Touched | null): boolean {
		if (touched === null || touched.everything || touched.ringRows.has(ring.row)) return true;
		const balance = this.#balances.get(ring.row);
		if (balance === undefined) return true;
		if (touched.metersFrom_s <= balance.looksTo_s) return true;
		const number = ring.input.ring;
		if (touched.rings.some(({ from, to }) => from <= number && number <= to)) return true;
		if (balance.source === 'logger') return false;
		return touched.times_s.some(
			(time_s) => time_s >= balance.looksFrom_s && time_s <= balance.looksTo_s,
		);
	}

	#fromLogger({ input }: RingRow): boolean {
		if (this.#series !== null) return this.#series.covers(input.advanceStart_s, input.advanceEnd_s);
		return this.#kept.has(input.ring);
	}

	/** The balance as it was kept, if its inputs are still the same. */
	#keptBalance(ring: RingRow, hash: string): RingBalance | null {
		const stored = this.#kept.get(ring.input.ring);
		if (stored === undefined || stored.inputHash !== hash) return null;
		return decodeBalance(stored.balance);
	}

	/** From the series, or, if that is gone or damaged, from the shift readings with a note that says so. */
	async #fromSeries(model: DriveModel, ring: RingRow): Promise<RingBalance> {
		try {
			if (this.#series !== null) return await fromSeries(this.#series, model, ring);
		} catch (error) {
			if (!(error instanceof SeriesDamaged)) throw error;
		}
		const made = fromReadings(model, ring, model.record.samples());
		return { ...made, notes: [...made.notes, seriesGone(made.ring)] };
	}
}

async function fromSeries(
	series: LoggerSeries,
	model: DriveModel,
	ring: RingRow,
): Promise<RingBalance> {
	const { input } = ring;
	const lines = lineVolumes(model.settings, input.ring, input.lineExtension_m);
	let samples: Samples;
	let before = -1;
	for (let reach_s = FIRST_REACH_S; ; reach_s *= 4) {
		samples = await series.span(input.advanceStart_s - reach_s, input.advanceEnd_s + reach_s);
		const span = ringSpan({
			samples,
			ring: input,
			meters: model.meters,
			feedLine_m3: Math.max(lines.feedStart_m3 ?? 0, lines.feedEnd_m3 ?? 0),
			returnLine_m3: Math.max(lines.returnStart_m3 ?? 0, lines.returnEnd_m3 ?? 0),
			gapLimit_s: series.gapLimit_s,
		});
		const enough = !span.ranOutBefore && !span.ranOutAfter;
		// A reach that brings no more samples has come to the ends of the series.
		if (enough || samples.count === before || reach_s > FARTHEST_REACH_S) break;
		before = samples.count;
	}
	return balanceRing({
		...shared(model, ring),
		samples,
		source: 'logger',
		gapLimit_s: series.gapLimit_s,
	});
}

const seriesGone = (ring: number): Fault =>
	noteFault(
		'logger_series_gone',
		'The logger recorded this ring, but its series is not beside the project any more or is damaged; the ring is balanced from the shift readings.',
		{ ring },
	);

function fromReadings(model: DriveModel, ring: RingRow, samples: Samples): RingBalance {
	return balanceRing({
		...shared(model, ring),
		samples,
		source: 'readings',
		gapLimit_s: READINGS_GAP_LIMIT_S,
	});
}

function shared(model: DriveModel, ring: RingRow) {
	return {
		ring: ring.input,
		settings: model.settings,
		ground: model.ground,
		meters: model.meters,
		referenceLevel_m: model.referenceLevel_m,
	};
}
